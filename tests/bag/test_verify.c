/* SPDX-License-Identifier: ISC */
/* What a verify of our own bags finds and tells. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "bag_fixture.h"
#include "platform/volume.h"
#include "suite.h"

#define JPG "DCIM/100NORTH/NM_A0001.JPG"

static struct yard yard;

static const char *begin(bool has_sha256)
{
    setenv("TZ", "UTC", 1);
    yard_begin(&yard);
    return yard_three_files(&yard, has_sha256);
}

static const char *within(const char *bag, const char *path)
{
    static char whole[8192];
    snprintf(whole, sizeof whole, "%s/%s", bag, path);
    return whole;
}

START_TEST(tells_whose_bag_it_is_and_what_it_proved)
{
    struct hr_bag_report *report = yard_verify(begin(true));
    ck_assert_int_eq(report->verdict, HR_BAG_VALID);
    ck_assert_str_eq(report->path, yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"));
    ck_assert_str_eq(report->card_identity, "uuid:1B2C-3D4E");
    ck_assert_str_eq(report->card_name, "BODY_A");
    ck_assert_str_eq(report->job, "Cup final");
    ck_assert(report->is_ours);
    ck_assert_uint_eq(report->payload_files, 3);
    ck_assert_uint_eq(report->payload_bytes, 31);
    ck_assert_uint_eq(report->proof_count, 3);
    const struct hr_bag_file *file = &report->proofs[1].file;
    ck_assert_str_eq(file->path, JPG);
    ck_assert_uint_eq(file->size_bytes, 13);
    ck_assert_int_eq(file->modified_ns, 1759990000123456789);
    ck_assert_int_eq(file->read_at_ns, 1760000001000000000);
    ck_assert_int_gt(file->proven_at_ns, 1760000002000000000);
    char hex[HR_DIGEST_HEX_SIZE];
    ck_assert_str_eq(hr_digest_to_hex(hex, &file->xxh128), yard_hex(HR_DIGEST_XXH128, "the push-back"));
    ck_assert_str_eq(hr_digest_to_hex(hex, &file->sha256), yard_hex(HR_DIGEST_SHA256, "the push-back"));
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(knows_the_card_of_a_numbered_bag)
{
    begin(true);
    struct hr_bag_report *report = yard_verify(yard_three_files(&yard, true));
    ck_assert_str_eq(hr_bag_verdict_name(report->verdict), "valid");
    ck_assert_str_eq(strrchr(report->path, '/'), "/20251009-085320-2_BODY_A");
    ck_assert_str_eq(report->card_name, "BODY_A");
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(makes_one_digest_when_one_is_asked_for)
{
    struct hr_bag_verify_options options = {.only = HR_DIGEST_XXH128};
    struct hr_bag_report *report = NULL;
    const char *bag = begin(true);
    yard_write(&yard, within(bag, "data/" JPG), "the push-bacK");
    ck_assert_int_eq(hr_bag_verify(&report, bag, &options, NULL, NULL), HR_OK);
    ck_assert_uint_eq(report->proof_count, 2);
    ck_assert_int_eq(report->proofs[0].file.xxh128.kind, HR_DIGEST_XXH128);
    ck_assert_int_eq(report->proofs[0].file.sha256.kind, HR_DIGEST_NONE);
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_DIFFERS, "data/" JPG));
    hr_bag_report_destroy(report);
    options.only = HR_DIGEST_MD5; /* this bag has none: every manifest is checked */
    ck_assert_int_eq(hr_bag_verify(&report, bag, &options, NULL, NULL), HR_OK);
    ck_assert_int_eq(report->proofs[0].file.sha256.kind, HR_DIGEST_SHA256);
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

enum damage { FLIP_BIT, CUT_BYTE, RENAME, REMOVE, DAMAGES };

static void damage(const char *path, enum damage how)
{
    char other[8192];
    struct stat stat_of_path;
    ck_assert_int_eq(stat(path, &stat_of_path), 0);
    FILE *file = fopen(path, "r+b");
    if (how == FLIP_BIT) {
        int byte = fgetc(file);
        rewind(file);
        fputc(byte ^ 1, file);
    }
    fclose(file);
    snprintf(other, sizeof other, "%s.other", path);
    if (how == CUT_BYTE)
        ck_assert_int_eq(truncate(path, stat_of_path.st_size - 1), 0);
    if (how == RENAME)
        ck_assert_int_eq(rename(path, other), 0);
    if (how == REMOVE)
        ck_assert_int_eq(remove(path), 0);
}

/* Every file there is, payload and tag; bagit.txt missing or renamed makes the bag an unfinished one. Nothing vouches
 * for the tag manifest itself: without the LF at its end it says the same. */
