/* SPDX-License-Identifier: ISC */
#include "cli/sequences_facts.h"

#include <stdio.h>
#include <string.h>

#include "base/path.h"

static const int64_t pause_ns = 300 * HR_NS_PER_S;

const struct hr_burst *sequence_main_burst(const struct hr_sequence *sequence)
{
    const struct hr_burst *most = &sequence->bursts[0];
    for (size_t i = 1; i < sequence->burst_count; i++)
        if (sequence->bursts[i].last - sequence->bursts[i].first > most->last - most->first)
            most = &sequence->bursts[i];
    return most;
}

const struct hr_burst *sequence_worst_stall(const struct hr_sequence *sequence)
{
    const struct hr_burst *worst = NULL;
    for (size_t i = 0; i < sequence->burst_count; i++) {
        const struct hr_burst *burst = &sequence->bursts[i];
        if (burst->has_stall && (!worst || burst->stall.frames_lost > worst->stall.frames_lost))
            worst = burst;
    }
    return worst;
}

struct sequences_facts sequences_facts_of(const struct sequences_found *found)
{
    struct sequences_facts facts = {0};
    for (size_t i = 0; i < found->grouping->sequence_count; i++) {
        const struct hr_sequence *sequence = &found->grouping->sequences[i];
        if (sequence->frame_count > facts.most_frames)
            facts.most_frames = sequence->frame_count;
        facts.stalled += sequence_worst_stall(sequence) != NULL;
        for (size_t k = 0; k < sequence->burst_count; k++)
            facts.frames_lost += sequence->bursts[k].has_stall ? sequence->bursts[k].stall.frames_lost : 0;
    }
    for (size_t i = 0; i < found->filled->sequence_count; i++)
        facts.failed += found->filled->sequences[i].fault != NULL;
    return facts;
}

struct place_facts place_facts_of(const struct hr_filled *filled, const struct hr_filled_place *place)
{
    struct place_facts facts = {.folder_size = hr__path_folder_length(place->index_path)};
    for (size_t i = 0; i < filled->sequence_count; i++) {
        const struct hr_filled_sequence *sequence = &filled->sequences[i];
        facts.failed += sequence->place == place->place && sequence->fault;
        if (hr__path_folder_length(sequence->path) != facts.folder_size ||
            memcmp(sequence->path, place->index_path, facts.folder_size) != 0)
            continue;
        facts.folders_new += sequence->files_new > 0;
        facts.folders_there += sequence->files_new == 0 && sequence->files_there > 0;
    }
    return facts;
}

bool sequence_is_busy(const struct hr_sequence *sequence, const struct sequences_facts *facts)
{
    return 4 * sequence->frame_count >= 3 * facts->most_frames;
}

const struct hr_frame *sequence_frame(const struct sequences_found *found, const struct hr_sequence *sequence,
                                      size_t index)
{
    return &found->delivered->frames[sequence->frames[index]];
}

int64_t sequence_end_local_ns(const struct hr_sequence *sequence)
{
    return sequence->start_local_ns + sequence->length_ns;
}

const struct hr_filled_sequence *sequence_filled(const struct sequences_found *found, size_t sequence)
{
    const struct hr_filled_sequence *listed = NULL;
    for (size_t i = 0; i < found->filled->sequence_count; i++) {
        const struct hr_filled_sequence *filled = &found->filled->sequences[i];
        if (filled->sequence != sequence)
            continue;
        if (filled->path[0])
            return filled;
        listed = listed ? listed : filled;
    }
    return listed;
}

bool sequence_follows_pause(int64_t start_local_ns, int64_t latest_end_local_ns)
{
    return start_local_ns - latest_end_local_ns > pause_ns;
}

char *format_cadence(char out[HR_UNIT_TEXT_SIZE], double cadence_per_s)
{
    if (cadence_per_s <= 0)
        snprintf(out, HR_UNIT_TEXT_SIZE, "-");
    else if (cadence_per_s < 9.95)
        snprintf(out, HR_UNIT_TEXT_SIZE, "%.2g/s", cadence_per_s);
    else
        snprintf(out, HR_UNIT_TEXT_SIZE, "%.0f/s", cadence_per_s);
    return out;
}

char *format_length(char out[HR_UNIT_TEXT_SIZE], int64_t length_ns)
{
    double seconds = (double)length_ns / (double)HR_NS_PER_S;
    if (seconds >= 59.95)
        return hr__format_duration(out, length_ns);
    snprintf(out, HR_UNIT_TEXT_SIZE, "%.1f s", seconds);
    return out;
}
