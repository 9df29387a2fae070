/* SPDX-License-Identifier: ISC */
/* Archives built byte by byte, right ones and such as no honest program would write. By POSIX pax ("ustar Interchange
 * Format"), the zip APPNOTE 6.3 and ECMA-119; each writer's right output is held against outside programs in
 * archives_test.sh. */
#ifndef HR_TESTS_ARCHIVE_WRITER_H
#define HR_TESTS_ARCHIVE_WRITER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct archive_writer {
    unsigned char *bytes; /* owned */
    size_t size;
    /* of a zip: */
    unsigned char *directory; /* owned */
    size_t directory_size;
    unsigned count;
};
void archive_writer_finish(struct archive_writer *writer);

/* What is zero or NULL is as it should be. */
struct tar_member {
    const char *name; /* at most 100 bytes; longer by way of `pax` */
    char type;        /* '0': a file */
    const char *link;
    const void *body;
    size_t body_size;
    int64_t size_lie; /* added to the size it declares */
    unsigned mode;    /* 0644 */
    int64_t modified_s;
    bool wrong_sum;
    const char *pax; /* records of an extended header before it, "30 mtime=1350244992.023960108\n" */
};
void tar_add(struct archive_writer *tar, const struct tar_member *member);
/* Two blocks of zeros. */
void tar_end(struct archive_writer *tar);

struct zip_member {
    const char *name;
    const char *directory_name; /* where the central directory calls it otherwise */
    const void *body;
    size_t body_size;
    const void *packed; /* the body as `method` has it; NULL: as it is */
    size_t packed_size;
    int64_t size_lie, local_size_lie; /* added to the uncompressed size, in both places or in the local header alone */
    int64_t packed_lie;               /* added to the compressed size, in both places */
    uint32_t sum_lie;                 /* added to the CRC-32, in both places */
    unsigned flags;                   /* general purpose bits: 1 encrypted, 0x800 name is UTF-8 */
    unsigned method;                  /* 0 stored, 8 deflated */
    unsigned system;                  /* 3 unix, 0 DOS */
    uint32_t attributes;              /* external; unix: mode << 16 */
    uint32_t offset_lie;              /* added to where the central directory finds it */
};
void zip_add(struct archive_writer *zip, const struct zip_member *member);
/* The central directory and its end; `count_lie` is added to the number of entries it says. */
void zip_end(struct archive_writer *zip, int count_lie);
uint32_t zip_sum(const void *bytes, size_t size);

/* An image without extensions: names are upper case with a version. Members stand in the order given; a folder comes
 * before what is in it. */
struct iso_member {
    const char *name;
    int folder; /* index of the folder it stands in; -1 the root */
    bool is_folder;
    const void *body;
    size_t body_size;
    int64_t size_lie;
    uint32_t sector; /* not 0: where it is said to begin */
    bool goes_on;    /* another extent follows */
};
enum { ISO_SECTOR_BYTES = 2048, ISO_ROOT_SECTOR = 20, ISO_SECTORS_MIN = 24, ISO_MEMBERS_MAX = 64 };
/* Two path tables, which nobody reads any more, of the root alone; folders take a sector each from ISO_ROOT_SECTOR on,
 * the root first, then files. `sectors_lie` is added to the size of the volume. */
void iso_build(struct archive_writer *iso, const struct iso_member *members, size_t count, int sectors_lie);

#endif
