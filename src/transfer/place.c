/* SPDX-License-Identifier: ISC */
#include "transfer/place.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
#include "platform/clock.h"
#include "platform/volume.h"

/* This many failed reads, writes or syncs one after another are no longer about a file. */
enum { IO_FAILURES_MAX = 3, PATH_CEILING = 1 << 16 };

/* How much of `path` up to its last '/' that both have; `length` of `shared` count. */
static size_t shared_folder_length(const char *shared, size_t length, const char *path)
{
    size_t common = 0;
    for (size_t i = 0; path[i] && (i < length ? path[i] == shared[i] : i == length && path[i] == '/'); i++)
        if (path[i] == '/')
            common = i;
    return common;
}

/* Opens the deepest folder that holds all landings. A place that no card wants anything in has none. */
static enum hr_status open_root(struct hr_place *place, struct hr_fault *fault)
{
    const struct hr_transfer_job *job = place->engine->job;
    const char *first = NULL;
    for (size_t i = 0; i < job->card_count; i++) {
        const struct hr_transfer_landing *landing = &job->cards[i].landings[place->index];
        if (!landing->data_path)
            continue;
        if (!first)
            place->root_length = strlen(first = landing->data_path);
        place->root_length = shared_folder_length(first, place->root_length, landing->data_path);
        place->root_length = shared_folder_length(first, place->root_length, landing->aside_path);
    }
    if (!first)
        return HR_OK;
    char *root = strndup(first, place->root_length ? place->root_length : 1);
    if (!root)
        return hr__fault_nomem(fault, "a place");
    enum hr_status status = hr__folder_open(&place->root, root, fault);
    free(root);
    return status;
}

static enum hr_status look_at_volume(struct hr_place *place, struct hr_fault *fault)
{
    struct hr_volume volume;
    enum hr_status status = hr__volume_of(&volume, place->root.path, &hr__system_roots, fault);
    if (status)
        return status;
    place->syncs_each_file = volume.is_fuse || volume.is_network || !hr__folder_can_sync_volume();
    place->is_counted = hr__volume_is_counted(&volume);
    hr__pace_init(&place->pace, volume.is_in_memory, hr__volume_has_heads(&volume));
    hr__volume_finish(&volume);
    return HR_OK;
}

enum hr_status hr__place_init(struct hr_place *place, struct hr_engine *engine, size_t index, struct hr_fault *fault)
{
    *place = (struct hr_place){.engine = engine,
                               .sink = &engine->job->sinks[index],
                               .index = (uint8_t)index,
                               .idle_since_ns = hr__clock_now_ns()};
    place->root = HR_FOLDER_CLOSED;
    hr__piece_queue_init(&place->queue);
    hr__lock_init(&place->lock);
    hr__signal_init(&place->changed);
    enum hr_status status = open_root(place, fault);
    if (!status && place->root.path)
        status = look_at_volume(place, fault);
    return status;
}

void hr__place_finish(struct hr_place *place)
{
    if (!place->engine)
        return;
    hr__folder_close(&place->root);
    hr__signal_finish(&place->changed);
    hr__lock_finish(&place->lock);
    hr__piece_queue_finish(&place->queue);
}

