/* SPDX-License-Identifier: ISC */
/* What stands where: a sequence is known by its files, which the index names. Frames that a known sequence gained go on
 * after its last number; those that lie before or within it get a folder of their own, for nothing is renumbered. */
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"
#include "sequence/fill_site.h"
#include "sequence/names.h"

enum { KNOWN_MAX = 1 << 24 };

static const uint32_t nowhere = UINT32_MAX;

struct known {
    const char *path;
    uint32_t folder, file; /* indices into the index */
};

/* Where a frame of the sequence in hand stands, or is to. */
struct standing {
    uint32_t folder; /* nowhere: in none yet */
    uint32_t number;
    bool is_here; /* some file of it is in this place */
};

struct matching {
    struct hr_fill_site *site;
    const struct hr_filling *filling;
    struct known *known; /* by path */
    size_t known_count, known_capacity;
    uint32_t sequence; /* in hand */
    struct standing *standings;
    size_t standing_capacity;
};

/* ---- The files of the index ---- */

static int by_path(const void *a, const void *b)
{
    return strcmp(((const struct known *)a)->path, ((const struct known *)b)->path);
}

/* A file that was moved is delivered from here. NULL: no memory. */
static const char *path_here(struct hr_sequence_index *index, uint32_t folder, uint32_t file)
{
    const struct hr_sequence_folder *at = &index->folders[folder];
    char *below = hr__path_join(at->columns[HR_INDEX_NAME], at->files[file].name);
    char *path = below ? hr__path_join(HR_SEQUENCES_FOLDER, below) : NULL;
    free(below);
    return hr__sequence_index_keep(index, path);
}

static bool add_known(struct matching *matching, const char *path, uint32_t folder, uint32_t file)
{
    if (!path || !hr__array_reserve(&matching->known, &matching->known_capacity, matching->known_count + 1,
                                    sizeof *matching->known, KNOWN_MAX))
        return false;
    matching->known[matching->known_count++] = (struct known){.path = path, .folder = folder, .file = file};
    return true;
}

static bool list_known(struct matching *matching)
{
    struct hr_sequence_index *index = &matching->site->index;
    bool has_room = true;
    for (uint32_t i = 0; i < index->folder_count; i++)
        for (uint32_t j = 0; j < index->folders[i].file_count && has_room; j++)
            has_room = add_known(matching, index->folders[i].files[j].path, i, j) &&
                       add_known(matching, path_here(index, i, j), i, j);
    if (matching->known_count)
        qsort(matching->known, matching->known_count, sizeof *matching->known, by_path);
    return has_room;
}

/* The path as the index has it: below the folder in which `sequences` stands. */
static const char *path_in_index(const struct matching *matching, size_t file)
{
    const struct hr_delivered *delivered = matching->filling->delivered;
    const char *path = hr__fill_below_place(delivered, &delivered->files[file]);
    size_t job = strlen(matching->site->job);
    if (!path)
        return delivered->files[file].path;
    return job && !strncmp(path, matching->site->job, job) && path[job] == '/' ? path + job + 1 : path;
}

static const struct known *find_known(const struct matching *matching, size_t file)
{
    const struct known wanted = {.path = path_in_index(matching, file)};
    return matching->known_count ? bsearch(&wanted, matching->known, matching->known_count, sizeof wanted, by_path)
                                 : NULL;
}

/* ---- One sequence ---- */

static const struct hr_sequence *in_hand(const struct matching *matching)
{
    return &matching->filling->grouping->sequences[matching->sequence];
}

static const struct hr_frame *frame_at(const struct matching *matching, size_t position)
{
    return &matching->filling->delivered->frames[in_hand(matching)->frames[position]];
}

static void note_known(struct matching *matching, const struct known *known, size_t file, uint32_t position)
{
    struct hr_sequence_folder *folder = &matching->site->index.folders[known->folder];
    struct hr_sequence_file *there = &folder->files[known->file];
    if (folder->sequence == HR_NOT_GROUPED)
        folder->sequence = matching->sequence;
    there->sequence = matching->sequence;
    there->position = position;
    there->delivered = file;
    matching->standings[position].folder = known->folder;
    matching->standings[position].number = there->number;
}

static void look_up_frame(struct matching *matching, uint32_t position)
{
    const struct hr_frame *frame = frame_at(matching, position);
    size_t end = frame->first_file + frame->file_count;
    matching->standings[position] = (struct standing){.folder = nowhere};
    for (size_t at = frame->first_file; at < end;) {
        size_t file = hr__fill_copy_in(matching->filling->delivered, &at, end, matching->site->place);
        if (file == SIZE_MAX)
            continue;
        matching->standings[position].is_here = true;
        const struct known *known = find_known(matching, file);
        if (known)
            note_known(matching, known, file, position);
    }
    matching->site->frames_missing += !matching->standings[position].is_here;
}

static uint32_t last_number(const struct hr_sequence_folder *folder)
{
    uint32_t last = 0;
    for (size_t i = 0; i < folder->file_count; i++)
        last = folder->files[i].number > last ? folder->files[i].number : last;
    return last;
}