START_TEST(finds_one_bit_one_byte_one_name_and_one_file)
{
    static const char *const files[] = {("data/" JPG),
                                        "data/DCIM/100NORTH/NM_A0001.DNG",
                                        "manifest-xxh128.txt",
                                        "manifest-sha256.txt",
                                        "bag-info.txt",
                                        "files.csv",
                                        "tagmanifest-sha256.txt",
                                        "bagit.txt"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++)
        for (int how = FLIP_BIT; how < DAMAGES; how++) {
            if (!strcmp(files[i], "tagmanifest-sha256.txt") && how == CUT_BYTE)
                continue;
            const char *bag = begin(true);
            bool is_declaration = !strcmp(files[i], "bagit.txt");
            yard_expect(bag, HR_BAG_VALID);
            damage(within(bag, files[i]), (enum damage)how);
            struct hr_bag_report *report = yard_verify(bag);
            ck_assert_msg(report->verdict == (is_declaration && how >= RENAME ? HR_BAG_UNFINISHED : HR_BAG_INVALID),
                          "%s %d: %s", files[i], how, hr_bag_verdict_name(report->verdict));
            hr_bag_report_destroy(report);
            yard_end(&yard);
        }
}
END_TEST

/* Each line of the tag manifest in its turn. */
START_TEST(misses_a_line_of_its_own_tag_manifest)
{
    size_t lines = 1;
    for (size_t lost = 0; lost < lines; lost++) {
        const char *bag = begin(true);
        char text[4096], *kept = text;
        snprintf(text, sizeof text, "%s", yard_read(&yard, within(bag, "tagmanifest-sha256.txt")));
        lines = 0;
        for (char *line = text, *next; *line; line = next, lines++) {
            next = strchr(line, '\n') + 1;
            if (lines != lost) {
                memmove(kept, line, (size_t)(next - line));
                kept += next - line;
            }
        }
        *kept = '\0';
        yard_write(&yard, within(bag, "tagmanifest-sha256.txt"), text);
        struct hr_bag_report *report = yard_verify(bag);
        ck_assert_msg(report->verdict == HR_BAG_INVALID, "line %zu", lost);
        ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_RULE_BROKEN, "tagmanifest-sha256.txt"));
        hr_bag_report_destroy(report);
        yard_end(&yard);
    }
    ck_assert_uint_ge(lines, 5);
}
END_TEST

START_TEST(tells_what_is_wrong_with_which_file)
{
    const char *bag = begin(true);
    yard_write(&yard, within(bag, "data/" JPG), "the push-bacK");
    yard_rename(&yard, within(bag, "data/MISC/NOTES.TXT"), "place/moved");
    yard_write(&yard, within(bag, "data/MISC/OTHER.TXT"), "new");
    struct hr_bag_report *report = yard_verify(bag);
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_DIFFERS, "data/" JPG));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_MISSING, "data/MISC/NOTES.TXT"));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_UNLISTED, "data/MISC/OTHER.TXT"));
    ck_assert_uint_eq(report->proof_count, 1);
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

