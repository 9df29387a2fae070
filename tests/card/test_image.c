/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "archive_writer.h"
#include "card_fixture.h"
#include "hostile_archive.h"
#include "suite.h"

static const char frame[] = "a frame of the final at Northmere";
#define FRAME .body = frame, .body_size = sizeof frame - 1
#define COUNT_OF(array) (sizeof(array) / sizeof *(array))

static void write_image(const struct slot *slot, const struct iso_member *members, size_t count, int sectors_lie)
{
    struct archive_writer iso = {0};
    iso_build(&iso, members, count, sectors_lie);
    slot_write(slot, "card.iso", iso.bytes, iso.size);
    archive_writer_finish(&iso);
}

static void expect_counts(const struct slot *slot, size_t files, size_t skips)
{
    ck_assert_msg(slot->inventory->file_count == files && slot->inventory->skip_count == skips, "%zu skips and %s",
                  slot->inventory->skip_count, slot_order(slot, NULL));
}

START_TEST(reads_an_image_and_takes_no_file_of_it_for_protected)
{
    static const struct iso_member members[] = {{.name = "DCIM", .folder = -1, .is_folder = true},
                                                {.name = "100NMERE", .folder = 0, .is_folder = true},
                                                {.name = "N0001.JPG;1", .folder = 1, FRAME},
                                                {.name = "N0002.JPG;1", .folder = 1},
                                                {.name = "N0003.JPG;1", .folder = 1, .body = "x", .body_size = 1},
                                                {.name = "INDEX.TXT;1", .folder = -1, FRAME}};
    struct slot slot;
    slot_begin(&slot);
    write_image(&slot, members, COUNT_OF(members), 0);
    slot_insert(&slot, "card.iso");
    expect_counts(&slot, 4, 0);
    ck_assert(hr_card_is_archive(slot.card) && slot.inventory->has_dcim);
    slot_expect_text(&slot, "INDEX.TXT", frame);
    slot_expect_text(&slot, "DCIM/100NMERE/N0001.JPG", frame);
    slot_expect_text(&slot, "DCIM/100NMERE/N0002.JPG", "");
    slot_expect_text(&slot, "DCIM/100NMERE/N0003.JPG", "x");
    ck_assert(!slot_file(&slot, "INDEX.TXT")->is_protected);
    slot_end(&slot);
}
END_TEST

/* 2026-05-17 15:04:05, one hour (four quarters) east of Greenwich: ECMA-119, 9.1.5. */
START_TEST(takes_the_time_of_an_entry_with_its_zone)
{
    static const struct iso_member member = {.name = "N0001.JPG;1", .folder = -1, FRAME};
    struct slot slot;
    struct archive_writer iso = {0};
    slot_begin(&slot);
    iso_build(&iso, &member, 1, 0);
    unsigned char *record = iso.bytes + ISO_ROOT_SECTOR * ISO_SECTOR_BYTES + 34 + 34;
    record[24] = 4;
    slot_write(&slot, "card.iso", iso.bytes, iso.size);
    archive_writer_finish(&iso);
    slot_insert(&slot, "card.iso");
    ck_assert_int_eq(slot_file(&slot, "N0001.JPG")->modified_ns, 1779026645000000000);
    slot_end(&slot);
}
END_TEST

START_TEST(takes_no_name_that_leads_out_of_the_card)
{
    static const char *const names[] = {"..", "../N1.JPG", "/N1.JPG", "../../N1.JPG", "A//N1"};
    for (size_t i = 0; i < COUNT_OF(names); i++) {
        const struct iso_member members[] = {{.name = "N0001.JPG;1", .folder = -1, FRAME},
                                             {.name = names[i], .folder = -1, .body = "out", .body_size = 3}};
        struct slot slot;
        slot_begin(&slot);
        write_image(&slot, members, 2, 0);
        slot_insert(&slot, "card.iso");
        expect_counts(&slot, 1, 1);
        ck_assert_int_eq(slot.inventory->skips[0].reason, HR_SKIP_ESCAPES);
        slot_expect_text(&slot, "N0001.JPG", frame);
        slot_end(&slot);
    }
}
END_TEST

