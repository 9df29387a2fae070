/* SPDX-License-Identifier: ISC */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "archive_writer.h"
#include "card_fixture.h"
#include "hostile_archive.h"
#include "platform/machine.h"
#include "suite.h"

static const char frame[] = "a frame of the final at Northmere";
#define FRAME .body = frame, .body_size = sizeof frame - 1

/* A tar of these members with a right one before and after them. */
static void insert_tar(struct slot *slot, const struct tar_member *members, size_t count)
{
    struct archive_writer tar = {0};
    slot_begin(slot);
    tar_add(&tar, &(struct tar_member){.name = "DCIM/before.JPG", FRAME});
    for (size_t i = 0; i < count; i++)
        tar_add(&tar, &members[i]);
    tar_add(&tar, &(struct tar_member){.name = "DCIM/after.JPG", FRAME});
    tar_end(&tar);
    slot_write(slot, "card.tar", tar.bytes, tar.size);
    archive_writer_finish(&tar);
    slot_insert(slot, "card.tar");
    slot_expect_text(slot, "DCIM/before.JPG", frame);
    slot_expect_text(slot, "DCIM/after.JPG", frame);
}
#define INSERT_TAR(slot, ...)                                                                                          \
    insert_tar(slot, (const struct tar_member[]){__VA_ARGS__},                                                         \
               sizeof((const struct tar_member[]){__VA_ARGS__}) / sizeof(struct tar_member))

static void expect_counts(const struct slot *slot, size_t files, size_t skips)
{
    ck_assert_msg(slot->inventory->file_count == files && slot->inventory->skip_count == skips, "%zu skips and %s",
                  slot->inventory->skip_count, slot_order(slot, NULL));
}

START_TEST(takes_no_name_that_leads_out_of_the_card)
{
    static const char *const names[] = {"../N1.JPG", "DCIM/../../N1.JPG", "/N1.JPG",       "//N1.JPG",    "DCIM/..",
                                        "..",        "DCIM//N1.JPG",      "DCIM/./N1.JPG", "./../N1.JPG", ".//N1.JPG"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct slot slot;
        INSERT_TAR(&slot, {.name = names[i], FRAME});
        expect_counts(&slot, 2, 1);
        slot_expect_skip(&slot, names[i], HR_SKIP_ESCAPES, HR_OK);
        slot_end(&slot);
    }
}
END_TEST

START_TEST(takes_a_name_that_begins_with_a_dot_and_a_slash_without_them)
{
    struct slot slot;
    INSERT_TAR(&slot, {.name = "./"}, {.name = "./DCIM/", .type = '5'}, {.name = "./DCIM/N1.JPG", FRAME},
               {.name = "././DCIM/N2.JPG", FRAME}, {.name = "..N3.JPG", FRAME}, {.name = "DCIM/...", FRAME});
    expect_counts(&slot, 6, 0);
    slot_expect_text(&slot, "DCIM/N1.JPG", frame);
    slot_expect_text(&slot, "DCIM/N2.JPG", frame);
    slot_expect_text(&slot, "..N3.JPG", frame);
    slot_expect_text(&slot, "DCIM/...", frame);
    ck_assert(slot.inventory->has_dcim);
    slot_end(&slot);
}
END_TEST

/* Symbolic links and what is no file are reported; a hard link was a file, and what nobody knows may have been one. */
START_TEST(carries_nothing_that_is_no_file)
{
    static const struct {
        char type;
        enum hr_card_skip_reason reason;
        enum hr_status status;
    } cases[] = {{'1', HR_SKIP_UNREADABLE, HR_UNSUPPORTED},
                 {'2', HR_SKIP_LINK, HR_OK},
                 {'3', HR_SKIP_SPECIAL, HR_OK},
                 {'4', HR_SKIP_SPECIAL, HR_OK},
                 {'6', HR_SKIP_SPECIAL, HR_OK},
                 {'M', HR_SKIP_UNREADABLE, HR_UNSUPPORTED}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct slot slot;
        INSERT_TAR(&slot, {.name = "DCIM/N1.JPG", .type = cases[i].type, .link = "DCIM/before.JPG"});
        expect_counts(&slot, 2, 1);
        slot_expect_skip(&slot, "DCIM/N1.JPG", cases[i].reason, cases[i].status);
        slot_end(&slot);
    }
}
END_TEST

