/* SPDX-License-Identifier: ISC */
#include "base/fault.h"

#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <headrace/name.h>

#include "base/utf8.h"

/* A cut at the end of the buffer must not leave half a character behind. */
static void trim_to_character(char *text, size_t size)
{
    size_t at = size;
    while (at > 0 && ((unsigned char)text[at - 1] & 0xC0) == 0x80)
        at--;
    if (at > 0 && hr__utf8_length(text + at - 1, size - at + 1) != size - at + 1)
        text[at - 1] = '\0';
}

HR_PRINTF(3, 0) static void append(char *text, size_t text_size, const char *format, va_list arguments)
{
    size_t used = strlen(text);
    int length = vsnprintf(text + used, text_size - used, format, arguments);
    if (length < 0)
        text[used] = '\0';
    else if ((size_t)length >= text_size - used)
        trim_to_character(text, text_size - 1);
}

HR_PRINTF(3, 4) static void append_format(char *text, size_t text_size, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    append(text, text_size, format, arguments);
    va_end(arguments);
}

/* Whatever locale the program runs in, faults read the same. */
static void append_system_error(char *text, size_t text_size, int system_error)
{
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (plain) {
        append_format(text, text_size, ": %s", strerror_l(system_error, plain));
        freelocale(plain);
    } else {
        append_format(text, text_size, ": system error %d", system_error);
    }
}

static bool takes_cause(const struct hr_fault *fault)
{
    return fault && fault->status == HR_OK;
}

enum hr_status hr__fault_set(struct hr_fault *fault, enum hr_status status, int system_error, const char *format, ...)
{
    if (!takes_cause(fault))
        return status;
    *fault = (struct hr_fault){.status = status, .system_error = system_error};
    va_list arguments;
    va_start(arguments, format);
    append(fault->text, sizeof fault->text, format, arguments);
    va_end(arguments);
    if (system_error)
        append_system_error(fault->text, sizeof fault->text, system_error);
    return status;
}

enum hr_status hr__fault_path(struct hr_fault *fault, enum hr_status status, int system_error, const char *what,
                              const char *path)
{
    if (!takes_cause(fault))
        return status;
    char shown[HR_FAULT_TEXT_SIZE * 3 / 4];
    hr_escape_name(shown, sizeof shown, path, strlen(path));
    return hr__fault_set(fault, status, system_error, "%s %s", what, shown);
}

enum hr_status hr__fault_about(struct hr_fault *fault, enum hr_status status, const char *path, const char *format, ...)
{
    if (!takes_cause(fault))
        return status;
    char shown[HR_FAULT_TEXT_SIZE / 2];
    hr_escape_name(shown, sizeof shown, path, strlen(path));
    hr__fault_set(fault, status, 0, "%s: ", shown);
    va_list arguments;
    va_start(arguments, format);
    append(fault->text, sizeof fault->text, format, arguments);
    va_end(arguments);
    return status;
}
