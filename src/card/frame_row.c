/* SPDX-License-Identifier: ISC */
#include "card/frame_row.h"

#include <inttypes.h>
#include <string.h>

#include <headrace/name.h>

#include "base/checked.h"
#include "base/csv.h"
#include "base/path.h"
#include "base/units.h"
#include "card/kind.h"

const char hr__frame_row_header[] = "path,frame,time_ns,resolution_ns,offset_min,serial,maker_serial,model,counter,"
                                    "run_number,drive_mode,rating,protected,iso,exposure_s,width,height,orientation,"
                                    "previews,trouble";

enum column {
    PATH,
    FRAME,
    TIME,
    RESOLUTION,
    OFFSET,
    SERIAL,
    MAKER_SERIAL,
    MODEL,
    COUNTER,
    RUN_NUMBER,
    DRIVE_MODE,
    RATING,
    PROTECTED,
    ISO,
    EXPOSURE,
    WIDTH,
    HEIGHT,
    ORIENTATION,
    PREVIEWS,
    TROUBLE,
    COLUMN_COUNT
};

enum {
    NAME_CEILING = 1 << 17,
    FRACTION_DIGITS_MAX = 9, /* a nanosecond */
    FOLDER_MIN = 100,
    MINUTES_OF_A_DAY = 24 * 60,
    RATING_MIN = -1,
    RATING_MAX = 5,
    ORIENTATION_MAX = 8,
    COUNTER_MAX = 9999
};

static const char *const troubles[] = {[HR_MEDIA_FINE] = "",
                                       [HR_MEDIA_UNKNOWN_KIND] = "unknown-kind",
                                       [HR_MEDIA_CUT_SHORT] = "cut-short",
                                       [HR_MEDIA_MALFORMED] = "malformed",
                                       [HR_MEDIA_BAD_TIME] = "bad-time",
                                       [HR_MEDIA_NO_TIME] = "no-time"};
enum { TROUBLE_COUNT = sizeof troubles / sizeof *troubles };

/* Folders and counters outside the standard's ranges are no numbers of a camera's. */
void hr__frame_numbers(uint16_t *folder_number, uint16_t *counter, const char *path)
{
    unsigned folder_digits, counter_digits;
    hr__path_numbers(&folder_digits, &counter_digits, path);
    *folder_number = folder_digits >= FOLDER_MIN ? (uint16_t)folder_digits : 0;
    *counter = (uint16_t)counter_digits;
}

static int64_t resolution_of(unsigned fraction_digits)
{
    int64_t resolution = HR_NS_PER_S;
    for (unsigned i = 0; i < fraction_digits && i < FRACTION_DIGITS_MAX; i++)
        resolution /= 10;
    return resolution;
}

/* ---- Writing ---- */

static void append_name(struct hr_text *out, const char *name, size_t size)
{
    struct hr_text escaped;
    hr__text_init(&escaped, NAME_CEILING);
    hr__text_append_name(&escaped, name, size);
    out->broken |= escaped.broken;
    hr__csv_append_field(out, escaped.bytes);
    hr__text_finish(&escaped);
}

/* Each field from the second on brings its comma. */
static void add_name(struct hr_text *out, const char *name)
{
    hr__text_append(out, ",");
    append_name(out, name, strlen(name));
}

static void add_number(struct hr_text *out, bool is_known, int64_t number)
{
    hr__text_append(out, ",");
    if (is_known)
        hr__text_printf(out, "%" PRId64, number);
}

static void add_time(struct hr_text *out, const struct hr_media_facts *facts)
{
    const int64_t most_s = INT64_MAX / HR_NS_PER_S - 1;
    bool fits = facts->has_time && facts->local_time_s <= most_s && facts->local_time_s >= -most_s;
    add_number(out, fits, fits ? facts->local_time_s * HR_NS_PER_S + facts->fraction_ns : 0);
    add_number(out, fits, resolution_of(facts->fraction_digits));
    add_number(out, facts->has_offset, facts->offset_minutes);
}