/* One that was extracted would lead the file after it to the system's own folder. */
START_TEST(reads_a_file_through_no_link_of_the_archive)
{
    struct slot slot;
    INSERT_TAR(&slot, {.name = "out", .type = '2', .link = "/tmp"}, {.name = "out/N1.JPG", FRAME},
               {.name = "hard", .type = '1', .link = "/etc/passwd"}, {.name = "hard/N2.JPG", FRAME});
    expect_counts(&slot, 4, 2);
    slot_expect_text(&slot, "out/N1.JPG", frame);
    slot_expect_text(&slot, "hard/N2.JPG", frame);
    slot_expect_skip(&slot, "out", HR_SKIP_LINK, HR_OK);
    slot_expect_skip(&slot, "hard", HR_SKIP_UNREADABLE, HR_UNSUPPORTED);
    slot_end(&slot);
}
END_TEST

START_TEST(keeps_the_first_of_one_name_and_what_is_in_a_folder)
{
    struct slot slot;
    INSERT_TAR(&slot, {.name = "N1.JPG", .body = "first", .body_size = 5},
               {.name = "N1.JPG", .body = "second", .body_size = 6},
               {.name = "./N1.JPG", .body = "3rd", .body_size = 3}, {.name = "a", FRAME}, {.name = "a/b", FRAME},
               {.name = "a/b/N2.JPG", FRAME}, {.name = "a/b/N3.JPG", FRAME}, {.name = "c/d", FRAME},
               {.name = "c", FRAME}, {.name = "ab", FRAME}, {.name = "e/", .type = '5'}, {.name = "e", FRAME});
    expect_counts(&slot, 8, 5);
    slot_expect_text(&slot, "N1.JPG", "first");
    slot_expect_text(&slot, "a/b/N3.JPG", frame);
    slot_expect_text(&slot, "c/d", frame);
    slot_expect_text(&slot, "ab", frame);
    slot_expect_text(&slot, "e", frame);
    slot_expect_skip(&slot, "a", HR_SKIP_DUPLICATE, HR_OK);
    slot_expect_skip(&slot, "a/b", HR_SKIP_DUPLICATE, HR_OK);
    slot_expect_skip(&slot, "c", HR_SKIP_DUPLICATE, HR_OK);
    ck_assert_uint_eq(slot.inventory->total_bytes, 5 + 7 * (sizeof frame - 1));
    slot_end(&slot);
}
END_TEST

START_TEST(takes_protection_and_time_from_the_entry)
{
    struct slot slot;
    INSERT_TAR(&slot, {.name = "N1.JPG", .mode = 0444, .modified_s = 1779030245, FRAME},
               {.name = "N2.JPG", .mode = 0644, .pax = "30 mtime=1350244992.023960108\n", FRAME},
               {.name = "N3.JPG", .pax = "22 mtime=-1.500000000\n", FRAME},
               {.name = "N4.JPG", .pax = "30 mtime=99999999999999999999\n", FRAME});
    ck_assert(slot_file(&slot, "N1.JPG")->is_protected && !slot_file(&slot, "N2.JPG")->is_protected);
    ck_assert_int_eq(slot_file(&slot, "N1.JPG")->modified_ns, 1779030245000000000);
    ck_assert_int_eq(slot_file(&slot, "N2.JPG")->modified_ns, 1350244992023960108);
    ck_assert_int_le(slot_file(&slot, "N3.JPG")->modified_ns, -500000000);
    ck_assert_int_gt(slot_file(&slot, "N4.JPG")->modified_ns, 9000000000000000000);
    slot_end(&slot);
}
END_TEST

