/* SPDX-License-Identifier: ISC */
/* Making bags: names, the journal, resuming, finishing. */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "bag_fixture.h"
#include "suite.h"

static struct yard yard;

static void begin(void)
{
    setenv("TZ", "UTC", 1);
    yard_begin(&yard);
}

START_TEST(names_a_bag_by_time_and_card_and_numbers_the_next)
{
    begin();
    struct hr_bag *bags[3];
    for (size_t i = 0; i < 3; i++) {
        bags[i] = yard_create(&yard);
        yard_deliver(bags[i], "a.jpg", "a", true, true);
    }
    ck_assert_str_eq(hr_bag_path(bags[0]), yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"));
    ck_assert_str_eq(hr_bag_path(bags[1]), yard_path(&yard, "place/Cup final/20251009-085320-2_BODY_A"));
    ck_assert_str_eq(hr_bag_path(bags[2]), yard_path(&yard, "place/Cup final/20251009-085320-3_BODY_A"));
    ck_assert_str_eq(hr_bag_data_path(bags[0]), yard_path(&yard, "place/Cup final/20251009-085320_BODY_A/data"));
    ck_assert_str_eq(hr_bag_aside_path(bags[0]), yard_path(&yard, "place/Cup final/20251009-085320_BODY_A.aside"));
    for (size_t i = 0; i < 3; i++)
        hr_bag_close(bags[i]);
    yard_end(&yard);
}
END_TEST

START_TEST(refuses_labels_that_cannot_be_folders_or_lines)
{
    begin();
    static const char *const jobs[] = {"", ".", "..", ".hidden", "a/b", "../up", "two\nlines"};
    struct hr_bag *bag = NULL;
    for (size_t i = 0; i < sizeof jobs / sizeof *jobs; i++) {
        struct hr_bag_label label = yard.label;
        label.job = jobs[i];
        ck_assert_int_eq(hr_bag_create(&bag, yard.place, &label, NULL), HR_INVALID);
        label = yard.label;
        label.card_name = jobs[i];
        ck_assert_int_eq(hr_bag_create(&bag, yard.place, &label, NULL), HR_INVALID);
    }
    struct hr_bag_label label = yard.label;
    label.card_identity = "uuid:\nPayload-Oxum: 0.0";
    ck_assert_int_eq(hr_bag_create(&bag, yard.place, &label, NULL), HR_INVALID);
    label.card_identity = "";
    ck_assert_int_eq(hr_bag_create(&bag, yard.place, &label, NULL), HR_INVALID);
    ck_assert_int_eq(hr_bag_create(&bag, yard_path(&yard, "nowhere"), &yard.label, NULL), HR_NOT_FOUND);
    ck_assert_ptr_null(bag);
    yard_end(&yard);
}
END_TEST

START_TEST(leaves_nothing_behind_when_nothing_was_proven)
{
    begin();
    struct hr_bag *bag = yard_create(&yard);
    yard_write(&yard, "place/Cup final/20251009-085320_BODY_A/data/DCIM/100NORTH/x", "");
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/data/DCIM/100NORTH/x");
    ck_assert_int_eq(hr_bag_note_throughput(bag, "elapsed_s,bytes", NULL), HR_OK);
    hr_bag_close(bag);
    ck_assert(!yard_stands(&yard, "place/Cup final"));
    ck_assert(yard_stands(&yard, "place"));
    yard_end(&yard);
}
END_TEST

START_TEST(leaves_a_job_that_was_there_and_a_file_nobody_recorded)
{
    begin();
    yard_write(&yard, "place/Cup final/notes.txt", "mine");
    hr_bag_close(yard_create(&yard));
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A"));
    ck_assert_str_eq(yard_read(&yard, "place/Cup final/notes.txt"), "mine");
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, false);
    hr_bag_close(bag);
    ck_assert_str_eq(yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/data/a.jpg"), "a");
    yard_end(&yard);
}
END_TEST

START_TEST(finishes_with_every_tag_file_and_nothing_of_its_own_left)
{
    begin();
    static const char *const standing[] = {"bagit.txt",           "bag-info.txt",           "manifest-xxh128.txt",
                                           "manifest-sha256.txt", "tagmanifest-sha256.txt", "files.csv",
                                           "throughput.csv"};
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "DCIM/b.jpg", "bb", true, true);
    yard_deliver(bag, "DCIM/a.jpg", "a", true, true);
    ck_assert_int_eq(hr_bag_note_throughput(bag, "elapsed_s,bytes", NULL), HR_OK);
    ck_assert_int_eq(hr_bag_note_throughput(bag, "1,3", NULL), HR_OK);
    yard_finish(bag);
    ck_assert_int_eq(chdir(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A")), 0);
    for (size_t i = 0; i < sizeof standing / sizeof *standing; i++)
        ck_assert_msg(access(standing[i], F_OK) == 0, "%s", standing[i]);
    struct hr_bag_report *report = yard_verify(".");
    ck_assert_msg(report->verdict == HR_BAG_VALID, "%s", yard_problems(report));
    hr_bag_report_destroy(report);
    /* data, seven files, and no dot file */
    char **paths = NULL;
    size_t count = 0;
    ck_assert_int_eq(hr_bags_find(&paths, &count, NULL, ".", NULL), HR_OK);
    ck_assert_uint_eq(count, 1);
    hr_bag_paths_free(paths, count);
    ck_assert_int_eq(system("test $(ls -A | wc -l) = 8"), 0);
    ck_assert_str_eq(yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/bagit.txt"),
                     "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
    ck_assert_str_eq(yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/throughput.csv"),
                     "elapsed_s,bytes\n1,3\n");
    yard_end(&yard);
}
END_TEST

START_TEST(says_on_its_cover_whose_card_it_is_and_how_much)
{
    begin();
    yard.label.description = "frames of the final at Northmere";
    const char *path = yard_three_files(&yard, true);
    const char *info = yard_read(&yard, yard_path(&yard, "place/Cup final/20251009-085320_BODY_A/bag-info.txt"));
    ck_assert_ptr_nonnull(strstr(info, "External-Identifier: uuid:1B2C-3D4E\n"));
    ck_assert_ptr_nonnull(strstr(info, "External-Description: frames of the final at Northmere\n"));
    ck_assert_ptr_nonnull(strstr(info, "Payload-Oxum: 31.3\n")); /* 13 + 18 + 0 octets in 3 files */
    ck_assert_ptr_nonnull(strstr(info, "Payload-Digests: xxh128 sha256\n"));
    ck_assert_ptr_nonnull(strstr(info, "Bag-Software-Agent: headrace "));
    ck_assert_ptr_nonnull(strstr(info, "Bag-Size: 31 B\n"));
    ck_assert_ptr_nonnull(strstr(info, "Bagging-Date: 20"));
    yard_expect(path, HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(says_so_when_it_has_no_sha256)
{
    begin();
    const char *path = yard_three_files(&yard, false);
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/manifest-sha256.txt"));
    const char *info = yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/bag-info.txt");
    ck_assert_ptr_nonnull(strstr(info, "Payload-Digests: xxh128\n"));
    yard_expect(path, HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

/* RFC 8493 section 2.1: every payload file stands in every manifest; half a manifest would be worse than none. */
START_TEST(has_no_sha256_manifest_when_one_file_lacks_that_digest)
{
    begin();
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    yard_deliver(bag, "b.jpg", "b", false, true);
    yard_finish(bag);
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/manifest-sha256.txt"));
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(sorts_manifests_by_path_bytes)
{
    begin();
    static const char *const paths[] = {"\xC3\xA9.jpg", "b.jpg", "b/a.jpg", "B.jpg", "b-a.jpg"};
    static const char *const sorted[] = {"B.jpg", "b-a.jpg", "b.jpg", "b/a.jpg", "\xC3\xA9.jpg"};
    struct hr_bag *bag = yard_create(&yard);
    for (size_t i = 0; i < 5; i++)
        yard_deliver(bag, paths[i], "same", true, true);
    yard_finish(bag);
    const char *line = yard_read(&yard, "place/Cup final/20251009-085320_BODY_A/manifest-sha256.txt");
    for (size_t i = 0; i < 5; i++, line = strchr(line, '\n') + 1) {
        char wanted[256];
        snprintf(wanted, sizeof wanted, "%s  data/%s\n", yard_hex(HR_DIGEST_SHA256, "same"), sorted[i]);
        ck_assert_msg(!strncmp(line, wanted, strlen(wanted)), "%s", line);
    }
    ck_assert_str_eq(line, "");
    yard_end(&yard);
}
END_TEST

START_TEST(does_not_finish_over_a_file_that_was_never_proven)
{
    begin();
    struct hr_fault fault = {0};
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    yard_deliver(bag, "b.jpg", "b", true, false);
    ck_assert_int_eq(hr_bag_finish(bag, &fault), HR_DIFFERS);
    ck_assert_ptr_nonnull(strstr(fault.text, "b.jpg"));
    hr_bag_close(bag);
    ck_assert(!yard_stands(&yard, "place/Cup final/20251009-085320_BODY_A/bagit.txt"));
    bag = yard_resume(&yard);
    yard_deliver(bag, "b.jpg", "b", true, true);
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/data/a.jpg");
    hr_fault_clear(&fault);
    yard_deliver(bag, "Thumbs.db", "x", true, false);
    ck_assert_int_eq(hr_bag_finish(bag, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "a.jpg"));
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/data/Thumbs.db");
    hr_bag_close(bag);
    bag = yard_resume(&yard);
    yard_finish(bag);
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(overwrites_nothing_that_stands_where_a_tag_file_goes)
{
    begin();
    struct hr_bag *bag = yard_create(&yard);
    yard_deliver(bag, "a.jpg", "a", true, true);
    ck_assert_int_eq(symlink("/etc/passwd", yard_path(&yard, "place/Cup final/20251009-085320_BODY_A/files.csv")), 0);
    ck_assert_int_eq(hr_bag_finish(bag, NULL), HR_EXISTS);
    hr_bag_close(bag);
    yard_remove(&yard, "place/Cup final/20251009-085320_BODY_A/files.csv");
    bag = yard_resume(&yard);
    yard_finish(bag);
    yard_expect(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

/* Whatever a finishing left when it was cut short; crash_test.sh cuts real ones. */
START_TEST(finishes_again_after_a_finishing_that_was_cut_short)
{
    begin();
    static const char *const lost[] = {"bagit.txt", "tagmanifest-sha256.txt", "manifest-sha256.txt"};
    char path[4096];
    const char *bag_path = yard_three_files(&yard, true);
    for (size_t i = 0; i < sizeof lost / sizeof *lost; i++) {
        for (size_t n = 0; n <= i; n++) {
            snprintf(path, sizeof path, "%s/%s", bag_path, lost[n]);
            yard_remove(&yard, path);
        }
        snprintf(path, sizeof path, "%s/.tagmanifest-sha256.txt.part", bag_path);
        yard_write(&yard, path, "torn");
        yard_expect(bag_path, HR_BAG_UNFINISHED);
        struct hr_bag *bag = yard_resume(&yard);
        ck_assert_str_eq(hr_bag_path(bag), bag_path);
        yard_finish(bag);
        yard_expect(bag_path, HR_BAG_VALID);
    }
    yard_end(&yard);
}
END_TEST

START_TEST(carries_a_column_of_any_name)
{
    begin();
    static const char *const names[] = {
        "two\nlines",        "return\r",      "100%.jpg",  "%0A",    "a \"b\", c", "back\\slash",
        "\xff\xfe not utf8", " blanks both ", "*asterisk", "#hash",  "-dash",      "~tilde",
        ".hidden",           ".x.part",       "\x01\x7f",  "C:drive"};
    char long_name[256], deep[1024];
    struct hr_bag *bag = yard_create(&yard);
    memset(long_name, 'n', 255);
    long_name[255] = '\0';
    deep[0] = '\0';
    for (size_t i = 0; i < 200; i++)
        strcat(deep, "d/e/");
    strcat(deep, "end.jpg");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        yard_deliver(bag, names[i], names[i], true, true);
    yard_deliver(bag, long_name, "long", true, true);
    yard_deliver(bag, deep, "deep", true, true);
    hr_bag_close(bag);
    bag = yard_resume(&yard);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        ck_assert_msg(hr_bag_find(bag, names[i]) != NULL, "%s", names[i]);
    ck_assert_ptr_nonnull(hr_bag_find(bag, deep));
    yard_finish(bag);
    struct hr_bag_report *report = yard_verify(yard_path(&yard, "place/Cup final/20251009-085320_BODY_A"));
    /* One name is not UTF-8, which the standard asks tag files to be: that is told, and nothing else. */
    ck_assert_int_eq(report->verdict, HR_BAG_VALID_WITH_WARNINGS);
    ck_assert_msg(report->problem_count == 2, "%s", yard_problems(report));
    ck_assert_uint_eq(report->proof_count, sizeof names / sizeof *names + 2);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        bool is_found = false;
        for (size_t n = 0; n < report->proof_count; n++)
            is_found |= !strcmp(report->proofs[n].file.path, names[i]);
        ck_assert_msg(is_found, "%s", names[i]);
    }
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

HR_SUITE("bag/bag", names_a_bag_by_time_and_card_and_numbers_the_next, refuses_labels_that_cannot_be_folders_or_lines,
         leaves_nothing_behind_when_nothing_was_proven, leaves_a_job_that_was_there_and_a_file_nobody_recorded,
         finishes_with_every_tag_file_and_nothing_of_its_own_left, says_on_its_cover_whose_card_it_is_and_how_much,
         says_so_when_it_has_no_sha256, has_no_sha256_manifest_when_one_file_lacks_that_digest,
         sorts_manifests_by_path_bytes, does_not_finish_over_a_file_that_was_never_proven,
         overwrites_nothing_that_stands_where_a_tag_file_goes, finishes_again_after_a_finishing_that_was_cut_short,
         carries_a_column_of_any_name)
