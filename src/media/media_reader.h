/* SPDX-License-Identifier: ISC */
/* The inside of a reader, as the containers see it.
 *
 * A container never holds the file: it names a range and the function that takes the bytes when they have come, in
 * whatever order that is. That function may want more. Nothing is wanted twice, nothing past the end of the file, and
 * no more than a fixed number of times, so every file comes to an end. */
#ifndef HR_MEDIA_MEDIA_READER_H
#define HR_MEDIA_MEDIA_READER_H

#include <headrace/media.h>

enum {
    HR_MEDIA_WANT_BYTES = 256 << 10, /* one range at most */
    HR_MEDIA_KEPT_BYTES = 384 << 10, /* all ranges that came in part */
    HR_MEDIA_WANT_COUNT = 64,        /* open at a time */
    HR_MEDIA_STEP_COUNT = 2048,      /* taken in a reader's life */
    HR_MEDIA_VISIT_COUNT = 64
};

/* What a taking function needs to go on; each container uses the part it wants. */
struct hr_media_context {
    uint64_t base, end; /* offsets count from `base`; nothing at or past `end` belongs to this block */
    uint64_t at;        /* of the structure the bytes belong to */
    uint32_t count;
    uint16_t type;
    uint8_t field; /* index into a table of the container's own */
    uint8_t level; /* enum hr_exif_directory, or the container's own */
    bool big_endian;
    bool is_file; /* TIFF: the directories hold the file's pictures */
};

typedef void hr_media_take(struct hr_media_reader *reader, const struct hr_media_context *context,
                           const unsigned char *bytes, size_t size);

struct hr_media_want {
    uint64_t offset;
    size_t size, have;
    unsigned char *kept; /* owned; the first `have` bytes, NULL while none came */
    hr_media_take *take;
    struct hr_media_context context;
};

struct hr_media_moment {
    bool has_time, has_offset;
    bool is_bad; /* a time stands there that is none */
    int64_t local_time_s;
    uint32_t fraction_ns;
    uint8_t fraction_digits; /* 0 when absent */
    int16_t offset_minutes;
};

struct hr_media_size {
    uint32_t width_pixels, height_pixels;
};

struct hr_media_reader {
    uint64_t file_size_bytes;
    struct hr_media_want wants[HR_MEDIA_WANT_COUNT];
    size_t want_count, kept_bytes, step_count;
    uint64_t visits[HR_MEDIA_VISIT_COUNT];
    size_t visit_count;
    bool is_known;              /* one of the containers */
    enum hr_media_trouble lost; /* why the first thing was lost that could not be read */

    struct hr_media_facts facts;                          /* serial, model, rating, orientation stand here at once */
    struct hr_media_moment original, digitized, recorded; /* the first that has a time goes into the facts */
    struct hr_media_size stored;                          /* of the picture itself */
    struct hr_media_size exif;                            /* PixelXDimension and PixelYDimension */
    bool exif_size_is_stored; /* the container keeps its pixels where no standard field gives their size */
};

/* One container: found by its first bytes. */
enum { HR_MEDIA_SNIFF_BYTES = 16 };
struct hr_media_container {
    const char *name;
    bool (*recognises)(const unsigned char head[HR_MEDIA_SNIFF_BYTES]);
    void (*start)(struct hr_media_reader *reader);
};
extern const struct hr_media_container hr__container_bmff, hr__container_jpeg, hr__container_raf, hr__container_tiff;

/* A range that makes no sense, or one too many, is dropped: the facts in it are lost. An empty one has none. */
void hr__media_want(struct hr_media_reader *reader, uint64_t offset, uint64_t size, hr_media_take *take,
                    const struct hr_media_context *context);
/* True the first time it is asked for `offset`: guards against structures that point in a circle. */
bool hr__media_visit(struct hr_media_reader *reader, uint64_t offset);

/* trouble.c: something that may hold facts cannot be read. */
void hr__media_lose(struct hr_media_reader *reader, enum hr_media_trouble why);
/* The same, for it would lie past `end`: of the file, or of a block within it. */
void hr__media_lose_past(struct hr_media_reader *reader, uint64_t end);
/* What was lost counts when `facts` lack time or size. */
enum hr_media_trouble hr__media_trouble(const struct hr_media_reader *reader, const struct hr_media_facts *facts);

#endif