/* Cut off behind "U" it still has two lines and an encoding. tests/faults/silent_rest_rounds.sh --seed 21 --first 9 */
START_TEST(points_at_a_declaration_whose_encoding_is_none)
{
    const char *bag = begin(true);
    yard_write(&yard, within(bag, "bagit.txt"), "BagIt-Version: 1.0\nTag-File-Character-Encoding: U");
    struct hr_bag_report *report = yard_verify(bag);
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    const struct hr_bag_problem *problem = yard_problem(report, HR_BAG_RULE_BROKEN, "manifest-sha256.txt");
    ck_assert_ptr_nonnull(problem);
    ck_assert_str_eq(problem->text, "cannot be read as U, the encoding that bagit.txt names");
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(follows_no_link_and_waits_for_no_pipe)
{
    const char *bag = begin(true);
    char jpg[8192];
    snprintf(jpg, sizeof jpg, "%s", within(bag, "data/" JPG));
    yard_rename(&yard, jpg, "place/elsewhere.jpg");
    ck_assert_int_eq(symlink(yard_path(&yard, "place/elsewhere.jpg"), jpg), 0);
    ck_assert_int_eq(symlink("/", within(bag, "data/root")), 0);
    ck_assert_int_eq(mkfifo(within(bag, "data/pipe"), 0644), 0);
    struct hr_bag_report *report = yard_verify(bag);
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_RULE_BROKEN, "data/" JPG));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_RULE_BROKEN, "data/root"));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_RULE_BROKEN, "data/pipe"));
    ck_assert_uint_eq(report->proof_count, 2);
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(follows_no_link_to_a_tag_file_or_a_folder)
{
    const char *bag = begin(true);
    yard_rename(&yard, within(bag, "bag-info.txt"), "place/info");
    ck_assert_int_eq(symlink(yard_path(&yard, "place/info"), within(bag, "bag-info.txt")), 0);
    yard_rename(&yard, within(bag, "data/MISC"), "place/misc");
    ck_assert_int_eq(symlink(yard_path(&yard, "place/misc"), within(bag, "data/MISC")), 0);
    struct hr_bag_report *report = yard_verify(bag);
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_UNREADABLE, "bag-info.txt"));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_RULE_BROKEN, "data/MISC"));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_MISSING, "data/MISC/NOTES.TXT"));
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(checks_what_an_unfinished_bag_has_proven_so_far)
{
    yard_begin(&yard);
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    yard_deliver(bag, "b.jpg", "b", false, true);
    yard_deliver(bag, ".c.jpg.part", "half", true, false);
    char path[4096];
    snprintf(path, sizeof path, "%s", hr_bag_path(bag));
    struct hr_bag_report *report = yard_verify(path); /* while it is being written */
    ck_assert_int_eq(report->verdict, HR_BAG_UNFINISHED);
    ck_assert_uint_eq(report->proof_count, 2);
    ck_assert_uint_eq(report->problem_count, 1);
    ck_assert_int_eq(report->problems[0].kind, HR_BAG_WARNING);
    ck_assert_str_eq(report->card_identity, "uuid:1B2C-3D4E");
    hr_bag_report_destroy(report);
    hr_bag_close(bag);
    yard_write(&yard, within(path, "data/a.jpg"), "A");
    yard_write(&yard, within(path, "data/b.jpg"), "B");
    report = yard_verify(path);
    ck_assert_int_eq(report->verdict, HR_BAG_UNFINISHED);
    ck_assert_uint_eq(report->proof_count, 0);
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_DIFFERS, "data/a.jpg"));
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_FILE_DIFFERS, "data/b.jpg"));
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

/* ---- Where the bytes came from ---- */

/* A volume whose reads the kernel counts proves them; one in memory never does. /dev/shm is a tmpfs wherever it is. */
START_TEST(says_medium_only_of_what_a_device_gave)
{
    static const char *const parents[] = {NULL, "/dev/shm"};
    for (size_t i = 0; i < 2; i++) {
        struct hr_volume volume;
        if (parents[i] && access(parents[i], W_OK) != 0)
            continue;
        if (parents[i])
            setenv("TMPDIR", parents[i], 1);
        struct hr_bag_report *report = yard_verify(begin(true));
        ck_assert_int_eq(hr__volume_of(&volume, yard.root, &hr__system_roots, NULL), HR_OK);
        bool can_be_counted = !volume.is_in_memory && !volume.is_fuse && !volume.is_network;
        for (size_t n = 0; n < report->proof_count; n++) {
            enum hr_proof proof = report->proofs[n].file.proof;
            ck_assert_int_ne(proof, HR_PROOF_NONE);
            ck_assert(can_be_counted || proof == HR_PROOF_CACHE);
            ck_assert(!report->from_medium || proof != HR_PROOF_CACHE);
        }
        ck_assert(can_be_counted || !report->from_medium);
        hr__volume_finish(&volume);
        hr_bag_report_destroy(report);
        yard_end(&yard);
    }
}
END_TEST

/* ---- Progress and stopping ---- */

struct told {
    size_t calls;
    uint64_t bytes;
    size_t files;
    int64_t elapsed_ns;
    struct hr_cancel *cancel;
};

static void note(void *context, int64_t elapsed_ns, uint64_t bytes_done, uint64_t bytes_total, size_t files_done,
                 size_t files_total)
{
    struct told *told = context;
    ck_assert(elapsed_ns >= told->elapsed_ns && bytes_done >= told->bytes && files_done >= told->files);
    ck_assert(bytes_done <= bytes_total && files_done <= files_total);
    *told = (struct told){told->calls + 1, bytes_done, files_done, elapsed_ns, told->cancel};
    if (told->cancel)
        hr_cancel_request(told->cancel);
}