static void add_exposure(struct hr_text *out, const struct hr_media_facts *facts)
{
    hr__text_append(out, ",");
    if (facts->exposure_denominator > 0)
        hr__text_printf(out, "%" PRIu32 "/%" PRIu32, facts->exposure_numerator, facts->exposure_denominator);
}

static void add_previews(struct hr_text *out, const struct hr_media_facts *facts)
{
    for (size_t i = 0; i < facts->preview_count; i++)
        hr__text_printf(out, "%s%" PRIu64 "+%" PRIu64, i == 0 ? "," : ";", facts->previews[i].offset,
                        facts->previews[i].size_bytes);
    if (facts->preview_count == 0)
        hr__text_append(out, ",");
}

void hr__frame_row_append(struct hr_text *out, const struct hr_frame_row *row)
{
    const struct hr_media_facts *facts = &row->facts;
    uint16_t folder_number, counter;
    hr__frame_numbers(&folder_number, &counter, row->path);
    append_name(out, row->path, strlen(row->path));
    hr__text_append(out, ",");
    append_name(out, row->path, hr__stem_length(row->path));
    add_time(out, facts);
    add_name(out, facts->serial);
    add_name(out, facts->maker_serial);
    add_name(out, facts->model);
    add_number(out, counter > 0, counter);
    add_number(out, facts->run_number >= 0, facts->run_number);
    add_name(out, facts->drive_mode);
    add_number(out, facts->rating != HR_RATING_UNKNOWN, facts->rating);
    add_number(out, true, row->is_protected);
    add_number(out, facts->iso > 0, facts->iso);
    add_exposure(out, facts);
    add_number(out, facts->width_pixels > 0, facts->width_pixels);
    add_number(out, facts->height_pixels > 0, facts->height_pixels);
    add_number(out, facts->orientation > 0, facts->orientation);
    add_previews(out, facts);
    add_name(out, troubles[facts->trouble]);
}

/* ---- Reading ---- */

/* In place; false for an escape that is none, or one of NUL. */
static bool unescape(char *field)
{
    size_t size = 0;
    if (hr_unescape_name(field, &size, field) != HR_OK || memchr(field, '\0', size))
        return false;
    field[size] = '\0';
    return true;
}

static bool read_name(char *out, size_t out_size, char *field)
{
    if (!unescape(field) || strlen(field) >= out_size)
        return false;
    memcpy(out, field, strlen(field) + 1);
    return true;
}

/* `unknown` for an empty field. */
static bool read_number(int64_t *out, const char *field, int64_t least, int64_t most, int64_t unknown)
{
    *out = unknown;
    return !*field || (hr__parse_i64(out, field, INT64_MAX) && *out >= least && *out <= most);
}

static bool read_u32(uint32_t *out, const char *field)
{
    int64_t number;
    bool is_good = read_number(&number, field, 1, UINT32_MAX, 0);
    *out = is_good ? (uint32_t)number : 0;
    return is_good;
}

/* A time that is finer than it claims to be was not written here. */
static bool read_time(struct hr_media_facts *facts, char *const *field)
{
    int64_t time_ns, resolution_ns, offset_minutes;
    if (!read_number(&time_ns, field[TIME], -INT64_MAX, INT64_MAX, 0) ||
        !read_number(&resolution_ns, field[RESOLUTION], 1, HR_NS_PER_S, 0) ||
        !read_number(&offset_minutes, field[OFFSET], 1 - MINUTES_OF_A_DAY, MINUTES_OF_A_DAY - 1, 0))
        return false;
    facts->has_offset = *field[OFFSET] != '\0';
    facts->offset_minutes = (int16_t)offset_minutes;
    facts->has_time = *field[TIME] != '\0';
    if (!facts->has_time || resolution_ns == 0)
        return !facts->has_time && resolution_ns == 0;
    while (facts->fraction_digits < FRACTION_DIGITS_MAX && resolution_of(facts->fraction_digits) > resolution_ns)
        facts->fraction_digits++;
    int64_t fraction_ns = time_ns % HR_NS_PER_S;
    fraction_ns += fraction_ns < 0 ? HR_NS_PER_S : 0;
    facts->fraction_ns = (uint32_t)fraction_ns;
    facts->local_time_s = time_ns / HR_NS_PER_S - (time_ns % HR_NS_PER_S < 0);
    return resolution_of(facts->fraction_digits) == resolution_ns && fraction_ns % resolution_ns == 0;
}

