/* SPDX-License-Identifier: ISC */
/* Rows of frames.csv, written and read. Times: computed with GNU date ("date -u -d '2026-05-16 15:12:04' +%s"). */
#include "card/frame_row.h"

#include <stdio.h>
#include <string.h>

#include "suite.h"

enum { LINE_SIZE = 2048 };

static const char *const fields[] = {"path",       "frame",        "time_ns",     "resolution_ns", "offset_min",
                                     "serial",     "maker_serial", "model",       "counter",       "run_number",
                                     "drive_mode", "rating",       "protected",   "iso",           "exposure_s",
                                     "width",      "height",       "orientation", "previews",      "trouble"};
enum { FIELD_COUNT = sizeof fields / sizeof *fields };

static struct hr_frame_row nothing_known(const char *path)
{
    return (struct hr_frame_row){.path = path, .facts = {.rating = HR_RATING_UNKNOWN, .run_number = -1}};
}

static struct hr_frame_row all_known(void)
{
    return (struct hr_frame_row){.path = "DCIM/101NORTH/NM__0421.JPG",
                                 .is_protected = true,
                                 .facts = {.has_time = true,
                                           .local_time_s = 1778944324, /* 2026-05-16 15:12:04 */
                                           .fraction_ns = 420000000,
                                           .fraction_digits = 2,
                                           .has_offset = true,
                                           .offset_minutes = 120,
                                           .serial = "000A17",
                                           .maker_serial = "77, \"second\"",
                                           .drive_mode = "Continuous 100%",
                                           .run_number = 12,
                                           .model = "BODY A",
                                           .rating = 3,
                                           .width_pixels = 6000,
                                           .height_pixels = 4000,
                                           .orientation = 6,
                                           .iso = 1600,
                                           .exposure_numerator = 1,
                                           .exposure_denominator = 2000,
                                           .previews = {{4096, 300000}, {900, 8000}},
                                           .preview_count = 2,
                                           .trouble = HR_MEDIA_CUT_SHORT}};
}

/* Both in static buffers. */
static const char *written(const struct hr_frame_row *row)
{
    static char line[LINE_SIZE];
    struct hr_text text;
    hr__text_init(&text, sizeof line - 1);
    hr__frame_row_append(&text, row);
    ck_assert(!text.broken);
    memcpy(line, text.bytes, text.size + 1);
    hr__text_finish(&text);
    return line;
}

static bool parse(struct hr_frame_row *row, const char *line)
{
    static char copy[LINE_SIZE];
    ck_assert_uint_lt(strlen(line), sizeof copy);
    memcpy(copy, line, strlen(line) + 1);
    return hr__frame_row_parse(row, copy);
}

static void expect_equal(const struct hr_frame_row *got, const struct hr_frame_row *wanted)
{
    const struct hr_media_facts *a = &got->facts, *b = &wanted->facts;
    ck_assert_str_eq(got->path, wanted->path);
    ck_assert_int_eq(got->is_protected, wanted->is_protected);
    ck_assert_int_eq(a->has_time, b->has_time);
    ck_assert_int_eq(a->local_time_s, b->local_time_s);
    ck_assert_uint_eq(a->fraction_ns, b->fraction_ns);
    ck_assert_uint_eq(a->fraction_digits, b->fraction_digits);
    ck_assert_int_eq(a->has_offset, b->has_offset);
    ck_assert_int_eq(a->offset_minutes, b->offset_minutes);
    ck_assert_str_eq(a->serial, b->serial);
    ck_assert_str_eq(a->maker_serial, b->maker_serial);
    ck_assert_str_eq(a->drive_mode, b->drive_mode);
    ck_assert_int_eq(a->run_number, b->run_number);
    ck_assert_str_eq(a->model, b->model);
    ck_assert_int_eq(a->rating, b->rating);
    ck_assert_uint_eq(a->width_pixels, b->width_pixels);
    ck_assert_uint_eq(a->height_pixels, b->height_pixels);
    ck_assert_uint_eq(a->orientation, b->orientation);
    ck_assert_uint_eq(a->iso, b->iso);
    ck_assert_uint_eq(a->exposure_numerator, b->exposure_numerator);
    ck_assert_uint_eq(a->exposure_denominator, b->exposure_denominator);
    ck_assert_uint_eq(a->preview_count, b->preview_count);
    for (size_t i = 0; i < b->preview_count; i++) {
        ck_assert_uint_eq(a->previews[i].offset, b->previews[i].offset);
        ck_assert_uint_eq(a->previews[i].size_bytes, b->previews[i].size_bytes);
    }
    ck_assert_uint_eq(a->trouble, b->trouble);
}

static void expect_back(const struct hr_frame_row *row)
{
    struct hr_frame_row got;
    ck_assert_msg(parse(&got, written(row)), "%s", written(row));
    expect_equal(&got, row);
}

START_TEST(has_the_columns_the_manual_names)
{
    char header[LINE_SIZE] = "";
    for (size_t i = 0; i < FIELD_COUNT; i++)
        snprintf(header + strlen(header), sizeof header - strlen(header), "%s%s", i ? "," : "", fields[i]);
    ck_assert_str_eq(hr__frame_row_header, header);
}
END_TEST

