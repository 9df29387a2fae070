/* SPDX-License-Identifier: ISC */
#include "demo_clip.h"

#include <string.h>

/* Seconds from 1904-01-01, where these boxes begin to count, to 1970-01-01. */
static const int64_t since_1904_s = INT64_C(2082844800);

static size_t begin_box(struct demo_bytes *out, const char *name)
{
    demo_bytes_add_big(out, 0, 4);
    demo_bytes_add(out, name, 4);
    return out->size - 8;
}

static void end_box(struct demo_bytes *out, size_t at)
{
    demo_bytes_set_big(out, at, out->size - at, 4);
}

/* Version and flags, then creation and modification time. */
static void add_times(struct demo_bytes *out, const struct demo_clip *clip, unsigned flags)
{
    uint64_t seconds = (uint64_t)(clip->time_ns / 1000000000 + since_1904_s);
    demo_bytes_add_big(out, flags, 4);
    demo_bytes_add_big(out, seconds, 4);
    demo_bytes_add_big(out, seconds, 4);
}

static void add_zeros(struct demo_bytes *out, size_t size)
{
    memset(demo_bytes_grow(out, size), 0, size);
}

static void add_matrix(struct demo_bytes *out)
{
    static const unsigned unity[] = {0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x40000000};
    for (unsigned i = 0; i < 9; i++)
        demo_bytes_add_big(out, unity[i], 4);
}

static unsigned count_pictures(const struct demo_clip *clip)
{
    return (unsigned)(clip->sizes.size / 4);
}

static void add_movie_header(struct demo_bytes *out, const struct demo_clip *clip)
{
    size_t box = begin_box(out, "mvhd");
    add_times(out, clip, 0);
    demo_bytes_add_big(out, DEMO_CLIP_PER_S, 4);
    demo_bytes_add_big(out, count_pictures(clip), 4);
    demo_bytes_add_big(out, 0x10000, 4); /* rate 1 */
    demo_bytes_add_big(out, 0x100, 2);   /* volume 1 */
    add_zeros(out, 10);
    add_matrix(out);
    add_zeros(out, 24);
    demo_bytes_add_big(out, 2, 4); /* next track */
    end_box(out, box);
}

static void add_track_header(struct demo_bytes *out, const struct demo_clip *clip)
{
    enum { ENABLED_IN_MOVIE = 3 };
    size_t box = begin_box(out, "tkhd");
    add_times(out, clip, ENABLED_IN_MOVIE);
    demo_bytes_add_big(out, 1, 4); /* track */
    add_zeros(out, 4);
    demo_bytes_add_big(out, count_pictures(clip), 4);
    add_zeros(out, 16);
    add_matrix(out);
    demo_bytes_add_big(out, (uint64_t)clip->width_pixels << 16, 4);
    demo_bytes_add_big(out, (uint64_t)clip->height_pixels << 16, 4);
    end_box(out, box);
}

static void add_media_header(struct demo_bytes *out, const struct demo_clip *clip)
{
    size_t box = begin_box(out, "mdhd");
    add_times(out, clip, 0);
    demo_bytes_add_big(out, DEMO_CLIP_PER_S, 4);
    demo_bytes_add_big(out, count_pictures(clip), 4);
    demo_bytes_add_big(out, 0x55C4, 2); /* language: undetermined */
    demo_bytes_add_big(out, 0, 2);
    end_box(out, box);
}

static void add_handler(struct demo_bytes *out, const char *type, const char *subtype)
{
    size_t box = begin_box(out, "hdlr");
    demo_bytes_add_big(out, 0, 4);
    demo_bytes_add(out, type, 4);
    demo_bytes_add(out, subtype, 4);
    add_zeros(out, 12);
    demo_bytes_add_big(out, 0, 1); /* an empty name */
    end_box(out, box);
}

static void add_data_reference(struct demo_bytes *out)
{
    enum { SAME_FILE = 1 };
    size_t info = begin_box(out, "dinf"), reference = begin_box(out, "dref");
    demo_bytes_add_big(out, 0, 4);
    demo_bytes_add_big(out, 1, 4);
    size_t self = begin_box(out, "url ");
    demo_bytes_add_big(out, SAME_FILE, 4);
    end_box(out, self);
    end_box(out, reference);
    end_box(out, info);
}