/* "A" and "B" of "A<separator>B", both whole numbers. */
static bool read_pair(uint64_t *first, uint64_t *second, char *text, char separator, uint64_t most)
{
    char *at = strchr(text, separator);
    if (!at)
        return false;
    *at = '\0';
    return hr__parse_u64(first, text, most) && hr__parse_u64(second, at + 1, most);
}

static bool read_exposure(struct hr_media_facts *facts, char *field)
{
    uint64_t numerator, denominator;
    if (!*field)
        return true;
    if (!read_pair(&numerator, &denominator, field, '/', UINT32_MAX) || denominator == 0)
        return false;
    facts->exposure_numerator = (uint32_t)numerator;
    facts->exposure_denominator = (uint32_t)denominator;
    return true;
}

static bool read_previews(struct hr_media_facts *facts, char *field)
{
    for (char *next; *field; field = next) {
        size_t length = strcspn(field, ";");
        uint64_t end;
        next = field + length + (field[length] != '\0');
        field[length] = '\0';
        if (facts->preview_count == HR_PREVIEWS_MAX)
            return false;
        struct hr_media_preview *preview = &facts->previews[facts->preview_count++];
        if (!read_pair(&preview->offset, &preview->size_bytes, field, '+', UINT64_MAX) || preview->size_bytes == 0 ||
            !hr__add_u64(&end, preview->offset, preview->size_bytes))
            return false;
    }
    return true;
}

static bool read_trouble(struct hr_media_facts *facts, const char *field)
{
    uint8_t trouble = 0;
    while (trouble < TROUBLE_COUNT && strcmp(troubles[trouble], field) != 0)
        trouble++;
    facts->trouble = trouble;
    return trouble < TROUBLE_COUNT;
}

/* What is small and whole. */
static bool read_numbers(struct hr_frame_row *row, char *const *field)
{
    int64_t counter, run_number, rating, is_protected, orientation;
    if (!read_number(&counter, field[COUNTER], 1, COUNTER_MAX, 0) ||
        !read_number(&run_number, field[RUN_NUMBER], 0, INT32_MAX, -1) ||
        !read_number(&rating, field[RATING], RATING_MIN, RATING_MAX, HR_RATING_UNKNOWN) ||
        !read_number(&is_protected, field[PROTECTED], 0, 1, 0) ||
        !read_number(&orientation, field[ORIENTATION], 1, ORIENTATION_MAX, 0))
        return false;
    row->is_protected = is_protected;
    row->facts.run_number = (int32_t)run_number;
    row->facts.rating = (int8_t)rating;
    row->facts.orientation = (uint8_t)orientation;
    return true;
}

bool hr__frame_row_parse(struct hr_frame_row *row, char *line)
{
    char *field[COLUMN_COUNT];
    struct hr_media_facts *facts = &row->facts;
    *row = (struct hr_frame_row){0};
    if (!hr__csv_split_row(line, field, COLUMN_COUNT))
        return false;
    row->path = field[PATH];
    return unescape(field[PATH]) && hr__path_is_inside(row->path) && unescape(field[FRAME]) &&
           read_time(facts, field) && read_name(facts->serial, sizeof facts->serial, field[SERIAL]) &&
           read_name(facts->maker_serial, sizeof facts->maker_serial, field[MAKER_SERIAL]) &&
           read_name(facts->model, sizeof facts->model, field[MODEL]) &&
           read_name(facts->drive_mode, sizeof facts->drive_mode, field[DRIVE_MODE]) && read_numbers(row, field) &&
           read_u32(&facts->iso, field[ISO]) && read_exposure(facts, field[EXPOSURE]) &&
           read_u32(&facts->width_pixels, field[WIDTH]) && read_u32(&facts->height_pixels, field[HEIGHT]) &&
           read_previews(facts, field[PREVIEWS]) && read_trouble(facts, field[TROUBLE]);
}
