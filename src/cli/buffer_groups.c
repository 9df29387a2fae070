/* SPDX-License-Identifier: ISC */
#include "cli/buffer_groups.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/units.h"

enum { GROUPS_MAX = 4096, STALLS_MAX = 1 << 20 };
/* Cadences are off by less. */
static const double same_drain = 1.02;
const enum hr_card_file_kind buffer_pictures[BUFFER_PICTURES] = {HR_KIND_RAW, HR_KIND_JPEG, HR_KIND_HEIF};
static const char what[] = "the stalls";

/* ---- what a burst says ---- */

static unsigned kinds_of(const struct hr_delivered *delivered, const struct hr_frame *frame)
{
    unsigned kinds = 0;
    for (size_t i = 0; i < frame->file_count; i++)
        for (size_t k = 0; k < BUFFER_PICTURES; k++)
            if (delivered->files[frame->first_file + i].kind == buffer_pictures[k])
                kinds |= 1u << k;
    return kinds;
}

/* Its files stand in ROOT, a bag's in BAG/data: the name of the bag or of the root. */
static void label_card(char out[BUFFER_LABEL_SIZE], const struct hr_delivered *delivered, const struct hr_frame *frame)
{
    static const char data[] = "/data";
    const struct hr_delivered_file *file = &delivered->files[frame->first_file];
    size_t size = strlen(file->path), below = strlen(file->on_card);
    size = size > below && strcmp(file->path + size - below, file->on_card) == 0 ? size - below - 1 : 0;
    if (size > strlen(data) && memcmp(file->path + size - strlen(data), data, strlen(data)) == 0)
        size -= strlen(data);
    size_t from = size;
    while (from > 0 && file->path[from - 1] != '/')
        from--;
    if (size > from)
        hr_escape_name(out, BUFFER_LABEL_SIZE, file->path + from, size - from);
    else
        snprintf(out, BUFFER_LABEL_SIZE, "card %u", frame->card + 1);
}

static enum buffer_iso band_of(uint32_t iso)
{
    static const uint32_t tops[] = {[BUFFER_ISO_LOW] = 800, [BUFFER_ISO_MIDDLE] = 3200};
    if (iso == 0)
        return BUFFER_ISO_ANY;
    return iso <= tops[BUFFER_ISO_LOW]      ? BUFFER_ISO_LOW
           : iso <= tops[BUFFER_ISO_MIDDLE] ? BUFFER_ISO_MIDDLE
                                            : BUFFER_ISO_HIGH;
}

/* ---- groups ---- */

/* NULL: no memory. */
static struct buffer_group *find_group(struct buffer_groups *groups, const struct hr_delivered *delivered,
                                       const struct hr_frame *frame, uint32_t body)
{
    unsigned kinds = kinds_of(delivered, frame);
    enum buffer_iso iso = band_of(frame->iso);
    for (size_t i = 0; i < groups->count; i++) {
        struct buffer_group *group = &groups->items[i];
        if (group->body == body && group->card == frame->card && group->kinds == kinds && group->iso == iso)
            return group;
    }
    if (!hr__array_reserve(&groups->items, &groups->capacity, groups->count + 1, sizeof *groups->items, GROUPS_MAX))
        return NULL;
    struct buffer_group *group = &groups->items[groups->count++];
    *group = (struct buffer_group){.body = body, .card = frame->card, .kinds = kinds, .iso = iso};
    label_card(group->label, delivered, frame);
    return group;
}

static enum hr_status add_stall(struct buffer_group *group, const struct hr_burst *burst, double rest_s,
                                struct hr_fault *fault)
{
    if (!group ||
        !hr__array_reserve(&group->stalls, &group->capacity, group->stall_count + 1, sizeof *group->stalls, STALLS_MAX))
        return hr__fault_nomem(fault, what);
    group->stalls[group->stall_count++] = (struct hr_buffer_stall){.per_s = burst->cadence_per_s,
                                                                   .frames = burst->stall.frame - burst->first,
                                                                   .drain_per_s = burst->stall.drain_cadence_per_s,
                                                                   .drain_bytes_per_s = burst->stall.drain_bytes_per_s,
                                                                   .rest_s = rest_s};
    return HR_OK;
}

