/* SPDX-License-Identifier: ISC */
#include "transfer/fetch_ahead.h"

#include <stdlib.h>

#include "base/fault.h"
#include "platform/machine.h"

enum hr_status hr__fetch_ahead_init(struct hr_fetch_ahead *ahead, struct hr_read_back *read_back,
                                    struct hr_fault *fault)
{
    *ahead = (struct hr_fetch_ahead){.read_back = read_back, .at = HR_PLACE_FOLDER_CLOSED};
    ahead->memory = hr__aligned_alloc(HR_FETCH_AHEAD_BYTES);
    return ahead->memory ? HR_OK : hr__fault_nomem(fault, "the read-back");
}

void hr__fetch_ahead_finish(struct hr_fetch_ahead *ahead)
{
    hr__fetch_ahead_drop(ahead);
    hr__aligned_free(ahead->memory);
}

static struct hr_fetched *nth(struct hr_fetch_ahead *ahead, size_t n)
{
    return &ahead->ring[(ahead->first + n) % HR_ASYNC_READS_MAX];
}

bool hr__fetch_span_find(struct hr_fetch_span *out, const struct hr_fetch_span *oldest,
                         const struct hr_fetch_span *newest, size_t size)
{
    size_t begin = newest ? newest->end : 0, limit = HR_FETCH_AHEAD_BYTES + 1;
    if (newest && newest->begin < oldest->begin)
        limit = oldest->begin;
    else if (newest && begin + size >= limit)
        begin = 0, limit = oldest->begin;
    *out = (struct hr_fetch_span){begin, begin + size};
    return begin + size < limit;
}

static bool is_fetchable(const struct hr_place *place, const struct hr_pending_copy *copy)
{
    return place->is_counted && !hr__place_writes_direct(place, copy->item);
}

/* What cannot be asked for now is read the plain way later, and says then what is wrong with it. */
static void ask_for(struct hr_fetched *fetched, struct hr_fetch_ahead *ahead, const struct hr_pending_copy *copy)
{
    struct hr_place *place = ahead->read_back->place;
    const struct hr_medium_room room = {.reads = &ahead->read_back->reads,
                                        .number = (size_t)(fetched - ahead->ring),
                                        .memory = ahead->memory + fetched->span.begin,
                                        .size = place->engine->job->items[copy->item].file->size_bytes};
    fetched->path = copy->is_adopted ? hr__place_final_path(place, copy->item) : hr__place_part_path(place, copy->item);
    if (fetched->path && hr__place_folder_enter(&ahead->at, place, fetched->path, false, NULL) == HR_OK)
        hr__read_back_fetch(&fetched->fetch, ahead->read_back, &ahead->at.folder, fetched->path, &room);
}

static bool add(struct hr_fetch_ahead *ahead, const struct hr_pending_copy *copy)
{
    struct hr_place *place = ahead->read_back->place;
    struct hr_fetched fetched = {.fetch = HR_MEDIUM_FETCH_NONE};
    const struct hr_fetch_span *oldest = ahead->count ? &nth(ahead, 0)->span : NULL;
    const struct hr_fetch_span *newest = ahead->count ? &nth(ahead, ahead->count - 1)->span : NULL;
    bool is_wanted = is_fetchable(place, copy);
    size_t size = is_wanted ? hr__medium_room_for(place->engine->job->items[copy->item].file->size_bytes) : 0;
    if (ahead->count == HR_ASYNC_READS_MAX || !hr__fetch_span_find(&fetched.span, oldest, newest, size))
        return false;
    *nth(ahead, ahead->count) = fetched;
    if (is_wanted)
        ask_for(nth(ahead, ahead->count), ahead, copy);
    ahead->count++;
    return true;
}

void hr__fetch_ahead_fill(struct hr_fetch_ahead *ahead, const struct hr_copy_list *list)
{
    const struct hr_pending_copy *copy = list->first;
    for (size_t i = 0; copy && i < ahead->count; i++)
        copy = copy->next;
    while (copy && add(ahead, copy))
        copy = copy->next;
}

static struct hr_fetched pop(struct hr_fetch_ahead *ahead)
{
    struct hr_fetched first = *nth(ahead, 0);
    ahead->first = (ahead->first + 1) % HR_ASYNC_READS_MAX;
    ahead->count--;
    return first;
}

bool hr__fetch_ahead_take(struct hr_digest *digest, struct hr_fetch_ahead *ahead)
{
    if (ahead->count == 0)
        return false;
    struct hr_fetched first = pop(ahead);
    bool is_whole = first.fetch.file.descriptor >= 0 && hr__read_back_fetched(digest, ahead->read_back, &first.fetch);
    free(first.path);
    return is_whole;
}

void hr__fetch_ahead_drop(struct hr_fetch_ahead *ahead)
{
    while (ahead->count > 0) {
        struct hr_fetched first = pop(ahead);
        if (first.fetch.file.descriptor >= 0)
            (void)hr__medium_fetched(&first.fetch, &ahead->read_back->reads);
        free(first.path);
    }
    hr__place_folder_leave(&ahead->at);
}
