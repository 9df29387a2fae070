/* SPDX-License-Identifier: ISC */
#include <headrace/bag.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "bag_fixture.h"
#include "platform/folder.h"
#include "suite.h"

enum { FILES = 3, PATH_SIZE = 1024 };

/* What yard_three_files delivers. */
static const char *bag_with(struct yard *yard, bool has_sha256, char out[PATH_SIZE])
{
    yard_begin(yard);
    snprintf(out, PATH_SIZE, "%s", yard_three_files(yard, has_sha256));
    return out;
}

/* The paths of a bag, in order; the caller destroys the listing. */
static struct hr_bag_listing *list(const char *bag)
{
    struct hr_bag_listing *listing = NULL;
    struct hr_fault fault = {0};
    ck_assert_msg(hr_bag_list(&listing, bag, &fault) == HR_OK, "%s", fault.text);
    return listing;
}

static struct hr_bag_leaving first_of(const struct hr_bag_listing *listing)
{
    return (struct hr_bag_leaving){.path = listing->files[0].path, .to = "sequences/play/0001_first"};
}

static const char *joined(const struct yard *yard, const char *folder, size_t length, const char *path)
{
    char whole[3 * PATH_SIZE];
    snprintf(whole, sizeof whole, "%.*s/%.*s", (int)length, folder, PATH_SIZE, path);
    return yard_path(yard, whole);
}

/* Beside the bag. */
static const char *in_job(const struct yard *yard, const char *bag, const char *path)
{
    return joined(yard, bag, (size_t)(strrchr(bag, '/') - bag), path);
}

static const char *in_bag(const struct yard *yard, const char *bag, const char *path)
{
    return joined(yard, bag, strlen(bag), path);
}

START_TEST(a_file_leaves_and_the_bag_is_as_valid_as_before)
{
    struct yard yard;
    char bag[PATH_SIZE], data[PATH_SIZE], line[PATH_SIZE], content[PATH_SIZE];
    bag_with(&yard, true, bag);
    struct hr_bag_listing *before = list(bag);
    struct hr_bag_leaving file = first_of(before);
    struct hr_fault fault = {0};
    snprintf(data, sizeof data, "data/%s", file.path);
    snprintf(content, sizeof content, "%s", yard_read(&yard, in_bag(&yard, bag, data)));
    ck_assert_msg(hr_bag_give_up(bag, &file, 1, NULL, NULL, &fault) == HR_OK, "%s", fault.text);
    ck_assert_int_eq(file.status, HR_OK);
    ck_assert(!yard_stands(&yard, in_bag(&yard, bag, data)));
    ck_assert_str_eq(yard_read(&yard, in_job(&yard, bag, file.to)), content);
    yard_expect(bag, HR_BAG_VALID);
    struct hr_bag_listing *after = list(bag);
    ck_assert_uint_eq(after->file_count, FILES - 1);
    ck_assert_str_ne(after->files[0].path, file.path);
    snprintf(line, sizeof line, "%s  0001_first\n", yard_hex(HR_DIGEST_SHA256, content));
    ck_assert_str_eq(yard_read(&yard, in_job(&yard, bag, "sequences/play/manifest-sha256.txt")), line);
    snprintf(line, sizeof line, "%s  0001_first\n", yard_hex(HR_DIGEST_XXH128, content));
    ck_assert_str_eq(yard_read(&yard, in_job(&yard, bag, "sequences/play/manifest-xxh128.txt")), line);
    hr_bag_listing_destroy(after);
    hr_bag_listing_destroy(before);
    yard_end(&yard);
}
END_TEST