static void add_sample_description(struct demo_bytes *out, const struct demo_clip *clip)
{
    size_t box = begin_box(out, "stsd");
    demo_bytes_add_big(out, 0, 4);
    demo_bytes_add_big(out, 1, 4);
    size_t entry = begin_box(out, "jpeg");
    add_zeros(out, 6);
    demo_bytes_add_big(out, 1, 2); /* data reference */
    add_zeros(out, 16);
    demo_bytes_add_big(out, clip->width_pixels, 2);
    demo_bytes_add_big(out, clip->height_pixels, 2);
    demo_bytes_add_big(out, 72U << 16, 4);
    demo_bytes_add_big(out, 72U << 16, 4);
    add_zeros(out, 4);
    demo_bytes_add_big(out, 1, 2); /* pictures a sample */
    add_zeros(out, 32);
    demo_bytes_add_big(out, 24, 2);     /* bits a pixel */
    demo_bytes_add_big(out, 0xFFFF, 2); /* no colour table */
    end_box(out, entry);
    end_box(out, box);
}

/* A sample table that is a head of 32-bit numbers. */
static void add_table(struct demo_bytes *out, const char *name, const unsigned *numbers, unsigned count)
{
    size_t box = begin_box(out, name);
    demo_bytes_add_big(out, 0, 4);
    for (unsigned i = 0; i < count; i++)
        demo_bytes_add_big(out, numbers[i], 4);
    end_box(out, box);
}

static void add_sample_tables(struct demo_bytes *out, const struct demo_clip *clip)
{
    unsigned pictures = count_pictures(clip);
    const unsigned times[] = {1, pictures, 1}, chunks[] = {1, 1, pictures, 1},
                   offsets[] = {1, (unsigned)clip->data_at + 8};
    size_t box = begin_box(out, "stbl");
    add_sample_description(out, clip);
    add_table(out, "stts", times, 3);
    add_table(out, "stsc", chunks, 4);
    size_t sizes = begin_box(out, "stsz");
    add_zeros(out, 8);
    demo_bytes_add_big(out, pictures, 4);
    demo_bytes_add(out, clip->sizes.data, clip->sizes.size);
    end_box(out, sizes);
    add_table(out, "stco", offsets, 2);
    end_box(out, box);
}

static void add_media(struct demo_bytes *out, const struct demo_clip *clip)
{
    size_t media = begin_box(out, "mdia");
    add_media_header(out, clip);
    add_handler(out, "mhlr", "vide");
    size_t info = begin_box(out, "minf"), video = begin_box(out, "vmhd");
    demo_bytes_add_big(out, 1, 4);
    add_zeros(out, 8);
    end_box(out, video);
    add_handler(out, "dhlr", "url ");
    add_data_reference(out);
    add_sample_tables(out, clip);
    end_box(out, info);
    end_box(out, media);
}

void demo_clip_begin(struct demo_clip *clip, struct demo_bytes *out, unsigned width_pixels, unsigned height_pixels,
                     int64_t time_ns)
{
    *clip = (struct demo_clip){.width_pixels = width_pixels, .height_pixels = height_pixels, .time_ns = time_ns};
    size_t box = begin_box(out, "ftyp");
    demo_bytes_add(out, "qt  \0\0\2\0qt  ", 12);
    end_box(out, box);
    clip->data_at = begin_box(out, "mdat");
}

void demo_clip_add(struct demo_clip *clip, struct demo_bytes *out, const struct demo_bytes *picture)
{
    demo_bytes_add(out, picture->data, picture->size);
    demo_bytes_add_big(&clip->sizes, picture->size, 4);
}

void demo_clip_end(struct demo_clip *clip, struct demo_bytes *out)
{
    end_box(out, clip->data_at);
    size_t movie = begin_box(out, "moov");
    add_movie_header(out, clip);
    size_t track = begin_box(out, "trak");
    add_track_header(out, clip);
    add_media(out, clip);
    end_box(out, track);
    end_box(out, movie);
    demo_bytes_finish(&clip->sizes);
}
