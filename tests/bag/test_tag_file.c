/* SPDX-License-Identifier: ISC */
/* Tag files: RFC 8493 sections 2.1.1 and 2.2.2, with cases of the public-domain BagIt conformance suite (9ab4870). */
#include "bag/tag_file.h"

#include <stdlib.h>
#include <string.h>

#include "bag/tag_encoding.h"
#include "suite.h"

START_TEST(reads_labels_in_any_case_and_joins_continued_lines)
{
    static const char text[] = "Source-Organization: Northmere Hockey Club\r\n"
                               "External-Description: frames of the final\r\n"
                               "   by body A,\r\n"
                               "\tfirst half\r\n"
                               "Empty:\n"
                               " filled\n"
                               "Contact-Name : first\n"
                               "contact-name: second\n"
                               "no label here\n"
                               "Last:   without an end";
    struct hr_tags tags;
    size_t count = 0;
    ck_assert_int_eq(hr__tags_parse(&tags, text, strlen(text)), HR_OK);
    ck_assert_str_eq(hr__tags_find(&tags, "source-organization", NULL), "Northmere Hockey Club");
    ck_assert_str_eq(hr__tags_find(&tags, "External-Description", NULL), "frames of the final by body A, first half");
    ck_assert_str_eq(hr__tags_find(&tags, "Empty", NULL), "filled");
    ck_assert_str_eq(hr__tags_find(&tags, "CONTACT-NAME", &count), "first");
    ck_assert_uint_eq(count, 2);
    ck_assert_str_eq(hr__tags_find(&tags, "Last", NULL), "without an end");
    ck_assert_ptr_null(hr__tags_find(&tags, "Missing", &count));
    ck_assert_uint_eq(count, 0);
    ck_assert_uint_eq(tags.malformed_lines, 1);
    hr__tags_finish(&tags);
}
END_TEST

START_TEST(a_value_is_fit_when_it_comes_back_as_it_was)
{
    ck_assert(hr__tag_value_is_fit("uuid:1B2C-3D4E/%2F"));
    ck_assert(hr__tag_value_is_fit(""));
    ck_assert(!hr__tag_value_is_fit("two\nlines"));
    ck_assert(!hr__tag_value_is_fit(" leading"));
    ck_assert(!hr__tag_value_is_fit("trailing "));
    ck_assert(!hr__tag_value_is_fit("tab\t"));
}
END_TEST

static const struct {
    const char *text;
    bool is_right;
    unsigned major, minor;
} declarations[] = {
    {"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", true, 1, 0},
    {"BagIt-Version: 1.0\r\nTag-File-Character-Encoding: UTF-8\r\n", true, 1, 0},
    {"BagIt-Version: 0.97\r\nTag-File-Character-Encoding: UTF-8", true, 0, 97},
    {"BagIt-Version: 0.97\nTag-File-Character-Encoding: ISO-8859-1\n", true, 0, 97},
    {"BagIt-Version: 0.93\nTag-File-Character-Encoding: UTF-8\n", true, 0, 93},
    /* v1.0/invalid/bagit-with-invalid-whitespace */
    {"BagIt-Version : 1.0\nTag-File-Character-Encoding : UTF-8\n", false, 0, 0},
    /* v0.97/invalid/invalid-version-number */
    {"BagIt-Version: .97\nTag-File-Character-Encoding: UTF-8\n", false, 0, 0},
    /* v0.97/invalid/baginfo-missing-encoding */
    {"BagIt-Version: 0.97\n", false, 0, 0},
    /* v0.97/invalid/bom-in-bagit.txt */
    {"\xEF\xBB\xBF"
     "BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n",
     false, 0, 0},
    /* RFC 8493 section 2.1.1: two lines, in this order */
    {"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\nMore: 1\n", false, 0, 0},
    {"Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n", false, 0, 0},
    {"BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n", false, 0, 0},
    {"BagIt-Version: 1\nTag-File-Character-Encoding: UTF-8\n", false, 0, 0},
    {"BagIt-Version: 1.-1\nTag-File-Character-Encoding: UTF-8\n", false, 0, 0},
    {"", false, 0, 0},
};

START_TEST(holds_each_declaration_to_the_rules_of_its_version)
{
    for (size_t i = 0; i < sizeof declarations / sizeof *declarations; i++) {
        struct hr_declaration found;
        ck_assert_int_eq(hr__declaration_parse(&found, declarations[i].text, strlen(declarations[i].text)), HR_OK);
        ck_assert_msg(!found.complaint == declarations[i].is_right, "%s", declarations[i].text);
        if (!declarations[i].is_right)
            continue;
        ck_assert_uint_eq(found.major, declarations[i].major);
        ck_assert_uint_eq(found.minor, declarations[i].minor);
    }
}
END_TEST

/* Bytes, their encoding, and the same in UTF-8; NULL: no such text. From the definition of UTF-16 (RFC 2781) and of
 * ISO-8859-1; U+1F3D1 is the field-hockey stick. */
static const struct {
    const char *bytes;
    size_t size;
    const char *encoding, *utf8;
} texts[] = {
    {"a\xE9", 2, "ISO-8859-1", "a\xC3\xA9"},
    {"\xFE\xFF\0a\0\xE9", 6, "UTF-16", "a\xC3\xA9"},
    {"\xFF\xFE"
     "a\0\xE9\0",
     6, "utf-16", "a\xC3\xA9"},
    {"\0a", 2, "UTF-16", "a"},
    {"a\0", 2, "UTF-16LE", "a"},
    {"\xD8\x3C\xDF\xD1", 4, "UTF-16BE", "\xF0\x9F\x8F\x91"},
    {"\xD8\x3C", 2, "UTF-16BE", NULL},
    {"\xDF\xD1\xD8\x3C", 4, "UTF-16BE", NULL},
    {"\0a\0", 3, "UTF-16", NULL},
    {"\xEF\xBB\xBFstick", 8, "UTF-8", "stick"},
    {"stick", 5, "US-ASCII", "stick"},
    {"", 0, "UTF-16", ""},
};

START_TEST(turns_other_encodings_into_utf8)
{
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        char *text = calloc(1, texts[i].size + 1);
        size_t size = texts[i].size;
        memcpy(text, texts[i].bytes, size);
        enum hr_status status = hr__tag_text_to_utf8(&text, &size, texts[i].encoding);
        ck_assert_int_eq(status, texts[i].utf8 ? HR_OK : HR_MALFORMED);
        if (texts[i].utf8) {
            ck_assert_str_eq(text, texts[i].utf8);
            ck_assert_uint_eq(size, strlen(texts[i].utf8));
        }
        free(text);
    }
    char *text = strdup("x");
    size_t size = 1;
    ck_assert_int_eq(hr__tag_text_to_utf8(&text, &size, "EBCDIC"), HR_UNSUPPORTED);
    free(text);
}
END_TEST

HR_SUITE("bag/tag_file", reads_labels_in_any_case_and_joins_continued_lines,
         a_value_is_fit_when_it_comes_back_as_it_was, holds_each_declaration_to_the_rules_of_its_version,
         turns_other_encodings_into_utf8)
