/* SPDX-License-Identifier: ISC */
#include "media/media_reader.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"

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
    if (size == 0 || size > HR_MEDIA_WANT_BYTES || reader->want_count == HR_MEDIA_WANT_COUNT)
        return;
    if (offset > reader->file_size_bytes || size > reader->file_size_bytes - offset)
        return;
    if (reader->step_count++ >= HR_MEDIA_STEP_COUNT)
        return;
    reader->wants[reader->want_count++] =
        (struct hr_media_want){.offset = offset, .size = (size_t)size, .take = take, .context = *context};
}

bool hr__media_visit(struct hr_media_reader *reader, uint64_t offset)
{
    for (size_t i = 0; i < reader->visit_count; i++)
        if (reader->visits[i] == offset)
            return false;
    if (reader->visit_count == HR_MEDIA_VISIT_COUNT)
        return false;
    reader->visits[reader->visit_count++] = offset;
    return true;
}

bool hr_media_reader_wants(const struct hr_media_reader *reader, uint64_t *offset, size_t *size)
{
    const struct hr_media_want *lowest = NULL;
    for (size_t i = 0; i < reader->want_count; i++) {
        const struct hr_media_want *want = &reader->wants[i];
        if (!lowest || want->offset + want->have < lowest->offset + lowest->have)
            lowest = want;
    }
    if (!lowest)
        return false;
    uint64_t to_end = reader->file_size_bytes - (lowest->offset + lowest->have);
    size_t missing = lowest->size - lowest->have;
    *offset = lowest->offset + lowest->have;
    *size = missing > READ_AHEAD_BYTES ? missing : to_end < READ_AHEAD_BYTES ? (size_t)to_end : READ_AHEAD_BYTES;
    return true;
}

static struct hr_media_want remove_want(struct hr_media_reader *reader, size_t index)
{
    struct hr_media_want want = reader->wants[index];
    reader->wants[index] = reader->wants[--reader->want_count];
    if (want.kept)
        reader->kept_bytes -= want.size;
    return want;
}

static void drop_want(struct hr_media_reader *reader, size_t index)
{
    struct hr_media_want want = remove_want(reader, index);
    free(want.kept);
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

/* True when the want is gone: taken, or dropped. */
static bool feed_want(struct hr_media_reader *reader, size_t index, uint64_t offset, const unsigned char *bytes,
                      size_t size)
{
    struct hr_media_want *want = &reader->wants[index];
    uint64_t at = want->offset + want->have;
    if (at < offset || at - offset >= size)
        return false;
    bytes += at - offset;
    size -= (size_t)(at - offset);
    size_t missing = want->size - want->have;
    bool is_whole = size >= missing;
    if (!is_whole || want->have > 0) {
        if (!keep(reader, want, bytes, is_whole ? missing : size)) {
            drop_want(reader, index);
            return true;
        }
        if (!is_whole)
            return false;
        bytes = want->kept;
    }
    struct hr_media_want taken = remove_want(reader, index);
    taken.take(reader, &taken.context, bytes, taken.size);
    free(taken.kept);
    return true;
}

static void end_file(struct hr_media_reader *reader, uint64_t size_bytes)
{
    reader->file_size_bytes = size_bytes;
    for (size_t i = reader->want_count; i-- > 0;)
        if (reader->wants[i].offset + reader->wants[i].size > size_bytes)
            drop_want(reader, i);
}

void hr_media_reader_feed(struct hr_media_reader *reader, uint64_t offset, const void *bytes, size_t size)
{
    uint64_t wanted_offset = 0;
    size_t wanted_size = 0;
    if (size == 0 && hr_media_reader_wants(reader, &wanted_offset, &wanted_size) && offset == wanted_offset)
        end_file(reader, offset);
    /* A want that was taken may have left new ones that lie in the same bytes. */
    for (size_t i = 0; i < reader->want_count;)
        i = feed_want(reader, i, offset, bytes, size) ? 0 : i + 1;
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
    if (!moment)
        return;
    out->has_time = true;
    out->local_time_s = moment->local_time_s;
    out->fraction_ns = moment->fraction_ns;
    out->fraction_digits = moment->fraction_digits;
    out->has_offset = moment->has_offset;
    out->offset_minutes = moment->offset_minutes;
}
