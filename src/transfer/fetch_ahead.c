/* SPDX-License-Identifier: ISC */
#include "transfer/fetch_ahead.h"

#include <stdlib.h>

#include "base/fault.h"
#include "platform/machine.h"

enum hr_status hr__fetch_ahead_init(struct hr_fetch_ahead *ahead, struct hr_read_back *read_back,
                                    const struct hr_copy_list *list, struct hr_fault *fault)
{
    *ahead = (struct hr_fetch_ahead){.read_back = read_back, .list = list, .at = HR_PLACE_FOLDER_CLOSED};
    ahead->memory = hr__aligned_alloc(HR_FETCH_AHEAD_BYTES);
    return ahead->memory ? HR_OK : hr__fault_nomem(fault, "the read-back");
}

void hr__fetch_ahead_finish(struct hr_fetch_ahead *ahead)
{
    hr__fetch_ahead_drop(ahead);
    hr__aligned_free(ahead->memory);
}

static struct hr_fetch_copy *nth_copy(struct hr_fetch_ahead *ahead, size_t n)
{
    return &ahead->copies[(ahead->first_copy + n) % HR_ASYNC_READS_MAX];
}

static struct hr_fetch_stretch *nth_stretch(struct hr_fetch_ahead *ahead, size_t n)
{
    return &ahead->stretches[(ahead->first_stretch + n) % HR_ASYNC_READS_MAX];
}

/* ---- Asking ---- */

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

/* False when the list has no more. What cannot be opened is read the plain way later, and says then what is wrong. */
static bool add_copy(struct hr_fetch_ahead *ahead)
{
    struct hr_place *place = ahead->read_back->place;
    const struct hr_pending_copy *copy = ahead->list->first;
    for (size_t i = 0; copy && i < ahead->copy_count; i++)
        copy = copy->next;
    if (!copy || ahead->copy_count == HR_ASYNC_READS_MAX)
        return false;
    struct hr_fetch_copy *added = nth_copy(ahead, ahead->copy_count++);
    *added =
        (struct hr_fetch_copy){.file = HR_FILE_CLOSED, .size = place->engine->job->items[copy->item].file->size_bytes};
    added->path = copy->is_adopted ? hr__place_final_path(place, copy->item) : hr__place_part_path(place, copy->item);
    if (added->path && hr__place_folder_enter(&ahead->at, place, added->path, false, NULL) == HR_OK)
        (void)hr__read_back_open_to_ask(&added->file, ahead->read_back, &ahead->at.folder, added->path);
    return true;
}

/* The one whose next stretch is to be asked for; NULL: there is none. */
static struct hr_fetch_copy *copy_to_ask(struct hr_fetch_ahead *ahead)
{
    do {
        struct hr_fetch_copy *newest = ahead->copy_count ? nth_copy(ahead, ahead->copy_count - 1) : NULL;
        if (newest && newest->file.descriptor >= 0 && newest->asked < newest->size)
            return newest;
    } while (add_copy(ahead));
    return NULL;
}

/* One stretch always may; further ones while no more than `most` bytes are under way. */
static bool ask_for(struct hr_fetch_copy *copy, struct hr_fetch_ahead *ahead, uint64_t most)
{
    uint64_t left = copy->size - copy->asked, size = left < HR_BLOCK_BYTES ? left : HR_BLOCK_BYTES;
    size_t room = left > HR_BLOCK_BYTES ? HR_BLOCK_BYTES : hr__medium_room_for(left);
    struct hr_fetch_stretch stretch = {.size = size};
    const struct hr_fetch_span *oldest = ahead->stretch_count ? &nth_stretch(ahead, 0)->span : NULL;
    const struct hr_fetch_span *newest = oldest ? &nth_stretch(ahead, ahead->stretch_count - 1)->span : NULL;
    if (ahead->stretch_count == HR_ASYNC_READS_MAX || (oldest && ahead->under_way + size > most) ||
        !hr__fetch_span_find(&stretch.span, oldest, newest, room))
        return false;
    struct hr_fetch_stretch *asked = nth_stretch(ahead, ahead->stretch_count++);
    *asked = stretch;
    hr__async_read_ask(&ahead->read_back->reads, (size_t)(asked - ahead->stretches), &copy->file,
                       ahead->memory + stretch.span.begin, copy->asked, room);
    copy->asked += size;
    copy->stretches++;
    ahead->under_way += size;
    return true;
}

/* Beside writing no more is under way than a write is long, or reading would get the larger share: but where that was
 * found to cost writing little. */
static uint64_t most_under_way(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    bool is_free = hr__pace_reads_beside(&place->pace);
    hr__lock_drop(&place->lock);
    return is_free || !atomic_load(&place->is_writing) ? HR_FETCH_AHEAD_BYTES : HR_BLOCK_BYTES;
}

/* Sends all from the n-th stretch on. What the drive must read of each is counted in whole borders: in bytes, the ends
 * of small copies could make up for one that memory answered. */