/* Names of a pax header are UTF-8 by its standard and arbitrary bytes in practice. */
START_TEST(keeps_names_byte_for_byte)
{
    struct slot slot;
    INSERT_TAR(&slot, {.name = "x", .pax = "19 path=cafe\xcc\x81.JPG\n", FRAME},
               {.name = "x", .pax = "18 path=caf\xc3\xa9.JPG\n", FRAME},
               {.name = "x", .pax = "17 path=caf\xe9.JPG\n", FRAME}, {.name = "caf\xc3\xa9-2.JPG", FRAME},
               {.name = "caf\xe9-2.JPG", FRAME}, {.name = "two\nlines %41 \"it's\".JPG", FRAME},
               {.name = "back\\slash.JPG", FRAME});
    expect_counts(&slot, 9, 0);
    static const char *const names[] = {"cafe\xcc\x81.JPG",  "caf\xc3\xa9.JPG", "caf\xe9.JPG",
                                        "caf\xc3\xa9-2.JPG", "caf\xe9-2.JPG",   "two\nlines %41 \"it's\".JPG",
                                        "back\\slash.JPG"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        slot_expect_text(&slot, names[i], frame);
    slot_end(&slot);
}
END_TEST

/* A torn record may have held the path or the size: what the entry then says is not to be believed. */
START_TEST(doubts_an_entry_whose_extended_header_is_torn)
{
    static const char *const torn[] = {"99 path=N2.JPG\n", "x path=N2.JPG\n", "14 path=N2.JPG ", "14 pathN2.JPG\n"};
    for (size_t i = 0; i < sizeof torn / sizeof *torn; i++) {
        struct slot slot;
        INSERT_TAR(&slot, {.name = "N1.JPG", .pax = torn[i], FRAME});
        expect_counts(&slot, 2, 1);
        slot_expect_skip(&slot, "N1.JPG", HR_SKIP_UNREADABLE, HR_MALFORMED);
        slot_end(&slot);
    }
}
END_TEST

static enum hr_status try_tar(const struct tar_member *member, bool has_end, struct hr_fault *fault)
{
    struct slot slot;
    struct archive_writer tar = {0};
    slot_begin(&slot);
    tar_add(&tar, &(struct tar_member){.name = "N1.JPG", FRAME});
    tar_add(&tar, member);
    tar_add(&tar, &(struct tar_member){.name = "N3.JPG", FRAME});
    if (has_end)
        tar_end(&tar);
    slot_write(&slot, "card.tar", tar.bytes, tar.size);
    archive_writer_finish(&tar);
    enum hr_status status = slot_try(&slot, "card.tar", fault);
    slot_end(&slot);
    return status;
}

START_TEST(says_that_the_archive_is_damaged_where_the_next_entry_is_lost)
{
    static const struct tar_member members[] = {
        {.name = "N2.JPG", FRAME, .wrong_sum = true},
        {.name = "N2.JPG", FRAME, .size_lie = 512},          /* more than there is: the next header is its content */
        {.name = "N2.JPG", FRAME, .size_lie = 1 << 20},      /* past the end */
        {.name = "N2.JPG", FRAME, .size_lie = 077777777000}, /* far past it */
        {.name = "N2.JPG", FRAME, .size_lie = -(int64_t)sizeof frame + 1}, /* less: content is taken for a header */
        {.name = "N2.JPG", .pax = "29 size=18446744073709551615\n", FRAME},
        {.name = "N2.JPG", .pax = "11 size=-1\n", FRAME},
    };
    for (size_t i = 0; i < sizeof members / sizeof *members; i++) {
        struct hr_fault fault = {0};
        enum hr_status status = try_tar(&members[i], true, &fault);
        ck_assert_msg(status == HR_MALFORMED && strstr(fault.text, "card.tar: the archive is damaged: "),
                      "member %zu: %s (%s)", i, hr_status_name(status), fault.text);
        ck_assert_msg(!strstr(fault.text, "%0A"), "%s", fault.text);
    }
}
END_TEST

START_TEST(says_that_the_archive_is_damaged_when_its_end_is_missing)
{
    struct hr_fault fault = {0};
    ck_assert_int_eq(try_tar(&(struct tar_member){.name = "N2.JPG", FRAME}, true, NULL), HR_OK);
    ck_assert_int_eq(try_tar(&(struct tar_member){.name = "N2.JPG", FRAME}, false, &fault), HR_MALFORMED);
    ck_assert_msg(strstr(fault.text, "its end is missing"), "%s", fault.text);
}
END_TEST

/* ---- Damage anywhere ---- */

static void build_sample(struct archive_writer *tar)
{
    tar_add(tar, &(struct tar_member){.name = "DCIM/", .type = '5'});
    tar_add(tar, &(struct tar_member){.name = hostile_files[0].path, HOSTILE_BODY(0)});
    tar_add(tar, &(struct tar_member){.name = "x", .pax = "23 path=DCIM/N0002.JPG\n", HOSTILE_BODY(1)});
    tar_add(tar, &(struct tar_member){.name = hostile_files[2].path, HOSTILE_BODY(2)});
    tar_end(tar);
}

START_TEST(misses_whatever_is_cut_off)
{
    struct archive_writer tar = {0};
    build_sample(&tar);
    hostile_cut(&tar, "card.tar", 61, 2 * 512);
    archive_writer_finish(&tar);
}
END_TEST

START_TEST(ends_whatever_byte_is_wrong)
{
    struct archive_writer tar = {0};
    build_sample(&tar);
    hostile_flip(&tar, "card.tar", 0, 7, HOSTILE_CONTENT_IS_NOT_PROTECTED);
    archive_writer_finish(&tar);
}
END_TEST

START_TEST(notices_that_the_archive_is_written_to_or_replaced)
{
    struct archive_writer tar = {0};
    build_sample(&tar);
    hostile_change(&tar, "card.tar");
    archive_writer_finish(&tar);
}
END_TEST

/* Size and time of the archive are as they were: the name tells. */
START_TEST(notices_another_entry_in_the_place_of_one)
{
    struct slot slot;
    struct archive_writer tar = {0};
    slot_begin(&slot);
    tar_add(&tar, &(struct tar_member){.name = "N1.JPG", FRAME});
    tar_end(&tar);
    slot_write(&slot, "card.tar", tar.bytes, tar.size);
    slot_stamp(&slot, "card.tar", 1779030245, 0);
    slot_insert(&slot, "card.tar");
    archive_writer_finish(&tar);
    tar_add(&tar, &(struct tar_member){.name = "N2.JPG", FRAME});
    tar_end(&tar);
    slot_write(&slot, "card.tar", tar.bytes, tar.size);
    slot_stamp(&slot, "card.tar", 1779030245, 0);
    archive_writer_finish(&tar);
    const char *text = slot_expect_failure(&slot, "N1.JPG", HR_DIFFERS);
    ck_assert_msg(strstr(text, "changed meanwhile"), "%s", text);
    slot_end(&slot);
}
END_TEST

/* Bytes this process has asked the system for; 0 where that is not counted. */
static long long asked_for(void)
{
    long long bytes = 0;
    FILE *file = fopen("/proc/self/io", "r");
    if (file) {
        ck_assert_int_eq(fscanf(file, "rchar: %lld", &bytes), 1);
        fclose(file);
    }
    return bytes;
}

/* Each file twice, one reading right after the other, as an offload that rereads the card does: the archive is gone
 * through twice, not anew for every file. */
START_TEST(reads_each_file_twice_in_two_passes)
{
    enum { FILES = 40, FILE_BYTES = 1 << 18 };
    static char body[FILE_BYTES];
    struct slot slot;
    struct archive_writer tar = {0};
    slot_begin(&slot);
    for (int i = 0; i < FILES; i++) {
        char name[16];
        snprintf(name, sizeof name, "N%04d.JPG", i);
        tar_add(&tar, &(struct tar_member){.name = name, .modified_s = i, .body = body, .body_size = FILE_BYTES});
    }
    tar_end(&tar);
    slot_write(&slot, "card.tar", tar.bytes, tar.size);
    slot_insert(&slot, "card.tar");
    struct hr_card_reader *reader = NULL;
    unsigned char *piece = hr__aligned_alloc(2 * FILE_BYTES);
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    long long before = asked_for();
    for (size_t i = 0; i < 2 * FILES; i++) {
        size_t got = 0;
        ck_assert_int_eq(hr_card_reader_start(reader, &slot.inventory->files[i / 2], i % 2, NULL), HR_OK);
        ck_assert_int_eq(hr_card_reader_read(&got, reader, piece, 2 * FILE_BYTES, NULL), HR_OK);
        ck_assert_uint_eq(got, FILE_BYTES);
        ck_assert_int_eq(hr_card_reader_end(reader, NULL), HR_OK);
    }
    ck_assert_int_lt(asked_for() - before, 3 * (long long)tar.size);
    hr_card_reader_close(reader);
    hr__aligned_free(piece);
    archive_writer_finish(&tar);
    slot_end(&slot);
}
END_TEST

HR_SUITE_TIMED("card/tar", 120, takes_no_name_that_leads_out_of_the_card,
               takes_a_name_that_begins_with_a_dot_and_a_slash_without_them, carries_nothing_that_is_no_file,
               reads_a_file_through_no_link_of_the_archive, keeps_the_first_of_one_name_and_what_is_in_a_folder,
               takes_protection_and_time_from_the_entry, keeps_names_byte_for_byte,
               doubts_an_entry_whose_extended_header_is_torn,
               says_that_the_archive_is_damaged_where_the_next_entry_is_lost,
               says_that_the_archive_is_damaged_when_its_end_is_missing, misses_whatever_is_cut_off,
               ends_whatever_byte_is_wrong, notices_that_the_archive_is_written_to_or_replaced,
               notices_another_entry_in_the_place_of_one, reads_each_file_twice_in_two_passes)
