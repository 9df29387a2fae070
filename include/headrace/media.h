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

enum {
    HR_SERIAL_SIZE = 64,
    HR_MODEL_SIZE = 64,
    HR_DRIVE_MODE_SIZE = 32,
    HR_RATING_UNKNOWN = -128,
    HR_PREVIEWS_MAX = 4
};

/* A smaller JPEG of the picture within the file. Its place lies within the file; its bytes were not looked at. */
struct hr_media_preview {
    uint64_t offset, size_bytes;
};

/* Why facts are missing that a picture or clip should have: its time or its size. A file that gave both is fine
 * whatever else is wrong with it, and so is one that gave its time and of whose kind no standard says where the size
 * stands. */
enum hr_media_trouble {
    HR_MEDIA_FINE,
    HR_MEDIA_UNKNOWN_KIND, /* no container that is read here */
    HR_MEDIA_CUT_SHORT,    /* the file ends before something its head points to */
    HR_MEDIA_MALFORMED,    /* its head contradicts itself: circles, counts that cannot be */
    HR_MEDIA_BAD_TIME,     /* a time stands there that is none, as 0000:00:00 00:00:00 */
    HR_MEDIA_NO_TIME
};
/* A few words for a person; NULL for HR_MEDIA_FINE. */
HR_API const char *hr_media_trouble_text(enum hr_media_trouble trouble);

/* Zeroed, with rating HR_RATING_UNKNOWN and run_number -1, it knows nothing. Every fact stands as the file has it or is
 * marked absent; none is guessed. */
struct hr_media_facts {
    bool has_time;
    int64_t local_time_s; /* DateTimeOriginal (0x9003), else DateTimeDigitized, as seconds since 1970-01-01 00:00:00 on
                             the camera's own clock */
    uint32_t fraction_ns; /* SubSecTimeOriginal (0x9291) as a fraction of a second, 0 when absent */
    uint8_t fraction_digits; /* digits it was written with, 0 when absent */
    bool has_offset;
    int16_t offset_minutes;              /* OffsetTimeOriginal (0x9011), east of UTC, summer time included */
    char serial[HR_SERIAL_SIZE];         /* BodySerialNumber (0xA431), "" when absent */
    char maker_serial[HR_SERIAL_SIZE];   /* the body's, from the maker's notes; read only where `serial` is absent */
    char drive_mode[HR_DRIVE_MODE_SIZE]; /* from the maker's notes, as libexif words it; "" when unknown */
    int32_t run_number; /* of the frame within its continuous run, from the maker's notes; bodies that do not count
                           write 0; -1 unknown */
    char model[HR_MODEL_SIZE]; /* Model (0x0110) */
    int8_t rating;             /* xmp:Rating rounded towards zero, -1 rejected, 0..5; HR_RATING_UNKNOWN when absent */
    uint32_t width_pixels, height_pixels;              /* of the picture as stored; 0 when unknown */
    uint8_t orientation;                               /* 0x0112: 1..8, 0 when absent */
    uint32_t iso;                                      /* 0x8827; 0 when absent */
    uint32_t exposure_numerator, exposure_denominator; /* ExposureTime (0x829A) in seconds; 0/0 when absent */
    struct hr_media_preview previews[HR_PREVIEWS_MAX]; /* largest first */
    uint8_t preview_count;
    uint8_t trouble; /* enum hr_media_trouble */
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
 * reader, and under 3 MiB while maker's notes that were made to cost memory are read. */
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
