/* SPDX-License-Identifier: ISC */
#include "base/checked.h"

bool hr__add_u64(uint64_t *out, uint64_t a, uint64_t b)
{
    if (b > UINT64_MAX - a)
        return false;
    *out = a + b;
    return true;
}

bool hr__multiply_u64(uint64_t *out, uint64_t a, uint64_t b)
{
    if (a && b > UINT64_MAX / a)
        return false;
    *out = a * b;
    return true;
}

bool hr__add_size(size_t *out, size_t a, size_t b)
{
    if (b > SIZE_MAX - a)
        return false;
    *out = a + b;
    return true;
}

bool hr__multiply_size(size_t *out, size_t a, size_t b)
{
    if (a && b > SIZE_MAX / a)
        return false;
    *out = a * b;
    return true;
}

bool hr__parse_u64(uint64_t *out, const char *text, uint64_t max)
{
    if (!*text)
        return false;
    uint64_t value = 0;
    for (; *text; text++) {
        if (*text < '0' || *text > '9' || !hr__multiply_u64(&value, value, 10) ||
            !hr__add_u64(&value, value, (uint64_t)(*text - '0')))
            return false;
    }
    if (value > max)
        return false;
    *out = value;
    return true;
}

bool hr__parse_i64(int64_t *out, const char *text, int64_t max)
{
    bool is_negative = *text == '-';
    uint64_t magnitude;
    if (!hr__parse_u64(&magnitude, text + is_negative, (uint64_t)max))
        return false;
    *out = is_negative ? -(int64_t)magnitude : (int64_t)magnitude;
    return true;
}

bool hr__parse_decimal(double *out, const char *text, double max)
{
    /* So many digits, and so large a power of ten, are exact in a double: one division rounds once. */
    enum { DIGITS_MAX = 15 };
    uint64_t digits = 0;
    double scale = 1;
    int count = 0;
    bool has_point = false;
    for (; *text; text++) {
        if (*text == '.' && !has_point) {
            has_point = true;
            continue;
        }
        if (*text < '0' || *text > '9' || ++count > DIGITS_MAX)
            return false;
        digits = 10 * digits + (uint64_t)(*text - '0');
        scale *= has_point ? 10 : 1;
    }
    double value = (double)digits / scale;
    if (count == 0 || value > max)
        return false;
    *out = value;
    return true;
}
