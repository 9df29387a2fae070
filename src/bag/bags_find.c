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

/* Sees whether `path` is a bag. The folders of one that is none are to be looked at. */
static enum hr_status look(bool *is_bag, struct paths *waiting, const char *path, struct hr_fault *fault)
{
    struct hr_folder folder;
    bool is_finished = false, is_unfinished = false;
    enum hr_status status = hr__folder_open(&folder, path, fault);
    if (!status)
        status = hr__bag_holds(&is_finished, &folder, HR_BAG_DECLARATION, fault);
    if (!status)
        status = hr__bag_is_unfinished(&is_unfinished, &folder, fault);
    *is_bag = is_finished || is_unfinished;
    if (!status && !*is_bag)
        status = add_folders(waiting, &folder, fault);
    hr__folder_close(&folder);
    return status;
}

/* The system's own, or a desktop's: no job is called so. */
static bool is_of_others(const char *path)
{
    const char *name = hr__path_last(path);
    return name[0] == '.' || strcmp(name, "lost+found") == 0;
}

/* Takes `path` over. */
static enum hr_status sort_in(struct paths *bags, struct paths *closed, struct paths *waiting, char *path,
                              struct hr_fault *fault)
{
    bool is_bag = false;
    struct hr_fault cause = {0};
    enum hr_status status = look(&is_bag, waiting, path, &cause);
    if (!status && is_bag)
        return add(bags, path, fault);
    if (status == HR_DENIED && !is_of_others(path))
        return add(closed, path, fault);
    free(path);
    if (!status || status == HR_DENIED || status == HR_NOT_FOUND)
        return HR_OK;
    return hr__fault_set(fault, status, 0, "%s", cause.text);
}

enum hr_status hr_bags_find(char ***paths, size_t *count, struct hr_closed_folders *closed, const char *path,
                            struct hr_fault *fault)
{
    struct paths bags = {0}, denied = {0}, waiting = {0};
    char *resolved = NULL;
    bool is_bag = false;
    enum hr_status status = hr__path_resolve(&resolved, path, fault);
    if (!status)
        status = look(&is_bag, &waiting, resolved, fault);
    if (!status && is_bag) {
        status = add(&bags, resolved, fault);
        resolved = NULL;
    }
    free(resolved);
    while (!status && waiting.count > 0)
        status = sort_in(&bags, &denied, &waiting, waiting.paths[--waiting.count], fault);
    hr_bag_paths_free(waiting.paths, waiting.count);
    if (status || !closed)
        hr_bag_paths_free(denied.paths, denied.count);
    if (status) {
        hr_bag_paths_free(bags.paths, bags.count);
        return status;
    }
    if (closed)
        *closed = (struct hr_closed_folders){denied.paths, denied.count};
    *paths = bags.paths;
    *count = bags.count;
    return HR_OK;
}
