/* SPDX-License-Identifier: ISC */
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "archive_writer.h"
#include "card_fixture.h"
#include "platform/volume.h"
#include "suite.h"

static void write_tar(const struct slot *slot, const char *path)
{
    struct archive_writer tar = {0};
    tar_add(&tar, &(struct tar_member){.name = "DCIM/N1.JPG", .body = "a frame", .body_size = 7});
    tar_end(&tar);
    slot_write(slot, path, tar.bytes, tar.size);
    archive_writer_finish(&tar);
}

START_TEST(opens_folders_and_archives_and_refuses_the_rest)
{
    static const struct {
        const char *path;
        enum hr_status status;
    } cases[] = {{"folder", HR_OK},
                 {"folder/", HR_OK},
                 {"to-folder", HR_OK},
                 {"card.tar", HR_OK},
                 {"card.jpg", HR_OK}, /* by its bytes, whatever its name */
                 {"to-tar", HR_OK},
                 {"none", HR_NOT_FOUND},
                 {"folder/none", HR_NOT_FOUND},
                 {"dangling", HR_NOT_FOUND},
                 {"empty.tar", HR_UNSUPPORTED},
                 {"text.zip", HR_UNSUPPORTED},
                 {"zeros.tar", HR_UNSUPPORTED},
                 {"pipe", HR_UNSUPPORTED},
                 {"text.zip/x", HR_INVALID}};
    struct slot slot;
    char zeros[10240] = {0};
    slot_begin(&slot);
    slot_folder(&slot, "folder");
    write_tar(&slot, "card.tar");
    write_tar(&slot, "card.jpg");
    slot_text(&slot, "empty.tar", "");
    slot_text(&slot, "text.zip", "PK\3\4 and nothing more");
    slot_write(&slot, "zeros.tar", zeros, sizeof zeros);
    ck_assert_int_eq(symlink("folder", slot_path(&slot, "to-folder")), 0);
    ck_assert_int_eq(symlink("card.tar", slot_path(&slot, "to-tar")), 0);
    ck_assert_int_eq(symlink("nothing", slot_path(&slot, "dangling")), 0);
    ck_assert_int_eq(mkfifo(slot_path(&slot, "pipe"), 0666), 0);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct hr_card *card = NULL;
        struct hr_fault fault = {0};
        enum hr_status status = hr_card_open(&card, slot_path(&slot, cases[i].path), &fault);
        ck_assert_msg(status == cases[i].status && fault.status == status, "%s: %s (%s)", cases[i].path,
                      hr_status_name(status), fault.text);
        ck_assert(!card == (status != HR_OK));
        ck_assert(!status || strstr(fault.text, slot_path(&slot, cases[i].path)));
        hr_card_close(card);
    }
    slot_end(&slot);
}
END_TEST

START_TEST(may_not_open_what_the_system_denies)
{
    struct slot slot;
    struct hr_card *card = NULL;
    slot_begin(&slot);
    slot_folder(&slot, "folder");
    write_tar(&slot, "card.tar");
    ck_assert_int_eq(chmod(slot_path(&slot, "folder"), 0), 0);
    ck_assert_int_eq(chmod(slot_path(&slot, "card.tar"), 0), 0);
    if (getuid() == 0)
        ck_assert_int_eq(seteuid(65534), 0);
    ck_assert_int_eq(hr_card_open(&card, slot_path(&slot, "folder"), NULL), HR_DENIED);
    ck_assert_int_eq(hr_card_open(&card, slot_path(&slot, "card.tar"), NULL), HR_DENIED);
    if (getuid() == 0)
        ck_assert_int_eq(seteuid(0), 0);
    ck_assert_int_eq(chmod(slot_path(&slot, "folder"), 0755), 0);
    slot_end(&slot);
}
END_TEST

START_TEST(tells_its_path_as_given_and_as_it_is)
{
    struct slot slot;
    char given[2048], real[4096], expected[4200];
    slot_begin(&slot);
    slot_folder(&slot, "folder");
    ck_assert_int_eq(symlink("folder", slot_path(&slot, "link")), 0);
    snprintf(given, sizeof given, "%s", slot_path(&slot, "./link/../link/"));
    ck_assert_ptr_nonnull(realpath(slot.root, real));
    snprintf(expected, sizeof expected, "%s/folder", real);
    ck_assert_int_eq(hr_card_open(&slot.card, given, NULL), HR_OK);
    ck_assert_str_eq(hr_card_path(slot.card), given);
    ck_assert_str_eq(hr_card_resolved_path(slot.card), expected);
    ck_assert(!hr_card_is_archive(slot.card) && hr_card_is_present(slot.card));
    slot_end(&slot);
}
END_TEST

