/* SPDX-License-Identifier: ISC */
#include "sequence/fill_site.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

enum { SITES_MAX = 1 << 16, SENTENCE_MAX = 1 << 16 };

/* ---- Which there are ---- */

size_t hr__fill_copy_in(const struct hr_delivered *delivered, size_t *at, size_t end, uint32_t place)
{
    size_t found = SIZE_MAX;
    do {
        if (found == SIZE_MAX && delivered->files[*at].place == place)
            found = *at;
        (*at)++;
    } while (*at < end && delivered->files[*at].is_copy);
    return found;
}

const char *hr__fill_below_place(const struct hr_delivered *delivered, const struct hr_delivered_file *file)
{
    const char *place = delivered->places[file->place].path;
    if (!hr__path_contains(place, file->path))
        return NULL;
    const char *below = file->path + strlen(place);
    return below + strspn(below, "/");
}

static struct hr_fill_site *find(const struct hr_fill_sites *sites, uint32_t place, const char *job)
{
    for (size_t i = 0; i < sites->count; i++)
        if (sites->sites[i].place == place && !strcmp(sites->sites[i].job, job))
            return &sites->sites[i];
    return NULL;
}

static bool add(struct hr_fill_sites *sites, uint32_t place, const char *job)
{
    if (!hr__array_reserve(&sites->sites, &sites->capacity, sites->count + 1, sizeof *sites->sites, SITES_MAX))
        return false;
    struct hr_fill_site *site = &sites->sites[sites->count++];
    *site =
        (struct hr_fill_site){.place = place, .job = job, .folder = HR_FOLDER_CLOSED, .sequences = HR_FOLDER_CLOSED};
    hr__text_init(&site->sentence, SENTENCE_MAX);
    site->below = hr__path_join(job, HR_SEQUENCES_FOLDER);
    return site->below != NULL;
}

static bool add_places(struct hr_fill_sites *sites, const struct hr_delivered *delivered, const struct hr_frame *frame)
{
    bool has_room = true;
    for (size_t i = 0; i < frame->file_count && has_room; i++) {
        uint32_t place = delivered->files[frame->first_file + i].place;
        has_room = find(sites, place, frame->job) || add(sites, place, frame->job);
    }
    return has_room;
}

/* Insertion keeps the order of sequences within a place; there are a handful. */
static void sort_by_place(struct hr_fill_sites *sites)
{
    for (size_t i = 1; i < sites->count; i++) {
        struct hr_fill_site site = sites->sites[i];
        size_t at = i;
        for (; at > 0 && sites->sites[at - 1].place > site.place; at--)
            sites->sites[at] = sites->sites[at - 1];
        sites->sites[at] = site;
    }
}

enum hr_status hr__fill_sites_find(struct hr_fill_sites *out, const struct hr_filling *filling, struct hr_fault *fault)
{
    const struct hr_grouping *grouping = filling->grouping;
    for (size_t i = 0; i < grouping->sequence_count; i++)
        for (size_t j = 0; j < grouping->sequences[i].frame_count; j++)
            if (!add_places(out, filling->delivered, &filling->delivered->frames[grouping->sequences[i].frames[j]]))
                return hr__fault_nomem(fault, "the folders of sequences");
    sort_by_place(out);
    return HR_OK;
}

void hr__fill_sites_finish(struct hr_fill_sites *sites)
{
    for (size_t i = 0; i < sites->count; i++) {
        struct hr_fill_site *site = &sites->sites[i];
        hr__sequence_index_finish(&site->index);
        hr__folder_close(&site->sequences);
        hr__folder_close(&site->folder);
        hr__text_finish(&site->sentence);
        free(site->below);
        free(site->done);
    }
    free(sites->sites);
    *sites = (struct hr_fill_sites){0};
}

/* ---- Opening one ---- */

static enum hr_status open_folders(struct hr_fill_site *site, const char *place)
{
    struct hr_fault *fault = &site->fault;
    enum hr_status status = hr__folder_open(&site->folder, place, fault);
    if (!status)
        status = hr__folder_make(&site->folder, site->below, fault);
    if (!status)
        status = hr__folder_open_below(&site->sequences, &site->folder, site->below, fault);
    if (!status)
        status = hr__folder_lock(&site->sequences, fault);
    return status ? status : hr__sequence_index_load(&site->index, &site->sequences, fault);
}

enum hr_status hr__fill_site_open(struct hr_fill_site *site, const struct hr_filling *filling, struct hr_fault *fault)
{
    const struct hr_delivered_place *place = &filling->delivered->places[site->place];
    if (place->is_card)
        return HR_OK;
    if (open_folders(site, place->path) != HR_OK)
        hr__sequence_index_finish(&site->index);
    return site->fault.status == HR_NOMEM ? hr__fault_nomem(fault, "the index of sequences") : HR_OK;
}