static unsigned width_of(const struct hr_sequence_folder *folder)
{
    return folder->file_count ? (unsigned)strspn(folder->files[0].name, "0123456789") : 0;
}

/* Can `count` frames from `first` on go on after the sequence's last known frame at `last`? Only where that is also the
 * folder's last, and its names still sort with `count` more. */
static bool can_go_on(const struct matching *matching, uint32_t first, uint32_t last, uint32_t count)
{
    const struct standing *standing = &matching->standings[last];
    const struct hr_sequence_folder *folder = &matching->site->index.folders[standing->folder];
    return first > last && standing->number == last_number(folder) &&
           hr__number_width((size_t)standing->number + count) <= width_of(folder);
}

/* Gives each frame that stands nowhere its folder and number; *width is that of a new folder's numbers. False: no
 * memory. */
static bool settle_new(struct matching *matching, unsigned *width)
{
    struct hr_sequence_index *index = &matching->site->index;
    uint32_t frames = (uint32_t)in_hand(matching)->frame_count, first = nowhere, last = nowhere, count = 0;
    for (uint32_t i = 0; i < frames; i++) {
        const struct standing *standing = &matching->standings[i];
        bool is_new = standing->is_here && standing->folder == nowhere;
        first = is_new && first == nowhere ? i : first;
        last = standing->folder != nowhere ? i : last;
        count += is_new;
    }
    if (count == 0)
        return true;
    uint32_t folder = (uint32_t)index->folder_count, number = 1;
    *width = hr__number_width(count);
    if (last != nowhere && can_go_on(matching, first, last, count)) {
        folder = matching->standings[last].folder;
        number = matching->standings[last].number + 1;
    } else {
        struct hr_sequence_folder *added = hr__sequence_index_add(index);
        if (!added)
            return false;
        added->sequence = matching->sequence;
    }
    for (uint32_t i = first; i < frames; i++)
        if (matching->standings[i].is_here && matching->standings[i].folder == nowhere)
            matching->standings[i] = (struct standing){.folder = folder, .number = number++, .is_here = true};
    return true;
}

static bool add_file(struct matching *matching, size_t file, uint32_t position, unsigned width)
{
    struct hr_sequence_index *index = &matching->site->index;
    const struct standing *standing = &matching->standings[position];
    struct hr_sequence_folder *folder = &index->folders[standing->folder];
    const char *camera_name = strrchr(matching->filling->delivered->files[file].on_card, '/');
    camera_name = camera_name ? camera_name + 1 : matching->filling->delivered->files[file].on_card;
    if (folder->file_count)
        width = width_of(folder);
    char time[HR_LOCAL_TIME_SIZE];
    const struct hr_sequence_file added = {
        .name = hr__sequence_index_keep(index, hr__numbered_name(standing->number, width, camera_name)),
        .path = hr__sequence_index_keep(index, strdup(path_in_index(matching, file))),
        .time = hr__sequence_index_keep(index, strdup(hr__local_time(time, frame_at(matching, position)->local_ns))),
        .filled = "",
        .number = standing->number,
        .sequence = matching->sequence,
        .position = position,
        .delivered = file};
    return added.name && added.path && added.time && hr__sequence_folder_add(folder, &added);
}

static bool add_new_files(struct matching *matching, uint32_t position, unsigned width)
{
    const struct hr_frame *frame = frame_at(matching, position);
    size_t end = frame->first_file + frame->file_count;
    bool has_room = true;
    for (size_t at = frame->first_file; at < end && has_room;) {
        size_t file = hr__fill_copy_in(matching->filling->delivered, &at, end, matching->site->place);
        if (file != SIZE_MAX && !find_known(matching, file))
            has_room = add_file(matching, file, position, width);
    }
    return has_room;
}

static bool match_sequence(struct matching *matching)
{
    size_t frames = in_hand(matching)->frame_count;
    unsigned width = HR_NUMBER_WIDTH;
    if (!hr__array_reserve(&matching->standings, &matching->standing_capacity, frames, sizeof *matching->standings,
                           UINT32_MAX))
        return false;
    for (uint32_t i = 0; i < frames; i++)
        look_up_frame(matching, i);
    bool has_room = settle_new(matching, &width);
    for (uint32_t i = 0; i < frames && has_room; i++) {
        const struct standing *standing = &matching->standings[i];
        if (standing->is_here)
            has_room = add_new_files(matching, i, width);
    }
    return has_room;
}

enum hr_status hr__fill_site_match(struct hr_fill_site *site, const struct hr_filling *filling, struct hr_fault *fault)
{
    const struct hr_grouping *grouping = filling->grouping;
    struct matching matching = {.site = site, .filling = filling};
    bool has_room = list_known(&matching);
    for (uint32_t i = 0; i < grouping->sequence_count && has_room; i++) {
        matching.sequence = i;
        if (!strcmp(filling->delivered->frames[grouping->sequences[i].frames[0]].job, site->job))
            has_room = match_sequence(&matching);
    }
    for (size_t i = 0; i < site->index.folder_count; i++)
        hr__sequence_folder_sort(&site->index.folders[i]);
    free(matching.known);
    free(matching.standings);
    return has_room ? HR_OK : hr__fault_nomem(fault, "the folders of sequences");
}