START_TEST(all_files_may_leave_one_after_the_other)
{
    struct yard yard;
    char bag[PATH_SIZE];
    bag_with(&yard, false, bag);
    struct hr_bag_listing *listing = list(bag);
    static const char *const to[FILES] = {"sequences/play/1", "sequences/play/2", "sequences/play/3"};
    for (size_t i = 0; i < FILES; i++) {
        struct hr_bag_leaving file = {.path = listing->files[i].path, .to = to[i]};
        ck_assert_int_eq(hr_bag_give_up(bag, &file, 1, NULL, NULL, NULL), HR_OK);
        ck_assert_int_eq(file.status, HR_OK);
        yard_expect(bag, HR_BAG_VALID);
    }
    ck_assert(!yard_stands(&yard, in_job(&yard, bag, "sequences/play/manifest-sha256.txt")));
    size_t lines = 0;
    for (const char *at = yard_read(&yard, in_job(&yard, bag, "sequences/play/manifest-xxh128.txt")); *at; at++)
        lines += *at == '\n';
    ck_assert_uint_eq(lines, FILES);
    ck_assert_ptr_nonnull(strstr(yard_read(&yard, in_bag(&yard, bag, "bag-info.txt")), "Payload-Oxum: 0.0\n"));
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

static void leave(const char *bag, const char *path, const char *to)
{
    struct hr_bag_leaving file = {.path = path, .to = to};
    struct hr_fault fault = {0};
    ck_assert_msg(hr_bag_give_up(bag, &file, 1, NULL, NULL, &fault) == HR_OK, "%s", fault.text);
    ck_assert_int_eq(file.status, HR_OK);
    yard_expect(bag, HR_BAG_VALID);
}

/* As a run leaves it that was interrupted and then resumed without SHA-256. */
START_TEST(a_manifest_lists_all_files_or_is_not_there)
{
    struct yard yard;
    char bag[PATH_SIZE], lines[PATH_SIZE];
    yard_begin(&yard);
    struct hr_bag *mixed = yard_create(&yard);
    yard_deliver(mixed, "DCIM/a", "one", true, true);
    yard_deliver(mixed, "DCIM/b", "two", false, true);
    yard_deliver(mixed, "DCIM/c", "three", true, true);
    yard_deliver(mixed, "DCIM/d", "four", true, true);
    snprintf(bag, sizeof bag, "%s", hr_bag_path(mixed));
    yard_finish(mixed);
    leave(bag, "DCIM/a", "sequences/play/1");
    ck_assert(!yard_stands(&yard, in_bag(&yard, bag, "manifest-sha256.txt")));
    leave(bag, "DCIM/b", "sequences/play/2");
    snprintf(lines, sizeof lines, "%s  1\n", yard_hex(HR_DIGEST_SHA256, "one"));
    ck_assert_str_eq(yard_read(&yard, in_job(&yard, bag, "sequences/play/manifest-sha256.txt")), lines);
    snprintf(lines, sizeof lines, "%s  1\n%s  2\n", yard_hex(HR_DIGEST_XXH128, "one"),
             yard_hex(HR_DIGEST_XXH128, "two"));
    ck_assert_str_eq(yard_read(&yard, in_job(&yard, bag, "sequences/play/manifest-xxh128.txt")), lines);
    ck_assert_ptr_nonnull(strstr(yard_read(&yard, in_bag(&yard, bag, "bag-info.txt")), "Payload-Digests: xxh128\n"));
    leave(bag, "DCIM/c", "sequences/play/3");
    snprintf(lines, sizeof lines, "%s  data/DCIM/d\n", yard_hex(HR_DIGEST_SHA256, "four"));
    ck_assert_str_eq(yard_read(&yard, in_bag(&yard, bag, "manifest-sha256.txt")), lines);
    ck_assert_ptr_nonnull(
        strstr(yard_read(&yard, in_bag(&yard, bag, "bag-info.txt")), "Payload-Digests: xxh128 sha256\n"));
    yard_end(&yard);
}
END_TEST

START_TEST(what_left_earlier_is_told_as_there)
{
    struct yard yard;
    char bag[PATH_SIZE];
    bag_with(&yard, true, bag);
    struct hr_bag_listing *listing = list(bag);
    struct hr_bag_leaving file = first_of(listing);
    ck_assert_int_eq(hr_bag_give_up(bag, &file, 1, NULL, NULL, NULL), HR_OK);
    char before[1 << 14];
    snprintf(before, sizeof before, "%s", yard_facts(&yard, bag));
    file.status = HR_IO;
    ck_assert_int_eq(hr_bag_give_up(bag, &file, 1, NULL, NULL, NULL), HR_OK);
    ck_assert_int_eq(file.status, HR_OK);
    ck_assert_str_eq(yard_facts(&yard, bag), before);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(what_cannot_leave_stays_listed_and_the_rest_goes)
{
    struct yard yard;
    char bag[PATH_SIZE];
    bag_with(&yard, true, bag);
    struct hr_bag_listing *listing = list(bag);
    yard_write(&yard, in_job(&yard, bag, "sequences/play/taken"), "somebody's");
    struct hr_bag_leaving files[] = {
        {.path = listing->files[0].path, .to = "sequences/play/taken"},
        {.path = listing->files[1].path, .to = "sequences/play/free"},
        {.path = listing->files[1].path, .to = "sequences/play/twice"},
        {.path = "DCIM/none", .to = "sequences/play/none"},
        {.path = listing->files[2].path, .to = "../out"},
    };
    ck_assert_int_eq(hr_bag_give_up(bag, files, sizeof files / sizeof *files, NULL, NULL, NULL), HR_OK);
    ck_assert_int_eq(files[0].status, HR_EXISTS);
    ck_assert((files[1].status == HR_OK) != (files[2].status == HR_OK)); /* a file leaves once */
    ck_assert_int_eq(files[3].status, HR_NOT_FOUND);
    ck_assert_int_eq(files[4].status, HR_INVALID);
    ck_assert_str_eq(yard_read(&yard, in_job(&yard, bag, "sequences/play/taken")), "somebody's");
    yard_expect(bag, HR_BAG_VALID);
    hr_bag_listing_destroy(listing);
    listing = list(bag);
    ck_assert_uint_eq(listing->file_count, FILES - 1);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

START_TEST(a_second_name_of_the_file_is_the_one_that_stays)
{
    struct yard yard;
    char bag[PATH_SIZE], data[PATH_SIZE];
    bag_with(&yard, true, bag);
    struct hr_bag_listing *listing = list(bag);
    struct hr_bag_leaving file = first_of(listing);
    snprintf(data, sizeof data, "data/%s", file.path);
    yard_write(&yard, in_job(&yard, bag, "sequences/play/other"), "");
    ck_assert_int_eq(link(in_bag(&yard, bag, data), in_job(&yard, bag, file.to)), 0);
    ck_assert_int_eq(hr_bag_give_up(bag, &file, 1, NULL, NULL, NULL), HR_OK);
    ck_assert_int_eq(file.status, HR_OK);
    ck_assert(yard_stands(&yard, in_job(&yard, bag, file.to)));
    yard_expect(bag, HR_BAG_VALID);
    hr_bag_listing_destroy(listing);
    yard_end(&yard);
}
END_TEST

static void expect_refusal(const struct yard *yard, const char *bag, enum hr_status expected)
{
    struct hr_bag_leaving file = {.path = "DCIM/x", .to = "sequences/play/x"};
    char before[1 << 14];
    snprintf(before, sizeof before, "%s", yard_facts(yard, bag));
    ck_assert_int_eq(hr_bag_give_up(bag, &file, 1, NULL, NULL, NULL), expected);
    ck_assert_str_eq(yard_facts(yard, bag), before);
}

START_TEST(nothing_leaves_a_bag_that_is_not_as_it_says)
{
    struct yard yard;
    char bag[PATH_SIZE];
    bag_with(&yard, true, bag);
    yard_write(&yard, in_bag(&yard, bag, "bag-info.txt"), "Payload-Oxum: 1.1\n");
    expect_refusal(&yard, bag, HR_DIFFERS);
    yard_end(&yard);
    bag_with(&yard, true, bag);
    yard_write(&yard, in_bag(&yard, bag, "data/stray"), "x");
    expect_refusal(&yard, bag, HR_DIFFERS);
    yard_end(&yard);
}
END_TEST

START_TEST(a_refusal_names_the_file_escaped)
{
    struct yard yard;
    char bag[PATH_SIZE];
    struct hr_bag_leaving file = {.path = "DCIM/x", .to = "sequences/play/x"};
    struct hr_fault fault = {0};
    bag_with(&yard, true, bag);
    yard_write(&yard, in_bag(&yard, bag, "data/\033[2Kstray"), "x");
    ck_assert_int_eq(hr_bag_give_up(bag, &file, 1, NULL, NULL, &fault), HR_DIFFERS);
    ck_assert_ptr_nonnull(strstr(fault.text, ": data/%1B[2Kstray is in no manifest"));
    yard_end(&yard);
}
END_TEST

START_TEST(nothing_leaves_a_bag_that_is_unfinished_or_anothers)
{
    struct yard yard;
    char bag[PATH_SIZE];
    yard_begin(&yard);
    struct hr_bag *unfinished = yard_create(&yard);
    yard_deliver(unfinished, "DCIM/x", "goal", true, true);
    snprintf(bag, sizeof bag, "%s", hr_bag_path(unfinished));
    hr_bag_close(unfinished);
    expect_refusal(&yard, bag, HR_UNSUPPORTED);
    yard_write(&yard, "place/other/bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
    yard_write(&yard, "place/other/data/x", "goal");
    yard_write(&yard, "place/other/manifest-xxh128.txt", "");
    snprintf(bag, sizeof bag, "%s", yard_path(&yard, "place/other"));
    expect_refusal(&yard, bag, HR_UNSUPPORTED);
    ck_assert_int_eq(hr_bag_give_up(yard_path(&yard, "place/none"), NULL, 0, NULL, NULL, NULL), HR_NOT_FOUND);
    yard_end(&yard);
}
END_TEST

START_TEST(a_bag_another_run_works_in_is_left_alone)
{
    struct yard yard;
    struct hr_folder folder;
    char bag[PATH_SIZE];
    bag_with(&yard, true, bag);
    ck_assert_int_eq(hr__folder_open(&folder, bag, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_lock(&folder, NULL), HR_OK);
    expect_refusal(&yard, bag, HR_BUSY);
    hr__folder_close(&folder);
    yard_end(&yard);
}
END_TEST

START_TEST(a_record_that_lies_moves_nothing_out_of_the_job)
{
    static const char *const records[] = {
        "",
        "path\n",
        "path,to\n../bagit.txt,sequences/x\n",
        "path,to\nDCIM/x,../../x\n",
        "path,to\nDCIM/x,/x\n",
        "path,to\nDCIM/x,a%2F..%2F..%2Fx\n",
        "path,to\nDCIM/x,sequences/x",
        "path,to\nDCIM/x%00,sequences/x\n",
    };
    struct yard yard;
    char bag[PATH_SIZE];
    bag_with(&yard, true, bag);
    for (size_t i = 0; i < sizeof records / sizeof *records; i++) {
        yard_write(&yard, in_bag(&yard, bag, ".giving-up.csv"), records[i]);
        ck_assert_msg(hr_bag_give_up(bag, NULL, 0, NULL, NULL, NULL) == HR_MALFORMED, "%s", records[i]);
    }
    yard_expect(bag, HR_BAG_VALID_WITH_WARNINGS);
    yard_end(&yard);
}
END_TEST

/* A record of the bag's first file, as a run leaves it that is cut off. */
static void record_first(const struct yard *yard, const char *bag)
{
    char record[2 * PATH_SIZE];
    struct hr_bag_listing *listing = list(bag);
    snprintf(record, sizeof record, "path,to\n%s,sequences/play/0001_first\n", listing->files[0].path);
    hr_bag_listing_destroy(listing);
    yard_write(yard, in_bag(yard, bag, ".giving-up.csv"), record);
}

/* As a power cut leaves it where renames are torn: the name of a tag file is gone, and what was to bear it stands, or
 * is gone as well. */
START_TEST(a_tag_file_that_a_torn_rename_took_is_made_anew)
{
    static const char *const torn[][2] = {{"files.csv", ".files.csv.next"},
                                          {"bag-info.txt", ".bag-info.txt.next"},
                                          {"manifest-xxh128.txt", ".manifest-xxh128.txt.next"},
                                          {"manifest-sha256.txt", NULL},
                                          {"tagmanifest-sha256.txt", NULL}};
    for (size_t i = 0; i < sizeof torn / sizeof *torn; i++) {
        struct yard yard;
        char bag[PATH_SIZE];
        bag_with(&yard, true, bag);
        record_first(&yard, bag);
        if (torn[i][1])
            yard_rename(&yard, in_bag(&yard, bag, torn[i][0]), in_bag(&yard, bag, torn[i][1]));
        else
            yard_remove(&yard, in_bag(&yard, bag, torn[i][0]));
        ck_assert_int_eq(hr_bag_give_up(bag, NULL, 0, NULL, NULL, NULL), HR_OK);
        yard_expect(bag, HR_BAG_VALID);
        ck_assert(yard_stands(&yard, in_job(&yard, bag, "sequences/play/0001_first")));
        ck_assert(yard_stands(&yard, in_bag(&yard, bag, "manifest-sha256.txt")));
        yard_end(&yard);
    }
}
END_TEST

HR_SUITE("bag/give_up", a_file_leaves_and_the_bag_is_as_valid_as_before, all_files_may_leave_one_after_the_other,
         a_manifest_lists_all_files_or_is_not_there, what_left_earlier_is_told_as_there,
         what_cannot_leave_stays_listed_and_the_rest_goes, a_second_name_of_the_file_is_the_one_that_stays,
         nothing_leaves_a_bag_that_is_not_as_it_says, a_refusal_names_the_file_escaped,
         nothing_leaves_a_bag_that_is_unfinished_or_anothers, a_bag_another_run_works_in_is_left_alone,
         a_record_that_lies_moves_nothing_out_of_the_job, a_tag_file_that_a_torn_rename_took_is_made_anew)
