/* SPDX-License-Identifier: ISC */
/* files.csv: what is written comes back, what is torn does not. */
#include "bag/journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"

static const char xxh128_hex[] = "06b05ab6733a618578af5f94892f3950"; /* "abc", xxhsum 0.8.1 */
static const char sha256_hex[] = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"; /* FIPS 180-4 */

static struct hr_bag_file row_of(const char *path, bool has_sha256)
{
    struct hr_bag_file row = {.path = path,
                              .size_bytes = 3,
                              .modified_ns = -1500000000,
                              .read_at_ns = 1760000001000000000,
                              .proven_at_ns = 1760000002000000000,
                              .proof = HR_PROOF_EVICTED};
    ck_assert(hr_digest_from_hex(&row.xxh128, HR_DIGEST_XXH128, xxh128_hex, strlen(xxh128_hex)));
    if (has_sha256)
        ck_assert(hr_digest_from_hex(&row.sha256, HR_DIGEST_SHA256, sha256_hex, strlen(sha256_hex)));
    return row;
}

static void parse(struct hr_journal *journal, const char *text, size_t size)
{
    char *copy = calloc(1, size + 1);
    memcpy(copy, text, size);
    ck_assert_int_eq(hr__journal_parse(journal, copy, size), HR_OK);
}

static const char *const names[] = {
    "DCIM/100NORTH/NM_A0001.JPG",
    "two\nlines\r",
    "100%.txt",
    "a \"quoted\", and parted",
    "\xff\xfe\x80",
    "\x01\x1f\x7f",
    " blanks ",
    "M\xC3\xBCller.jpg",
};
enum { NAME_COUNT = sizeof names / sizeof *names };

START_TEST(gives_back_every_name_and_number)
{
    struct hr_text text;
    struct hr_journal journal;
    hr__text_init(&text, 1 << 16);
    hr__text_append(&text, hr__journal_header);
    for (size_t i = 0; i < NAME_COUNT; i++) {
        struct hr_bag_file row = row_of(names[i], i % 2);
        ck_assert(hr__journal_row_is_fit(&row));
        hr__journal_append_row(&text, &row);
    }
    parse(&journal, text.bytes, text.size);
    ck_assert_uint_eq(journal.count, NAME_COUNT);
    ck_assert(!journal.is_damaged);
    for (size_t i = 0; i < NAME_COUNT; i++) {
        struct hr_bag_file wanted = row_of(names[i], i % 2);
        const struct hr_bag_file *found = hr__journal_find(&journal, names[i]);
        ck_assert_ptr_nonnull(found);
        ck_assert_str_eq(found->path, wanted.path);
        ck_assert_uint_eq(found->size_bytes, wanted.size_bytes);
        ck_assert_int_eq(found->modified_ns, wanted.modified_ns);
        ck_assert_int_eq(found->read_at_ns, wanted.read_at_ns);
        ck_assert_int_eq(found->proven_at_ns, wanted.proven_at_ns);
        ck_assert(hr_digest_equal(&found->xxh128, &wanted.xxh128));
        ck_assert(found->sha256.kind == wanted.sha256.kind);
        ck_assert_int_eq(found->proof, HR_PROOF_EVICTED);
        ck_assert(i == 0 || strcmp(journal.rows[i - 1].path, journal.rows[i].path) < 0);
    }
    hr__journal_finish(&journal);
    hr__text_finish(&text);
}
END_TEST

/* Wherever a crash cut the file, all rows before that stand and no other does. */
START_TEST(drops_nothing_but_the_row_that_was_torn)
{
    struct hr_text text;
    size_t ends[3], next = 0;
    hr__text_init(&text, 1 << 16);
    hr__text_append(&text, hr__journal_header);
    for (size_t i = 0; i < 3; i++) {
        struct hr_bag_file row = row_of(names[i], true);
        hr__journal_append_row(&text, &row);
        ends[i] = text.size;
    }
    for (size_t cut = strlen(hr__journal_header); cut <= text.size; cut++) {
        struct hr_journal journal;
        next += next < 3 && cut >= ends[next];
        parse(&journal, text.bytes, cut);
        ck_assert_uint_eq(journal.count, next);
        ck_assert_int_eq(journal.is_damaged, next == 0 ? cut != strlen(hr__journal_header) : cut != ends[next - 1]);
        hr__journal_finish(&journal);
    }
    hr__text_finish(&text);
}
END_TEST

#define GOOD "a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct"

static const char *const torn[] = {
    "",
    "a.jpg",
    "a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct,more",
    "a.jpg,-3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    "a.jpg,3,1,06b05ab6733a618578af5f94892f395,,1,2,direct",
    "a.jpg,3,1,06b05ab6733a618578af5f94892f3950,ba78,1,2,direct",
    "a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,believed",
    "a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,99999999999999999999,direct",
    "../a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    "/a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    "a%00.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    "a%2.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    ",3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    "\"a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct",
    ("a.jpg,3,1,06b05ab6" GOOD),
};

START_TEST(believes_no_row_that_is_not_whole)
{
    struct hr_journal journal;
    char text[1024];
    snprintf(text, sizeof text, "%s%s\n", hr__journal_header, GOOD);
    parse(&journal, text, strlen(text));
    ck_assert_uint_eq(journal.count, 1);
    hr__journal_finish(&journal);
    for (size_t i = 0; i < sizeof torn / sizeof *torn; i++) {
        snprintf(text, sizeof text, "%s%s\nb" GOOD "\n", hr__journal_header, torn[i]);
        parse(&journal, text, strlen(text));
        ck_assert_msg(journal.count == 1 && journal.is_damaged, "%s", torn[i]);
        ck_assert_str_eq(journal.rows[0].path, "ba.jpg");
        hr__journal_finish(&journal);
    }
}
END_TEST

START_TEST(keeps_the_last_row_of_one_path)
{
    static const char text[] = "a.jpg,3,1,06b05ab6733a618578af5f94892f3950,,1,2,direct\n"
                               "a.jpg,4,1,06b05ab6733a618578af5f94892f3950,,1,9,direct\n"
                               "a.jpg,5,1,06b05ab6733a618578af5f94892f3950,,1,3,direct\n";
    char whole[1024];
    struct hr_journal journal;
    snprintf(whole, sizeof whole, "%s%s", hr__journal_header, text);
    parse(&journal, whole, strlen(whole));
    ck_assert_uint_eq(journal.count, 1);
    ck_assert_uint_eq(journal.rows[0].size_bytes, 5);
    ck_assert(journal.is_damaged);
    hr__journal_finish(&journal);
}
END_TEST

START_TEST(records_only_what_was_proven)
{
    struct hr_bag_file row = row_of("a.jpg", true);
    ck_assert(hr__journal_row_is_fit(&row));
    row.proof = HR_PROOF_NONE;
    ck_assert(!hr__journal_row_is_fit(&row));
    row = row_of("../a.jpg", true);
    ck_assert(!hr__journal_row_is_fit(&row));
    row = row_of("a.jpg", true);
    row.xxh128 = (struct hr_digest){0};
    ck_assert(!hr__journal_row_is_fit(&row));
}
END_TEST

HR_SUITE("bag/journal", gives_back_every_name_and_number, drops_nothing_but_the_row_that_was_torn,
         believes_no_row_that_is_not_whole, keeps_the_last_row_of_one_path, records_only_what_was_proven)