static void send_from(struct hr_fetch_ahead *ahead, size_t n)
{
    struct hr_read_back *read_back = ahead->read_back;
    uint64_t bytes = 0;
    for (size_t i = n; i < ahead->stretch_count; i++)
        bytes += hr__direct_border(nth_stretch(ahead, i)->size);
    bool is_from_device = bytes > 0 && hr__medium_send(&read_back->reads, &read_back->count, bytes);
    for (size_t i = n; i < ahead->stretch_count; i++)
        nth_stretch(ahead, i)->is_from_device = is_from_device;
}

/* Once half of what may be under way has come, as much is sent in one go, which costs the system less than one by one.
 */
static void fill(struct hr_fetch_ahead *ahead)
{
    struct hr_place *place = ahead->read_back->place;
    size_t count_before = ahead->stretch_count;
    struct hr_fetch_copy *copy;
    if (!place->is_counted || count_before > HR_ASYNC_READS_MAX / 2)
        return;
    uint64_t most = most_under_way(place);
    if (ahead->under_way > most / 2)
        return;
    while ((copy = copy_to_ask(ahead)) && ask_for(copy, ahead, most))
        ;
    send_from(ahead, count_before);
}

/* ---- Taking ---- */

/* Waits for the first stretch, which is of the first copy, and lets go of it; its bytes stand until others are asked
 * for. NULL: something else came. */
static const unsigned char *next_bytes(size_t *size, struct hr_fetch_ahead *ahead)
{
    struct hr_fetch_stretch stretch = *nth_stretch(ahead, 0);
    size_t got = hr__async_read_wait(&ahead->read_back->reads, ahead->first_stretch);
    ahead->first_stretch = (ahead->first_stretch + 1) % HR_ASYNC_READS_MAX;
    ahead->stretch_count--;
    ahead->under_way -= stretch.size;
    nth_copy(ahead, 0)->stretches--;
    *size = (size_t)stretch.size;
    return stretch.is_from_device && got == stretch.size ? ahead->memory + stretch.span.begin : NULL;
}

/* What writing the file left in the page cache nobody needs any more, and its pages are the warmest for the next. */
static void drop_first(struct hr_fetch_ahead *ahead)
{
    struct hr_fetch_copy *copy = nth_copy(ahead, 0);
    size_t size;
    while (copy->stretches > 0)
        (void)next_bytes(&size, ahead);
    if (copy->file.descriptor >= 0) {
        hr__file_drop_cache(&copy->file);
        (void)hr__file_close(&copy->file, NULL);
    }
    free(copy->path);
    ahead->first_copy = (ahead->first_copy + 1) % HR_ASYNC_READS_MAX;
    ahead->copy_count--;
}

static bool digest_next(uint64_t *done, struct hr_fetch_ahead *ahead)
{
    size_t size;
    const unsigned char *bytes = next_bytes(&size, ahead);
    if (!bytes)
        return false;
    hr_hasher_update(ahead->read_back->hasher, bytes, size);
    atomic_fetch_add(&ahead->read_back->place->read_back_bytes, size);
    *done += size;
    return true;
}

static bool take_turn(struct hr_read_back *read_back)
{
    atomic_store(&read_back->place->is_reading_back, false);
    bool may_read = read_back->take_turn(read_back->context);
    atomic_store(&read_back->place->is_reading_back, true);
    return may_read;
}

static bool digest_first(struct hr_digest *digest, struct hr_fetch_ahead *ahead)
{
    struct hr_read_back *read_back = ahead->read_back;
    const struct hr_fetch_copy *copy = nth_copy(ahead, 0);
    uint64_t done = 0;
    hr_hasher_restart(read_back->hasher);
    while (done < copy->size) {
        if (done > 0 && !take_turn(read_back))
            return false;
        fill(ahead);
        if (!digest_next(&done, ahead))
            return false;
    }
    *digest = hr_hasher_finish(read_back->hasher);
    return true;
}

static bool take_first(struct hr_digest *digest, struct hr_fetch_ahead *ahead)
{
    fill(ahead);
    if (ahead->copy_count == 0)
        return false;
    const struct hr_fetch_copy *copy = nth_copy(ahead, 0);
    bool is_whole = copy->file.descriptor >= 0 && copy->size > 0 && digest_first(digest, ahead);
    drop_first(ahead);
    return is_whole;
}

bool hr__fetch_ahead_take(struct hr_digest *digest, struct hr_fetch_ahead *ahead)
{
    struct hr_place *place = ahead->read_back->place;
    atomic_store(&place->is_reading_back, true);
    bool is_whole = take_first(digest, ahead);
    atomic_store(&place->is_reading_back, false);
    return is_whole;
}

void hr__fetch_ahead_drop(struct hr_fetch_ahead *ahead)
{
    while (ahead->copy_count > 0)
        drop_first(ahead);
    hr__place_folder_leave(&ahead->at);
}
