/* SPDX-License-Identifier: ISC */
#include "bag/bag_names.h"

#include <string.h>

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

bool hr__bag_holds(const struct hr_folder *folder, const char *name)
{
    struct hr_file_facts facts;
    return hr__folder_facts(&facts, folder, name, NULL) == HR_OK && facts.is_regular;
}

bool hr__bag_is_unfinished(const struct hr_folder *folder)
{
    if (hr__bag_holds(folder, HR_BAG_DECLARATION))
        return false;
    return hr__bag_holds(folder, HR_BAG_INFO_PART) ||
           (hr__bag_holds(folder, HR_BAG_FILES) && hr__bag_holds(folder, HR_BAG_INFO));
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
