/* SPDX-License-Identifier: ISC */
/* Files leave their bags for the sequence folders. All that leave one bag leave it together, since its tag files are
 * written anew each time. */
#include <stdlib.h>
#include <string.h>

#include <headrace/bag.h>

#include "bag/bag_names.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "sequence/fill_site.h"

enum { FILES_MAX = 1 << 24, ENTRIES_MAX = 1 << 20 };

/* A file that is to leave: "BAG/data/PATH" in the index. */
struct mover {
    const char *path;
    char *to; /* owned; below the job's folder, as hr_bag_give_up has it */
    uint32_t folder, file;
};

struct moving {
    struct hr_fill_site *site;
    struct mover *movers; /* by path, so by bag */
    size_t count, capacity;
    size_t left_before; /* files of the bags before this one */
    uint64_t moved;
};

/* ---- What was cut off ---- */

static enum hr_status end_in(struct hr_fill_site *site, const char *folder, const struct hr_cancel *cancel)
{
    struct hr_file_facts facts;
    struct hr_fault fault = {0};
    char *below = hr__path_join(site->job, folder), *record = below ? hr__path_join(below, HR_BAG_GIVING_UP) : NULL;
    char *bag = record ? hr__path_join(site->folder.path, below) : NULL;
    enum hr_status status = bag ? HR_OK : HR_NOMEM, ended = HR_OK;
    if (!status && hr__folder_facts(&facts, &site->folder, record, NULL) == HR_OK)
        ended = hr_bag_give_up(bag, NULL, 0, NULL, cancel, &fault);
    if (ended == HR_CANCELLED)
        status = ended;
    else if (ended)
        hr__fill_say(site, fault.text);
    free(bag);
    free(record);
    free(below);
    return status;
}

/* Any bag of the job may have been left with a record of what was leaving it. */
static enum hr_status end_interrupted(struct hr_fill_site *site, const struct hr_cancel *cancel)
{
    struct hr_entry *entries = NULL;
    size_t count = 0;
    enum hr_status status = hr__folder_list(&entries, &count, &site->folder, site->job, ENTRIES_MAX, &site->fault);
    if (status)
        return status == HR_NOMEM ? status : HR_OK;
    for (size_t i = 0; i < count && !status; i++)
        if (entries[i].kind == HR_ENTRY_FOLDER)
            status = end_in(site, entries[i].name, cancel);
    hr__entries_free(entries, count);
    return status;
}

/* ---- What is to leave ---- */

/* It stands here, and in its bag no more: on its way it may stand in both. */
static bool has_come(const struct hr_fill_site *site, const struct hr_sequence_folder *folder,
                     const struct hr_sequence_file *file)
{
    struct hr_file_facts facts;
    char *path = hr__path_join(folder->columns[HR_INDEX_NAME], file->name);
    char *before = hr__path_join(site->job, file->path);
    bool has = path && before && hr__folder_facts(&facts, &site->sequences, path, NULL) == HR_OK && facts.is_regular &&
               hr__folder_facts(&facts, &site->folder, before, NULL) == HR_NOT_FOUND;
    free(before);
    free(path);
    return has;
}

static char *target_of(const struct hr_sequence_folder *folder, const struct hr_sequence_file *file)
{
    char *name = hr__path_join(folder->columns[HR_INDEX_NAME], file->name);
    char *to = name ? hr__path_join(HR_SEQUENCES_FOLDER, name) : NULL;
    free(name);
    return to;
}

static bool add(struct moving *moving, uint32_t folder, uint32_t file)
{
    const struct hr_sequence_folder *at = &moving->site->index.folders[folder];
    char *to = target_of(at, &at->files[file]);
    if (!to ||
        !hr__array_reserve(&moving->movers, &moving->capacity, moving->count + 1, sizeof *moving->movers, FILES_MAX)) {
        free(to);
        return false;
    }
    moving->movers[moving->count++] =
        (struct mover){.path = at->files[file].path, .to = to, .folder = folder, .file = file};
    return true;
}

/* Also of a file that nobody delivered this time it is told when it stands here: it left in a run that was cut off. */
static bool look_at(struct moving *moving, uint32_t folder, uint32_t file)
{
    struct hr_sequence_folder *at = &moving->site->index.folders[folder];
    if (*at->files[file].filled)
        return true;
    if (!has_come(moving->site, at, &at->files[file]))
        return at->files[file].sequence == HR_NOT_GROUPED || add(moving, folder, file);
    at->files[file].filled = hr_fill_name(HR_FILL_MOVE);
    moving->site->done[folder].files_there++;
    return true;
}

/* ---- One bag ---- */

