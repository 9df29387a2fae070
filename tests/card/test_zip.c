/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "archive_writer.h"
#include "card/zip_end.h"
#include "card_fixture.h"
#include "hostile_archive.h"
#include "suite.h"

enum { UNIX = 3, UTF8 = 0x800, ENCRYPTED = 1 };

static const char frame[] = "a frame of the final at Northmere";
enum { FRAME_BYTES = sizeof frame - 1 };
#define FRAME .body = frame, .body_size = FRAME_BYTES

/* Deflated without compressing: RFC 1951, 3.2.4. */
static unsigned char deflated[FRAME_BYTES + 5];

static void deflate_frame(void)
{
    memcpy(deflated, (const unsigned char[]){1, FRAME_BYTES, 0, FRAME_BYTES ^ 255, 255}, 5);
    memcpy(deflated + 5, frame, FRAME_BYTES);
}
#define DEFLATED FRAME, .method = 8, .packed = deflated, .packed_size = sizeof deflated

static void write_zip(const struct slot *slot, const struct zip_member *members, size_t count, int count_lie)
{
    struct archive_writer zip = {0};
    zip_add(&zip, &(struct zip_member){.name = "DCIM/before.JPG", FRAME});
    for (size_t i = 0; i < count; i++)
        zip_add(&zip, &members[i]);
    zip_add(&zip, &(struct zip_member){.name = "DCIM/after.JPG", FRAME});
    zip_end(&zip, count_lie);
    slot_write(slot, "card.zip", zip.bytes, zip.size);
    archive_writer_finish(&zip);
}

/* A zip of these members with a right one before and after them. */
static void insert_zip(struct slot *slot, const struct zip_member *members, size_t count)
{
    slot_begin(slot);
    write_zip(slot, members, count, 0);
    slot_insert(slot, "card.zip");
    slot_expect_text(slot, "DCIM/before.JPG", frame);
    slot_expect_text(slot, "DCIM/after.JPG", frame);
}
#define INSERT_ZIP(slot, ...)                                                                                          \
    insert_zip(slot, (const struct zip_member[]){__VA_ARGS__},                                                         \
               sizeof((const struct zip_member[]){__VA_ARGS__}) / sizeof(struct zip_member))

static void expect_counts(const struct slot *slot, size_t files, size_t skips)
{
    ck_assert_msg(slot->inventory->file_count == files && slot->inventory->skip_count == skips, "%zu skips and %s",
                  slot->inventory->skip_count, slot_order(slot, NULL));
}

START_TEST(takes_no_name_that_leads_out_of_the_card)
{
    static const struct {
        const char *name, *shown;
        unsigned system;
    } names[] = {{"../N1.JPG", "../N1.JPG", UNIX},
                 {"DCIM/../../N1.JPG", "DCIM/../../N1.JPG", 0},
                 {"/N1.JPG", "/N1.JPG", UNIX},
                 {"DCIM//N1.JPG", "DCIM//N1.JPG", UNIX},
                 {"..\\..\\N1.JPG", "../../N1.JPG", 0}}; /* as a DOS zip separates folders */
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct slot slot;
        INSERT_ZIP(&slot, {.name = names[i].name, .system = names[i].system, FRAME});
        expect_counts(&slot, 2, 1);
        slot_expect_skip(&slot, names[i].shown, HR_SKIP_ESCAPES, HR_OK);
        slot_end(&slot);
    }
}
END_TEST

