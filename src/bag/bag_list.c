/* SPDX-License-Identifier: ISC */
/* What a bag holds, by what it says itself: the rows of ours, the manifests of others'. */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "base/fault.h"
#include "base/path.h"

enum { FRAME_LINES_MAX = 2 * HR_BAG_FILES_MAX }; /* a bag of several runs may hold a row twice */

struct listing {
    struct hr_bag_listing shown; /* the strings of its files and frame lines stand in what follows */
    struct hr_journal rows;
    char *frames;
};

void hr_bag_listing_destroy(struct hr_bag_listing *shown)
{
    struct listing *listing = (struct listing *)shown;
    if (!listing)
        return;
    hr__journal_finish(&listing->rows);
    free(listing->frames);
    free(shown->frame_lines);
    free(shown->path);
    free(shown->place);
    free(shown->job);
    free(shown->card_identity);
    free(listing);
}

/* ---- Files ---- */

static struct hr_bag_file file_of(const struct hr_listed *listed)
{
    struct hr_bag_file file = {0};
    struct {
        enum hr_digest_kind kind;
        struct hr_digest *digest;
    } wanted[] = {{HR_DIGEST_XXH128, &file.xxh128}, {HR_DIGEST_SHA256, &file.sha256}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        const char *hex = listed->hex[wanted[i].kind];
        if (hex && !hr_digest_from_hex(wanted[i].digest, wanted[i].kind, hex, strlen(hex)))
            *wanted[i].digest = (struct hr_digest){0};
    }
    return file;
}

static enum hr_status rows_of_manifests(struct hr_journal *out, const struct hr_inspection *inspection,
                                        struct hr_fault *fault)
{
    const size_t above = strlen(HR_BAG_DATA "/");
    struct hr_journal rows = {.count = inspection->listed_count, .capacity = inspection->listed_count};
    size_t text_size = 0;
    for (size_t i = 0; i < rows.count; i++)
        text_size += strlen(inspection->listed[i].path + above) + 1;
    rows.text = malloc(text_size + 1);
    rows.rows = calloc(rows.count + 1, sizeof *rows.rows);
    if (!rows.text || !rows.rows) {
        hr__journal_finish(&rows);
        return hr__fault_nomem(fault, "what the manifests list");
    }
    char *end = rows.text;
    for (size_t i = 0; i < rows.count; i++) {
        const char *path = inspection->listed[i].path + above;
        size_t size = strlen(path) + 1;
        rows.rows[i] = file_of(&inspection->listed[i]);
        rows.rows[i].path = memcpy(end, path, size);
        end += size;
    }
    *out = rows;
    return HR_OK;
}

/* Of ours the rows, which know more; the manifests where rows of a finished one are lost. */
static enum hr_status list_files(struct listing *listing, struct hr_inspection *inspection, struct hr_fault *fault)
{
    bool has_rows = inspection->rows.text && !inspection->rows.is_damaged;
    if (has_rows || inspection->is_unfinished) {
        listing->rows = inspection->rows;
        inspection->rows = (struct hr_journal){0};
        return HR_OK;
    }
    enum hr_status status = hr__inspect_manifests(inspection, fault);
    if (!status && inspection->manifest_count == 0)
        status =
            hr__fault_path(fault, HR_MALFORMED, 0, "no list of its files can be read in", inspection->report->path);
    return status ? status : rows_of_manifests(&listing->rows, inspection, fault);
}

/* ---- Frames ---- */

static size_t count_lines(const char *text)
{
    size_t count = 0;
    for (const char *end; (end = strchr(text, '\n')); text = end + 1)
        count++;
    return count;
}

/* The header goes, and what has no end. */
static void split_frames(struct hr_bag_listing *shown, char *text)
{
    bool is_header = true;
    for (char *end; (end = strchr(text, '\n')); text = end + 1) {
        *end = '\0';
        if (*text && !is_header)
            shown->frame_lines[shown->frame_line_count++] = text;
        is_header = false;
    }
}

/* A convenience: where it cannot be read there are no lines. */
static enum hr_status list_frames(struct listing *listing, const struct hr_inspection *inspection,
                                  struct hr_fault *fault)
{
    bool has_part = false;
    struct hr_fault cause = {0};
    size_t size;
    enum hr_status status = HR_OK;
    if (inspection->is_unfinished)
        status = hr__bag_holds(&has_part, &inspection->folder, HR_BAG_FRAMES_PART, fault);
    if (status)
        return status;
    const char *name = has_part ? HR_BAG_FRAMES_PART : HR_BAG_FRAMES;
    status = hr__file_load(&listing->frames, &size, &inspection->folder, name, HR_BAG_TAG_FILE_MAX, name, &cause);
    if (status == HR_NOMEM || status == HR_GONE)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    size_t count = status ? 0 : count_lines(listing->frames);
    if (count == 0 || count > FRAME_LINES_MAX)
        return HR_OK;
    listing->shown.frame_lines = calloc(count, sizeof *listing->shown.frame_lines);
    if (!listing->shown.frame_lines)
        return hr__fault_nomem(fault, "the frames of a bag");
    split_frames(&listing->shown, listing->frames);
    return HR_OK;
}

/* ---- Names ---- */

/* What stands before the last '/', "/" at the top. */
static char *folder_of(const char *path)
{
    size_t length = hr__path_folder_length(path);
    return length ? strndup(path, length) : strdup("/");
}

static enum hr_status list_names(struct hr_bag_listing *shown, const struct hr_inspection *inspection,
                                 struct hr_fault *fault)
{
    const struct hr_bag_report *report = inspection->report;
    char *parent = folder_of(report->path);
    shown->is_ours = report->is_ours;
    shown->is_finished = !inspection->is_unfinished;
    shown->path = strdup(report->path);
    shown->job = strdup(report->job);
    shown->card_identity = report->card_identity ? strdup(report->card_identity) : NULL;
    if (parent)
        shown->place = *report->job ? folder_of(parent) : strdup(parent);
    free(parent);
    bool has_room = shown->path && shown->place && shown->job && shown->card_identity;
    return has_room ? HR_OK : hr__fault_nomem(fault, "a bag's names");
}

enum hr_status hr_bag_list(struct hr_bag_listing **out, const char *path, struct hr_fault *fault)
{
    struct hr_inspection inspection = {.folder = HR_FOLDER_CLOSED};
    struct listing *listing = calloc(1, sizeof *listing);
    enum hr_status status = listing ? HR_OK : hr__fault_nomem(fault, "a bag's list");
    if (!status)
        status = hr__inspection_begin(&inspection, path, fault);
    if (!status)
        status = hr__inspect_declaration(&inspection, fault);
    if (!status)
        status = list_files(listing, &inspection, fault);
    if (!status)
        status = hr__inspect_info(&inspection, fault);
    if (!status)
        status = list_names(&listing->shown, &inspection, fault);
    if (!status)
        status = list_frames(listing, &inspection, fault);
    hr__inspection_finish(&inspection);
    if (status) {
        hr_bag_listing_destroy(listing ? &listing->shown : NULL);
        return status;
    }
    listing->shown.files = listing->rows.rows;
    listing->shown.file_count = listing->rows.count;
    *out = &listing->shown;
    return HR_OK;
}
