/* SPDX-License-Identifier: ISC */
/* The files leave, and their digests go with them. */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/giving.h"
#include "bag/manifest.h"
#include "base/fault.h"
#include "base/path.h"

enum { PATH_CEILING = 1 << 20 };

/* ---- Files ---- */

/* "BAG/data/PATH". NULL: no memory. */
static char *source_of(const struct hr_giving *giving, const char *path)
{
    struct hr_text text;
    hr__text_init(&text, PATH_CEILING);
    hr__text_printf(&text, "%s/" HR_BAG_DATA "/%s", giving->name, path);
    char *source = hr__text_take(&text);
    hr__text_finish(&text);
    return source;
}

/* Two names of one file: a link from an earlier run, or a rename by two steps that was cut off between them. */
static bool is_one_file(const struct hr_file_facts *a, const struct hr_file_facts *b)
{
    return a->device == b->device && a->inode == b->inode && a->size_bytes == b->size_bytes;
}

static enum hr_status move(const struct hr_giving *giving, const char *from, const struct hr_given *row)
{
    struct hr_file_facts source, target;
    enum hr_status at_source = hr__folder_facts(&source, &giving->beside, from, NULL);
    enum hr_status at_target = hr__folder_facts(&target, &giving->beside, row->to, NULL);
    const struct hr_bag_file *listed = hr__journal_find(&giving->files, row->path);
    if (!listed)
        return HR_NOT_FOUND;
    if (at_source == HR_NOT_FOUND && at_target == HR_OK)
        return target.is_regular && target.size_bytes == listed->size_bytes ? HR_OK : HR_EXISTS;
    if (at_source)
        return at_source;
    if (!source.is_regular || source.size_bytes != listed->size_bytes)
        return HR_DIFFERS;
    if (!giving->renames_whole)
        return hr__giving_carry(giving, from, row->to, listed);
    if (at_target == HR_OK && is_one_file(&source, &target))
        return hr__folder_remove(&giving->beside, from, NULL);
    return at_target == HR_OK ? HR_EXISTS : hr__folder_rename(&giving->beside, from, row->to, NULL);
}

static char *folder_of(const char *path)
{
    return strndup(path, hr__path_folder_length(path));
}

/* What leads to a folder is durable before a file goes there, or a power cut could leave the file without any name. A
 * folder that cannot be made keeps its files from leaving. */
static enum hr_status open_ways(struct hr_giving *giving, struct hr_fault *fault)
{
    const char *since = NULL;
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < giving->count && !status; i++) {
        struct hr_given *row = &giving->rows[i];
        char *folder = folder_of(row->to);
        row->status = folder ? hr__folder_make(&giving->beside, folder, NULL) : HR_NOMEM;
        if (row->status == HR_NOMEM)
            status = hr__fault_nomem(fault, "what leaves a bag");
        else if (!row->status)
            status = hr__folder_sync_way(&giving->beside, folder, since, fault);
        since = row->status ? since : row->to;
        free(folder);
    }
    return status;
}

/* Copying takes long, and is what a person may want to stop. */
static enum hr_status move_row(const struct hr_giving *giving, struct hr_given *row, struct hr_fault *fault)
{
    if (!giving->renames_whole && hr_cancel_requested(giving->cancel))
        return hr__fault_set(fault, HR_CANCELLED, 0, "stopped");
    char *from = source_of(giving, row->path);
    if (!row->status)
        row->status = from ? move(giving, from, row) : HR_NOMEM;
    free(from);
    return row->status == HR_NOMEM ? hr__fault_nomem(fault, "what leaves a bag") : HR_OK;
}

/* ---- Folders of files that stand together ---- */

static int by_target(const void *a, const void *b)
{
    return strcmp((*(struct hr_given *const *)a)->to, (*(struct hr_given *const *)b)->to);
}

static bool in_one_folder(const char *a, const char *b)
{
    size_t length = hr__path_folder_length(a);
    return length == hr__path_folder_length(b) && !strncmp(a, b, length);
}

/* Sees whether the lines at `text` have this one. */
static bool has_line(const char *text, const char *line)
{
    for (const char *at = text; (at = strstr(at, line)); at++)
        if (at == text || at[-1] == '\n')
            return true;
    return false;
}

/* A run that was cut off may have written some of them. */
static void append_digests(struct hr_text *text, const struct hr_giving *giving, struct hr_given *const *rows,
                           size_t count, enum hr_digest_kind kind, const char *before)
{
    struct hr_text line;
    hr__text_init(&line, PATH_CEILING);
    for (size_t i = 0; i < count; i++) {
        const struct hr_bag_file *listed = hr__journal_find(&giving->files, rows[i]->path);
        if (rows[i]->status || !listed || hr__giving_digest(listed, kind)->kind != kind)
            continue;
        hr__text_clear(&line);
        hr__manifest_append_line(&line, hr__giving_digest(listed, kind), hr__path_last(rows[i]->to));
        if (!has_line(before, line.bytes))
            hr__text_append(text, line.bytes);
        text->broken |= line.broken;
    }
    hr__text_finish(&line);
}

