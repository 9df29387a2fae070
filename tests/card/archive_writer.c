/* SPDX-License-Identifier: ISC */
#include "archive_writer.h"

#include <stdlib.h>
#include <string.h>

enum { TAR_BLOCK_BYTES = 512 };

static void append(unsigned char **bytes, size_t *size, const void *more, size_t more_size)
{
    *bytes = realloc(*bytes, *size + more_size + 1);
    if (!*bytes)
        abort();
    if (more)
        memcpy(*bytes + *size, more, more_size);
    else
        memset(*bytes + *size, 0, more_size);
    *size += more_size;
}

void archive_writer_finish(struct archive_writer *writer)
{
    free(writer->bytes);
    free(writer->directory);
    *writer = (struct archive_writer){0};
}

/* ---- tar ---- */

static void tar_pad(struct archive_writer *tar)
{
    append(&tar->bytes, &tar->size, NULL, (TAR_BLOCK_BYTES - tar->size % TAR_BLOCK_BYTES) % TAR_BLOCK_BYTES);
}

static void put_octal(char *at, size_t digits, uint64_t number)
{
    while (digits-- > 0) {
        at[digits] = (char)('0' + (number & 7));
        number >>= 3;
    }
}

static void tar_header(struct archive_writer *tar, const struct tar_member *member)
{
    char header[TAR_BLOCK_BYTES] = {0};
    unsigned sum = 0;
    memcpy(header, member->name, strnlen(member->name, 100));
    put_octal(header + 100, 7, member->mode ? member->mode : 0644);
    put_octal(header + 108, 7, 0);
    put_octal(header + 116, 7, 0);
    put_octal(header + 124, 11, member->body_size + (uint64_t)member->size_lie);
    put_octal(header + 136, 11, (uint64_t)member->modified_s);
    memset(header + 148, ' ', 8);
    header[156] = member->type ? member->type : '0';
    if (member->link)
        memcpy(header + 157, member->link, strnlen(member->link, 100));
    memcpy(header + 257, "ustar\00000", 8);
    for (size_t i = 0; i < TAR_BLOCK_BYTES; i++)
        sum += (unsigned char)header[i];
    put_octal(header + 148, 6, sum + member->wrong_sum);
    header[154] = '\0';
    append(&tar->bytes, &tar->size, header, TAR_BLOCK_BYTES);
}

void tar_add(struct archive_writer *tar, const struct tar_member *member)
{
    if (member->pax) {
        tar_header(tar, &(struct tar_member){.name = "PaxHeaders/0", .type = 'x', .body_size = strlen(member->pax)});
        append(&tar->bytes, &tar->size, member->pax, strlen(member->pax));
        tar_pad(tar);
    }
    tar_header(tar, member);
    append(&tar->bytes, &tar->size, member->body, member->body_size);
    tar_pad(tar);
}

void tar_end(struct archive_writer *tar)
{
    append(&tar->bytes, &tar->size, NULL, 2 * TAR_BLOCK_BYTES);
}

/* ---- zip: numbers are little-endian ---- */

static unsigned char *put(unsigned char *at, uint64_t number, size_t width)
{
    for (size_t i = 0; i < width; i++)
        at[i] = (unsigned char)(number >> 8 * i);
    return at + width;
}

/* CRC-32 of ISO 3309, as APPNOTE 4.4.7 has it. */
uint32_t zip_sum(const void *bytes, size_t size)
{
    uint32_t sum = 0xffffffff;
    for (size_t i = 0; i < size; i++) {
        sum ^= ((const unsigned char *)bytes)[i];
        for (int bit = 0; bit < 8; bit++)
            sum = sum >> 1 ^ (sum & 1 ? 0xedb88320 : 0);
    }
    return ~sum;
}

/* From the version on up to the length of the name: both headers have it. 2026-05-17 15:04:04 in DOS form. */
static unsigned char *zip_common(unsigned char *at, const struct zip_member *member, int64_t lie, size_t name_size)
{
    at = put(at, 20, 2);
    at = put(at, member->flags, 2);
    at = put(at, member->method, 2);
    at = put(at, 15 << 11 | 4 << 5 | 2, 2);
    at = put(at, 46 << 9 | 5 << 5 | 17, 2);
    at = put(at, zip_sum(member->body, member->body_size) + member->sum_lie, 4);
    at = put(at, (member->packed ? member->packed_size : member->body_size) + (uint64_t)member->packed_lie, 4);
    at = put(at, member->body_size + (uint64_t)(member->size_lie + lie), 4);
    return put(at, name_size, 2);
}

void zip_add(struct archive_writer *zip, const struct zip_member *member)
{
    unsigned char header[46], *at = put(header, 0x04034b50, 4);
    const char *name = member->directory_name ? member->directory_name : member->name;
    size_t begins = zip->size;
    at = zip_common(at, member, member->local_size_lie, strlen(member->name));
    at = put(at, 0, 2);
    append(&zip->bytes, &zip->size, header, (size_t)(at - header));
    append(&zip->bytes, &zip->size, member->name, strlen(member->name));
    append(&zip->bytes, &zip->size, member->packed ? member->packed : member->body,
           member->packed ? member->packed_size : member->body_size);
    at = put(header, 0x02014b50, 4);
    at = put(at, 20 | member->system << 8, 2);
    at = zip_common(at, member, 0, strlen(name));
    at = put(at, 0, 8); /* extra, comment, disk, internal */
    at = put(at, member->attributes, 4);
    at = put(at, begins + member->offset_lie, 4);
    append(&zip->directory, &zip->directory_size, header, (size_t)(at - header));
    append(&zip->directory, &zip->directory_size, name, strlen(name));
    zip->count++;
}

