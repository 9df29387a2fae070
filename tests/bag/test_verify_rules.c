/* SPDX-License-Identifier: ISC */
/* Bags of others: the rules of RFC 8493 and of the versions before it, each rebuilt as a small bag after one of the
 * public-domain BagIt conformance suite of the US Library of Congress (commit 9ab4870), named beside it. The digests of
 * "hello\n" are those in that suite's manifests. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "bag_fixture.h"
#include "suite.h"

#define V10 "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
#define V97 "BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"
#define V96 "BagIt-Version: 0.96\r\nTag-File-Character-Encoding: UTF-8"
#define V93 "BagIt-Version: 0.93\r\nTag-File-Character-Encoding: UTF-8\r\n"
#define MD5 "b1946ac92492d2347c6235b4d2611184"
#define SHA512                                                                                                         \
    "e7c22b994c59d9cf2b48e549b1e24666636045930d3da7c1acb299d1c3b7f931f94aae41edda2c2b207a36e10f8bcb8d45223e54878f5b31" \
    "6e7ce3b6bc019629"
#define SHA224 "2d6d67d91d0badcdd06cbbba1fe11538a68a37ec9c2e26457ceff12b" /* coreutils 9.1 */
#define OTHER_MD5 "deadbeef92492d2347c6235b4d261118"

enum { FILES_MAX = 5, NO_BAG = -1, NO_PROBLEM = -1 };

struct rule {
    const char *source, *declaration; /* NULL: no bagit.txt */
    int verdict, problem;             /* kind of a problem it must have */
    struct {
        const char *path, *text;
    } files[FILES_MAX]; /* besides bagit.txt and data/hello.txt */
};

