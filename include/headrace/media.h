/* SPDX-License-Identifier: ISC */
/* Facts a camera wrote into a picture's head. See hr_media_reader for how bytes come in. */
#ifndef HEADRACE_MEDIA_H
#define HEADRACE_MEDIA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { HR_SERIAL_SIZE = 64, HR_MODEL_SIZE = 64, HR_RATING_UNKNOWN = -128 };

/* Zeroed, with rating HR_RATING_UNKNOWN, it knows nothing. Every fact stands as the file has it or is marked absent;
 * none is guessed. */
struct hr_media_facts {
    bool has_time;
    int64_t local_time_s; /* DateTimeOriginal (0x9003), else DateTimeDigitized, as seconds since 1970-01-01 00:00:00 on
                             the camera's own clock */
    uint32_t fraction_ns; /* SubSecTimeOriginal (0x9291) as a fraction of a second, 0 when absent */
    uint8_t fraction_digits; /* digits it was written with, 0 when absent */
    bool has_offset;
    int16_t offset_minutes;      /* OffsetTimeOriginal (0x9011), east of UTC, summer time included */
    char serial[HR_SERIAL_SIZE]; /* BodySerialNumber (0xA431), "" when absent */
    char model[HR_MODEL_SIZE];   /* Model (0x0110) */
    int8_t rating;               /* xmp:Rating rounded towards zero, -1 rejected, 0..5; HR_RATING_UNKNOWN when absent */
    uint32_t width_pixels, height_pixels; /* of the picture as stored; 0 when unknown */
    uint8_t orientation;                  /* 0x0112: 1..8, 0 when absent */
};

/* An incremental reader: it names the byte range it wants next, the caller feeds bytes from anywhere in the file, and
 * it is done when it wants nothing.
 *
 *     hr_media_reader_create(&reader, file_size, &fault);
 *     while (hr_media_reader_wants(reader, &offset, &size)) feed(reader, offset, bytes, got);
 *     hr_media_reader_facts(reader, &facts);
 *
 * Bytes that are fed without having been asked for are used when they help and dropped when not, so a copy passing by
 * may feed everything in order. Input is hostile: sizes, counts and offsets are checked; memory stays under 1 MiB a
 * reader. */
struct hr_media_reader;
HR_API HR_MUST_USE enum hr_status hr_media_reader_create(struct hr_media_reader **out, uint64_t file_size_bytes,
                                                         struct hr_fault *fault);
HR_API void hr_media_reader_destroy(struct hr_media_reader *reader);
HR_API bool hr_media_reader_wants(const struct hr_media_reader *reader, uint64_t *offset, size_t *size);
/* Fewer bytes than wanted are used, and the rest wanted next; feeding 0 bytes at a wanted offset says that the file
 * ends there. */
HR_API void hr_media_reader_feed(struct hr_media_reader *reader, uint64_t offset, const void *bytes, size_t size);
/* What is known so far; complete once nothing is wanted. */
HR_API void hr_media_reader_facts(const struct hr_media_reader *reader, struct hr_media_facts *out);

#ifdef __cplusplus
}
#endif
#endif
