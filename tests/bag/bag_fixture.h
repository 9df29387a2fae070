/* SPDX-License-Identifier: ISC */
/* A scratch folder with a place in it, bags made there by the library, and bags of others laid down file by file. */
#ifndef HR_TESTS_BAG_FIXTURE_H
#define HR_TESTS_BAG_FIXTURE_H

#include <headrace/bag.h>

struct yard {
    char root[200];
    char place[256];
    struct hr_bag_label label;
};

void yard_begin(struct yard *yard);
void yard_end(struct yard *yard);

/* Below the root unless absolute; missing folders are made. */
void yard_write_bytes(const struct yard *yard, const char *path, const void *bytes, size_t size);
void yard_write(const struct yard *yard, const char *path, const char *text);
/* NUL-terminated, in a static buffer; NULL when there is no such file. */
const char *yard_read(const struct yard *yard, const char *path);
/* All that stands below `path` as the system describes it, a line each with size, inode and both times, in a static
 * buffer: equal before and after means nothing was written. */
const char *yard_facts(const struct yard *yard, const char *path);
bool yard_stands(const struct yard *yard, const char *path);
void yard_remove(const struct yard *yard, const char *path);
void yard_rename(const struct yard *yard, const char *from, const char *to);
/* Joined with the root, in one of four static buffers. */
const char *yard_path(const struct yard *yard, const char *path);

/* The hex digest of a text, in one of four static buffers. */
const char *yard_hex(enum hr_digest_kind kind, const char *text);

/* A new bag under PLACE; the test fails when that fails. */
struct hr_bag *yard_create(const struct yard *yard);
struct hr_bag *yard_resume(const struct yard *yard);
/* Writes a file below the bag's data/, as the transfer would, and records it when `is_recorded`. */
void yard_deliver(struct hr_bag *bag, const char *path, const char *text, bool has_sha256, bool is_recorded);
void yard_finish(struct hr_bag *bag);
/* A finished bag of three files, closed; its path in a static buffer. */
const char *yard_three_files(const struct yard *yard, bool has_sha256);

/* Verifies all; the test fails when there is no report. */
struct hr_bag_report *yard_verify(const char *path);
/* The first problem of this kind about `path` (NULL: any); NULL when there is none. */
const struct hr_bag_problem *yard_problem(const struct hr_bag_report *report, enum hr_bag_problem_kind kind,
                                          const char *path);
/* All problems, a line each, in a static buffer: for messages. */
const char *yard_problems(const struct hr_bag_report *report);
/* Verifies, expects this verdict, forgets the report. */
void yard_expect(const char *path, enum hr_bag_verdict verdict);

#endif