START_TEST(writes_what_is_known_and_leaves_the_rest_empty)
{
    struct hr_frame_row row = all_known();
    ck_assert_str_eq(written(&row),
                     "DCIM/101NORTH/NM__0421.JPG,DCIM/101NORTH/NM__0421,1778944324420000000,10000000,120,000A17,"
                     "\"77, \"\"second\"\"\",BODY A,421,12,Continuous 100%25,3,1,1600,1/2000,6000,4000,6,"
                     "4096+300000;900+8000,cut-short");
    row = nothing_known("a.JPG");
    ck_assert_str_eq(written(&row), "a.JPG,a,,,,,,,,,,,0,,,,,,,");
}
END_TEST

START_TEST(reads_back_every_field_it_wrote)
{
    struct hr_frame_row row = all_known();
    expect_back(&row);
    row = nothing_known("a.JPG");
    expect_back(&row);
    row = all_known();
    for (row.facts.trouble = 0; row.facts.trouble <= HR_MEDIA_NO_TIME; row.facts.trouble++)
        expect_back(&row);
    row = all_known();
    for (int rating = -1; rating <= 5; rating++) {
        row.facts.rating = (int8_t)rating;
        expect_back(&row);
    }
    for (row.facts.orientation = 0; row.facts.orientation <= 8; row.facts.orientation++)
        expect_back(&row);
    row.facts.orientation = 1;
    row.facts.exposure_numerator = row.facts.iso = row.facts.width_pixels = UINT32_MAX;
    row.facts.exposure_denominator = row.facts.height_pixels = UINT32_MAX;
    row.facts.run_number = INT32_MAX;
    row.facts.preview_count = HR_PREVIEWS_MAX;
    for (size_t i = 0; i < HR_PREVIEWS_MAX; i++)
        row.facts.previews[i] = (struct hr_media_preview){UINT64_MAX - 7 + i, 7 - i};
    memset(row.facts.serial, 's', sizeof row.facts.serial - 1);
    memset(row.facts.model, '%', sizeof row.facts.model - 1);
    expect_back(&row);
}
END_TEST

START_TEST(reads_back_names_of_any_bytes)
{
    static const char *const paths[] = {"a,b.JPG",       "\"a\".JPG",    "a%b.JPG",
                                        "a\nb/c\rd.JPG", "\xff\x01.JPG", "M\xc3\xbc.JPG"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        struct hr_frame_row row = nothing_known(paths[i]);
        ck_assert_ptr_null(strpbrk(written(&row), "\r\n"));
        expect_back(&row);
    }
}
END_TEST

