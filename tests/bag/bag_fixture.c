/* SPDX-License-Identifier: ISC */
#include "bag_fixture.h"

#include <errno.h>
#include <ftw.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "suite.h"

enum { PATH_SIZE = 1 << 14, BUFFERS = 4 };

void yard_begin(struct yard *yard)
{
    const char *parent = getenv("TMPDIR");
    *yard = (struct yard){0};
    snprintf(yard->root, sizeof yard->root, "%s/headrace-bag-XXXXXX", parent && *parent ? parent : "/tmp");
    ck_assert_ptr_nonnull(mkdtemp(yard->root));
    snprintf(yard->place, sizeof yard->place, "%s/place", yard->root);
    ck_assert_int_eq(mkdir(yard->place, 0755), 0);
    yard->label = (struct hr_bag_label){.job = "Cup final",
                                        .card_name = "BODY_A",
                                        .card_identity = "uuid:1B2C-3D4E",
                                        .description = "",
                                        .started_wall_ns = 1760000000000000000};
}

static int remove_entry(const char *path, const struct stat *stat, int kind, struct FTW *at)
{
    (void)stat;
    (void)kind;
    (void)at;
    return remove(path);
}

void yard_end(struct yard *yard)
{
    nftw(yard->root, remove_entry, 32, FTW_DEPTH | FTW_PHYS);
}

const char *yard_path(const struct yard *yard, const char *path)
{
    static char buffers[BUFFERS][PATH_SIZE];
    static unsigned next;
    char *buffer = buffers[next++ % BUFFERS];
    if (path[0] == '/')
        snprintf(buffer, PATH_SIZE, "%s", path);
    else
        snprintf(buffer, PATH_SIZE, "%s/%s", yard->root, path);
    return buffer;
}

static void make_folders(char *path)
{
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        ck_assert(mkdir(path, 0755) == 0 || errno == EEXIST);
        *slash = '/';
    }
}

void yard_write_bytes(const struct yard *yard, const char *path, const void *bytes, size_t size)
{
    char whole[PATH_SIZE];
    snprintf(whole, sizeof whole, "%s", yard_path(yard, path));
    make_folders(whole);
    FILE *file = fopen(whole, "wb");
    ck_assert_msg(file != NULL, "%s", whole);
    ck_assert_uint_eq(fwrite(bytes, 1, size, file), size);
    ck_assert_int_eq(fclose(file), 0);
}

void yard_write(const struct yard *yard, const char *path, const char *text)
{
    yard_write_bytes(yard, path, text, strlen(text));
}

const char *yard_read(const struct yard *yard, const char *path)
{
    static char text[1 << 16];
    FILE *file = fopen(yard_path(yard, path), "rb");
    if (!file)
        return NULL;
    size_t size = fread(text, 1, sizeof text - 1, file);
    text[size] = '\0';
    fclose(file);
    return text;
}

static char facts_text[1 << 16];
static size_t facts_size;

static int note_facts(const char *path, const struct stat *stat, int kind, struct FTW *at)
{
    (void)kind;
    (void)at;
    size_t left = sizeof facts_text - facts_size;
    int more = snprintf(facts_text + facts_size, left, "%s %ju %ju %jd.%09ld %jd.%09ld\n", path,
                        (uintmax_t)stat->st_size, (uintmax_t)stat->st_ino, (intmax_t)stat->st_mtim.tv_sec,
                        stat->st_mtim.tv_nsec, (intmax_t)stat->st_ctim.tv_sec, stat->st_ctim.tv_nsec);
    ck_assert_uint_lt((size_t)more, left);
    facts_size += (size_t)more;
    return 0;
}

const char *yard_facts(const struct yard *yard, const char *path)
{
    facts_size = 0;
    ck_assert_int_eq(nftw(yard_path(yard, path), note_facts, 32, FTW_PHYS), 0);
    return facts_text;
}

bool yard_stands(const struct yard *yard, const char *path)
{
    struct stat stat;
    return lstat(yard_path(yard, path), &stat) == 0;
}

void yard_remove(const struct yard *yard, const char *path)
{
    ck_assert_msg(remove(yard_path(yard, path)) == 0, "%s", path);
}

void yard_rename(const struct yard *yard, const char *from, const char *to)
{
    ck_assert_msg(rename(yard_path(yard, from), yard_path(yard, to)) == 0, "%s", from);
}