static const struct rule rules[] = {
    /* ---- What is a bag ---- */
    {"v1.0/valid/basicBag", V10, HR_BAG_VALID, NO_PROBLEM, {{"manifest-sha512.txt", SHA512 "  data/hello.txt\n"}}},
    {"v0.97/valid/basic-bag", V97, HR_BAG_VALID, NO_PROBLEM, {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"v0.93/valid/basic-bag",
     V93,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\r\n"},
      {"package-info.txt", "Packing-Date: 2009-10-14\r\nExternal-Identifier: final_001\r\n"}}},
    {"v0.97/invalid/missing-bagit.txt", NULL, NO_BAG, NO_PROBLEM, {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"RFC 8493 section 2.1: a payload manifest", V10, HR_BAG_INVALID, HR_BAG_RULE_BROKEN, {{NULL, NULL}}},
    {"v0.97/invalid/bom-in-bagit.txt",
     "\xEF\xBB\xBF" V97,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"v0.97/invalid/invalid-version-number",
     "BagIt-Version: .97\nTag-File-Character-Encoding: UTF-8\n",
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"v0.97/invalid/baginfo-missing-encoding",
     "BagIt-Version: 0.97\n",
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"v1.0/invalid/bagit-with-invalid-whitespace",
     "BagIt-Version : 1.0\nTag-File-Character-Encoding : UTF-8\n",
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"a version between the known ones",
     "BagIt-Version: 0.98\nTag-File-Character-Encoding: UTF-8\n",
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},

    /* ---- What the manifests list ---- */
    {"v0.97/invalid/corrupt-data-file",
     V97,
     HR_BAG_INVALID,
     HR_BAG_FILE_DIFFERS,
     {{"manifest-md5.txt", OTHER_MD5 "  data/hello.txt\n"}}},
    {"v0.97/invalid/extra-file-in-bag",
     V97,
     HR_BAG_INVALID,
     HR_BAG_FILE_UNLISTED,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"data/bar", "more"}}},
    {"v1.0/invalid/notAllManifestsListAllFiles",
     V10,
     HR_BAG_INVALID,
     HR_BAG_FILE_UNLISTED,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/twin.txt\n"},
      {"manifest-sha512.txt", SHA512 "  data/hello.txt\n"},
      {"data/twin.txt", "hello\n"}}},
    {"the same before 1.0: one manifest is enough",
     V97,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/twin.txt\n"},
      {"manifest-sha512.txt", SHA512 "  data/hello.txt\n"},
      {"data/twin.txt", "hello\n"}}},
    {"v1.0/invalid/same-filename-listed-twice-with-the-same-hash",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/hello.txt\n"}}},
    {"v1.0/invalid/same-filename-listed-twice-with-different-hashes",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" OTHER_MD5 "  data/hello.txt\n"}}},
    {"v0.97/warning/same-filename-listed-twice-with-the-same-hash",
     V97,
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/hello.txt\n"}}},
    {"v0.97/invalid/same-filename-listed-twice-with-different-hashes",
     V97,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" OTHER_MD5 "  data/hello.txt\n"}}},
    {"v0.97/warning/made-with-md5sum-tools",
     V97,
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-md5.txt", MD5 " *data/hello.txt\n"}}},
    {"v0.97/warning/relative-path",
     V97,
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-md5.txt", MD5 "  ./data/hello.txt\n"}}},
    {"v0.97/warning/duplicate-file-with-different-case, on a volume that tells case apart",
     V97,
     HR_BAG_INVALID,
     HR_BAG_FILE_MISSING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/HELLO.txt\n"}}},
    {"v0.96/valid/bag-with-encoded-names: the % stands for itself",
     V96,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 " data/hello.txt\r\n" MD5 " data/%7Edir2/test4.txt\r\n" MD5 " data/%test2.txt\r\n"},
      {"data/%7Edir2/test4.txt", "hello\n"},
      {"data/%test2.txt", "hello\n"}}},
    {"RFC 8493 section 2.1.3: LF, CR and % encoded, and those alone",
     V10,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/100%25.txt\n" MD5 "  data/a%0Ab%0D\n"},
      {"data/100%.txt", "hello\n"},
      {"data/a\nb\r", "hello\n"}}},
    {"v0.96/valid/bag-with-space",
     V96,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 " data/hello.txt\r\n" MD5 " data/test 1.txt\r\n"}, {"data/test 1.txt", "hello\n"}}},
    {"v0.97/valid/bag-in-a-bag",
     V97,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/bag/bagit.txt\n"}, {"data/bag/bagit.txt", "hello\n"}}},
    {"RFC 8493 section 2.1.3: a digest and a path",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n# a comment\n"}}},

    /* ---- Algorithms and encodings ---- */
    {"v0.97/valid/uncommon-metadata-separators: SHA-224 alone, blanks about colons",
     V97,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-sha224.txt", SHA224 "  data/hello.txt\n"},
      {"bag-info.txt", "Payload-Oxum: 6.1\nTest-Tag : 3\nTest-Tag    :   5\n"}}},
    {"an algorithm not known, alone",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-whirl.txt", "0a0b  data/hello.txt\n"}}},
    {"an algorithm not known, beside one that is",
     V10,
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-whirl.txt", "0a0b  data/hello.txt\n"}, {"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},
    {"v0.97/valid/ISO-8859-1-encoded-tag-files",
     "BagIt-Version: 0.97\nTag-File-Character-Encoding: ISO-8859-1\n",
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/caf\xE9\n"}, {"data/caf\xC3\xA9", "hello\n"}}},
    {"an encoding not known",
     "BagIt-Version: 0.97\nTag-File-Character-Encoding: EBCDIC\n",
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}}},

    /* ---- Tag files ---- */
    {"RFC 8493 section 2.2.2: Payload-Oxum",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"bag-info.txt", "Payload-Oxum: 77.1\n"}}},
    {"the same, twice",
     V10,
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"bag-info.txt", "Payload-Oxum: 6.1\nPayload-Oxum: 7.1\n"}}},
    {"v0.97/valid/duplicate-metadata-entries",
     V97,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"},
      {"bag-info.txt", "Bagging-Date: 2016-02-26\nBagging-Date: 2016-03-10\ncontact-name: A\nContact-Name: B"}}},
    {"v0.97/invalid/missing-baginfo",
     V97,
     HR_BAG_INVALID,
     HR_BAG_FILE_MISSING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"tagmanifest-md5.txt", MD5 " bag-info.txt\n"}}},
    {"v0.97/invalid/corrupt-tag-file",
     V97,
     HR_BAG_INVALID,
     HR_BAG_FILE_DIFFERS,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"},
      {"note.txt", "not hello\n"},
      {"tagmanifest-md5.txt", MD5 " note.txt\n"}}},
    {"RFC 8493 section 2.2.1: lists every payload manifest",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"},
      {"note.txt", "hello\n"},
      {"tagmanifest-md5.txt", MD5 " note.txt\n"}}},
    {"RFC 8493 section 2.2.1: lists no payload",
     V97,
     HR_BAG_VALID_WITH_WARNINGS,
     HR_BAG_WARNING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"tagmanifest-md5.txt", MD5 " data/hello.txt\n"}}},
    {"v0.97/valid/holey-bag: all was fetched",
     V97,
     HR_BAG_VALID,
     NO_PROBLEM,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"fetch.txt", "http://localhost/h - data/hello.txt\r\n"}}},
    {"RFC 8493 section 2.2.3: what was not fetched is missing",
     V10,
     HR_BAG_INVALID,
     HR_BAG_FILE_MISSING,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/more.txt\n"},
      {"fetch.txt", "http://localhost/h 6 data/more.txt\n"}}},
    {"RFC 8493 section 2.2.3: stands in the manifests too",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"fetch.txt", "http://localhost/h 6 data/more.txt\n"}}},
    {"RFC 8493 section 2.2.3: URL, LENGTH, PATH",
     V10,
     HR_BAG_INVALID,
     HR_BAG_RULE_BROKEN,
     {{"manifest-md5.txt", MD5 "  data/hello.txt\n"}, {"fetch.txt", "http://localhost/h six data/hello.txt\n"}}},
};