static enum hr_status put_digests(const struct hr_giving *giving, const char *folder, struct hr_given *const *rows,
                                  size_t count, enum hr_digest_kind kind, const char *name, struct hr_fault *fault)
{
    char *path = hr__path_join(folder, name), *before = NULL;
    size_t size = 0;
    struct hr_text text;
    hr__text_init(&text, HR_BAG_TAG_FILE_MAX);
    enum hr_status status = path ? HR_OK : hr__fault_nomem(fault, "a manifest");
    struct hr_fault cause = {0};
    if (!status)
        status = hr__file_load(&before, &size, &giving->beside, path, HR_BAG_TAG_FILE_MAX, path, &cause);
    if (status == HR_NOT_FOUND)
        status = HR_OK;
    else if (status)
        hr__fault_set(fault, status, 0, "%s", cause.text);
    hr__text_append_bytes(&text, before ? before : "", size);
    append_digests(&text, giving, rows, count, kind, before ? before : "");
    if (!status && text.broken)
        status = hr__fault_nomem(fault, "a manifest");
    if (!status && text.size > 0) /* nothing new too: a torn rename may have left the temporary name */
        status = hr__folder_put(&giving->beside, path, text.bytes, text.size, fault);
    hr__text_finish(&text);
    free(before);
    free(path);
    return status;
}

static enum hr_status settle_folder(const struct hr_giving *giving, struct hr_given *const *rows, size_t count,
                                    struct hr_fault *fault)
{
    char *folder = folder_of(rows[0]->to);
    struct hr_file_facts facts;
    enum hr_status status = folder ? HR_OK : hr__fault_nomem(fault, "the name of a folder");
    bool stands = !status && (!*folder || hr__folder_facts(&facts, &giving->beside, folder, NULL) == HR_OK);
    if (stands)
        status = hr__folder_sync(&giving->beside, folder, fault);
    if (stands && !status)
        status = put_digests(giving, folder, rows, count, HR_DIGEST_XXH128, HR_BAG_MANIFEST_XXH128, fault);
    if (stands && !status)
        status = put_digests(giving, folder, rows, count, HR_DIGEST_SHA256, HR_BAG_MANIFEST_SHA256, fault);
    free(folder);
    return status;
}

static enum hr_status settle_folders(const struct hr_giving *giving, struct hr_fault *fault)
{
    struct hr_given **rows = calloc(giving->count + 1, sizeof *rows);
    if (!rows)
        return hr__fault_nomem(fault, "what leaves a bag");
    for (size_t i = 0; i < giving->count; i++)
        rows[i] = &giving->rows[i];
    qsort(rows, giving->count, sizeof *rows, by_target);
    enum hr_status status = HR_OK;
    for (size_t at = 0, count; at < giving->count && !status; at += count) {
        for (count = 1; at + count < giving->count && in_one_folder(rows[at]->to, rows[at + count]->to); count++)
            continue;
        status = settle_folder(giving, rows + at, count, fault);
    }
    free(rows);
    return status;
}

/* The folders they came from. */
static enum hr_status sync_sources(const struct hr_giving *giving, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < giving->count && !status; i++) {
        if (i > 0 && in_one_folder(giving->rows[i - 1].path, giving->rows[i].path))
            continue;
        char *folder = folder_of(giving->rows[i].path), *below = folder ? hr__path_join(HR_BAG_DATA, folder) : NULL;
        struct hr_fault cause = {0};
        status = below ? hr__folder_sync(&giving->folder, below, &cause) : hr__fault_nomem(&cause, "what leaves a bag");
        if (status == HR_NOT_FOUND)
            status = HR_OK;
        else if (status)
            hr__fault_set(fault, status, 0, "%s", cause.text);
        free(below);
        free(folder);
    }
    return status;
}

enum hr_status hr__giving_move(struct hr_giving *giving, struct hr_fault *fault)
{
    enum hr_status status = open_ways(giving, fault);
    for (size_t i = 0; i < giving->count && !status; i++) {
        status = move_row(giving, &giving->rows[i], fault);
        if (!status && giving->observer)
            giving->observer->progress(giving->observer->context, i + 1);
    }
    if (!status)
        status = settle_folders(giving, fault);
    return status ? status : sync_sources(giving, fault);
}
