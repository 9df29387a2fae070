/* SPDX-License-Identifier: ISC */
#include "media/maker_notes.h"

#include <libexif/exif-data.h>
#include <stdlib.h>
#include <string.h>

#include "base/checked.h"
#include "media/endian.h"
#include "media/exif_value.h"

/* libexif expects this before the block, and looks at no more of both than 65,534 bytes. */
#define EXIF_NAME "Exif\0"
enum { BLOCK_BYTES = 65534 - sizeof EXIF_NAME };
/* It believes that each of some hundred values may be as long as the block. None of those wanted is long; a list of 256
 * of them just fits, so that its memory stays near 2 MiB. Notes that seem to hold more than VALUE_COUNT are hostile. */
enum { ALLOCATION_BYTES = 8 << 10, VALUE_COUNT = 1024 };

static void *allocate(ExifLong size)
{
    return size <= ALLOCATION_BYTES ? calloc(1, size) : NULL;
}

static void *reallocate(void *memory, ExifLong size)
{
    return size <= ALLOCATION_BYTES ? realloc(memory, size) : NULL;
}

static void set_serial(struct hr_media_facts *facts, const char *value)
{
    if (!facts->maker_serial[0])
        hr__exif_text(facts->maker_serial, sizeof facts->maker_serial, (const unsigned char *)value, strlen(value));
}

/* Where libexif has no words for it, it prints numbers. */
static void set_drive_mode(struct hr_media_facts *facts, const char *value)
{
    if (!facts->drive_mode[0] && (*value < '0' || *value > '9'))
        hr__exif_text(facts->drive_mode, sizeof facts->drive_mode, (const unsigned char *)value, strlen(value));
}

static void set_run_number(struct hr_media_facts *facts, const char *value)
{
    uint64_t number = 0;
    if (facts->run_number < 0 && hr__parse_u64(&number, value, INT32_MAX))
        facts->run_number = (int32_t)number;
}

static void note_value(struct hr_media_facts *facts, ExifMnoteData *notes, unsigned index)
{
    static const struct {
        const char *name;
        void (*set)(struct hr_media_facts *facts, const char *value);
    } names[] = {{"SerialNumber", set_serial},        {"SerialNumber2", set_serial},
                 {"Drive Mode", set_drive_mode},      {"DriveMode", set_drive_mode},
                 {"Sequence Number", set_run_number}, {"ContinuousSequence", set_run_number}};
    char value[128] = ""; /* ends in a NUL that libexif is not told of */
    const char *name = exif_mnote_data_get_name(notes, index);
    for (size_t i = 0; name && i < sizeof names / sizeof *names; i++)
        if (strcmp(name, names[i].name) == 0 && exif_mnote_data_get_value(notes, index, value, sizeof value - 1) &&
            !strstr(value, "unknown"))
            names[i].set(facts, value);
}

static void read_notes(struct hr_media_facts *facts, const unsigned char *block, size_t size)
{
    ExifMem *memory = exif_mem_new(allocate, reallocate, free);
    ExifData *data = memory ? exif_data_new_mem(memory) : NULL;
    if (data) {
        exif_data_unset_option(data, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
        exif_data_load_data(data, block, (unsigned)size);
        ExifMnoteData *notes = exif_data_get_mnote_data(data);
        unsigned count = notes ? exif_mnote_data_count(notes) : 0;
        for (unsigned i = 0; i < count && i < VALUE_COUNT; i++)
            note_value(facts, notes, i);
    }
    exif_data_unref(data);
    exif_mem_unref(memory);
}

/* A TIFF block in memory. */
struct block {
    unsigned char *bytes;
    size_t size;
    bool big_endian;
};
enum { COUNT_BYTES = 2, ENTRY_BYTES = 12, NEXT_BYTES = 4 };

static uint32_t read_value(const struct block *block, size_t entry)
{
    return hr__read_32(block->bytes + entry + 8, block->big_endian);
}

static void write_number(struct block *block, size_t at, uint32_t number, size_t width)
{
    for (size_t i = 0; i < width; i++)
        block->bytes[at + i] = (unsigned char)(number >> 8 * (block->big_endian ? width - 1 - i : i));
}

/* Where the entry for `tag` stands; 0 when there is none, or no whole directory at `at`. */
static size_t find_entry(const struct block *block, size_t at, uint16_t tag)
{
    if (at == 0 || at >= block->size - COUNT_BYTES)
        return 0;
    size_t count = hr__read_16(block->bytes + at, block->big_endian);
    if (COUNT_BYTES + count * ENTRY_BYTES + NEXT_BYTES > block->size - at)
        return 0;
    for (size_t i = 0, entry = at + COUNT_BYTES; i < count; i++, entry += ENTRY_BYTES)
        if (hr__read_16(block->bytes + entry, block->big_endian) == tag)
            return entry;
    return 0;
}

/* Leaves in the directory at `at` only these two of its entries; 0 is none. */
static void prune(struct block *block, size_t at, size_t first, size_t second)
{
    const size_t entries[] = {first, second};
    unsigned char kept[2 * ENTRY_BYTES];
    size_t size = 0;
    for (size_t i = 0; i < 2; i++)
        if (entries[i]) {
            memcpy(kept + size, block->bytes + entries[i], ENTRY_BYTES);
            size += ENTRY_BYTES;
        }
    write_number(block, at, (uint32_t)(size / ENTRY_BYTES), COUNT_BYTES);
    memcpy(block->bytes + at + COUNT_BYTES, kept, size);
    write_number(block, at + COUNT_BYTES + size, 0, NEXT_BYTES);
}

/* libexif finds the notes by their start, or by the maker's name; it reads them from the block and not from the value,
 * which may therefore be said to be short. */
static void leave_notes_alone(struct block *block, size_t first, size_t private, size_t note)
{
    enum { NOTE_BYTES = 1024 };
    size_t count_at = note + 4;
    if (hr__read_32(block->bytes + count_at, block->big_endian) > NOTE_BYTES)
        write_number(block, count_at, NOTE_BYTES, 4);
    size_t make = find_entry(block, first, 0x010f), pointer = find_entry(block, first, 0x8769);
    prune(block, private, note, 0);
    prune(block, first, make, pointer);
}

static void take_block(struct hr_media_reader *reader, const struct hr_media_context *context,
                       const unsigned char *bytes, size_t size)
{
    (void)context;
    enum { HEADER_BYTES = 8 };
    unsigned char *copy = size > HEADER_BYTES ? malloc(sizeof EXIF_NAME + size) : NULL;
    if (!copy)
        return;
    memcpy(copy, EXIF_NAME, sizeof EXIF_NAME);
    memcpy(copy + sizeof EXIF_NAME, bytes, size);
    struct block block = {copy + sizeof EXIF_NAME, size, bytes[0] == 'M'};
    size_t first = hr__read_32(bytes + 4, block.big_endian), pointer = find_entry(&block, first, 0x8769);
    size_t private = pointer ? read_value(&block, pointer) : 0, note = find_entry(&block, private, 0x927c);
    if (note) {
        leave_notes_alone(&block, first, private, note);
        read_notes(&reader->facts, copy, sizeof EXIF_NAME + size);
    }
    free(copy);
}

void hr__maker_notes_want(struct hr_media_reader *reader, uint64_t base, uint64_t end)
{
    uint64_t size = end - base < BLOCK_BYTES ? end - base : BLOCK_BYTES;
    hr__media_want(reader, base, size, take_block, &(struct hr_media_context){0});
}