static void lay(const struct yard *yard, const struct rule *rule)
{
    char path[256];
    if (rule->declaration)
        yard_write(yard, "bag/bagit.txt", rule->declaration);
    yard_write(yard, "bag/data/hello.txt", "hello\n");
    for (size_t i = 0; i < FILES_MAX && rule->files[i].path; i++) {
        snprintf(path, sizeof path, "bag/%s", rule->files[i].path);
        yard_write(yard, path, rule->files[i].text);
    }
}

START_TEST(holds_each_bag_to_the_rules_of_its_version)
{
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
        struct yard yard;
        struct hr_bag_report *report = NULL;
        struct hr_bag_verify_options options = {0};
        yard_begin(&yard);
        lay(&yard, &rules[i]);
        enum hr_status status = hr_bag_verify(&report, yard_path(&yard, "bag"), &options, NULL, NULL);
        ck_assert_msg(status == (rules[i].verdict == NO_BAG ? HR_NOT_FOUND : HR_OK), "%s", rules[i].source);
        if (report) {
            ck_assert_msg((int)report->verdict == rules[i].verdict, "%s: %s\n%s", rules[i].source,
                          hr_bag_verdict_name(report->verdict), yard_problems(report));
            if (rules[i].problem == NO_PROBLEM)
                ck_assert_msg(report->problem_count == 0, "%s\n%s", rules[i].source, yard_problems(report));
            else
                ck_assert_msg(yard_problem(report, (enum hr_bag_problem_kind)rules[i].problem, NULL) != NULL, "%s\n%s",
                              rules[i].source, yard_problems(report));
        }
        hr_bag_report_destroy(report);
        yard_end(&yard);
    }
}
END_TEST

/* v0.97/invalid, linux-only and windows-only /out-of-scope-file-paths-*, and what else could lead out. */
static const char *const escapes[] = {
    "../../../README.md",
    "\\.\\./\\.\\./README.md",
    "/tmp/foo",
    "~/foo",
    "~root/foo",
    "C:\\Windows\\System32\\setx.exe",
    "%HomeDrive%\\Windows\\System32\\setx.exe",
    "\\\\?\\UNC\\server\\Windows\\System32\\setx.exe",
    "data/../../README.md",
    "data/..",
    "data/./hello.txt",
    "data//hello.txt",
    "data/",
    "dat/hello.txt",
};

static void expect_refused(const struct yard *yard, const char *path)
{
    struct hr_bag_report *report = yard_verify(yard_path(yard, "bag"));
    ck_assert_msg(report->verdict == HR_BAG_INVALID, "%s", path);
    ck_assert_msg(yard_problem(report, HR_BAG_RULE_BROKEN, path) != NULL, "%s\n%s", path, yard_problems(report));
    ck_assert_uint_eq(report->proof_count, 1);
    hr_bag_report_destroy(report);
}