struct walk {
    struct buffer_groups *groups;
    const struct hr_delivered *delivered;
    int64_t *latest_ns; /* a body: when its last burst so far ended */
};

static int64_t frame_at_ns(const struct walk *walk, const struct hr_sequence *sequence, uint32_t index)
{
    const struct hr_frame *frames = walk->delivered->frames;
    return sequence->start_local_ns + frames[sequence->frames[index]].local_ns - frames[sequence->frames[0]].local_ns;
}

static enum hr_status take_burst(struct walk *walk, const struct hr_sequence *sequence, const struct hr_burst *burst,
                                 struct hr_fault *fault)
{
    int64_t *latest_ns = &walk->latest_ns[sequence->body], start_ns = frame_at_ns(walk, sequence, burst->first);
    double rest_s = *latest_ns == INT64_MIN ? INFINITY : (double)(start_ns - *latest_ns) / (double)HR_NS_PER_S;
    *latest_ns = frame_at_ns(walk, sequence, burst->last);
    if (!burst->has_stall || burst->cadence_per_s <= burst->stall.drain_cadence_per_s)
        return HR_OK;
    const struct hr_frame *frame = &walk->delivered->frames[sequence->frames[burst->stall.frame]];
    struct buffer_group *group = find_group(walk->groups, walk->delivered, frame, sequence->body);
    if (!group)
        return hr__fault_nomem(fault, what);
    group->last_local_ns = frame_at_ns(walk, sequence, burst->stall.frame);
    return add_stall(group, burst, fmax(0, rest_s), fault);
}

static enum hr_status take_bursts(struct buffer_groups *groups, const struct hr_delivered *delivered,
                                  struct hr_fault *fault)
{
    const struct hr_grouping *grouping = groups->grouping;
    struct walk walk = {groups, delivered, calloc(grouping->body_count + 1, sizeof *walk.latest_ns)};
    enum hr_status status = walk.latest_ns ? HR_OK : hr__fault_nomem(fault, what);
    for (size_t i = 0; i < grouping->body_count && status == HR_OK; i++)
        walk.latest_ns[i] = INT64_MIN;
    for (size_t i = 0; i < grouping->sequence_count; i++)
        for (size_t k = 0; k < grouping->sequences[i].burst_count && status == HR_OK; k++)
            status = take_burst(&walk, &grouping->sequences[i], &grouping->sequences[i].bursts[k], fault);
    free(walk.latest_ns);
    return status;
}

/* ---- bands of ISO ---- */

static bool is_sibling(const struct buffer_group *a, const struct buffer_group *b)
{
    return a->body == b->body && a->card == b->card && a->kinds == b->kinds;
}

/* Are all bands of these frames known, two at least, and of enough stalls? */
static bool has_bands(const struct buffer_groups *groups, const struct buffer_group *group)
{
    size_t bands = 0;
    for (size_t i = 0; i < groups->count; i++) {
        const struct buffer_group *other = &groups->items[i];
        if (!is_sibling(group, other))
            continue;
        if (other->iso == BUFFER_ISO_ANY || other->stall_count < BUFFER_STALLS_ENOUGH)
            return false;
        bands++;
    }
    return bands > 1;
}

static enum hr_status take_over(struct buffer_group *group, struct buffer_group *other, struct hr_fault *fault)
{
    if (!hr__array_reserve(&group->stalls, &group->capacity, group->stall_count + other->stall_count,
                           sizeof *group->stalls, STALLS_MAX))
        return hr__fault_nomem(fault, what);
    memcpy(group->stalls + group->stall_count, other->stalls, other->stall_count * sizeof *other->stalls);
    group->stall_count += other->stall_count;
    if (group->last_local_ns < other->last_local_ns)
        group->last_local_ns = other->last_local_ns;
    free(other->stalls);
    return HR_OK;
}

