/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as what the lowest room reads and writes: rows of values, names, characters, numbers,
 * units, paths. The first byte chooses which. What is read is written again, and held against a second opinion. */
#include <errno.h>
#include <inttypes.h>
#include <math.h>

#include <headrace/name.h>
#include <utf8proc.h>

#include "base/checked.h"
#include "base/csv.h"
#include "base/path.h"
#include "base/units.h"
#include "base/utf8.h"
#include "fuzzing.h"

/* ---- Rows ---- */

enum { FIELDS_MAX = 12 };

static void write_row(struct hr_text *out, char *const *fields, size_t count)
{
    const char *written[FIELDS_MAX];
    for (size_t i = 0; i < count; i++)
        written[i] = fields[i];
    hr__text_init(out, 1 << 20);
    hr__csv_append_row(out, written, count);
    must(!out->broken && out->bytes[out->size - 1] == '\n');
    must(strcspn(out->bytes, "\r\n") == out->size - 1);
    out->bytes[out->size - 1] = '\0';
}

static void expect_same_row(struct hr_text *row, char *const *fields, size_t count)
{
    char *again[FIELDS_MAX];
    must(hr__csv_split_row(row->bytes, again, count));
    for (size_t i = 0; i < count; i++)
        must(!strcmp(again[i], fields[i]));
    hr__text_finish(row);
}

static void read_row(struct fuzz_input input)
{
    size_t count = 1 + take_byte(&input) % FIELDS_MAX;
    char *row = take_text(&input), *fields[FIELDS_MAX];
    struct hr_text written;
    row[strcspn(row, "\r\n")] = '\0';
    if (hr__csv_split_row(row, fields, count)) {
        write_row(&written, fields, count);
        expect_same_row(&written, fields, count);
    }
    free(row);
}

static void write_any_row(struct fuzz_input input)
{
    char *fields[FIELDS_MAX];
    struct hr_text written;
    size_t count = 0;
    do {
        fields[count] = take_text(&input);
        fields[count][strcspn(fields[count], "\r\n")] = '\0';
    } while (++count < FIELDS_MAX && input.left > 0);
    write_row(&written, fields, count);
    expect_same_row(&written, fields, count);
    while (count > 0)
        free(fields[--count]);
}

/* ---- Names and characters ---- */

static bool is_printable(const char *text, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if ((unsigned char)text[i] < 0x20 || text[i] == 0x7f)
            return false;
    return hr__utf8_is_valid(text, size);
}

/* Into less room comes what fits, and nothing after it. */
static void expect_cut(const char *whole, size_t whole_size, const char *name, size_t size, size_t room)
{
    char *out = malloc(room);
    must(out && hr_escape_name(out, room, name, size) == whole_size);
    must(strlen(out) < room && !strncmp(out, whole, strlen(out)) && is_printable(out, strlen(out)));
    must(whole_size >= room || !strcmp(out, whole));
    free(out);
}

static void escape_name(struct fuzz_input input)
{
    size_t room = 1 + take_byte(&input), again_size, size = input.left;
    char *name = copy_of(input.at, size), *escaped = malloc(3 * size + 1), *again = malloc(3 * size + 1);
    must(escaped && again);
    size_t whole = hr_escape_name(escaped, 3 * size + 1, name, size);
    must(whole <= 3 * size && strlen(escaped) == whole && is_printable(escaped, whole));
    must(hr_unescape_name(again, &again_size, escaped) == HR_OK);
    must(again_size == size && !memcmp(again, name, size));
    expect_cut(escaped, whole, name, size, room);
    free(name), free(escaped), free(again);
}

static void unescape_name(struct fuzz_input input)
{
    char *text = take_text(&input), *name = copy_of(text, strlen(text)), *escaped;
    size_t size, again_size;
    if (hr_unescape_name(name, &size, text) == HR_OK) {
        char *again = malloc(3 * size + 1);
        must(size <= strlen(text) && (escaped = malloc(3 * size + 1)) && again);
        hr_escape_name(escaped, 3 * size + 1, name, size);
        must(hr_unescape_name(again, &again_size, escaped) == HR_OK);
        must(again_size == size && !memcmp(again, name, size));
        free(escaped), free(again);
    }
    free(text), free(name);
}

static void read_characters(struct fuzz_input input)
{
    char *bytes = malloc(input.left ? input.left : 1);
    bool is_valid = true;
    must(bytes != NULL);
    if (input.left)
        memcpy(bytes, input.at, input.left);
    for (size_t at = 0, length; at < input.left; at += length ? length : 1) {
        utf8proc_int32_t point;
        utf8proc_ssize_t other =
            utf8proc_iterate((const utf8proc_uint8_t *)bytes + at, (utf8proc_ssize_t)(input.left - at), &point);
        length = hr__utf8_length(bytes + at, input.left - at);
        must(length == (other > 0 ? (size_t)other : 0));
        is_valid &= length > 0;
    }
    must(hr__utf8_is_valid(bytes, input.left) == is_valid);
    free(bytes);
}