/* A pipe is left out here: that is how Info-ZIP marks what it was fed through one, and it is a file. */
START_TEST(carries_nothing_that_is_no_file)
{
    static const struct {
        mode_t mode;
        enum hr_card_skip_reason reason;
        unsigned flags;
        enum hr_status status;
    } cases[] = {{S_IFLNK | 0777, HR_SKIP_LINK, 0, HR_OK},
                 {S_IFBLK | 0666, HR_SKIP_SPECIAL, 0, HR_OK},
                 {S_IFSOCK | 0666, HR_SKIP_SPECIAL, 0, HR_OK},
                 {0110000, HR_SKIP_UNREADABLE, 0, HR_UNSUPPORTED}, /* no type anybody knows */
                 {S_IFREG | 0644, HR_SKIP_UNREADABLE, ENCRYPTED, HR_UNSUPPORTED}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct slot slot;
        INSERT_ZIP(&slot, {.name = "N1.JPG",
                           .system = UNIX,
                           .attributes = cases[i].mode << 16,
                           .flags = cases[i].flags,
                           .body = "/etc/passwd",
                           .body_size = 11});
        expect_counts(&slot, 2, 1);
        slot_expect_skip(&slot, "N1.JPG", cases[i].reason, cases[i].status);
        slot_end(&slot);
    }
}
END_TEST

START_TEST(keeps_the_first_of_one_name_and_what_is_in_a_folder)
{
    struct slot slot;
    INSERT_ZIP(&slot, {.name = "N1.JPG", .body = "first", .body_size = 5},
               {.name = "N1.JPG", .body = "second", .body_size = 6}, {.name = "a", FRAME}, {.name = "a/N2.JPG", FRAME});
    expect_counts(&slot, 4, 2);
    slot_expect_text(&slot, "N1.JPG", "first");
    slot_expect_text(&slot, "a/N2.JPG", frame);
    slot_expect_skip(&slot, "N1.JPG", HR_SKIP_DUPLICATE, HR_OK);
    slot_expect_skip(&slot, "a", HR_SKIP_DUPLICATE, HR_OK);
    slot_end(&slot);
}
END_TEST

/* APPNOTE 4.4.15: the upper half of the attributes is the mode where the system is unix; bit 0 is DOS read-only. */
START_TEST(takes_protection_from_the_entry)
{
    struct slot slot;
    INSERT_ZIP(&slot, {.name = "N1.JPG", .system = UNIX, .attributes = (uint32_t)(S_IFREG | 0444) << 16, FRAME},
               {.name = "N2.JPG", .system = UNIX, .attributes = (uint32_t)(S_IFREG | 0644) << 16, FRAME},
               {.name = "N3.JPG", .attributes = 1, FRAME}, {.name = "N4.JPG", .attributes = 0x20, FRAME});
    ck_assert(slot_file(&slot, "N1.JPG")->is_protected && !slot_file(&slot, "N2.JPG")->is_protected);
    ck_assert(slot_file(&slot, "N3.JPG")->is_protected && !slot_file(&slot, "N4.JPG")->is_protected);
    slot_end(&slot);
}
END_TEST