/* Frames with too few stalls in some band are one group. */
static enum hr_status join_bands(struct buffer_groups *groups, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < groups->count && !status; i++) {
        if (has_bands(groups, &groups->items[i]))
            continue;
        groups->items[i].iso = BUFFER_ISO_ANY;
        for (size_t k = groups->count; k-- > i + 1 && !status;)
            if (is_sibling(&groups->items[i], &groups->items[k])) {
                status = take_over(&groups->items[i], &groups->items[k], fault);
                if (!status)
                    groups->items[k] = groups->items[--groups->count];
            }
    }
    return status;
}

static int compare(const void *a, const void *b)
{
    const struct buffer_group *one = a, *other = b;
    double one_per_s = one->found.buffer.drain_per_s, other_per_s = other->found.buffer.drain_per_s;
    if (one->body != other->body)
        return one->body < other->body ? -1 : 1;
    if (one->kinds != other->kinds)
        return one->kinds < other->kinds ? -1 : 1;
    if (one->iso != other->iso)
        return one->iso < other->iso ? -1 : 1;
    if (one_per_s < other_per_s || one_per_s > other_per_s)
        return one_per_s < other_per_s ? -1 : 1;
    return one->card < other->card ? -1 : one->card > other->card;
}

enum hr_status buffer_groups_make(struct buffer_groups *out, const struct hr_delivered *delivered,
                                  const struct hr_grouping *grouping, struct hr_fault *fault)
{
    *out = (struct buffer_groups){.grouping = grouping};
    enum hr_status status = take_bursts(out, delivered, fault);
    if (status == HR_OK)
        status = join_bands(out, fault);
    for (size_t i = 0; i < out->count && status == HR_OK; i++)
        status = hr_buffer_from_stalls(&out->items[i].found, out->items[i].stalls, out->items[i].stall_count, fault);
    if (out->count > 1)
        qsort(out->items, out->count, sizeof *out->items, compare);
    return status;
}

void buffer_groups_finish(struct buffer_groups *groups)
{
    for (size_t i = 0; i < groups->count; i++)
        free(groups->items[i].stalls);
    free(groups->items);
}

const struct buffer_group *buffer_groups_faster(const struct buffer_groups *groups, const struct buffer_group *group)
{
    const struct buffer_group *faster = NULL;
    for (const struct buffer_group *other = group + 1; other < groups->items + groups->count; other++)
        if (other->body == group->body && other->kinds == group->kinds && other->iso == group->iso &&
            other->found.buffer.drain_per_s > same_drain * group->found.buffer.drain_per_s)
            faster = other;
    return faster;
}

double buffer_frames_more(const struct buffer_group *faster, const struct buffer_group *slower, double hold_s)
{
    return (faster->found.buffer.drain_per_s - slower->found.buffer.drain_per_s) * hold_s;
}

/* ---- names ---- */

const char *buffer_body_name(char out[BUFFER_BODY_SIZE], uint32_t body)
{
    if (body < 26)
        snprintf(out, BUFFER_BODY_SIZE, "%c", 'A' + (int)body);
    else
        snprintf(out, BUFFER_BODY_SIZE, "%u", body + 1);
    return out;
}

const char *buffer_iso_name(enum buffer_iso iso)
{
    static const char *const names[BUFFER_ISO_COUNT] = {
        [BUFFER_ISO_LOW] = "to 800", [BUFFER_ISO_MIDDLE] = "to 3200", [BUFFER_ISO_HIGH] = "above 3200"};
    return names[iso];
}

const char *buffer_files_name(char out[BUFFER_FILES_SIZE], const struct buffer_group *group)
{
    int at = 0;
    out[0] = '\0';
    for (size_t i = 0; i < BUFFER_PICTURES; i++)
        if (group->kinds & 1u << i)
            at += snprintf(out + at, BUFFER_FILES_SIZE - (size_t)at, "%s%s", at ? " + " : "",
                           hr_card_file_kind_name(buffer_pictures[i]));
    if (group->iso != BUFFER_ISO_ANY)
        snprintf(out + at, BUFFER_FILES_SIZE - (size_t)at, ", ISO %s", buffer_iso_name(group->iso));
    return out;
}