/* The name goes into file names and command lines: letters, digits, '-' and '_', no more than 63. */
START_TEST(has_a_name_fit_for_a_file_name)
{
    static const struct {
        const char *path, *name;
    } cases[] = {{"NMERE_A", "NMERE_A"},
                 {"card 1 (half-time)", "card-1--half-time"},
                 {"caf\xc3\xa9", "caf"},
                 {"\xc3\x89tang", "tang"},
                 {"-rf", "rf"},
                 {"..hidden", "hidden"},
                 {"%41\n$(x)", "41---x"},
                 {"\xff\xfe", "card"},
                 {"---", "card"},
                 {"a.b.c", "a-b-c"},
                 {"northmere-A.tar", "northmere-A"},
                 {"northmere.final.tar", "northmere"},
                 {".tar", "card"}};
    struct slot slot;
    slot_begin(&slot);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        if (strstr(cases[i].path, ".tar"))
            write_tar(&slot, cases[i].path);
        else
            slot_folder(&slot, cases[i].path);
        slot_insert(&slot, cases[i].path);
        ck_assert_str_eq(hr_card_name(slot.card), cases[i].name);
        slot_close(&slot);
    }
    char longest[256];
    memset(longest, 'n', 255);
    memset(longest + 60, ' ', 10);
    longest[255] = '\0';
    slot_folder(&slot, longest);
    slot_insert(&slot, longest);
    ck_assert_uint_eq(strlen(hr_card_name(slot.card)), 60); /* no '-' at its end */
    slot_end(&slot);
}
END_TEST

/* The volume's own identity, and within it the folder. */
START_TEST(has_an_identity_of_its_volume_and_its_place_on_it)
{
    struct slot slot;
    struct hr_volume volume;
    char first[512];
    slot_begin(&slot);
    slot_folder(&slot, "a card/100%\n");
    slot_folder(&slot, "b");
    ck_assert_int_eq(hr__volume_of(&volume, slot.root, &hr__system_roots, NULL), HR_OK);
    slot_insert(&slot, "a card/100%\n");
    snprintf(first, sizeof first, "%s", hr_card_identity(slot.card));
    ck_assert(!strncmp(first, volume.identity, strlen(volume.identity)));
    ck_assert_int_eq(first[strlen(volume.identity)], '/');
    ck_assert_str_eq(first + strlen(first) - strlen("/a card/100%25%0A"), "/a card/100%25%0A");
    ck_assert(hr_card_identity_is_weak(slot.card) == volume.identity_is_weak);
    slot_close(&slot);
    slot_insert(&slot, "b");
    ck_assert_str_ne(hr_card_identity(slot.card), first);
    slot_close(&slot);
    slot_insert(&slot, "a card/100%\n");
    ck_assert_str_eq(hr_card_identity(slot.card), first);
    hr__volume_finish(&volume);
    slot_end(&slot);
}
END_TEST

START_TEST(has_an_identity_of_an_archives_size_time_and_name)
{
    struct slot slot;
    struct stat facts;
    char expected[256];
    slot_begin(&slot);
    write_tar(&slot, "northmere 100%.tar");
    slot_stamp(&slot, "northmere 100%.tar", 1779030245, 42);
    ck_assert_int_eq(stat(slot_path(&slot, "northmere 100%.tar"), &facts), 0);
    slot_insert(&slot, "northmere 100%.tar");
    snprintf(expected, sizeof expected, "archive:%jd-1779030245000000042-northmere 100%%25.tar",
             (intmax_t)facts.st_size);
    ck_assert_str_eq(hr_card_identity(slot.card), expected);
    ck_assert(!hr_card_identity_is_weak(slot.card) && hr_card_is_archive(slot.card));
    slot_close(&slot);
    slot_stamp(&slot, "northmere 100%.tar", 1779030245, 43);
    slot_insert(&slot, "northmere 100%.tar");
    ck_assert_str_ne(hr_card_identity(slot.card), expected);
    slot_end(&slot);
}
END_TEST

START_TEST(is_present_until_its_root_is_taken_away)
{
    struct slot slot;
    char away[2048];
    snprintf(away, sizeof away, "away");
    slot_begin(&slot);
    for (int is_archive = 0; is_archive < 2; is_archive++) {
        const char *path = is_archive ? "card.tar" : "card";
        if (is_archive)
            write_tar(&slot, path);
        else
            slot_folder(&slot, path);
        slot_insert(&slot, path);
        ck_assert(hr_card_is_present(slot.card));
        snprintf(away, sizeof away, "%s", slot_path(&slot, "away"));
        ck_assert_int_eq(rename(slot_path(&slot, path), away), 0);
        ck_assert(!hr_card_is_present(slot.card));
        ck_assert_int_eq(rename(away, slot_path(&slot, path)), 0);
        ck_assert(hr_card_is_present(slot.card));
        slot_close(&slot);
    }
    slot_end(&slot);
}
END_TEST

HR_SUITE("card/card", opens_folders_and_archives_and_refuses_the_rest, may_not_open_what_the_system_denies,
         tells_its_path_as_given_and_as_it_is, has_a_name_fit_for_a_file_name,
         has_an_identity_of_its_volume_and_its_place_on_it, has_an_identity_of_an_archives_size_time_and_name,
         is_present_until_its_root_is_taken_away)