/* SubSecTime is digits after the point (CIPA DC-008): how many there are is how finely the camera tells the time. */
START_TEST(keeps_the_time_and_how_finely_it_was_written)
{
    static const struct {
        int64_t local_time_s;
        uint32_t fraction_ns;
        uint8_t digits;
        const char *time, *resolution;
    } rows[] = {{0, 0, 0, "0", "1000000000"},
                {1, 900000000, 1, "1900000000", "100000000"},
                {1, 42000000, 3, "1042000000", "1000000"},
                {1, 42000000, 6, "1042000000", "1000"},
                {1, 123456789, 9, "1123456789", "1"},
                {-1, 0, 0, "-1000000000", "1000000000"},
                {-1, 250000000, 2, "-750000000", "10000000"},
                {9223372035, 999999999, 9, "9223372035999999999", "1"},
                {-9223372035, 0, 0, "-9223372035000000000", "1000000000"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char line[LINE_SIZE];
        struct hr_frame_row row = nothing_known("a.JPG");
        row.facts.has_time = true;
        row.facts.local_time_s = rows[i].local_time_s;
        row.facts.fraction_ns = rows[i].fraction_ns;
        row.facts.fraction_digits = rows[i].digits;
        snprintf(line, sizeof line, "a.JPG,a,%s,%s,,,,,,,,,0,,,,,,,", rows[i].time, rows[i].resolution);
        ck_assert_str_eq(written(&row), line);
        expect_back(&row);
    }
}
END_TEST

START_TEST(leaves_out_a_time_that_no_64_bits_hold_and_digits_below_a_nanosecond)
{
    struct hr_frame_row row = nothing_known("a.JPG"), got;
    row.facts.has_time = true;
    row.facts.local_time_s = 253402300799; /* 9999-12-31 23:59:59 */
    ck_assert_str_eq(written(&row), "a.JPG,a,,,,,,,,,,,0,,,,,,,");
    row.facts.local_time_s = 1;
    row.facts.fraction_ns = 123456789;
    row.facts.fraction_digits = 12;
    ck_assert(parse(&got, written(&row)));
    ck_assert_uint_eq(got.facts.fraction_ns, 123456789);
    ck_assert_uint_eq(got.facts.fraction_digits, 9);
}
END_TEST

/* A whole row in which field `name` says `value`. */
static bool parse_with(const char *name, const char *value)
{
    static const char *const good[FIELD_COUNT] = {"a.JPG", "a",   "1420000000", "10000000", "120", "S", "M",
                                                  "B",     "421", "1",          "D",        "3",   "0", "100",
                                                  "1/50",  "60",  "40",         "1",        "1+2", ""};
    char line[LINE_SIZE] = "";
    struct hr_frame_row row;
    for (size_t i = 0; i < FIELD_COUNT; i++)
        snprintf(line + strlen(line), sizeof line - strlen(line), "%s%s", i ? "," : "",
                 strcmp(fields[i], name) ? good[i] : value);
    return parse(&row, line);
}

START_TEST(refuses_a_row_that_lies)
{
    static const struct {
        const char *name, *value;
    } lies[] = {{"path", ""},
                {"path", "/a.JPG"},
                {"path", "../a.JPG"},
                {"path", "a%0"},
                {"path", "a%00b"},
                {"frame", "a%zz"},
                {"time_ns", "x"},
                {"time_ns", "1.5"},
                {"time_ns", "9223372036854775808"},
                {"time_ns", ""},           /* a resolution of no time */
                {"time_ns", "1425000000"}, /* finer than it says */
                {"time_ns", "-5000000"},
                {"resolution_ns", ""},
                {"resolution_ns", "0"},
                {"resolution_ns", "2000000"},
                {"resolution_ns", "10000000000"},
                {"offset_min", "1440"},
                {"offset_min", "-1440"},
                {"offset_min", "+60"},
                {"serial", "%"},
                {"serial", "0123456789012345678901234567890123456789012345678901234567890123"},
                {"drive_mode", "01234567890123456789012345678901"},
                {"counter", "0"},
                {"counter", "10000"},
                {"run_number", "-1"},
                {"run_number", "2147483648"},
                {"rating", "6"},
                {"rating", "-2"},
                {"protected", "2"},
                {"protected", "yes"},
                {"iso", "-100"},
                {"iso", "4294967296"},
                {"exposure_s", "1"},
                {"exposure_s", "1/0"},
                {"exposure_s", "1/4294967296"},
                {"exposure_s", "/2000"},
                {"exposure_s", "1/2/3"},
                {"width", "0"},
                {"height", "1e3"},
                {"orientation", "9"},
                {"previews", "1"},
                {"previews", "1+0"},
                {"previews", "1+2;"
                             "3"},
                {"previews", "1+2;3+4;5+6;7+8;9+10"},
                {"previews", "18446744073709551615+1"},
                {"trouble", "fine"}};
    ck_assert(parse_with("", ""));
    for (size_t i = 0; i < sizeof lies / sizeof *lies; i++)
        ck_assert_msg(!parse_with(lies[i].name, lies[i].value), "%s '%s' was believed", lies[i].name, lies[i].value);
}
END_TEST

START_TEST(refuses_a_row_that_is_not_whole)
{
    struct hr_frame_row row = all_known(), got;
    char line[LINE_SIZE];
    const char *whole = written(&row);
    size_t length = strlen(whole);
    for (size_t cut = 0; cut < length; cut++) {
        if (whole[cut - (cut > 0)] == ',' && !strchr(whole + cut, ','))
            continue; /* nothing but the trouble is missing: nobody can tell */
        memcpy(line, whole, cut);
        line[cut] = '\0';
        ck_assert_msg(!parse(&got, line), "%s", line);
    }
    snprintf(line, sizeof line, "%s,", whole);
    ck_assert(!parse(&got, line));
    ck_assert(!parse(&got, hr__frame_row_header));
}
END_TEST

/* CIPA DC-009: folders 100 to 999, files 0001 to 9999. */
START_TEST(numbers_folders_and_files_as_the_standard_does)
{
    static const struct {
        const char *path;
        uint16_t folder_number, counter;
    } rows[] = {{"DCIM/100NORTH/NM__0001.JPG", 100, 1},
                {"DCIM/999NORTH/NM__9999.JPG", 999, 9999},
                {"DCIM/999NORTH/NM__9999.JPG.XMP", 999, 9999},
                {"DCIM/099NORTH/NM__0000.JPG", 0, 0},
                {"42NORTH/NM__10042.JPG", 0, 42},
                {"1234NORTH/NM.JPG", 123, 0},
                {"NM__0421.JPG", 0, 421},
                {"0421", 0, 421},
                {"100NORTH/clip", 100, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint16_t folder_number = 7, counter = 7;
        hr__frame_numbers(&folder_number, &counter, rows[i].path);
        ck_assert_msg(folder_number == rows[i].folder_number && counter == rows[i].counter, "%s: %u %u", rows[i].path,
                      folder_number, counter);
    }
}
END_TEST

HR_SUITE("card/frame_row", has_the_columns_the_manual_names, writes_what_is_known_and_leaves_the_rest_empty,
         reads_back_every_field_it_wrote, reads_back_names_of_any_bytes, keeps_the_time_and_how_finely_it_was_written,
         leaves_out_a_time_that_no_64_bits_hold_and_digits_below_a_nanosecond, refuses_a_row_that_lies,
         refuses_a_row_that_is_not_whole, numbers_folders_and_files_as_the_standard_does)