/* Said to be Unicode, a name comes composed; without that word it is bytes. */
START_TEST(keeps_names_byte_for_byte_unless_they_are_said_to_be_unicode)
{
    struct slot slot;
    INSERT_ZIP(&slot, {.name = "cafe\xcc\x81.JPG", FRAME}, {.name = "caf\xc3\xa9-2.JPG", FRAME},
               {.name = "caf\xe9-3.JPG", FRAME}, {.name = "cafe\xcc\x81-4.JPG", .flags = UTF8, FRAME},
               {.name = "caf\xc3\xa9-5.JPG", .flags = UTF8, FRAME}, {.name = "two\nlines %41 \"it's\".JPG", FRAME},
               {.name = "\xe6\x97\xa5/", .flags = UTF8, .system = UNIX},
               {.name = "\xe6\x97\xa5\xe6\x9c\xac", .flags = UTF8, .attributes = 0x10});
    expect_counts(&slot, 8, 0);
    static const char *const names[] = {"cafe\xcc\x81.JPG",  "caf\xc3\xa9-2.JPG", "caf\xe9-3.JPG",
                                        "caf\xc3\xa9-4.JPG", "caf\xc3\xa9-5.JPG", "two\nlines %41 \"it's\".JPG"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        slot_expect_text(&slot, names[i], frame);
    slot_end(&slot);
}
END_TEST

START_TEST(doubts_an_entry_whose_headers_disagree)
{
    struct slot slot;
    INSERT_ZIP(&slot, {.name = "N1.JPG", .local_size_lie = 1, FRAME},
               {.name = "caf\xe9.JPG", .flags = UTF8, FRAME}); /* said to be UTF-8, and is not */
    expect_counts(&slot, 2, 2);
    slot_expect_skip(&slot, "N1.JPG", HR_SKIP_UNREADABLE, HR_MALFORMED);
    slot_end(&slot);
}
END_TEST

/* Each alone fails, with its cause, and the next is read well by the same reader. */
START_TEST(says_that_an_entry_differs_from_what_the_zip_says_of_it)
{
    deflate_frame();
    static unsigned char torn[sizeof deflated];
    memcpy(torn, deflated, sizeof torn);
    torn[3] ^= 1;
    const struct zip_member members[] = {
        {.name = "sum", .sum_lie = 1, FRAME},
        {.name = "sum-deflated", .sum_lie = 1, DEFLATED},
        {.name = "more", .size_lie = -1, FRAME},
        {.name = "more-deflated", .size_lie = -1, DEFLATED},
        {.name = "fewer", .size_lie = 1, FRAME},
        {.name = "fewer-deflated", .size_lie = 1, DEFLATED},
        {.name = "far-fewer", .size_lie = 1 << 20, DEFLATED},
        {.name = "four-GB", .size_lie = 0xfffffff0u - FRAME_BYTES, DEFLATED},
        {.name = "torn", FRAME, .method = 8, .packed = torn, .packed_size = sizeof torn},
        {.name = "method", .method = 77, FRAME},
    };
    enum { COUNT = sizeof members / sizeof *members };
    struct slot slot;
    insert_zip(&slot, members, COUNT);
    expect_counts(&slot, COUNT + 2, 0);
    struct hr_card_reader *reader = NULL;
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    for (size_t i = 0; i < COUNT; i++) {
        unsigned char *bytes;
        size_t size;
        struct hr_fault fault = {0};
        enum hr_status status = slot_read(&bytes, &size, reader, slot_file(&slot, members[i].name), 4096, &fault);
        free(bytes);
        ck_assert_msg(status == HR_DIFFERS && fault.status == status, "%s: %s", members[i].name,
                      hr_status_name(status));
        ck_assert_msg(*fault.text && !strstr(fault.text, "%0A") && !strchr(fault.text, '\n'), "%s", fault.text);
    }
    unsigned char *bytes;
    size_t size;
    ck_assert_int_eq(slot_read(&bytes, &size, reader, slot_file(&slot, "DCIM/after.JPG"), 4096, NULL), HR_OK);
    ck_assert(size == FRAME_BYTES && !memcmp(bytes, frame, size));
    free(bytes);
    hr_card_reader_close(reader);
    slot_end(&slot);
}
END_TEST

START_TEST(reads_deflated_and_stored_entries_in_any_order)
{
    deflate_frame();
    struct slot slot;
    INSERT_ZIP(&slot, {.name = "N1.JPG", DEFLATED}, {.name = "N2.JPG", FRAME}, {.name = "N3.JPG"},
               {.name = "N4.JPG", DEFLATED});
    struct hr_card_reader *reader = NULL;
    static const char *const order[] = {"N4.JPG", "N1.JPG", "N1.JPG", "N2.JPG", "N1.JPG", "DCIM/after.JPG", "N4.JPG"};
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        unsigned char *bytes;
        size_t size;
        ck_assert_int_eq(slot_read(&bytes, &size, reader, slot_file(&slot, order[i]), 4096, NULL), HR_OK);
        ck_assert(size == FRAME_BYTES && !memcmp(bytes, frame, size));
        free(bytes);
    }
    hr_card_reader_close(reader);
    slot_expect_text(&slot, "N3.JPG", "");
    slot_end(&slot);
}
END_TEST