START_TEST(refuses_paths_that_lead_out_of_the_bag)
{
    char text[512];
    for (size_t i = 0; i < sizeof escapes / sizeof *escapes; i++) {
        struct yard yard;
        yard_begin(&yard);
        yard_write(&yard, "bag/bagit.txt", V97);
        yard_write(&yard, "bag/data/hello.txt", "hello\n");
        yard_write(&yard, "README.md", "hello\n");
        snprintf(text, sizeof text, MD5 "  data/hello.txt\n" MD5 "  %s\n", escapes[i]);
        yard_write(&yard, "bag/manifest-md5.txt", text);
        expect_refused(&yard, escapes[i]);
        yard_write(&yard, "bag/manifest-md5.txt", MD5 "  data/hello.txt\n");
        snprintf(text, sizeof text, "https://localhost/x - %s\n", escapes[i]);
        yard_write(&yard, "bag/fetch.txt", text);
        expect_refused(&yard, escapes[i]);
        yard_end(&yard);
    }
}
END_TEST

START_TEST(refuses_tag_paths_that_lead_out_of_the_bag)
{
    char text[512];
    for (size_t i = 0; i < 8; i++) {
        if (escapes[i][0] == '%' || !strncmp(escapes[i], "\\.", 2))
            continue; /* below the bag's own folder these are names like any other */
        struct yard yard;
        yard_begin(&yard);
        yard_write(&yard, "bag/bagit.txt", V97);
        yard_write(&yard, "bag/data/hello.txt", "hello\n");
        yard_write(&yard, "bag/manifest-md5.txt", MD5 "  data/hello.txt\n");
        snprintf(text, sizeof text, MD5 "  %s\n", escapes[i]);
        yard_write(&yard, "bag/tagmanifest-md5.txt", text);
        expect_refused(&yard, escapes[i]);
        yard_end(&yard);
    }
}
END_TEST

/* Erases what stands in the line and writes another verdict. */
#define ESC_RIGHT "\033[2K\rRIGHT"

static void expect_told(const struct yard *yard, const char *text)
{
    struct hr_bag_report *report = yard_verify(yard_path(yard, "bag"));
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_msg(strstr(yard_problems(report), text) != NULL, "%s\n%s", text, yard_problems(report));
    for (size_t i = 0; i < report->problem_count; i++)
        for (const char *at = report->problems[i].text; *at; at++)
            ck_assert_msg(*at != '\033' && *at != '\r', "%s", report->problems[i].text);
    hr_bag_report_destroy(report);
}

START_TEST(what_a_bag_says_reaches_no_terminal_as_it_is)
{
    struct yard yard;
    yard_begin(&yard);
    yard_write(&yard, "bag/bagit.txt", V10);
    yard_write(&yard, "bag/data/hello.txt", "hello\n");
    yard_write(&yard, "bag/manifest-md5.txt", MD5 "  data/hello.txt\n" MD5 "  data/twin.txt\n");
    yard_write(&yard, "bag/bag-info.txt", "Payload-Oxum: 1.\033[2KRIGHT\n");
    expect_told(&yard, "says Payload-Oxum 1.%1B[2KRIGHT, but there is 6.1");
    yard_write(&yard, "bag/manifest-" ESC_RIGHT ".txt",
               MD5 "  data/hello.txt\n" MD5 "  data/hello.txt\n" MD5 "  ../x\n");
    yard_write(&yard, "bag/tagmanifest-" ESC_RIGHT ".txt", MD5 "  ../y\n" MD5 "  data/z\n" MD5 "  tagmanifest-z\n");
    expect_told(&yard, "is listed twice in manifest-%1B[2K%0DRIGHT.txt with the same digest");
    expect_told(&yard, "../x: manifest-%1B[2K%0DRIGHT.txt lists a path that is not below data/");
    expect_told(&yard, "data/twin.txt: is in one manifest but not in manifest-%1B[2K%0DRIGHT.txt");
    expect_told(&yard, "does not list manifest-%1B[2K%0DRIGHT.txt");
    expect_told(&yard, "../y: tagmanifest-%1B[2K%0DRIGHT.txt lists a path that leaves the bag");
    expect_told(&yard, "data/z: tagmanifest-%1B[2K%0DRIGHT.txt lists a payload file");
    expect_told(&yard, "tagmanifest-z: tagmanifest-%1B[2K%0DRIGHT.txt lists a tag manifest");
    yard_write(&yard, "bag/bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: \033[2KRIGHT\n");
    expect_told(&yard, "cannot be read as %1B[2KRIGHT, the encoding that bagit.txt names");
    yard_end(&yard);
}
END_TEST

