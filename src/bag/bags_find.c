/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

#include <headrace/bag.h>

enum { FOLDERS_MAX = 1 << 22 };

struct paths {
    char **paths; /* each owned */
    size_t count, capacity;
};

/* Takes `path` over. */
static enum hr_status add(struct paths *all, char *path, struct hr_fault *fault)
{
    if (path && hr__array_reserve(&all->paths, &all->capacity, all->count + 1, sizeof *all->paths, FOLDERS_MAX)) {
        all->paths[all->count++] = path;
        return HR_OK;
    }
    free(path);
    return hr__fault_nomem(fault, "the bags of a place");
}

static enum hr_status add_folders(struct paths *waiting, const struct hr_folder *folder, struct hr_fault *fault)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    enum hr_status status = hr__folder_list(&entries, &count, folder, "", FOLDERS_MAX, fault);
    /* From the end, so that the first is taken next. */
    for (size_t i = count; i > 0 && !status; i--)
        if (entries[i - 1].status && entries[i - 1].status != HR_NOT_FOUND) /* perhaps a folder, and in it a bag */
            status = hr__fault_path(fault, entries[i - 1].status, 0, "cannot ask about what stands in", folder->path);
        else if (entries[i - 1].kind == HR_ENTRY_FOLDER)
            status = add(waiting, hr__path_join(folder->path, entries[i - 1].name), fault);
    hr__entries_free(entries, count);
    return status;
}

/* Takes `path` over. */
static enum hr_status look(struct paths *bags, struct paths *waiting, char *path, struct hr_fault *fault)
{
    struct hr_folder folder;
    bool is_finished = false, is_unfinished = false;
    enum hr_status status = hr__folder_open(&folder, path, fault);
    if (!status)
        status = hr__bag_holds(&is_finished, &folder, HR_BAG_DECLARATION, fault);
    if (!status)
        status = hr__bag_is_unfinished(&is_unfinished, &folder, fault);
    if (!status && (is_finished || is_unfinished)) {
        status = add(bags, path, fault);
        path = NULL;
    } else if (!status) {
        status = add_folders(waiting, &folder, fault);
    }
    hr__folder_close(&folder);
    free(path);
    return status;
}

enum hr_status hr_bags_find(char ***paths, size_t *count, const char *path, struct hr_fault *fault)
{
    struct paths bags = {0}, waiting = {0};
    char *resolved = NULL;
    enum hr_status status = hr__path_resolve(&resolved, path, fault);
    if (!status)
        status = look(&bags, &waiting, resolved, fault);
    while (!status && waiting.count > 0) {
        struct hr_fault cause = {0};
        status = look(&bags, &waiting, waiting.paths[--waiting.count], &cause);
        if (status == HR_DENIED || status == HR_NOT_FOUND) /* "lost+found" is not ours to read */
            status = HR_OK;
        if (status)
            hr__fault_set(fault, status, 0, "%s", cause.text);
    }
    hr_bag_paths_free(waiting.paths, waiting.count);
    if (status) {
        hr_bag_paths_free(bags.paths, bags.count);
        return status;
    }
    *paths = bags.paths;
    *count = bags.count;
    return HR_OK;
}