/* Each says where an entry begins; two of one beginning hide one of them. */
START_TEST(misses_no_entry_of_a_directory_that_lies)
{
    static const struct {
        int64_t offset_lie;
        int count_lie;
    } cases[] = {{0, 1}, {0, -1}, {0, 1000}, {-(int64_t)(30 + 15 + FRAME_BYTES), 0}, {1, 0}, {-1, 0}, {1 << 30, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct slot slot;
        struct hr_fault fault = {0};
        slot_begin(&slot);
        write_zip(&slot,
                  &(struct zip_member){.name = "DCIM/betwe.JPG", .offset_lie = (uint32_t)cases[i].offset_lie, FRAME}, 1,
                  cases[i].count_lie);
        enum hr_status status = slot_try(&slot, "card.zip", &fault);
        ck_assert_msg(status == HR_MALFORMED || status == HR_UNSUPPORTED, "case %zu: %s", i, hr_status_name(status));
        slot_end(&slot);
    }
}
END_TEST

START_TEST(reads_the_number_of_entries_from_the_end_record)
{
    static const struct {
        const char *tail;
        size_t size;
        bool is_there;
        unsigned count;
    } cases[] = {
        {"PK\5\6\0\0\0\0\2\1\3\1ssssoooo\0\0", 22, true, 0x103},
        {"xPK\5\6\0\0\0\0\2\1\3\1ssssoooo\7\0comment", 30, true, 0x103},
        {"PK\5\6\0\0\0\0\1\0\1\0ssssooooPK\5\6\0\0\0\0\2\0\2\0ssssoooo\0\0", 42, true, 2}, /* the last */
        {"PK\5\6\0\0\0\0\xff\xff\xff\xffssssoooo\0\0", 22, false, 0},                      /* zip64 */
        {"PK\5\6\0\0\0\0\2\1\3\1ssssoooo\0", 21, false, 0},
        {"PK\5\5\0\0\0\0\2\1\3\1ssssoooo\0\0", 22, false, 0},
        {"", 0, false, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        uint16_t count = 0;
        bool is_there = hr__zip_end_count(&count, (const unsigned char *)cases[i].tail, cases[i].size);
        ck_assert_msg(is_there == cases[i].is_there && (!is_there || count == cases[i].count), "case %zu: %u", i,
                      count);
    }
}
END_TEST

static void build_sample(struct archive_writer *zip)
{
    for (size_t i = 0; i < HOSTILE_FILES; i++)
        zip_add(zip, &(struct zip_member){.name = hostile_files[i].path, .flags = UTF8, HOSTILE_BODY(i)});
    zip_end(zip, 0);
}

START_TEST(misses_whatever_is_cut_off)
{
    struct archive_writer zip = {0};
    build_sample(&zip);
    hostile_cut(&zip, "card.zip", 13, 0);
    archive_writer_finish(&zip);
}
END_TEST

START_TEST(gives_right_bytes_or_says_so_whatever_byte_is_wrong)
{
    struct archive_writer zip = {0};
    build_sample(&zip);
    hostile_flip(&zip, "card.zip", 0, 5, HOSTILE_CONTENT_IS_PROTECTED);
    archive_writer_finish(&zip);
}
END_TEST

START_TEST(notices_that_the_archive_is_written_to_or_replaced)
{
    struct archive_writer zip = {0};
    build_sample(&zip);
    hostile_change(&zip, "card.zip");
    archive_writer_finish(&zip);
}
END_TEST

HR_SUITE_TIMED("card/zip", 120, takes_no_name_that_leads_out_of_the_card, carries_nothing_that_is_no_file,
               keeps_the_first_of_one_name_and_what_is_in_a_folder, takes_protection_from_the_entry,
               keeps_names_byte_for_byte_unless_they_are_said_to_be_unicode, doubts_an_entry_whose_headers_disagree,
               says_that_an_entry_differs_from_what_the_zip_says_of_it, reads_deflated_and_stored_entries_in_any_order,
               misses_no_entry_of_a_directory_that_lies, reads_the_number_of_entries_from_the_end_record,
               misses_whatever_is_cut_off, gives_right_bytes_or_says_so_whatever_byte_is_wrong,
               notices_that_the_archive_is_written_to_or_replaced)