/* The length of "BAG/data/", 0 for a path that is in no bag of the job. */
static size_t bag_length(const char *path, size_t *name_length)
{
    *name_length = strcspn(path, "/");
    return strncmp(path + *name_length, "/data/", 6) == 0 ? *name_length + 6 : 0;
}

static bool in_one_bag(const char *a, const char *b)
{
    size_t name, length = bag_length(a, &name);
    return length ? strncmp(a, b, length) == 0 : !bag_length(b, &name);
}

static void tell(struct moving *moving, const struct mover *mover, enum hr_status status, const char *why)
{
    struct hr_fill_count *done = &moving->site->done[mover->folder];
    struct hr_sequence_file *file = &moving->site->index.folders[mover->folder].files[mover->file];
    if (!status) {
        file->filled = hr_fill_name(HR_FILL_MOVE);
        done->files_new++;
        moving->moved++;
        return;
    }
    done->files_failed++;
    hr__fault_path(&done->fault, status, 0, why, file->path);
}

static void tell_all(struct moving *moving, const struct mover *movers, size_t count, const struct hr_fault *fault)
{
    for (size_t i = 0; i < count; i++) {
        struct hr_fill_count *done = &moving->site->done[movers[i].folder];
        done->files_failed++;
        hr__fault_set(&done->fault, fault->status, 0, "%s", fault->text);
    }
}

static void tell_left(void *context, size_t files_done)
{
    struct moving *moving = context;
    hr__fill_tell(moving->site, moving->left_before + files_done);
}

static enum hr_status move_from(struct moving *moving, const struct mover *movers, size_t count,
                                const struct hr_cancel *cancel)
{
    const struct hr_fill_site *site = moving->site;
    const struct hr_bag_leaving_observer observer = {.context = moving, .progress = tell_left};
    size_t name_length, length = bag_length(movers[0].path, &name_length);
    struct hr_fault fault = {0};
    char *name = strndup(movers[0].path, name_length), *below = name ? hr__path_join(site->job, name) : NULL;
    char *bag = below ? hr__path_join(site->folder.path, below) : NULL;
    struct hr_bag_leaving *files = calloc(count, sizeof *files);
    enum hr_status status = bag && files ? HR_OK : HR_NOMEM;
    for (size_t i = 0; i < count && !status; i++)
        files[i] = (struct hr_bag_leaving){.path = movers[i].path + length, .to = movers[i].to};
    if (!status && !length)
        hr__fault_set(&fault, HR_UNSUPPORTED, 0, "only files of bags are moved: fill by copy");
    else if (!status && hr_bag_give_up(bag, files, count, &observer, cancel, &fault) == HR_OK)
        for (size_t i = 0; i < count; i++)
            tell(moving, &movers[i], files[i].status, hr_status_name(files[i].status));
    if (fault.status == HR_CANCELLED)
        status = HR_CANCELLED;
    else if (fault.status)
        tell_all(moving, movers, count, &fault);
    moving->left_before += count;
    free(files);
    free(bag);
    free(below);
    free(name);
    return status;
}

/* ---- All of them ---- */

static int by_path(const void *a, const void *b)
{
    return strcmp(((const struct mover *)a)->path, ((const struct mover *)b)->path);
}

static void say_moved(const struct moving *moving)
{
    char count[HR_UNIT_TEXT_SIZE];
    if (!moving->moved)
        return;
    hr__fill_say(moving->site, hr__format_counted(count, moving->moved, "file"));
    hr__text_append(&moving->site->sentence,
                    " left the bags: on this drive they stand in sequences alone, with their digests, and no more "
                    "count as copies of the card when it is looked at");
}

enum hr_status hr__fill_move(struct hr_fill_site *site, const struct hr_filling *filling)
{
    struct moving moving = {.site = site};
    enum hr_status status = end_interrupted(site, filling->cancel);
    for (uint32_t i = 0; i < site->index.folder_count && !status; i++)
        for (uint32_t j = 0; j < site->index.folders[i].file_count && !status; j++)
            status = look_at(&moving, i, j) ? HR_OK : HR_NOMEM;
    if (moving.count)
        qsort(moving.movers, moving.count, sizeof *moving.movers, by_path);
    for (size_t at = 0, count; at < moving.count && !status && !site->fault.status; at += count) {
        for (count = 1; at + count < moving.count; count++)
            if (!in_one_bag(moving.movers[at].path, moving.movers[at + count].path))
                break;
        status = hr_cancel_requested(filling->cancel) ? HR_CANCELLED
                                                      : move_from(&moving, moving.movers + at, count, filling->cancel);
    }
    say_moved(&moving);
    for (size_t i = 0; i < moving.count; i++)
        free(moving.movers[i].to);
    free(moving.movers);
    return status;
}
