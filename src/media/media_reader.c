/* SPDX-License-Identifier: ISC */
#include "media/media_reader.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "media/previews.h"

/* A want is seldom alone: its neighbours come with the same read. */
enum { READ_AHEAD_BYTES = 64 << 10 };

static const struct hr_media_container *const containers[] = {&hr__container_jpeg, &hr__container_tiff,
                                                              &hr__container_bmff, &hr__container_raf};

static void take_head(struct hr_media_reader *reader, const struct hr_media_context *context,
                      const unsigned char *bytes, size_t size)
{
    (void)context;
    (void)size;
    for (size_t i = 0; i < sizeof containers / sizeof *containers; i++)
        if (containers[i]->recognises(bytes)) {
            reader->is_known = true;
            containers[i]->start(reader);
            return;
        }
}

enum hr_status hr_media_reader_create(struct hr_media_reader **out, uint64_t file_size_bytes, struct hr_fault *fault)
{
    struct hr_media_reader *reader = calloc(1, sizeof *reader);
    if (!reader)
        return hr__fault_nomem(fault, "a media reader");
    reader->file_size_bytes = file_size_bytes < INT64_MAX ? file_size_bytes : INT64_MAX;
    reader->facts.rating = HR_RATING_UNKNOWN;
    reader->facts.run_number = -1;
    hr__media_want(reader, 0, HR_MEDIA_SNIFF_BYTES, take_head, &(struct hr_media_context){0});
    *out = reader;
    return HR_OK;
}

void hr_media_reader_destroy(struct hr_media_reader *reader)
{
    if (!reader)
        return;
    for (size_t i = 0; i < reader->want_count; i++)
        free(reader->wants[i].kept);
    free(reader);
}

void hr__media_want(struct hr_media_reader *reader, uint64_t offset, uint64_t size, hr_media_take *take,
                    const struct hr_media_context *context)
{
    if (size == 0)
        return;
    if (offset > reader->file_size_bytes || size > reader->file_size_bytes - offset) {
        hr__media_lose(reader, HR_MEDIA_CUT_SHORT);
        return;
    }
    if (size > HR_MEDIA_WANT_BYTES || reader->want_count == HR_MEDIA_WANT_COUNT ||
        reader->step_count == HR_MEDIA_STEP_COUNT) {
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
        return;
    }
    reader->step_count++;
    reader->wants[reader->want_count++] =
        (struct hr_media_want){.offset = offset, .size = (size_t)size, .take = take, .context = *context};
}

bool hr__media_visit(struct hr_media_reader *reader, uint64_t offset)
{
    bool is_new = reader->visit_count < HR_MEDIA_VISIT_COUNT;
    for (size_t i = 0; i < reader->visit_count; i++)
        is_new = is_new && reader->visits[i] != offset;
    if (is_new)
        reader->visits[reader->visit_count++] = offset;
    else
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
    return is_new;
}

/* Of the first byte that is still to come. */
static uint64_t position(const struct hr_media_want *want)
{
    return want->offset + want->have;
}

bool hr_media_reader_wants(const struct hr_media_reader *reader, uint64_t *offset, size_t *size)
{
    const struct hr_media_want *lowest = NULL;
    for (size_t i = 0; i < reader->want_count; i++)
        if (!lowest || position(&reader->wants[i]) < position(lowest))
            lowest = &reader->wants[i];
    if (!lowest)
        return false;
    uint64_t to_end = reader->file_size_bytes - position(lowest);
    size_t missing = lowest->size - lowest->have;
    *offset = position(lowest);
    *size = missing > READ_AHEAD_BYTES ? missing : to_end < READ_AHEAD_BYTES ? (size_t)to_end : READ_AHEAD_BYTES;
    return true;
}

static struct hr_media_want remove_want(struct hr_media_reader *reader, struct hr_media_want *want)
{
    struct hr_media_want removed = *want;
    *want = reader->wants[--reader->want_count];
    return removed;
}

static void release(struct hr_media_reader *reader, const struct hr_media_want *want)
{
    reader->kept_bytes -= want->kept ? want->size : 0;
    free(want->kept);
}

static void drop_want(struct hr_media_reader *reader, struct hr_media_want *want)
{
    struct hr_media_want dropped = remove_want(reader, want);
    release(reader, &dropped);
}