START_TEST(tells_how_far_it_is_and_ends_with_all)
{
    struct told told = {0};
    struct hr_bag_report *report = NULL;
    struct hr_bag_verify_options options = {.context = &told, .progress = note};
    ck_assert_int_eq(hr_bag_verify(&report, begin(true), &options, NULL, NULL), HR_OK);
    ck_assert_uint_ge(told.calls, 1);
    ck_assert_uint_eq(told.bytes, 31);
    ck_assert_uint_eq(told.files, 3);
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(stops_when_asked)
{
    struct told told = {.cancel = hr_cancel_create()};
    struct hr_bag_report *report = NULL;
    struct hr_bag_verify_options options = {.context = &told, .progress = note};
    ck_assert_int_eq(hr_bag_verify(&report, begin(true), &options, told.cancel, NULL), HR_CANCELLED);
    ck_assert_ptr_null(report);
    ck_assert_uint_eq(told.calls, 1);
    hr_cancel_destroy(told.cancel);
    yard_end(&yard);
}
END_TEST

/* ---- Finding bags ---- */

START_TEST(finds_finished_and_unfinished_bags_and_none_within_a_bag)
{
    char **paths = NULL;
    size_t count = 0;
    begin(true);
    yard_write(&yard, "place/Cup final/20251009-085320_BODY_A/data/inner/bagit.txt", "x");
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    hr_bag_close(bag);
    yard_write(&yard, "place/archive/1998/club/bagit.txt", "x");
    yard_write(&yard, "place/archive/1998/other/notes.txt", "x");
    ck_assert_int_eq(symlink("..", yard_path(&yard, "place/archive/loop")), 0);
    ck_assert_int_eq(hr_bags_find(&paths, &count, NULL, yard.place, NULL), HR_OK);
    ck_assert_uint_eq(count, 3);
    ck_assert_str_eq(paths[0], yard_path(&yard, "place/Cup final/20251009-085320-2_BODY_A"));
    ck_assert_str_eq(paths[1], yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"));
    ck_assert_str_eq(paths[2], yard_path(&yard, "place/archive/1998/club"));
    hr_bag_paths_free(paths, count);
    ck_assert_int_eq(hr_bags_find(&paths, &count, NULL, yard_path(&yard, "place/archive/1998/club"), NULL), HR_OK);
    ck_assert_uint_eq(count, 1);
    hr_bag_paths_free(paths, count);
    ck_assert_int_eq(hr_bags_find(&paths, &count, NULL, yard_path(&yard, "nowhere"), NULL), HR_NOT_FOUND);
    yard_end(&yard);
}
END_TEST

START_TEST(tells_of_folders_it_may_not_look_into)
{
    char **paths = NULL, shut[4096], not_ours[4096], hidden[4096];
    size_t count = 0;
    struct hr_closed_folders closed = {0};
    bool is_root = geteuid() == 0;
    begin(true);
    yard_write(&yard, "place/Final/bag/bagit.txt", "x");
    yard_write(&yard, "place/lost+found/bag/bagit.txt", "x");
    yard_write(&yard, "place/.Trash-0/bag/bagit.txt", "x");
    snprintf(shut, sizeof shut, "%s", yard_path(&yard, "place/Final"));
    snprintf(not_ours, sizeof not_ours, "%s", yard_path(&yard, "place/lost+found"));
    snprintf(hidden, sizeof hidden, "%s", yard_path(&yard, "place/.Trash-0"));
    ck_assert_int_eq(chmod(yard.root, 0755) | chmod(shut, 0) | chmod(not_ours, 0) | chmod(hidden, 0), 0);
    if (is_root)
        ck_assert_int_eq(seteuid(65534), 0);
    enum hr_status status = hr_bags_find(&paths, &count, &closed, yard.place, NULL);
    enum hr_status of_shut = hr_bags_find(&paths, &count, &closed, shut, NULL);
    if (is_root)
        ck_assert_int_eq(seteuid(0), 0);
    ck_assert_int_eq(status, HR_OK);
    ck_assert_int_eq(of_shut, HR_DENIED);
    ck_assert_uint_eq(count, 1);
    ck_assert_str_eq(paths[0], yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"));
    ck_assert_uint_eq(closed.count, 1);
    ck_assert_str_eq(closed.paths[0], shut);
    hr_bag_paths_free(closed.paths, closed.count);
    hr_bag_paths_free(paths, count);
    ck_assert_int_eq(chmod(shut, 0755) | chmod(not_ours, 0755) | chmod(hidden, 0755), 0);
    yard_end(&yard);
}
END_TEST

HR_SUITE("bag/verify", tells_whose_bag_it_is_and_what_it_proved, knows_the_card_of_a_numbered_bag,
         makes_one_digest_when_one_is_asked_for, finds_one_bit_one_byte_one_name_and_one_file,
         misses_a_line_of_its_own_tag_manifest, tells_what_is_wrong_with_which_file,
         points_at_a_declaration_whose_encoding_is_none, follows_no_link_and_waits_for_no_pipe,
         follows_no_link_to_a_tag_file_or_a_folder, checks_what_an_unfinished_bag_has_proven_so_far,
         says_medium_only_of_what_a_device_gave, tells_how_far_it_is_and_ends_with_all, stops_when_asked,
         finds_finished_and_unfinished_bags_and_none_within_a_bag, tells_of_folders_it_may_not_look_into)
