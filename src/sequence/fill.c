/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "base/fault.h"
#include "base/path.h"
#include "sequence/fill_site.h"

const char *hr_fill_name(enum hr_fill fill)
{
    static const char *const names[HR_FILL_COUNT] = {
        [HR_FILL_DEFAULT] = "default", [HR_FILL_LINK] = "link", [HR_FILL_REFLINK] = "reflink",
        [HR_FILL_COPY] = "copy",       [HR_FILL_MOVE] = "move", [HR_FILL_LIST] = "list",
    };
    return (unsigned)fill < HR_FILL_COUNT ? names[fill] : NULL;
}

/* ---- The result ---- */

void hr_filled_destroy(struct hr_filled *filled)
{
    if (!filled)
        return;
    for (size_t i = 0; i < filled->sequence_count; i++) {
        free(filled->sequences[i].name);
        free(filled->sequences[i].path);
        free(filled->sequences[i].fault);
    }
    for (size_t i = 0; i < filled->place_count; i++) {
        free(filled->places[i].sentence);
        free(filled->places[i].index_path);
    }
    for (size_t i = 0; i < filled->body_count; i++)
        free(filled->body_names[i]);
    free(filled->sequences);
    free(filled->places);
    free(filled->body_names);
    free(filled);
}

/* `path` below the site's `sequences`; "" when nothing stands there. NULL: no memory. */
static char *told_path(const struct hr_fill_site *site, const char *path, bool stands)
{
    if (!stands)
        return strdup("");
    char *below = hr__path_join(site->below, path), *whole = below ? hr__path_join(site->folder.path, below) : NULL;
    free(below);
    return whole;
}

static bool tell_fault(struct hr_filled_sequence *row, const struct hr_fault *cause)
{
    if (!cause->status)
        return true;
    row->fault = malloc(sizeof *row->fault);
    if (row->fault)
        *row->fault = *cause;
    return row->fault != NULL;
}

static bool tell_sequence(struct hr_filled *filled, const struct hr_fill_site *site, size_t folder)
{
    const struct hr_fill_count *done = &site->done[folder];
    const struct hr_sequence_folder *at = &site->index.folders[folder];
    struct hr_filled_sequence *row = &filled->sequences[filled->sequence_count++];
    *row = (struct hr_filled_sequence){
        .sequence = (uint32_t)at->sequence,
        .place = site->place,
        .name = strdup(at->columns[HR_INDEX_NAME]),
        .path = told_path(site, at->columns[HR_INDEX_NAME], done->files_new || done->files_there),
        .files_new = done->files_new,
        .files_there = done->files_there,
        .files_failed = done->files_failed,
    };
    const struct hr_fault *cause = done->fault.status ? &done->fault : &site->fault;
    filled->all_done &= cause->status == HR_OK;
    return row->name && row->path && tell_fault(row, cause);
}

static bool tell_site(struct hr_filled *filled, struct hr_fill_site *site)
{
    struct hr_filled_place *row = &filled->places[filled->place_count++];
    if (site->fault.status)
        hr__fill_say(site, site->fault.text);
    *row = (struct hr_filled_place){.place = site->place,
                                    .fill = site->fill,
                                    .sentence = hr__text_take(&site->sentence),
                                    .index_path = told_path(site, HR_INDEX_SEQUENCES, site->has_index)};
    bool has_room = row->sentence && row->index_path;
    for (size_t i = 0; i < site->index.folder_count && has_room; i++)
        if (site->index.folders[i].sequence != HR_NOT_GROUPED)
            has_room = tell_sequence(filled, site, i);
    return has_room;
}

static enum hr_status tell(struct hr_filled **out, struct hr_filling *filling, struct hr_fill_sites *sites,
                           struct hr_fault *fault)
{
    size_t folders = 0;
    for (size_t i = 0; i < sites->count; i++)
        folders += sites->sites[i].index.folder_count;
    struct hr_filled *filled = calloc(1, sizeof *filled);
    if (!filled)
        return hr__fault_nomem(fault, "what was filled");
    *filled = (struct hr_filled){.all_done = filling->delivered->unread_count == 0,
                                 .sequences = calloc(folders + 1, sizeof *filled->sequences),
                                 .places = calloc(sites->count + 1, sizeof *filled->places)};
    bool has_room = filled->sequences && filled->places;
    for (size_t i = 0; i < sites->count && has_room; i++)
        has_room = tell_site(filled, &sites->sites[i]);
    if (!has_room) {
        hr_filled_destroy(filled);
        return hr__fault_nomem(fault, "what was filled");
    }
    filled->body_names = filling->body_names;
    filled->body_count = filling->grouping->body_count;
    filling->body_names = NULL;
    *out = filled;
    return HR_OK;
}

/* ---- The call ---- */

static enum hr_status check_names(const struct hr_fill_options *options, struct hr_fault *fault)
{
    for (size_t i = 0; i < options->body_name_count; i++)
        if (!hr__bag_name_is_fit(options->body_names[i].name))
            return hr__fault_path(fault, HR_INVALID, 0, "no name for a folder:", options->body_names[i].name);
    return HR_OK;
}

static enum hr_status fill_all(struct hr_filling *filling, struct hr_fill_sites *sites, struct hr_fault *fault)
{
    enum hr_status status = hr__fill_sites_find(sites, filling, fault);
    for (size_t i = 0; i < sites->count && !status; i++) {
        status = hr__fill_site_open(&sites->sites[i], filling, fault);
        if (!status)
            status = hr__fill_site_match(&sites->sites[i], filling, fault);
    }
    if (!status)
        status = hr__fill_bodies_name(filling, sites, fault);
    for (size_t i = 0; i < sites->count && !status; i++) {
        status = hr__fill_site_name(&sites->sites[i], filling, fault);
        if (!status)
            status = hr__fill_site_fill(&sites->sites[i], filling, fault);
    }
    return status;
}

enum hr_status hr_sequences_fill(struct hr_filled **out, const struct hr_delivered *delivered,
                                 const struct hr_grouping *grouping, const struct hr_fill_options *options,
                                 const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_filling filling = {.delivered = delivered, .grouping = grouping, .options = options, .cancel = cancel};
    struct hr_fill_sites sites = {0};
    enum hr_status status = check_names(options, fault);
    if (!status)
        status = fill_all(&filling, &sites, fault);
    if (!status)
        status = tell(out, &filling, &sites, fault);
    hr__fill_sites_finish(&sites);
    for (size_t i = 0; filling.body_names && i < grouping->body_count; i++)
        free(filling.body_names[i]);
    free(filling.body_names);
    return status;
}
