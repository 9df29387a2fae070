/* SPDX-License-Identifier: ISC */
/* Taking away bags that came to nothing. */
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/bag_walk.h"

enum { BAGS_MAX = 1 << 20, ENTRIES_MAX = 16 };

/* What stands in a bag before its first file does. */
static const char *const first[] = {HR_BAG_FILES_PART,      HR_BAG_INFO_PART,   HR_BAG_INFO_PART_PART,
                                    HR_BAG_THROUGHPUT_PART, HR_BAG_FRAMES_PART, HR_BAG_DATA};
enum { FIRST = sizeof first / sizeof *first };

bool hr__bag_clear(const struct hr_folder *bag)
{
    struct hr_walk walk = {0};
    enum hr_status status = hr__bag_walk(&walk, bag, HR_BAG_DATA, NULL);
    bool is_empty = status == HR_NOT_FOUND || (status == HR_OK && walk.count == 0);
    for (size_t i = walk.folder_count; is_empty && i > 0; i--)
        hr__folder_remove(bag, walk.folders[i - 1], NULL);
    for (size_t i = 0; is_empty && i < FIRST; i++)
        hr__folder_remove(bag, first[i], NULL);
    if (!status)
        hr__bag_walk_finish(&walk);
    return is_empty;
}

static bool is_of_first(const char *name)
{
    for (size_t i = 0; i < FIRST; i++)
        if (!strcmp(first[i], name))
            return true;
    return false;
}

/* It says of no card, so nobody would go on with it, and holds nothing but what comes before that. */
static bool is_stub(const struct hr_folder *folder)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    bool names_card = false;
    enum hr_status status = hr__bag_names_card(&names_card, folder, NULL, NULL);
    bool is_it = (status == HR_OK || status == HR_NOT_FOUND) && !names_card &&
                 hr__folder_list(&entries, &count, folder, "", ENTRIES_MAX, NULL) == HR_OK;
    for (size_t i = 0; i < count; i++)
        is_it = is_it && is_of_first(entries[i].name);
    hr__entries_free(entries, count);
    return is_it;
}

void hr__bag_clear_stubs(const struct hr_folder *job)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    unsigned number;
    if (hr__folder_list(&entries, &count, job, "", BAGS_MAX, NULL) != HR_OK)
        return;
    for (size_t i = 0; i < count; i++) {
        struct hr_folder folder;
        if (entries[i].kind != HR_ENTRY_FOLDER || !hr__bag_name_card(entries[i].name, &number) ||
            hr__folder_open_below(&folder, job, entries[i].name, NULL) != HR_OK)
            continue;
        if (is_stub(&folder) && hr__folder_lock(&folder, NULL) == HR_OK && hr__bag_clear(&folder))
            hr__folder_remove(job, entries[i].name, NULL);
        hr__folder_close(&folder);
    }
    hr__entries_free(entries, count);
}