START_TEST(keeps_the_first_of_one_name_and_what_is_in_a_folder)
{
    static const struct iso_member members[] = {{.name = "A", .folder = -1, .is_folder = true},
                                                {.name = "N1", .folder = -1, .body = "first", .body_size = 5},
                                                {.name = "N1", .folder = -1, .body = "second", .body_size = 6},
                                                {.name = "A", .folder = -1, FRAME},
                                                {.name = "N2", .folder = 0, FRAME}};
    struct slot slot;
    slot_begin(&slot);
    write_image(&slot, members, COUNT_OF(members), 0);
    slot_insert(&slot, "card.iso");
    expect_counts(&slot, 2, 2);
    slot_expect_text(&slot, "N1", "first");
    slot_expect_text(&slot, "A/N2", frame);
    slot_expect_skip(&slot, "N1", HR_SKIP_DUPLICATE, HR_OK);
    slot_expect_skip(&slot, "A", HR_SKIP_DUPLICATE, HR_OK);
    slot_end(&slot);
}
END_TEST

/* Two names for one place: libarchive tells the second as a hard link. */
START_TEST(does_not_carry_the_second_name_of_one_content)
{
    static const struct iso_member members[] = {{.name = "N1", .folder = -1, FRAME},
                                                {.name = "N2", .folder = -1, FRAME, .sector = ISO_ROOT_SECTOR + 1}};
    struct slot slot;
    slot_begin(&slot);
    write_image(&slot, members, 2, 0);
    slot_insert(&slot, "card.iso");
    expect_counts(&slot, 1, 1);
    ck_assert_int_eq(slot.inventory->skips[0].reason, HR_SKIP_UNREADABLE);
    ck_assert_int_eq(slot.inventory->skips[0].status, HR_UNSUPPORTED);
    slot_end(&slot);
}
END_TEST

static enum hr_status try_image(const struct iso_member *members, size_t count, int sectors_lie, struct hr_fault *fault)
{
    struct slot slot;
    slot_begin(&slot);
    write_image(&slot, members, count, sectors_lie);
    enum hr_status status = slot_try(&slot, "card.iso", fault);
    slot_end(&slot);
    return status;
}

START_TEST(says_that_the_image_is_damaged_where_a_folder_leads_back_or_out)
{
    static const struct iso_member back[] = {{.name = "A", .folder = -1, .is_folder = true, .sector = ISO_ROOT_SECTOR}},
                                   out[] = {{.name = "A", .folder = -1, .is_folder = true, .sector = 100000}},
                                   far[] = {{.name = "N1", .folder = -1, FRAME, .size_lie = 1 << 30}};
    static const struct {
        const struct iso_member *members;
        int sectors_lie;
    } cases[] = {{back, 0}, {out, 0}, {far, 0}, {far, 1 << 20}};
    for (size_t i = 0; i < COUNT_OF(cases); i++) {
        struct hr_fault fault = {0};
        enum hr_status status = try_image(cases[i].members, 1, cases[i].sectors_lie, &fault);
        /* The root is read to tell what it is at all; what is missing of a file shows when that is read. */
        ck_assert_msg(status == (i == 3 ? HR_OK : HR_UNSUPPORTED) && fault.status == status, "case %zu: %s", i,
                      hr_status_name(status));
    }
}
END_TEST

START_TEST(says_that_a_file_differs_when_its_image_ends_before_it)
{
    static const struct iso_member members[] = {{.name = "N1", .folder = -1, FRAME},
                                                {.name = "N2", .folder = -1, FRAME, .size_lie = 1 << 30}};
    struct slot slot;
    slot_begin(&slot);
    write_image(&slot, members, 2, 1 << 20);
    slot_insert(&slot, "card.iso");
    expect_counts(&slot, 2, 0);
    slot_expect_failure(&slot, "N2", HR_DIFFERS);
    slot_expect_text(&slot, "N1", frame);
    slot_end(&slot);
}
END_TEST

/* ECMA-119, 6.5.1: a file may stand in several places. libarchive tells only of the volume's end, and not what kind of
 * entry it is: it must not pass for a device. */
START_TEST(doubts_a_file_that_ends_past_the_volume)
{
    struct iso_member members[40] = {{.name = "N1", .folder = -1, FRAME}};
    for (size_t i = 1; i < COUNT_OF(members); i++)
        members[i] = (struct iso_member){.name = "N2",
                                         .folder = -1,
                                         .size_lie = 2 * ISO_SECTOR_BYTES,
                                         .sector = ISO_ROOT_SECTOR - 2,
                                         .goes_on = i + 1 < COUNT_OF(members)};
    struct slot slot;
    slot_begin(&slot);
    write_image(&slot, members, COUNT_OF(members), 0);
    slot_insert(&slot, "card.iso");
    expect_counts(&slot, 1, 1);
    slot_expect_skip(&slot, "N2", HR_SKIP_UNREADABLE, HR_MALFORMED);
    slot_end(&slot);
}
END_TEST

