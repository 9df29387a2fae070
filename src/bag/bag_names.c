/* SPDX-License-Identifier: ISC */
#include "bag/bag_names.h"

#include <string.h>

#include "base/fault.h"
#include "base/path.h"

enum { STAMP_LENGTH = 15 }; /* YYYYMMDD-HHMMSS */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool begins_with_stamp(const char *name)
{
    for (size_t i = 0; i < STAMP_LENGTH; i++)
        if (i == 8 ? name[i] != '-' : !is_digit(name[i]))
            return false;
    return true;
}

const char *hr__bag_name_card(const char *name, unsigned *number)
{
    if (!begins_with_stamp(name))
        return NULL;
    const char *at = name + STAMP_LENGTH;
    *number = 1;
    if (*at == '-')
        for (*number = 0, at++; is_digit(*at) && *number < 100000; at++)
            *number = *number * 10 + (unsigned)(*at - '0');
    return *at == '_' && at[1] ? at + 1 : NULL;
}

bool hr__bag_name_is_fit(const char *name)
{
    for (const char *at = name; *at; at++)
        if ((unsigned char)*at < 0x20 || *at == 0x7f || *at == '/')
            return false;
    return *name && *name != '.';
}

enum hr_status hr__bag_holds(bool *out, const struct hr_folder *folder, const char *name, struct hr_fault *fault)
{
    struct hr_file_facts facts;
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_facts(&facts, folder, name, &cause);
    *out = status == HR_OK && facts.is_regular;
    return status == HR_OK || status == HR_NOT_FOUND ? HR_OK : hr__fault_set(fault, status, 0, "%s", cause.text);
}

enum hr_status hr__bag_is_unfinished(bool *out, const struct hr_folder *folder, struct hr_fault *fault)
{
    static const char *const names[] = {HR_BAG_DECLARATION, HR_BAG_INFO_PART, HR_BAG_FILES, HR_BAG_INFO};
    enum { DECLARATION, COVER, FILES, INFO, NAMES };
    bool holds[NAMES] = {false};
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < NAMES && !status; i++)
        status = hr__bag_holds(&holds[i], folder, names[i], fault);
    *out = !holds[DECLARATION] && (holds[COVER] || (holds[FILES] && holds[INFO]));
    return status;
}

static bool begins_with_drive(const char *path)
{
    char letter = (char)(path[0] | 0x20);
    return letter >= 'a' && letter <= 'z' && path[1] == ':';
}

bool hr__bag_path_is_safe(const char *path)
{
    return hr__path_is_inside(path) && path[0] != '~' && path[0] != '\\' && !begins_with_drive(path);
}

bool hr__bag_path_is_payload(const char *path)
{
    return !strncmp(path, HR_BAG_DATA "/", 5) && hr__path_is_inside(path);
}