START_TEST(a_value_without_end_is_told_in_part)
{
    static char text[10000] = "Payload-Oxum: ";
    struct yard yard;
    yard_begin(&yard);
    yard_write(&yard, "bag/bagit.txt", V10);
    yard_write(&yard, "bag/data/hello.txt", "hello\n");
    yard_write(&yard, "bag/manifest-md5.txt", MD5 "  data/hello.txt\n");
    memset(text + strlen(text), '7', sizeof text - 1 - strlen(text));
    yard_write(&yard, "bag/bag-info.txt", text);
    expect_told(&yard, "says Payload-Oxum 7777");
    expect_told(&yard, "7777, but there is 6.1");
    yard_end(&yard);
}
END_TEST

START_TEST(reads_tag_files_in_utf16)
{
    static const char text[] = MD5 "  data/hello.txt\n";
    unsigned char wide[2 * sizeof text] = {0xFF, 0xFE};
    struct yard yard;
    yard_begin(&yard);
    for (size_t i = 0; i < sizeof text - 1; i++)
        wide[2 + 2 * i] = (unsigned char)text[i];
    yard_write(&yard, "bag/bagit.txt", "BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-16\n");
    yard_write(&yard, "bag/data/hello.txt", "hello\n");
    yard_write_bytes(&yard, "bag/manifest-md5.txt", wide, sizeof wide);
    yard_expect(yard_path(&yard, "bag"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(has_a_payload_folder)
{
    struct yard yard;
    yard_begin(&yard);
    yard_write(&yard, "bag/bagit.txt", V10);
    yard_write(&yard, "bag/manifest-md5.txt", "");
    struct hr_bag_report *report = yard_verify(yard_path(&yard, "bag"));
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_ptr_nonnull(yard_problem(report, HR_BAG_RULE_BROKEN, "data"));
    hr_bag_report_destroy(report);
    ck_assert_int_eq(mkdir(yard_path(&yard, "bag/data"), 0755), 0);
    yard_expect(yard_path(&yard, "bag"), HR_BAG_VALID);
    yard_end(&yard);
}
END_TEST

START_TEST(reads_one_manifest_of_an_algorithm)
{
    struct yard yard;
    yard_begin(&yard);
    yard_write(&yard, "bag/bagit.txt", V10);
    yard_write(&yard, "bag/data/hello.txt", "hello\n");
    yard_write(&yard, "bag/manifest-md5.txt", MD5 "  data/hello.txt\n");
    yard_expect(yard_path(&yard, "bag"), HR_BAG_VALID);
    yard_write(&yard, "bag/manifest-MD5.txt", MD5 "  data/hello.txt\n");
    struct hr_bag_report *report = yard_verify(yard_path(&yard, "bag"));
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_ptr_nonnull(strstr(yard_problems(report), "is a second manifest of one algorithm"));
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

START_TEST(reads_no_more_than_sixteen_manifests)
{
    char name[64];
    struct yard yard;
    yard_begin(&yard);
    yard_write(&yard, "bag/bagit.txt", V10);
    yard_write(&yard, "bag/data/hello.txt", "hello\n");
    for (int i = 0; i < 17; i++) {
        snprintf(name, sizeof name, "bag/manifest-own%02d.txt", i);
        yard_write(&yard, name, MD5 "  data/hello.txt\n");
        if (i == 15) {
            struct hr_bag_report *report = yard_verify(yard_path(&yard, "bag"));
            ck_assert_ptr_null(strstr(yard_problems(report), "too many"));
            hr_bag_report_destroy(report);
        }
    }
    struct hr_bag_report *report = yard_verify(yard_path(&yard, "bag"));
    ck_assert_int_eq(report->verdict, HR_BAG_INVALID);
    ck_assert_ptr_nonnull(strstr(yard_problems(report), "is one manifest too many: not read"));
    hr_bag_report_destroy(report);
    yard_end(&yard);
}
END_TEST

HR_SUITE("bag/verify_rules", holds_each_bag_to_the_rules_of_its_version, refuses_paths_that_lead_out_of_the_bag,
         refuses_tag_paths_that_lead_out_of_the_bag, what_a_bag_says_reaches_no_terminal_as_it_is,
         a_value_without_end_is_told_in_part, reads_tag_files_in_utf16, has_a_payload_folder,
         reads_one_manifest_of_an_algorithm, reads_no_more_than_sixteen_manifests)
