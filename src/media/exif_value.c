/* SPDX-License-Identifier: ISC */
#include "media/exif_value.h"

#include <string.h>

#include "base/utf8.h"

/* Size up to the first NUL, without blanks at the end. */
static size_t text_size(const unsigned char *bytes, size_t size)
{
    const unsigned char *nul = memchr(bytes, '\0', size);
    if (nul)
        size = (size_t)(nul - bytes);
    while (size > 0 && bytes[size - 1] == ' ')
        size--;
    return size;
}

/* `pattern` holds 'd' for a digit, anything else for itself; runs of digits become the `values` in turn. */
static bool match(int *values, const char *pattern, const unsigned char *bytes, size_t size)
{
    if (size != strlen(pattern))
        return false;
    for (size_t i = 0; i < size; i++) {
        if (pattern[i] == 'd') {
            if (bytes[i] < '0' || bytes[i] > '9')
                return false;
            bool starts = i == 0 || pattern[i - 1] != 'd';
            values += starts && i > 0 ? 1 : 0;
            *values = (starts ? 0 : *values * 10) + (bytes[i] - '0');
        } else if (bytes[i] != (unsigned char)pattern[i]) {
            return false;
        }
    }
    return true;
}

static int days_in_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap);
}

/* Days since 1970-01-01 in the Gregorian calendar, counted in years that start in March so that the leap day comes
 * last. */
static int64_t days_since_1970(int year, int month, int day)
{
    int64_t march_year = year - (month <= 2);
    int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return march_year * 365 + march_year / 4 - march_year / 100 + march_year / 400 + day_of_year - 719468;
}

bool hr__exif_time(int64_t *local_time_s, const unsigned char *bytes, size_t size)
{
    int at[6];
    if (!match(at, "dddd:dd:dd dd:dd:dd", bytes, text_size(bytes, size)))
        return false;
    if (at[0] < 1 || at[1] < 1 || at[1] > 12 || at[2] < 1 || at[2] > days_in_month(at[0], at[1]))
        return false;
    if (at[3] > 23 || at[4] > 59 || at[5] > 59)
        return false;
    *local_time_s = ((days_since_1970(at[0], at[1], at[2]) * 24 + at[3]) * 60 + at[4]) * 60 + at[5];
    return true;
}

bool hr__exif_time_is_blank(const unsigned char *bytes, size_t size)
{
    size = text_size(bytes, size);
    for (size_t i = 0; i < size; i++)
        if (bytes[i] != ' ' && bytes[i] != ':')
            return false;
    return true;
}

bool hr__exif_fraction(uint32_t *nanoseconds, uint8_t *digits, const unsigned char *bytes, size_t size)
{
    uint32_t value = 0;
    size = text_size(bytes, size);
    if (size == 0 || size > UINT8_MAX)
        return false;
    for (size_t i = 0; i < size; i++) {
        if (bytes[i] < '0' || bytes[i] > '9')
            return false;
        if (i < 9)
            value = value * 10 + (uint32_t)(bytes[i] - '0');
    }
    for (size_t i = size; i < 9; i++)
        value *= 10;
    *nanoseconds = value;
    *digits = (uint8_t)size;
    return true;
}

bool hr__exif_offset(int16_t *minutes, const unsigned char *bytes, size_t size)
{
    int at[2];
    size = text_size(bytes, size);
    if (size == 0 || (bytes[0] != '+' && bytes[0] != '-') || !match(at, "dd:dd", bytes + 1, size - 1))
        return false;
    if (at[0] > 23 || at[1] > 59)
        return false;
    *minutes = (int16_t)((at[0] * 60 + at[1]) * (bytes[0] == '-' ? -1 : 1));
    return true;
}

bool hr__exif_text(char *out, size_t out_size, const unsigned char *bytes, size_t size)
{
    size = text_size(bytes, size);
    while (size > 0 && *bytes == ' ')
        bytes++, size--;
    if (size == 0 || size >= out_size || !hr__utf8_is_valid((const char *)bytes, size))
        return false;
    for (size_t i = 0; i < size; i++)
        if (bytes[i] < 0x20 || bytes[i] == 0x7f)
            return false;
    memcpy(out, bytes, size);
    out[size] = '\0';
    return true;
}