/* Twenty levels of two folders that share their content would be a million paths in an image of 127 kB. Each content is
 * listed once; that the other folder is not, makes the card unsafe. */
START_TEST(lists_once_what_folders_share)
{
    struct iso_member members[41] = {{.name = NULL}};
    struct slot slot;
    for (int i = 0; i < 40; i++)
        members[i] = (struct iso_member){
            .name = i % 2 ? "B" : "A",
            .folder = i < 2 ? -1 : i - 2 - i % 2,
            .is_folder = true,
            .sector = i % 2 ? (uint32_t)(ISO_ROOT_SECTOR + i) : 0, /* of its neighbour */
        };
    members[40] = (struct iso_member){.name = "N1", .folder = 38, FRAME};
    slot_begin(&slot);
    write_image(&slot, members, COUNT_OF(members), 0);
    slot_insert(&slot, "card.iso");
    expect_counts(&slot, 1, 20);
    for (size_t i = 0; i < slot.inventory->skip_count; i++)
        ck_assert_int_eq(slot.inventory->skips[i].reason, HR_SKIP_UNREADABLE);
    slot_end(&slot);
}
END_TEST

/* A file in the first sector; found by the fuzzer. */
START_TEST(ends_an_image_that_leads_back_to_its_beginning)
{
    static const struct iso_member members[] = {{.name = "N1", .folder = -1, FRAME},
                                                {.name = "N2", .folder = -1, FRAME}};
    struct slot slot;
    struct archive_writer iso = {0};
    struct hr_fault fault = {0};
    slot_begin(&slot);
    iso_build(&iso, members, 2, 0);
    unsigned char *record = iso.bytes + ISO_ROOT_SECTOR * ISO_SECTOR_BYTES + 34 + 34;
    memset(record + 2, 0, 8);
    slot_write(&slot, "card.iso", iso.bytes, iso.size);
    archive_writer_finish(&iso);
    ck_assert_int_eq(slot_try(&slot, "card.iso", &fault), HR_MALFORMED);
    ck_assert_msg(strstr(fault.text, "leads back to its beginning"), "%s", fault.text);
    slot_end(&slot);
}
END_TEST

static void build_sample(struct archive_writer *iso)
{
    static const struct iso_member folder = {.name = "DCIM", .folder = -1, .is_folder = true};
    struct iso_member members[1 + HOSTILE_FILES] = {folder};
    for (size_t i = 0; i < HOSTILE_FILES; i++)
        members[1 + i] =
            (struct iso_member){.name = hostile_files[i].path + sizeof "DCIM", .folder = 0, HOSTILE_BODY(i)};
    iso_build(iso, members, COUNT_OF(members), 0);
}

/* The last sector is filled up with zeros. */
START_TEST(misses_whatever_is_cut_off)
{
    struct archive_writer iso = {0};
    build_sample(&iso);
    hostile_cut(&iso, "card.iso", 127, ISO_SECTOR_BYTES - HOSTILE_LAST_BYTES % ISO_SECTOR_BYTES);
    archive_writer_finish(&iso);
}
END_TEST

START_TEST(ends_whatever_byte_is_wrong)
{
    struct archive_writer iso = {0};
    build_sample(&iso);
    hostile_flip(&iso, "card.iso", 16 * ISO_SECTOR_BYTES, 7, HOSTILE_CONTENT_IS_NOT_PROTECTED);
    archive_writer_finish(&iso);
}
END_TEST

START_TEST(notices_that_the_image_is_written_to_or_replaced)
{
    struct archive_writer iso = {0};
    build_sample(&iso);
    hostile_change(&iso, "card.iso");
    archive_writer_finish(&iso);
}
END_TEST

HR_SUITE_TIMED("card/image", 120, reads_an_image_and_takes_no_file_of_it_for_protected,
               takes_the_time_of_an_entry_with_its_zone, takes_no_name_that_leads_out_of_the_card,
               keeps_the_first_of_one_name_and_what_is_in_a_folder, does_not_carry_the_second_name_of_one_content,
               says_that_the_image_is_damaged_where_a_folder_leads_back_or_out,
               says_that_a_file_differs_when_its_image_ends_before_it, doubts_a_file_that_ends_past_the_volume,
               lists_once_what_folders_share, ends_an_image_that_leads_back_to_its_beginning,
               misses_whatever_is_cut_off, ends_whatever_byte_is_wrong,
               notices_that_the_image_is_written_to_or_replaced)