void zip_end(struct archive_writer *zip, int count_lie)
{
    unsigned char end[22], *at = put(end, 0x06054b50, 4);
    uint64_t count = zip->count + (uint64_t)count_lie;
    at = put(at, 0, 4);
    at = put(at, count, 2);
    at = put(at, count, 2);
    at = put(at, zip->directory_size, 4);
    at = put(at, zip->size, 4);
    put(at, 0, 2);
    append(&zip->bytes, &zip->size, zip->directory, zip->directory_size);
    append(&zip->bytes, &zip->size, end, sizeof end);
}

/* ---- ISO 9660: most numbers stand twice, little-endian and big-endian ---- */

static void put_both(unsigned char *at, uint64_t number, size_t width)
{
    put(at, number, width);
    for (size_t i = 0; i < width; i++)
        at[width + i] = (unsigned char)(number >> 8 * (width - 1 - i));
}

/* A directory record (ECMA-119, 9.1); returns its length. */
static size_t iso_record(unsigned char *at, const char *name, size_t name_size, uint32_t sector, uint64_t size,
                         int flags)
{
    size_t length = 33 + name_size + (name_size % 2 == 0);
    at[0] = (unsigned char)length;
    put_both(at + 2, sector, 4);
    put_both(at + 10, size, 4);
    memcpy(at + 18, (const unsigned char[]){126, 5, 17, 15, 4, 5, 0}, 7);
    at[25] = (unsigned char)flags;
    put_both(at + 28, 1, 2);
    at[32] = (unsigned char)name_size;
    memcpy(at + 33, name, name_size);
    return length;
}

struct iso_layout {
    uint32_t sectors[ISO_MEMBERS_MAX], end;
};

static struct iso_layout iso_lay_out(const struct iso_member *members, size_t count)
{
    struct iso_layout layout = {.end = ISO_ROOT_SECTOR + 1};
    for (int files = 0; files < 2; files++)
        for (size_t i = 0; i < count; i++)
            if (members[i].is_folder != files) {
                layout.sectors[i] = layout.end;
                layout.end += files ? (uint32_t)((members[i].body_size + ISO_SECTOR_BYTES - 1) / ISO_SECTOR_BYTES) : 1;
            }
    return layout;
}

static uint32_t iso_sector_of(const struct iso_layout *layout, int folder)
{
    return folder < 0 ? ISO_ROOT_SECTOR : layout->sectors[folder];
}

static void iso_folder(unsigned char *at, const struct iso_layout *layout, const struct iso_member *members,
                       size_t count, int folder)
{
    int above = folder < 0 ? -1 : members[folder].folder;
    at += iso_record(at, "\0", 1, iso_sector_of(layout, folder), ISO_SECTOR_BYTES, 2);
    at += iso_record(at, "\1", 1, iso_sector_of(layout, above), ISO_SECTOR_BYTES, 2);
    for (size_t i = 0; i < count; i++) {
        const struct iso_member *member = &members[i];
        if (member->folder != folder)
            continue;
        uint64_t size = (member->is_folder ? ISO_SECTOR_BYTES : member->body_size) + (uint64_t)member->size_lie;
        at += iso_record(at, member->name, strlen(member->name), member->sector ? member->sector : layout->sectors[i],
                         size, (member->is_folder ? 2 : 0) | (member->goes_on ? 0x80 : 0));
    }
}

/* ECMA-119, 9.4: the root alone, little-endian and in the next sector big-endian; `says` is where the primary
 * descriptor tells of them (8.4.14 to 8.4.18). */
static void iso_path_tables(unsigned char *at, unsigned char *says)
{
    memcpy(at, (const unsigned char[]){1, 0, ISO_ROOT_SECTOR, 0, 0, 0, 1, 0}, 8);
    memcpy(at + ISO_SECTOR_BYTES, (const unsigned char[]){1, 0, 0, 0, 0, ISO_ROOT_SECTOR, 0, 1}, 8);
    put_both(says, 10, 4);
    says[8] = ISO_ROOT_SECTOR - 2;
    says[19] = ISO_ROOT_SECTOR - 1;
}

void iso_build(struct archive_writer *iso, const struct iso_member *members, size_t count, int sectors_lie)
{
    struct iso_layout layout = iso_lay_out(members, count);
    if (layout.end < ISO_SECTORS_MIN)
        layout.end = ISO_SECTORS_MIN;
    append(&iso->bytes, &iso->size, NULL, (size_t)layout.end * ISO_SECTOR_BYTES);
    unsigned char *primary = iso->bytes + 16 * ISO_SECTOR_BYTES, *last = primary + ISO_SECTOR_BYTES;
    iso_path_tables(last + ISO_SECTOR_BYTES, primary + 132);
    memcpy(primary, "\1CD001\1", 7);
    memset(primary + 8, ' ', 64);
    memcpy(primary + 40, "NMERE", 5);
    put_both(primary + 80, layout.end + (uint32_t)sectors_lie, 4);
    put_both(primary + 120, 1, 2);
    put_both(primary + 124, 1, 2);
    put_both(primary + 128, ISO_SECTOR_BYTES, 2);
    iso_record(primary + 156, "\0", 1, ISO_ROOT_SECTOR, ISO_SECTOR_BYTES, 2);
    primary[881] = 1;
    memcpy(last, "\377CD001\1", 7);
    iso_folder(iso->bytes + ISO_ROOT_SECTOR * ISO_SECTOR_BYTES, &layout, members, count, -1);
    for (size_t i = 0; i < count; i++) {
        unsigned char *at = iso->bytes + (size_t)layout.sectors[i] * ISO_SECTOR_BYTES;
        if (members[i].is_folder)
            iso_folder(at, &layout, members, count, (int)i);
        else if (members[i].body_size)
            memcpy(at, members[i].body, members[i].body_size);
    }
}
