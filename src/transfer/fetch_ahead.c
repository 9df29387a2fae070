/* SPDX-License-Identifier: ISC */
#include "transfer/fetch_ahead.h"

#include <stdlib.h>

/* What cannot be asked for now is read the plain way later, and says then what is wrong with it. */
static struct hr_fetched ask_for(struct hr_fetch_ahead *ahead, const struct hr_pending_copy *copy)
{
    struct hr_place *place = ahead->read_back->place;
    struct hr_fetched fetched = {.fetch = HR_MEDIUM_FETCH_NONE};
    if (!place->is_counted || hr__place_writes_direct(place, copy->item))
        return fetched;
    fetched.path = copy->is_adopted ? hr__place_final_path(place, copy->item) : hr__place_part_path(place, copy->item);
    if (fetched.path && hr__place_folder_enter(&ahead->at, place, fetched.path, false, NULL) == HR_OK)
        hr__read_back_fetch(&fetched.fetch, ahead->read_back, &ahead->at.folder, fetched.path);
    return fetched;
}

void hr__fetch_ahead_fill(struct hr_fetch_ahead *ahead, const struct hr_copy_list *list)
{
    const struct hr_pending_copy *copy = list->first;
    for (size_t i = 0; copy && i < ahead->count; i++)
        copy = copy->next;
    for (; copy && ahead->count < HR_FETCH_AHEAD_MAX; copy = copy->next) {
        ahead->ring[(ahead->first + ahead->count) % HR_FETCH_AHEAD_MAX] = ask_for(ahead, copy);
        ahead->count++;
    }
}

struct hr_fetched hr__fetch_ahead_pop(struct hr_fetch_ahead *ahead)
{
    if (ahead->count == 0)
        return (struct hr_fetched){.fetch = HR_MEDIUM_FETCH_NONE};
    struct hr_fetched first = ahead->ring[ahead->first];
    ahead->first = (ahead->first + 1) % HR_FETCH_AHEAD_MAX;
    ahead->count--;
    return first;
}

void hr__fetched_finish(struct hr_fetched *fetched)
{
    hr__medium_fetch_drop(&fetched->fetch);
    free(fetched->path);
}

void hr__fetch_ahead_finish(struct hr_fetch_ahead *ahead)
{
    while (ahead->count > 0) {
        struct hr_fetched fetched = hr__fetch_ahead_pop(ahead);
        hr__fetched_finish(&fetched);
    }
    hr__place_folder_leave(&ahead->at);
}
