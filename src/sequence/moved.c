/* SPDX-License-Identifier: ISC */
#include "sequence/moved.h"

#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/manifest.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

enum { FILES_MAX = 1 << 24 };

static const char what[] = "frames that were moved";

void hr__moved_finish(struct hr_moved *moved)
{
    for (size_t i = 0; i < moved->count; i++)
        free(moved->files[i].path);
    free(moved->files);
    hr__sequence_index_finish(&moved->index);
    *moved = (struct hr_moved){0};
}

static int compare_path(const void *path, const void *file)
{
    return strcmp(path, ((const struct hr_bag_file *)file)->path);
}

/* The path on the card of a file that the bag gave up; NULL for any other. */
static const char *given_up(const struct hr_bag_listing *listing, const char *path)
{
    const char *bag = hr__path_last(listing->path);
    size_t length = strlen(bag);
    if (strncmp(path, bag, length) != 0 || strncmp(path + length, "/" HR_BAG_DATA "/", 6) != 0)
        return NULL;
    path += length + 6;
    bool is_listed = listing->file_count &&
                     bsearch(path, listing->files, listing->file_count, sizeof *listing->files, compare_path) != NULL;
    return is_listed || !hr__path_is_inside(path) ? NULL : path;
}

/* What is not there, or not ours, is none; what the drive or memory does not give must not look like none. */
static enum hr_status pass_on(struct hr_fault *fault, enum hr_status status, const struct hr_fault *cause)
{
    bool is_failure = status == HR_NOMEM || status == HR_IO || status == HR_GONE;
    return is_failure ? hr__fault_set(fault, status, 0, "%s", cause->text) : HR_OK;
}

static enum hr_status add(struct hr_moved *moved, const struct hr_folder *folder, const struct hr_sequence_file *file,
                          const char *on_card, struct hr_fault *fault)
{
    struct hr_file_facts facts;
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_facts(&facts, folder, file->name, &cause);
    if (status || !facts.is_regular)
        return pass_on(fault, status, &cause);
    char *path = hr__path_join(folder->path, file->name);
    if (!path ||
        !hr__array_reserve(&moved->files, &moved->capacity, moved->count + 1, sizeof *moved->files, FILES_MAX)) {
        free(path);
        return hr__fault_nomem(fault, what);
    }
    moved->files[moved->count++] =
        (struct hr_moved_file){.on_card = on_card, .path = path, .size_bytes = facts.size_bytes};
    return HR_OK;
}

/* Names come in the order of the files, or nearly so. */
static void take_digest(struct hr_moved *moved, size_t first, size_t *at, const struct hr_manifest_line *line)
{
    size_t count = moved->count - first;
    for (size_t i = 0; i < count; i++) {
        struct hr_moved_file *file = &moved->files[first + (*at + i) % count];
        if (strcmp(hr__path_last(file->path), line->path) != 0)
            continue;
        if (!hr_digest_from_hex(&file->xxh128, HR_DIGEST_XXH128, line->hex, strlen(line->hex)))
            file->xxh128 = (struct hr_digest){0};
        *at = (*at + i + 1) % count;
        return;
    }
}

static enum hr_status take_digests(struct hr_moved *moved, size_t first, const struct hr_folder *folder,
                                   struct hr_fault *fault)
{
    char *text = NULL;
    size_t size, at = 0;
    struct hr_manifest_line line;
    struct hr_fault cause = {0};
    enum hr_status status = hr__file_load(&text, &size, folder, HR_BAG_MANIFEST_XXH128, HR_BAG_TAG_FILE_MAX,
                                          HR_BAG_MANIFEST_XXH128, &cause);
    if (status)
        return pass_on(fault, status, &cause);
    enum hr_manifest_step step = HR_MANIFEST_LINE;
    for (char *rest = text; step != HR_MANIFEST_END;) {
        step = hr__manifest_next(&line, &rest, HR_DIGEST_XXH128, true);
        if (step == HR_MANIFEST_LINE)
            take_digest(moved, first, &at, &line);
    }
    free(text);
    return HR_OK;
}

static enum hr_status look_into(struct hr_moved *moved, const struct hr_folder *sequences,
                                const struct hr_sequence_folder *sequence, const struct hr_bag_listing *listing,
                                struct hr_fault *fault)
{
    struct hr_folder folder = HR_FOLDER_CLOSED;
    struct hr_fault cause = {0};
    size_t first = moved->count;
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < sequence->file_count && !status; i++) {
        const char *on_card = given_up(listing, sequence->files[i].path);
        if (!on_card)
            continue;
        if (folder.descriptor < 0)
            status = hr__folder_open_below(&folder, sequences, sequence->columns[HR_INDEX_NAME], &cause);
        if (status)
            return pass_on(fault, status, &cause);
        status = add(moved, &folder, &sequence->files[i], on_card, fault);
    }
    if (!status && moved->count > first)
        status = take_digests(moved, first, &folder, fault);
    hr__folder_close(&folder);
    return status;
}

static enum hr_status open_sequences(struct hr_folder *out, const struct hr_bag_listing *listing,
                                     struct hr_fault *fault)
{
    struct hr_folder job;
    char *above = strndup(listing->path, hr__path_folder_length(listing->path));
    enum hr_status status = above ? hr__folder_open(&job, *above ? above : "/", fault) : hr__fault_nomem(fault, what);
    free(above);
    if (status)
        return status;
    status = hr__folder_open_below(out, &job, HR_SEQUENCES_FOLDER, fault);
    hr__folder_close(&job);
    return status;
}

enum hr_status hr__moved_find(struct hr_moved *out, const struct hr_bag_listing *listing, struct hr_fault *fault)
{
    struct hr_folder sequences = HR_FOLDER_CLOSED;
    struct hr_fault cause = {0};
    enum hr_status status = open_sequences(&sequences, listing, &cause);
    if (!status)
        status = hr__sequence_index_load(&out->index, &sequences, &cause);
    if (status) {
        hr__folder_close(&sequences);
        return pass_on(fault, status, &cause);
    }
    for (size_t i = 0; i < out->index.folder_count && !status; i++)
        status = look_into(out, &sequences, &out->index.folders[i], listing, fault);
    hr__folder_close(&sequences);
    return status;
}