static struct hr_digest digest_of(enum hr_digest_kind kind, const char *text)
{
    struct hr_hasher *hasher = NULL;
    ck_assert_int_eq(hr_hasher_create(&hasher, kind, NULL), HR_OK);
    hr_hasher_update(hasher, text, strlen(text));
    struct hr_digest digest = hr_hasher_finish(hasher);
    hr_hasher_destroy(hasher);
    return digest;
}

const char *yard_hex(enum hr_digest_kind kind, const char *text)
{
    static char buffers[BUFFERS][HR_DIGEST_HEX_SIZE];
    static unsigned next;
    struct hr_digest digest = digest_of(kind, text);
    return hr_digest_to_hex(buffers[next++ % BUFFERS], &digest);
}

struct hr_bag *yard_create(const struct yard *yard)
{
    struct hr_bag *bag = NULL;
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_bag_create(&bag, yard->place, &yard->label, &fault), "%s", fault.text);
    return bag;
}

struct hr_bag *yard_resume(const struct yard *yard)
{
    struct hr_bag *bag = NULL;
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_bag_look(&bag, yard->place, &yard->label, &fault), "%s", fault.text);
    ck_assert_msg(!hr_bag_resume(bag, &fault), "%s", fault.text);
    return bag;
}

void yard_deliver(struct hr_bag *bag, const char *path, const char *text, bool has_sha256, bool is_recorded)
{
    struct yard nowhere = {0};
    struct hr_fault fault = {0};
    char whole[PATH_SIZE];
    snprintf(whole, sizeof whole, "%s/%s", hr_bag_data_path(bag), path);
    yard_write(&nowhere, whole, text);
    struct hr_bag_file row = {.path = path,
                              .size_bytes = strlen(text),
                              .modified_ns = 1759990000123456789,
                              .xxh128 = digest_of(HR_DIGEST_XXH128, text),
                              .read_at_ns = 1760000001000000000,
                              .proven_at_ns = 1760000002000000000,
                              .proof = HR_PROOF_DIRECT};
    if (has_sha256)
        row.sha256 = digest_of(HR_DIGEST_SHA256, text);
    if (is_recorded)
        ck_assert_msg(!hr_bag_record(bag, &row, &fault), "%s", fault.text);
}

void yard_finish(struct hr_bag *bag)
{
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_bag_finish(bag, &fault), "%s", fault.text);
    hr_bag_close(bag);
}

const char *yard_three_files(const struct yard *yard, bool has_sha256)
{
    static char path[PATH_SIZE];
    struct hr_bag *bag = yard_create(yard);
    yard_deliver(bag, "DCIM/100NORTH/NM_A0001.JPG", "the push-back", has_sha256, true);
    yard_deliver(bag, "DCIM/100NORTH/NM_A0001.DNG", "the push-back, raw", has_sha256, true);
    yard_deliver(bag, "MISC/NOTES.TXT", "", has_sha256, true);
    snprintf(path, sizeof path, "%s", hr_bag_path(bag));
    yard_finish(bag);
    return path;
}

struct hr_bag_report *yard_verify(const char *path)
{
    struct hr_bag_report *report = NULL;
    struct hr_fault fault = {0};
    struct hr_bag_verify_options options = {0};
    ck_assert_msg(!hr_bag_verify(&report, path, &options, NULL, &fault), "%s", fault.text);
    return report;
}

const struct hr_bag_problem *yard_problem(const struct hr_bag_report *report, enum hr_bag_problem_kind kind,
                                          const char *path)
{
    for (size_t i = 0; i < report->problem_count; i++)
        if (report->problems[i].kind == kind && (!path || !strcmp(report->problems[i].path, path)))
            return &report->problems[i];
    return NULL;
}

const char *yard_problems(const struct hr_bag_report *report)
{
    static char text[1 << 16];
    size_t size = 0;
    text[0] = '\0';
    for (size_t i = 0; i < report->problem_count && size < sizeof text / 2; i++)
        size += (size_t)snprintf(text + size, sizeof text - size, "%s: %s: %s\n",
                                 hr_bag_problem_name(report->problems[i].kind), report->problems[i].path,
                                 report->problems[i].text);
    return text;
}

void yard_expect(const char *path, enum hr_bag_verdict verdict)
{
    struct hr_bag_report *report = yard_verify(path);
    ck_assert_msg(report->verdict == verdict, "%s is %s:\n%s", path, hr_bag_verdict_name(report->verdict),
                  yard_problems(report));
    hr_bag_report_destroy(report);
}
