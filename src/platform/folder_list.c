/* SPDX-License-Identifier: ISC */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"
#include "platform/folder.h"
#include "platform/system.h"

struct listing {
    struct hr_entry *entries;
    size_t count, capacity, ceiling;
};

static enum hr_entry_kind kind_of(const struct hr_file_facts *facts)
{
    if (facts->is_regular)
        return HR_ENTRY_FILE;
    if (facts->is_folder)
        return HR_ENTRY_FOLDER;
    return facts->is_link ? HR_ENTRY_LINK : HR_ENTRY_OTHER;
}

static void read_facts(struct hr_entry *entry, int folder)
{
    struct stat stat;
    if (fstatat(folder, entry->name, &stat, AT_SYMLINK_NOFOLLOW) == 0)
        entry->facts = hr__facts_of_stat(&stat);
    else
        entry->status = hr__status_of_errno(errno);
    entry->kind = kind_of(&entry->facts);
}

static int add_entry(struct listing *listing, int folder, const char *name)
{
    if (listing->count == listing->ceiling)
        return EOVERFLOW;
    if (!hr__array_reserve(&listing->entries, &listing->capacity, listing->count + 1, sizeof *listing->entries,
                           listing->ceiling))
        return ENOMEM;
    struct hr_entry *entry = &listing->entries[listing->count];
    entry->name = strdup(name);
    if (!entry->name)
        return ENOMEM;
    listing->count++;
    read_facts(entry, folder);
    return 0;
}

static int read_all(struct listing *listing, DIR *stream)
{
    int error = 0;
    for (const struct dirent *found; !error;) {
        errno = 0; /* readdir tells its end from a failure by this alone */
        found = readdir(stream);
        if (!found)
            return errno;
        if (strcmp(found->d_name, ".") != 0 && strcmp(found->d_name, "..") != 0)
            error = add_entry(listing, dirfd(stream), found->d_name);
    }
    return error;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const struct hr_entry *)a)->name, ((const struct hr_entry *)b)->name);
}

static int list(struct listing *listing, int folder, const char *path)
{
    int descriptor = -1;
    int error = hr__below_open(&descriptor, folder, path, O_RDONLY | O_DIRECTORY, 0);
    if (error)
        return error;
    hr__variant_keep_access_time(descriptor);
    DIR *stream = fdopendir(descriptor);
    if (!stream) {
        error = errno;
        close(descriptor);
        return error;
    }
    error = read_all(listing, stream);
    closedir(stream);
    return error;
}

enum hr_status hr__folder_list(struct hr_entry **out, size_t *count, const struct hr_folder *folder, const char *path,
                               size_t ceiling, struct hr_fault *fault)
{
    struct listing listing = {.ceiling = ceiling};
    int error = list(&listing, folder->descriptor, path);
    if (error) {
        hr__entries_free(listing.entries, listing.count);
        char *whole = hr__path_join(folder->path, path);
        enum hr_status status = hr__system_fault(fault, error, "cannot list", whole ? whole : path);
        free(whole);
        return status;
    }
    if (listing.count)
        qsort(listing.entries, listing.count, sizeof *listing.entries, by_name);
    *out = listing.entries;
    *count = listing.count;
    return HR_OK;
}

void hr__entries_free(struct hr_entry *entries, size_t count)
{
    for (size_t i = 0; i < count; i++)
        free(entries[i].name);
    free(entries);
}
