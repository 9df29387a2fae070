/* SPDX-License-Identifier: ISC */
#include "sequence/names.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "platform/clock.h"

enum { NAME_CEILING = 1 << 16, LETTERS = 26, NS_PER_MS = 1000000 };

char *hr__body_letters(char out[HR_LETTERS_SIZE], uint32_t body)
{
    char letters[HR_LETTERS_SIZE];
    size_t at = sizeof letters - 1;
    letters[at] = '\0';
    for (uint64_t rest = (uint64_t)body + 1; rest > 0; rest = (rest - 1) / LETTERS)
        letters[--at] = (char)('A' + (rest - 1) % LETTERS);
    return memcpy(out, letters + at, sizeof letters - at);
}

char *hr__local_time(char out[HR_LOCAL_TIME_SIZE], int64_t local_ns)
{
    struct hr_civil at = hr__clock_civil_utc(local_ns);
    int64_t ns = (local_ns % HR_NS_PER_S + HR_NS_PER_S) % HR_NS_PER_S;
    snprintf(out, HR_LOCAL_TIME_SIZE, "%04d-%02d-%02d %02d:%02d:%02d.%03d", at.year, at.month, at.day, at.hour,
             at.minute, at.second, (int)(ns / NS_PER_MS));
    return out;
}

static char *take(struct hr_text *text)
{
    char *name = hr__text_take(text);
    hr__text_finish(text);
    return name;
}

char *hr__sequence_name(int64_t start_local_ns, const char *body, size_t frame_count, unsigned repeat)
{
    struct hr_text name;
    struct hr_civil at = hr__clock_civil_utc(start_local_ns);
    hr__text_init(&name, NAME_CEILING);
    hr__text_printf(&name, "%04d%02d%02d-%02d%02d%02d_%s_%zuf", at.year, at.month, at.day, at.hour, at.minute,
                    at.second, body, frame_count);
    if (repeat > 1)
        hr__text_printf(&name, "-%u", repeat);
    return take(&name);
}

unsigned hr__number_width(size_t last)
{
    unsigned width = 1;
    while (last /= 10)
        width++;
    return width > HR_NUMBER_WIDTH ? width : HR_NUMBER_WIDTH;
}

char *hr__numbered_name(size_t number, unsigned width, const char *camera_name)
{
    struct hr_text name;
    hr__text_init(&name, NAME_CEILING);
    hr__text_printf(&name, "%0*zu_%s", (int)width, number, camera_name);
    return take(&name);
}
