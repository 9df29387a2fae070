/* SPDX-License-Identifier: ISC */
#include <stdlib.h>

#include "base/array.h"
#include "base/fault.h"
#include "sequence/delivered_state.h"

const char *hr__gathering_keep(struct hr_gathering *gathering, char *text)
{
    if (!text || !hr__array_reserve(&gathering->texts, &gathering->text_capacity, gathering->text_count + 1,
                                    sizeof *gathering->texts, SIZE_MAX)) {
        free(text);
        return NULL;
    }
    return gathering->texts[gathering->text_count++] = text;
}

enum hr_status hr_delivered_create(struct hr_delivered **out, const char *const *paths, size_t path_count,
                                   const struct hr_sequence_observer *observer, const struct hr_cancel *cancel,
                                   struct hr_fault *fault)
{
    struct hr_gathering *gathering = calloc(1, sizeof *gathering);
    enum hr_status status = gathering ? HR_OK : hr__fault_nomem(fault, "the delivered frames");
    if (gathering)
        gathering->observer = observer;
    for (size_t i = 0; i < path_count && !status; i++)
        status = hr__gather(gathering, paths[i], cancel, fault);
    if (!status)
        status = hr__gathering_make_frames(gathering, cancel, fault);
    if (status)
        hr_delivered_destroy((struct hr_delivered *)gathering);
    else
        *out = &gathering->shown;
    return status;
}

void hr_delivered_destroy(struct hr_delivered *delivered)
{
    struct hr_gathering *gathering = (struct hr_gathering *)delivered;
    if (!gathering)
        return;
    for (size_t i = 0; i < gathering->text_count; i++)
        free(gathering->texts[i]);
    for (size_t i = 0; i < gathering->card_count; i++)
        free(gathering->cards[i]);
    for (size_t i = 0; i < gathering->listing_count; i++)
        hr_bag_listing_destroy(gathering->listings[i]);
    free(gathering->texts);
    free(gathering->cards);
    free(gathering->listings);
    free(gathering->items);
    free(gathering->shown.frames);
    free(gathering->shown.files);
    free(gathering->shown.places);
    free(gathering);
}