void hr__place_rewind(struct hr_place *place)
{
    const struct hr_transfer_job *job = place->engine->job;
    place->queue.closed = false;
    place->input_has_ended = false;
    place->handed_bytes = place->wanted_bytes = place->cached_bytes = 0;
    for (size_t i = 0; i < job->item_count; i++)
        if (job->items[i].copies[place->index].state == HR_COPY_WANTED)
            place->wanted_bytes += job->items[i].file->size_bytes;
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

bool hr__place_is_stopped(const struct hr_place *place)
{
    return hr_cancel_requested(place->engine->cancel) || hr__place_has_failed(place);
}

void hr__place_judge(struct hr_place *place, enum hr_status status, const struct hr_fault *fault)
{
    bool concerns_it = status == HR_FULL || status == HR_READ_ONLY || status == HR_GONE || status == HR_NOMEM;
    if (status == HR_IO)
        concerns_it = atomic_fetch_add(&place->io_failures, 1) + 1 >= IO_FAILURES_MAX;
    if (concerns_it)
        hr__place_fail(place, fault);
}

void hr__place_copy_failed(struct hr_place *place, uint32_t item, bool was_durable, const struct hr_fault *fault)
{
    if (hr__place_has_failed(place))
        return;
    struct hr_event event = {.kind = HR_POSTED_FAILED,
                             .item = item,
                             .sink = place->index,
                             .was_durable = was_durable,
                             .status = fault->status};
    hr__event_post(&place->engine->events, &event, fault);
}

bool hr__place_writes_direct(const struct hr_place *place, uint32_t item)
{
    return place->engine->job->items[item].file->size_bytes >= HR_DIRECT_FROM_BYTES;
}

/* ---- Paths ---- */

static const char *card_path(const struct hr_place *place, uint32_t item)
{
    return place->engine->job->items[item].file->path;
}

static const struct hr_transfer_landing *landing_of(const struct hr_place *place, uint32_t item)
{
    const struct hr_transfer_job *job = place->engine->job;
    return &job->cards[job->items[item].card].landings[place->index];
}

static const char *from_root(const struct hr_place *place, const char *path)
{
    return path + place->root_length + 1;
}

char *hr__place_final_path(const struct hr_place *place, uint32_t item)
{
    return hr__path_join(from_root(place, landing_of(place, item)->data_path), card_path(place, item));
}

/* Leaves the name no room for what is put around it: its number stands for it then. */
static bool is_long(const char *name)
{
    enum { AFFIXES_MAX = 16, NAME_MAX_BYTES = 255 };
    return strlen(name) + AFFIXES_MAX > NAME_MAX_BYTES;
}

bool hr_transfer_is_part_name(const char *name)
{
    static const char suffix[] = ".part";
    size_t length = strlen(name);
    return name[0] == '.' && length >= sizeof suffix + 1 && !strcmp(name + length - strlen(suffix), suffix);
}

unsigned hr__part_dots(const char *path)
{
    static const char suffix[] = ".part";
    enum { SUFFIX_BYTES = sizeof suffix - 1 };
    unsigned most = 0;
    for (size_t length; *path; path += length + (path[length] == '/')) {
        length = strcspn(path, "/");
        unsigned dots = (unsigned)strspn(path, ".");
        if (dots > most && length > SUFFIX_BYTES && !strncasecmp(path + length - SUFFIX_BYTES, suffix, SUFFIX_BYTES))
            most = dots;
    }
    return most;
}

/* Beside the final name, so that the rename stays within one folder. A second attempt takes another name: what a failed
 * sync left under the first is not to be trusted. A card that holds names of this shape itself gets numbers, behind
 * more dots than those begin with. */
char *hr__place_part_path(const struct hr_place *place, uint32_t item)
{
    const char *path = card_path(place, item), *name = hr__path_last(path);
    unsigned attempt = place->engine->attempt, dots = place->engine->part_dots[place->engine->job->items[item].card];
    struct hr_text text;
    hr__text_init(&text, PATH_CEILING);
    hr__text_printf(&text, "%s/", from_root(place, landing_of(place, item)->data_path));
    hr__text_append_bytes(&text, path, (size_t)(name - path));
    for (unsigned i = 0; i < dots; i++)
        hr__text_append(&text, ".");
    if (is_long(name) || dots > 0)
        hr__text_printf(&text, ".%u.%u.part", item, attempt);
    else if (attempt > 1)
        hr__text_printf(&text, ".%s.%u.part", name, attempt);
    else
        hr__text_printf(&text, ".%s.part", name);
    return hr__text_take(&text);
}

char *hr__place_aside_path(const struct hr_place *place, uint32_t item, unsigned number)
{
    const char *path = card_path(place, item), *name = hr__path_last(path);
    struct hr_text text;
    hr__text_init(&text, PATH_CEILING);
    hr__text_printf(&text, "%s/", from_root(place, landing_of(place, item)->aside_path));
    hr__text_append_bytes(&text, path, (size_t)(name - path));
    if (is_long(name))
        hr__text_printf(&text, "%u.%u", item, number);
    else
        hr__text_printf(&text, "%s.%u", name, number);
    return hr__text_take(&text);
}

enum hr_status hr__place_folder_enter(struct hr_place_folder *at, const struct hr_place *place, const char *path,
                                      bool make, struct hr_fault *fault)
{
    size_t length = hr__path_folder_length(path);
    if (at->path && strlen(at->path) == length && !memcmp(at->path, path, length))
        return HR_OK;
    hr__place_folder_leave(at);
    char *folder = strndup(path, length);
    if (!folder)
        return hr__fault_nomem(fault, "a folder's name");
    enum hr_status status = make ? hr__folder_make(&place->root, folder, fault) : HR_OK;
    if (!status)
        status = hr__folder_open_below(&at->folder, &place->root, folder, fault);
    if (status)
        free(folder);
    else
        at->path = folder;
    return status;
}

void hr__place_folder_leave(struct hr_place_folder *at)
{
    hr__folder_close(&at->folder);
    free(at->path);
    at->path = NULL;
}

/* ---- Copies ---- */

/* A sync costs the same for one file as for many, so it waits for a batch: so much as the pace says. Less at the
 * beginning, when nothing can be read back before the first, and towards the end, when the last is all that is waited
 * for. */
enum { LAST_BATCHES = 4, CACHED_BYTES_MAX = 128 << 20 };

uint64_t hr__place_batch_bytes_locked(const struct hr_place *place)
{
    uint64_t left = place->wanted_bytes > place->handed_bytes ? place->wanted_bytes - place->handed_bytes : 0;
    uint64_t enough = left / LAST_BATCHES;
    struct hr_pace_batch batch = hr__pace_batch(&place->pace);
    if (enough > place->handed_bytes / 2)
        enough = place->handed_bytes / 2;
    if (enough < batch.least_bytes)
        enough = batch.least_bytes;
    return enough < batch.most_bytes ? enough : batch.most_bytes;
}

bool hr__place_cache_is_full_locked(const struct hr_place *place)
{
    return place->cached_bytes >= hr__place_batch_bytes_locked(place) || place->cached_bytes >= CACHED_BYTES_MAX;
}

bool hr__place_batch_is_full_locked(const struct hr_place *place)
{
    return place->waiting.bytes >= hr__place_batch_bytes_locked(place) ||
           place->waiting.count >= hr__pace_batch(&place->pace).files || hr__place_cache_is_full_locked(place);
}

bool hr__place_may_read_back_locked(struct hr_place *place, int64_t now_ns)
{
    const struct hr_pace_now now = {.at_ns = now_ns,
                                    .is_writing = atomic_load(&place->is_writing),
                                    .backlog_bytes = hr__piece_queue_bytes(&place->queue)};
    return place->input_has_ended || hr__pace_may_read_back(&place->pace, &now);
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
