/* SPDX-License-Identifier: ISC */
#include "transfer/place.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
#include "platform/volume.h"

/* This many failed reads, writes or syncs one after another are no longer about a file. */
enum { IO_FAILURES_MAX = 3, PATH_CEILING = 1 << 16 };

/* Splits the two absolute paths into their common folder, kept open, and what is below it. */
static enum hr_status open_root(struct hr_place *place, struct hr_fault *fault)
{
    const char *data = place->sink->data_path, *aside = place->sink->aside_path;
    size_t common = 0;
    for (size_t i = 0; data[i] && data[i] == aside[i]; i++)
        if (data[i] == '/')
            common = i;
    char *root = strndup(data, common ? common : 1);
    place->data_prefix = strdup(data + common + 1);
    place->aside_prefix = strdup(aside + common + 1);
    enum hr_status status = HR_OK;
    if (!root || !place->data_prefix || !place->aside_prefix)
        status = hr__fault_nomem(fault, "a place");
    else
        status = hr__folder_open(&place->root, root, fault);
    free(root);
    return status;
}

static enum hr_status look_at_volume(struct hr_place *place, struct hr_fault *fault)
{
    struct hr_volume volume;
    enum hr_status status = hr__volume_of(&volume, place->root.path, &hr__system_roots, fault);
    if (status)
        return status;
    bool is_rotational = false;
    for (size_t i = 0; i < volume.disk_count; i++)
        is_rotational |= volume.disks[i].is_rotational && !volume.disks[i].is_loop;
    place->is_in_memory = volume.is_in_memory;
    place->syncs_each_file = volume.is_fuse || volume.is_network || !hr__folder_can_sync_volume();
    place->is_counted = hr__volume_is_counted(&volume);
    hr__pace_init(&place->pace, volume.is_in_memory, is_rotational);
    hr__volume_finish(&volume);
    return HR_OK;
}

enum hr_status hr__place_init(struct hr_place *place, struct hr_engine *engine, size_t index, struct hr_fault *fault)
{
    *place = (struct hr_place){.engine = engine, .sink = &engine->job->sinks[index], .index = (uint8_t)index};
    place->root = HR_FOLDER_CLOSED;
    hr__piece_queue_init(&place->queue);
    hr__lock_init(&place->lock);
    hr__signal_init(&place->changed);
    enum hr_status status = open_root(place, fault);
    if (!status)
        status = look_at_volume(place, fault);
    return status;
}

void hr__place_finish(struct hr_place *place)
{
    if (!place->engine)
        return;
    hr__folder_close(&place->root);
    free(place->data_prefix);
    free(place->aside_prefix);
    hr__signal_finish(&place->changed);
    hr__lock_finish(&place->lock);
    hr__piece_queue_finish(&place->queue);
}

void hr__place_rewind(struct hr_place *place)
{
    place->queue.closed = false;
    place->input_has_ended = false;
    place->is_durable = true;
}

bool hr__place_has_failed(const struct hr_place *place)
{
    return atomic_load(&place->has_failed);
}

void hr__place_fail(struct hr_place *place, const struct hr_fault *fault)
{
    if (atomic_exchange(&place->has_failed, true))
        return;
    struct hr_event event = {.kind = HR_POSTED_SINK_FAILED, .sink = place->index, .status = fault->status};
    hr__event_post(&place->engine->events, &event, fault);
    hr__lock_take(&place->lock);
    hr__signal_all(&place->changed);
    hr__lock_drop(&place->lock);
}

void hr__place_judge(struct hr_place *place, enum hr_status status, const struct hr_fault *fault)
{
    bool concerns_it = status == HR_FULL || status == HR_READ_ONLY || status == HR_GONE || status == HR_NOMEM;
    if (status == HR_IO)
        concerns_it = atomic_fetch_add(&place->io_failures, 1) + 1 >= IO_FAILURES_MAX;
    if (concerns_it)
        hr__place_fail(place, fault);
}

void hr__place_copy_failed(struct hr_place *place, uint32_t item, enum hr_status status, const struct hr_fault *fault)
{
    if (hr__place_has_failed(place))
        return;
    struct hr_event event = {.kind = HR_POSTED_FAILED, .item = item, .sink = place->index, .status = status};
    hr__event_post(&place->engine->events, &event, fault);
}

static const char *card_path(const struct hr_place *place, uint32_t item)
{
    return place->engine->job->items[item].file->path;
}

char *hr__place_final_path(const struct hr_place *place, uint32_t item)
{
    return hr__path_join(place->data_prefix, card_path(place, item));
}

char *hr__place_aside_path(const struct hr_place *place, uint32_t item)
{
    struct hr_text text;
    hr__text_init(&text, PATH_CEILING);
    hr__text_printf(&text, "%s/%s.%u", place->aside_prefix, card_path(place, item), place->engine->attempt);
    return hr__text_take(&text);
}

/* Beside the final name, so that the rename stays within one folder. A second attempt takes another name: what a failed
 * sync left under the first is not to be trusted. A name that leaves no room for the affixes is stood for by its
 * number. */
char *hr__place_part_path(const struct hr_place *place, uint32_t item)
{
    enum { AFFIXES_MAX = 16, NAME_MAX_BYTES = 255 };
    const char *path = card_path(place, item), *name = hr__path_last(path);
    unsigned attempt = place->engine->attempt;
    struct hr_text text;
    hr__text_init(&text, PATH_CEILING);
    hr__text_printf(&text, "%s/", place->data_prefix);
    hr__text_append_bytes(&text, path, (size_t)(name - path));
    if (strlen(name) + AFFIXES_MAX > NAME_MAX_BYTES)
        hr__text_printf(&text, ".%u.%u.part", item, attempt);
    else if (attempt > 1)
        hr__text_printf(&text, ".%s.%u.part", name, attempt);
    else
        hr__text_printf(&text, ".%s.part", name);
    return hr__text_take(&text);
}

void hr__copy_list_push(struct hr_copy_list *list, struct hr_pending_copy *copy, uint64_t bytes)
{
    copy->next = NULL;
    if (list->last)
        list->last = list->last->next = copy;
    else
        list->first = list->last = copy;
    list->count++;
    list->bytes += bytes;
}

struct hr_pending_copy *hr__copy_list_pop(struct hr_copy_list *list, const struct hr_transfer_item *items)
{
    struct hr_pending_copy *copy = list->first;
    if (!copy)
        return NULL;
    list->first = copy->next;
    if (!list->first)
        list->last = NULL;
    list->count--;
    list->bytes -= items[copy->item].file->size_bytes;
    return copy;
}

void hr__copy_list_move(struct hr_copy_list *to, struct hr_copy_list *from)
{
    if (!from->first)
        return;
    if (to->last)
        to->last->next = from->first;
    else
        to->first = from->first;
    to->last = from->last;
    to->count += from->count;
    to->bytes += from->bytes;
    *from = (struct hr_copy_list){0};
}
