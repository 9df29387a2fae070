/* SPDX-License-Identifier: ISC */
#include "bag/bag_walk.h"

#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

static int compare_walked(const void *a, const void *b)
{
    return strcmp(((const struct hr_walked *)a)->path, ((const struct hr_walked *)b)->path);
}

/* Takes the path over. */
static bool add_folder(struct hr_walk *walk, char *path)
{
    if (!path || !hr__array_reserve(&walk->folders, &walk->folder_capacity, walk->folder_count + 1,
                                    sizeof *walk->folders, HR_BAG_FILES_MAX)) {
        free(path);
        return false;
    }
    walk->folders[walk->folder_count++] = path;
    return true;
}

static bool add_file(struct hr_walk *walk, const struct hr_walked *file)
{
    if (!file->path ||
        !hr__array_reserve(&walk->files, &walk->capacity, walk->count + 1, sizeof *walk->files, HR_BAG_FILES_MAX)) {
        free(file->path);
        return false;
    }
    walk->files[walk->count++] = *file;
    return true;
}

static bool add_entry(struct hr_walk *walk, const char *in, const struct hr_entry *entry)
{
    char *path = hr__path_join(in, entry->name);
    if (entry->kind == HR_ENTRY_FOLDER && !entry->status)
        return add_folder(walk, path);
    return add_file(
        walk, &(struct hr_walked){
                  .path = path, .size_bytes = entry->facts.size_bytes, .kind = entry->kind, .status = entry->status});
}

/* Where the first cannot be read there is no walk; below it, that is one entry that could not be read. */
static enum hr_status list_folder(struct hr_walk *walk, const struct hr_folder *folder, const char *in, bool is_first,
                                  struct hr_fault *fault)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_list(&entries, &count, folder, in, HR_BAG_FILES_MAX, &cause);
    if (status && !is_first && status != HR_GONE && status != HR_NOMEM && status != HR_TOO_LARGE) {
        struct hr_walked unread = {.path = strdup(in), .kind = HR_ENTRY_FOLDER, .status = status};
        return add_file(walk, &unread) ? HR_OK : hr__fault_nomem(fault, "the files of a bag");
    }
    bool has_room = true;
    for (size_t i = 0; i < count && has_room; i++)
        has_room = add_entry(walk, in, &entries[i]);
    hr__entries_free(entries, count);
    if (status)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    return has_room ? HR_OK : hr__fault_nomem(fault, "the files of a bag");
}

enum hr_status hr__bag_walk(struct hr_walk *out, const struct hr_folder *folder, const char *path,
                            struct hr_fault *fault)
{
    struct hr_walk walk = {0};
    enum hr_status status = list_folder(&walk, folder, path, true, fault);
    for (size_t i = 0; i < walk.folder_count && !status; i++)
        status = list_folder(&walk, folder, walk.folders[i], false, fault);
    if (status) {
        hr__bag_walk_finish(&walk);
        return status;
    }
    if (walk.count > 0)
        qsort(walk.files, walk.count, sizeof *walk.files, compare_walked);
    *out = walk;
    return HR_OK;
}

void hr__bag_walk_finish(struct hr_walk *walk)
{
    for (size_t i = 0; i < walk->count; i++)
        free(walk->files[i].path);
    for (size_t i = 0; i < walk->folder_count; i++)
        free(walk->folders[i]);
    free(walk->files);
    free(walk->folders);
    *walk = (struct hr_walk){0};
}

static int compare_path(const void *path, const void *walked)
{
    return strcmp(path, ((const struct hr_walked *)walked)->path);
}

const struct hr_walked *hr__bag_walk_find(const struct hr_walk *walk, const char *path)
{
    return walk->count ? bsearch(path, walk->files, walk->count, sizeof *walk->files, compare_path) : NULL;
}
