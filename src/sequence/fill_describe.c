/* SPDX-License-Identifier: ISC */
/* The row of a sequence in the index: what stands in its folder, in numbers. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/units.h"
#include "sequence/fill_site.h"
#include "sequence/names.h"

enum { CELL_SIZE = 48 };

/* The numbers in the folder of the first and last frame of a burst; false when none of it is there. */
static bool span(uint32_t *first, uint32_t *last, const struct hr_sequence_folder *folder, uint32_t from, uint32_t to)
{
    *first = *last = 0;
    for (size_t i = 0; i < folder->file_count; i++) {
        const struct hr_sequence_file *file = &folder->files[i];
        if (file->sequence != folder->sequence || file->position < from || file->position > to)
            continue;
        *first = *first ? *first : file->number;
        *last = file->number;
    }
    return *first != 0;
}

struct digest_of_bursts {
    size_t count;
    const struct hr_burst *longest, *stalled; /* most frames; most seconds with a full buffer; NULL: none */
    uint32_t stall_number;
};

static struct digest_of_bursts look(const struct hr_sequence_folder *folder, const struct hr_sequence *sequence)
{
    struct digest_of_bursts found = {0};
    uint32_t most = 0, first, last;
    for (size_t i = 0; i < sequence->burst_count; i++) {
        const struct hr_burst *burst = &sequence->bursts[i];
        if (!span(&first, &last, folder, burst->first, burst->last))
            continue;
        found.count++;
        if (last - first + 1 > most) {
            most = last - first + 1;
            found.longest = burst;
        }
        if (burst->has_stall && (!found.stalled || burst->stall.seconds_full > found.stalled->stall.seconds_full) &&
            span(&first, &last, folder, burst->stall.frame, burst->stall.frame)) {
            found.stalled = burst;
            found.stall_number = first;
        }
    }
    return found;
}

static bool set(struct hr_sequence_index *index, struct hr_sequence_folder *folder, enum hr_index_column column,
                const char *cell)
{
    const char *kept = hr__sequence_index_keep(index, strdup(cell));
    folder->columns[column] = kept ? kept : "";
    return kept != NULL;
}

static bool set_count(struct hr_sequence_index *index, struct hr_sequence_folder *folder, enum hr_index_column column,
                      uint64_t count)
{
    char cell[CELL_SIZE];
    snprintf(cell, sizeof cell, "%" PRIu64, count);
    return set(index, folder, column, cell);
}

static bool set_real(struct hr_sequence_index *index, struct hr_sequence_folder *folder, enum hr_index_column column,
                     double value, int decimals)
{
    char cell[CELL_SIZE];
    snprintf(cell, sizeof cell, "%.*f", decimals, value);
    return set(index, folder, column, cell);
}

static bool describe_bursts(struct hr_sequence_index *index, struct hr_sequence_folder *folder,
                            const struct hr_sequence *sequence)
{
    const struct digest_of_bursts found = look(folder, sequence);
    bool is_set = set_count(index, folder, HR_INDEX_BURSTS, found.count);
    if (is_set && found.longest && found.longest->cadence_per_s > 0)
        is_set = set_real(index, folder, HR_INDEX_CADENCE, found.longest->cadence_per_s, 2);
    if (!is_set || !found.stalled)
        return is_set;
    const struct hr_stall *stall = &found.stalled->stall;
    return set_count(index, folder, HR_INDEX_STALL_FRAME, found.stall_number) &&
           set_real(index, folder, HR_INDEX_DRAIN, stall->drain_cadence_per_s, 2) &&
           set_real(index, folder, HR_INDEX_SECONDS_FULL, stall->seconds_full, 1) &&
           set_real(index, folder, HR_INDEX_FRAMES_LOST, stall->frames_lost, 0);
}

/* Of a folder whose files did not all come this time, what was known of it stays. */
static bool is_whole(const struct hr_sequence_folder *folder)
{
    bool whole = folder->sequence != HR_NOT_GROUPED;
    for (size_t i = 0; i < folder->file_count && whole; i++)
        whole = folder->files[i].sequence != HR_NOT_GROUPED;
    return whole;
}

static int64_t time_of(const struct hr_sequence_file *file, const struct hr_filling *filling)
{
    const struct hr_sequence *sequence = &filling->grouping->sequences[file->sequence];
    return filling->delivered->frames[sequence->frames[file->position]].local_ns;
}

static bool describe_whole(struct hr_sequence_index *index, struct hr_sequence_folder *folder,
                           const struct hr_filling *filling)
{
    const struct hr_sequence *sequence = &filling->grouping->sequences[folder->sequence];
    const struct hr_body *body = &filling->grouping->bodies[sequence->body];
    char start[HR_LOCAL_TIME_SIZE];
    int64_t from = time_of(&folder->files[0], filling), to = time_of(&folder->files[folder->file_count - 1], filling);
    if (!*folder->columns[HR_INDEX_BODY])
        folder->columns[HR_INDEX_BODY] = filling->body_names[sequence->body];
    return set(index, folder, HR_INDEX_SERIAL, body->serial) && set(index, folder, HR_INDEX_MODEL, body->model) &&
           set(index, folder, HR_INDEX_START, hr__local_time(start, from)) &&
           set_real(index, folder, HR_INDEX_SECONDS, (double)(to - from) / (double)HR_NS_PER_S, 3) &&
           describe_bursts(index, folder, sequence);
}

enum hr_status hr__fill_describe(struct hr_sequence_index *index, struct hr_sequence_folder *folder,
                                 const struct hr_filling *filling, struct hr_fault *fault)
{
    uint32_t frames = 0;
    for (size_t i = 0; i < folder->file_count; i++)
        frames = folder->files[i].number > frames ? folder->files[i].number : frames;
    bool is_set = set_count(index, folder, HR_INDEX_FRAMES, frames) &&
                  set_count(index, folder, HR_INDEX_FILE_COUNT, folder->file_count);
    if (is_set && is_whole(folder))
        is_set = describe_whole(index, folder, filling);
    return is_set ? HR_OK : hr__fault_nomem(fault, "the index of sequences");
}
