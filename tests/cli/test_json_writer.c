/* SPDX-License-Identifier: ISC */
#include "cli/json_writer.h"
#include "suite.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

struct written {
    struct cli_output out;
    struct json_writer json;
};

static void begin(struct written *written, bool indented)
{
    cli_output_init(&written->out, NULL, false);
    json_start(&written->json, &written->out, indented);
}

static void expect(struct written *written, const char *text)
{
    ck_assert_str_eq(written->out.text.bytes, text);
    ck_assert(cli_output_finish(&written->out));
}

static void fill(struct json_writer *json)
{
    json_open(json, NULL, '{');
    json_number(json, "schema", 1);
    json_open(json, "cards", '[');
    json_open(json, NULL, '{');
    json_name(json, "name", "A");
    json_bool(json, "is_safe", true);
    json_null(json, "left");
    json_close(json);
    json_signed(json, NULL, -5);
    json_close(json);
    json_open(json, "none", '[');
    json_close(json);
    json_rate(json, "rate", 148.6);
    json_close(json);
    json_end(json);
}

START_TEST(writes_one_indented_document)
{
    struct written written;
    begin(&written, true);
    fill(&written.json);
    expect(&written, "{\n"
                     "  \"schema\": 1,\n"
                     "  \"cards\": [\n"
                     "    {\n"
                     "      \"name\": \"A\",\n"
                     "      \"is_safe\": true,\n"
                     "      \"left\": null\n"
                     "    },\n"
                     "    -5\n"
                     "  ],\n"
                     "  \"none\": [],\n"
                     "  \"rate\": 149\n"
                     "}\n");
}
END_TEST

START_TEST(writes_decimals_as_rfc_8259_has_them)
{
    struct written written;
    begin(&written, false);
    json_open(&written.json, NULL, '[');
    json_decimal(&written.json, NULL, 19.966, 2);
    json_decimal(&written.json, NULL, 1e21, 0);
    json_decimal(&written.json, NULL, -0.5, 1);
    json_decimal(&written.json, NULL, INFINITY, 1);
    json_decimal(&written.json, NULL, NAN, 1);
    json_close(&written.json);
    expect(&written, "[19.97,1000000000000000000000,-0.5,null,null]");
}
END_TEST

START_TEST(writes_events_on_lines_of_their_own)
{
    struct written written;
    begin(&written, false);
    fill(&written.json);
    json_open(&written.json, NULL, '{');
    json_text(&written.json, "event", "note");
    json_close(&written.json);
    json_end(&written.json);
    expect(&written, "{\"schema\":1,\"cards\":[{\"name\":\"A\",\"is_safe\":true,\"left\":null},-5],\"none\":[],"
                     "\"rate\":149}\n{\"event\":\"note\"}\n");
}
END_TEST

START_TEST(escapes_text_as_rfc_8259_asks)
{
    /* RFC 8259 section 7: quotation mark, reverse solidus and U+0000 to U+001F must be escaped; section 8.1: UTF-8. */
    static const struct {
        const char *text, *json;
    } cases[] = {
        {"plain", "\"plain\"\n"},
        {"\"q\" \\ /", "\"\\\"q\\\" \\\\ /\"\n"},
        {"a\nb\tc\001", "\"a\\nb\\u0009c\\u0001\"\n"},
        {"\303\244 \360\237\231\202", "\"\303\244 \360\237\231\202\"\n"},
        {"\377x\303", "\"\\ufffdx\\ufffd\"\n"},
        {"\300\257", "\"\\ufffd\\ufffd\"\n"},
        {"", "\"\"\n"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct written written;
        begin(&written, true);
        json_text(&written.json, NULL, cases[i].text);
        json_end(&written.json);
        expect(&written, cases[i].json);
    }
}
END_TEST

START_TEST(gives_every_byte_of_a_name_back)
{
    char name[256], got[256];
    for (int i = 0; i < 255; i++)
        name[i] = (char)(i + 1);
    name[255] = '\0';
    struct written written;
    begin(&written, true);
    json_name(&written.json, NULL, name);
    /* Undo the JSON string, then the escapes of the name. */
    char *from = written.out.text.bytes + 1, *to = from, *text = from;
    while (*from != '"') {
        from += *from == '\\';
        *to++ = *from++;
    }
    *to = '\0';
    size_t size = 0;
    char plain[1024];
    ck_assert_uint_lt(strlen(text), sizeof plain);
    ck_assert_int_eq(hr_unescape_name(plain, &size, text), HR_OK);
    ck_assert_uint_eq(size, 255);
    memcpy(got, plain, size);
    ck_assert_mem_eq(got, name, 255);
    ck_assert(cli_output_finish(&written.out));
}
END_TEST

START_TEST(splits_lines_into_members)
{
    struct written written;
    begin(&written, false);
    json_open(&written.json, NULL, '{');
    json_lines(&written.json, "none", "");
    json_lines(&written.json, "two", "a\nb%\n");
    json_close(&written.json);
    json_end(&written.json);
    expect(&written, "{\"none\":[],\"two\":[\"a\",\"b%25\"]}\n");
}
END_TEST

START_TEST(says_when_the_stream_takes_no_more)
{
    FILE *full = fopen("/dev/full", "w");
    ck_assert_ptr_nonnull(full);
    struct cli_output out;
    cli_output_init(&out, full, false);
    for (int i = 0; i < 100000; i++)
        cli_output_append(&out, "0123456789");
    ck_assert_int_eq(out.error, ENOSPC);
    ck_assert_uint_lt(out.text.size, 100);
    ck_assert(!cli_output_finish(&out));
    fclose(full);
}
END_TEST

START_TEST(paints_only_where_colour_is_wanted)
{
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    cli_output_painted(&out, CLI_GOOD, "SAFE");
    ck_assert_str_eq(out.text.bytes, "SAFE");
    ck_assert(cli_output_finish(&out));
    cli_output_init(&out, NULL, true);
    cli_output_painted(&out, CLI_GOOD, "SAFE");
    cli_output_painted(&out, CLI_PLAIN, " x");
    ck_assert_str_eq(out.text.bytes, "\033[1;32mSAFE\033[0m x");
    ck_assert(cli_output_finish(&out));
}
END_TEST

HR_SUITE("cli/json_writer", writes_one_indented_document, writes_decimals_as_rfc_8259_has_them,
         writes_events_on_lines_of_their_own, escapes_text_as_rfc_8259_asks, gives_every_byte_of_a_name_back,
         splits_lines_into_members, says_when_the_stream_takes_no_more, paints_only_where_colour_is_wanted)