/* Keeps the part that came. False when there is no room for it. */
static bool keep(struct hr_media_reader *reader, struct hr_media_want *want, const unsigned char *bytes, size_t size)
{
    if (!want->kept) {
        if (want->size > HR_MEDIA_KEPT_BYTES - reader->kept_bytes)
            return false;
        want->kept = malloc(want->size);
        if (!want->kept)
            return false;
        reader->kept_bytes += want->size;
    }
    memcpy(want->kept + want->have, bytes, size);
    want->have += size;
    return true;
}

/* The lowest want that goes on within the range, NULL when none does: from front to back, so that of two values for one
 * fact the same one is met first however the bytes come. */
static struct hr_media_want *next_within(struct hr_media_reader *reader, uint64_t offset, size_t size)
{
    struct hr_media_want *next = NULL;
    for (size_t i = 0; i < reader->want_count; i++) {
        struct hr_media_want *want = &reader->wants[i];
        uint64_t at = position(want);
        if (at >= offset && at - offset < size && (!next || at < position(next)))
            next = want;
    }
    return next;
}

static void offer(struct hr_media_reader *reader, uint64_t offset, const unsigned char *bytes, size_t size);

/* `bytes` are the whole range, or what was kept is. */
static void take(struct hr_media_reader *reader, struct hr_media_want *want, const unsigned char *bytes)
{
    struct hr_media_want taken = remove_want(reader, want);
    taken.take(reader, &taken.context, taken.kept ? taken.kept : bytes, taken.size);
    /* A copy passing by will not bring these bytes again, and what was just taken may want more of them. */
    if (taken.kept)
        offer(reader, taken.offset, taken.kept, taken.size);
    release(reader, &taken);
}

static void offer(struct hr_media_reader *reader, uint64_t offset, const unsigned char *bytes, size_t size)
{
    for (struct hr_media_want *want; (want = next_within(reader, offset, size)) != NULL;) {
        const unsigned char *from = bytes + (position(want) - offset);
        size_t there = (size_t)(bytes + size - from), missing = want->size - want->have;
        size_t used = there < missing ? there : missing;
        if (used < want->size && !keep(reader, want, from, used))
            drop_want(reader, want);
        else if (used == missing)
            take(reader, want, from);
    }
}

static void end_file(struct hr_media_reader *reader, uint64_t size_bytes)
{
    reader->file_size_bytes = size_bytes;
    hr__previews_trim(reader);
    hr__media_lose(reader, HR_MEDIA_CUT_SHORT);
    for (size_t i = reader->want_count; i-- > 0;)
        if (reader->wants[i].offset + reader->wants[i].size > size_bytes)
            drop_want(reader, &reader->wants[i]);
}

void hr_media_reader_feed(struct hr_media_reader *reader, uint64_t offset, const void *bytes, size_t size)
{
    uint64_t wanted_offset = 0;
    size_t wanted_size = 0;
    if (size == 0 && hr_media_reader_wants(reader, &wanted_offset, &wanted_size) && offset == wanted_offset)
        end_file(reader, offset);
    offer(reader, offset, bytes, size);
}

void hr_media_reader_facts(const struct hr_media_reader *reader, struct hr_media_facts *out)
{
    const struct hr_media_moment *moments[] = {&reader->original, &reader->digitized, &reader->recorded};
    const struct hr_media_moment *moment = NULL;
    for (size_t i = 0; !moment && i < sizeof moments / sizeof *moments; i++)
        moment = moments[i]->has_time ? moments[i] : NULL;
    const struct hr_media_size *picture = &reader->stored;
    if (picture->width_pixels == 0 && reader->exif_size_is_stored)
        picture = &reader->exif;

    *out = reader->facts;
    if (picture->width_pixels > 0 && picture->height_pixels > 0) {
        out->width_pixels = picture->width_pixels;
        out->height_pixels = picture->height_pixels;
    }
    if (moment) {
        out->has_time = true;
        out->local_time_s = moment->local_time_s;
        out->fraction_ns = moment->fraction_ns;
        out->fraction_digits = moment->fraction_digits;
        out->has_offset = moment->has_offset;
        out->offset_minutes = moment->offset_minutes;
    }
    if (out->serial[0])
        out->maker_serial[0] = '\0';
    out->trouble = (uint8_t)hr__media_trouble(reader, out);
}