/* ---- Numbers and units ---- */

static void read_numbers(struct fuzz_input input)
{
    uint64_t most = take_number(&input), number = 77, digits;
    int64_t most_signed = (int64_t)(most & INT64_MAX), signed_number = 77;
    double decimal = 77;
    char *text = take_text(&input), *end;
    errno = 0;
    uint64_t other = strtoull(text, &end, 10);
    digits = strspn(text, "0123456789");
    bool is_number = digits > 0 && !text[digits];
    must(hr__parse_u64(&number, text, most) == (is_number && !errno && other <= most));
    must(number == other || number == 77);
    errno = 0;
    int64_t other_signed = strtoll(text, &end, 10);
    digits = strspn(text + (*text == '-'), "0123456789");
    is_number = digits > 0 && !text[(*text == '-') + digits];
    must(hr__parse_i64(&signed_number, text, most_signed) ==
         (is_number && !errno && other_signed <= most_signed && other_signed >= -most_signed));
    must(signed_number == other_signed || signed_number == 77);
    if (hr__parse_decimal(&decimal, text, 1e9)) {
        must(decimal >= 0 && decimal <= 1e9 && strspn(text, "0123456789.") == strlen(text));
        must(fabs(decimal - strtod(text, NULL)) <= 1e-12 * decimal);
    }
    free(text);
}

/* What is shown is as near as its last digit can come. */
static void expect_near(const char *text, double value)
{
    static const struct {
        const char *name;
        double size;
    } units[] = {{"B", 1}, {"kB", 1e3}, {"MB", 1e6}, {"GB", 1e9}, {"TB", 1e12}, {"MB/s", 1e6}};
    char *unit;
    const char *point = strchr(text, '.');
    double shown = strtod(text, &unit), size = 0, decimals = point ? (double)(unit - point - 1) : 0;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (*unit == ' ' && !strcmp(unit + 1, units[i].name))
            size = units[i].size;
    must(size > 0 && fabs(shown * size - value) <= 0.5 * size * pow(10, -decimals) + 1e-9 * value);
}

static void write_units(struct fuzz_input input)
{
    uint64_t number = take_number(&input) >> take_byte(&input) % 64;
    char out[HR_UNIT_TEXT_SIZE];
    double rate;
    expect_near(hr__format_bytes(out, number), (double)number);
    uint64_t bits = take_number(&input);
    memcpy(&rate, &bits, sizeof rate);
    hr__format_rate(out, rate);
    if (rate >= 0 && rate < 1e15)
        expect_near(out, rate);
    must(strlen(hr__format_duration(out, (int64_t)number)) > 0);
    must(strlen(hr__format_counted(out, number, "entry")) > 0);
    hr__format_count(out, number);
    size_t kept = 0;
    for (const char *at = out; *at; at++)
        if (*at != ',')
            out[kept++] = *at;
    out[kept] = '\0';
    must(strtoull(out, NULL, 10) == number);
}

/* ---- Paths ---- */

static bool is_inside(const char *path)
{
    char *copy = copy_of(path, strlen(path)), *rest = copy, *component;
    bool inside = true;
    while ((component = strsep(&rest, "/")))
        inside &= *component && strcmp(component, ".") != 0 && strcmp(component, "..") != 0;
    free(copy);
    return inside;
}

static void split_path(struct fuzz_input input)
{
    char *path = take_text(&input), *folder = take_text(&input), *joined = hr__path_join(folder, path);
    must(hr__path_is_inside(path) == is_inside(path));
    must(joined && strlen(joined) <= strlen(folder) + strlen(path) + 1);
    if (hr__path_is_inside(path) && *folder)
        must(hr__path_contains(folder, joined) && !strcmp(joined + strlen(joined) - strlen(path), path));
    must(!strcmp(hr__path_last(joined), hr__path_last(path)) || !*path);
    must(hr__path_folder_length(path) + strlen(hr__path_last(path)) + (strchr(path, '/') != NULL) == strlen(path));
    free(path), free(folder), free(joined);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static void (*const readers[])(struct fuzz_input) = {read_row,        write_any_row, escape_name, unescape_name,
                                                         read_characters, read_numbers,  write_units, split_path};
    struct fuzz_input input = {data, size};
    readers[take_byte(&input) % (sizeof readers / sizeof *readers)](input);
    return 0;
}
