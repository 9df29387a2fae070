/* SPDX-License-Identifier: ISC */
/* One picture a container, each with every fact: Body A, serial NM-0042, 2026-05-17 15:04:05.042 +02:00, orientation 6,
 * rating 4, 6000 x 4000 pixels (but where it lacks a size), ISO 3200, 1/1000 s, drive mode Burst (but where it lacks
 * the maker's notes), and previews. */
#ifndef HR_TESTS_BUILT_PICTURES_H
#define HR_TESTS_BUILT_PICTURES_H

#include "built_file.h"

static const char xmp_packet[] =
    "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>"
    "<rdf:Description xmlns:xmp='http://ns.adobe.com/xap/1.0/' xmp:Rating='4'/></rdf:RDF></x:xmpmeta>";

enum { THUMBNAIL_DIRECTORY = 200, EXIF_OFFSET = 400, NOTES_OFFSET = 600, SUB_OFFSET = 700 };
enum { EXPOSURE_OFFSET = 900, THUMBNAIL_OFFSET = 1500, THUMBNAIL_SIZE = 40 };

static void put_jpeg_start(struct built_file *file, size_t at, size_t size)
{
    memcpy(file->bytes + at, "\xff\xd8", 2);
    if (at + size > file->size)
        file->size = at + size;
}

/* A layout that libexif tells by its first bytes: then a directory, with a drive mode (from its source). */
static void put_notes(struct built_file *file)
{
    memcpy(file->bytes + file->base + NOTES_OFFSET, "AOC\0\0", 6);
    size_t resume = file->directory;
    directory_begin(file, NOTES_OFFSET + 6, 1);
    text_entry(file, 0x0034, "Burst");
    file->directory = resume;
}

static void put_exif_directory(struct built_file *file)
{
    directory_begin(file, EXIF_OFFSET, 9);
    entry(file, 0x829a, 5, 1, EXPOSURE_OFFSET);
    put_at(file, file->base + EXPOSURE_OFFSET, 1, 4);
    put_at(file, file->base + EXPOSURE_OFFSET + 4, 1000, 4);
    entry(file, 0x8827, 3, 1, 3200);
    text_entry(file, 0x9003, "2026:05:17 15:04:05");
    text_entry(file, 0x9011, "+02:00");
    text_entry(file, 0x9291, "042");
    entry(file, 0x927c, 7, 30, NOTES_OFFSET);
    put_notes(file);
    entry(file, 0xa002, 4, 1, 6000);
    entry(file, 0xa003, 3, 1, 4000);
    text_entry(file, 0xa431, "NM-0042");
}

static void put_attached_exif(struct built_file *file, bool big_endian)
{
    tiff_begin(file, big_endian);
    directory_begin(file, 8, 3);
    text_entry(file, 0x0110, "Body A");
    entry(file, 0x0112, 3, 1, 6);
    entry(file, 0x8769, 4, 1, EXIF_OFFSET);
    put_exif_directory(file);
    put_at(file, file->base + 8 + 2 + 36, THUMBNAIL_DIRECTORY, 4);
    directory_begin(file, THUMBNAIL_DIRECTORY, 3);
    entry(file, 0x0103, 3, 1, 6);
    entry(file, 0x0201, 4, 1, THUMBNAIL_OFFSET);
    entry(file, 0x0202, 4, 1, THUMBNAIL_SIZE);
    put_jpeg_start(file, file->base + THUMBNAIL_OFFSET, THUMBNAIL_SIZE);
}

/* Marker, length, name, content; the length is filled in by segment_end. */
static size_t segment_begin(struct built_file *file, unsigned char marker, const char *name, size_t name_size)
{
    put_bytes(file, (unsigned char[]){0xff, marker, 0, 0}, 4);
    put_bytes(file, name, name_size);
    return file->size - name_size - 2;
}

static void segment_end(struct built_file *file, size_t length_at)
{
    file->big_endian = true;
    put_at(file, length_at, file->size - length_at, 2);
}

/* A list of two pictures (CIPA DC-007): the first itself, and a large thumbnail, whose place the caller fills in at the
 * offset that comes back. */
static size_t put_picture_list(struct built_file *file, bool big_endian)
{
    enum { LIST_OFFSET = 50, ENTRY_SIZE = 16, LARGE_THUMBNAIL = 0x010002, PRIMARY = 0x030000 };
    tiff_begin(file, big_endian);
    directory_begin(file, 8, 2);
    entry(file, 0xb001, 4, 1, 2);
    entry(file, 0xb002, 7, 2 * ENTRY_SIZE, LIST_OFFSET);
    file->size = file->base + LIST_OFFSET;
    put(file, PRIMARY, 4);
    put(file, 4000, 4);
    put(file, 0, 8);
    put(file, LARGE_THUMBNAIL, 4);
    put(file, THUMBNAIL_SIZE * 2, 4);
    put(file, 0, 8);
    return file->size - 8;
}

/* From here on a JPEG with a frame header of that size. */
static void put_jpeg(struct built_file *file, bool big_endian, unsigned width, unsigned height)
{
    put_bytes(file, "\xff\xd8", 2);
    size_t exif = segment_begin(file, 0xe1, "Exif\0\0", 6);
    put_attached_exif(file, big_endian);
    segment_end(file, exif);
    size_t xmp = segment_begin(file, 0xe1, "http://ns.adobe.com/xap/1.0/", 29);
    put_bytes(file, xmp_packet, sizeof xmp_packet - 1);
    segment_end(file, xmp);
    size_t list = segment_begin(file, 0xe2, "MPF", 4), place = put_picture_list(file, big_endian),
           list_base = file->base;
    segment_end(file, list);
    put_bytes(file, "\xff\xff\xdb\0\3\0", 6); /* a fill byte before a segment of no interest */
    put_bytes(file, "\xff\xc0\0\x0b\x08", 5);
    file->big_endian = true;
    put(file, height, 2);
    put(file, width, 2);
    put_bytes(file, "\1\1\x11\0\xff\xda\0\2scan", 12);
    file->big_endian = big_endian;
    put_at(file, place, file->size - list_base, 4);
    put_jpeg_start(file, file->size, THUMBNAIL_SIZE * 2);
}

static void build_jpeg(struct built_file *file, bool big_endian)
{
    memset(file, 0, sizeof *file);
    put_jpeg(file, big_endian, 6000, 4000);
}

/* A .raf: 8 bytes of any kind, 8 that tell it, and at 84 where its preview stands and how long it is (from memory of
 * such files; real ones are among those of camera_files.sh). The preview is small: the picture's size is the one in its
 * Exif. */
static void build_raf(struct built_file *file, bool big_endian)
{
    memset(file, 0, sizeof *file);
    put_bytes(file, "NORTHMERCCD-RAW ", 16);
    file->size = 148;
    put_jpeg(file, big_endian, 640, 480);
    file->big_endian = true;
    put_at(file, 84, 148, 4);
    put_at(file, 88, file->size - 148, 4);
}

static void build_raw(struct built_file *file, bool big_endian)
{
    memset(file, 0, sizeof *file);
    tiff_begin(file, big_endian);
    directory_begin(file, 8, 11);
    entry(file, 0x00fe, 4, 1, 1); /* a reduced picture */
    entry(file, 0x0100, 3, 1, 160);
    entry(file, 0x0101, 3, 1, 120);
    entry(file, 0x0103, 3, 1, 7);
    text_entry(file, 0x0110, "Body A");
    entry(file, 0x0111, 4, 1, 3000);
    entry(file, 0x0112, 3, 1, 6);
    entry(file, 0x0117, 3, 1, 500);
    put_jpeg_start(file, 3000, 500);
    entry(file, 0x014a, 4, 1, SUB_OFFSET);
    entry(file, 0x02bc, 1, sizeof xmp_packet - 1, 2000);
    entry(file, 0x8769, 4, 1, EXIF_OFFSET);
    put_exif_directory(file);
    directory_begin(file, SUB_OFFSET, 3);
    entry(file, 0x00fe, 4, 1, 0);
    entry(file, 0x0100, 4, 1, 6000);
    entry(file, 0x0101, 4, 1, 4000);
    memcpy(file->bytes + 2000, xmp_packet, sizeof xmp_packet - 1);
    file->size = 4000;
}

/* HEIF: items 1 (the picture), 2 (Exif, in the file), 3 (XMP, within the meta box), 4 (a JPEG, in the file). */
static void build_heif(struct built_file *file, bool big_endian)
{
    memset(file, 0, sizeof *file);
    size_t ftyp = box_begin(file, "ftyp");
    put_bytes(file, "heic\0\0\0\0mif1heic", 16);
    box_end(file, ftyp);
    size_t meta = box_begin(file, "meta");
    put(file, 0, 4);
    size_t pitm = box_begin(file, "pitm");
    put_bytes(file, "\0\0\0\0\0\1", 6);
    box_end(file, pitm);
    size_t iinf = box_begin(file, "iinf");
    put_bytes(file, "\0\0\0\0\0\4", 6);
    static const char *const types[] = {"hvc1\0", "Exif\0", "mime\0application/rdf+xml\0", "jpeg\0"};
    static const size_t type_sizes[] = {5, 5, 25, 5};
    for (unsigned i = 0; i < 4; i++) {
        size_t infe = box_begin(file, "infe");
        put(file, 0x02000000, 4);
        put(file, i + 1, 2);
        put(file, 0, 2);
        put_bytes(file, types[i], type_sizes[i]);
        box_end(file, infe);
    }
    box_end(file, iinf);
    size_t iprp = box_begin(file, "iprp"), ipco = box_begin(file, "ipco");
    size_t other = box_begin(file, "irot");
    put(file, 0, 1);
    box_end(file, other);
    size_t ispe = box_begin(file, "ispe");
    put(file, 0, 4);
    put(file, 6000, 4);
    put(file, 4000, 4);
    box_end(file, ispe);
    box_end(file, ipco);
    size_t ipma = box_begin(file, "ipma");
    put_bytes(file, "\0\0\0\0\0\0\0\1\0\1\2\x81\x02", 13);
    box_end(file, ipma);
    box_end(file, iprp);
    size_t idat = box_begin(file, "idat");
    put_bytes(file, xmp_packet, sizeof xmp_packet - 1);
    box_end(file, idat);
    size_t iloc = box_begin(file, "iloc");
    put_bytes(file, "\1\0\0\0\x44\0\0\3", 8);
    put_bytes(file, "\0\2\0\0\0\0\0\1", 8);
    size_t exif_at = file->size;
    put(file, 0, 8);
    put_bytes(file, "\0\3\0\1\0\0\0\1", 8);
    put(file, 0, 4);
    put(file, sizeof xmp_packet - 1, 4);
    put_bytes(file, "\0\4\0\0\0\0\0\1", 8);
    size_t preview_at = file->size;
    put(file, 0, 8);
    box_end(file, iloc);
    box_end(file, meta);
    size_t mdat = box_begin(file, "mdat");
    put_at(file, exif_at, file->size, 4);
    size_t start = file->size;
    put(file, 6, 4);
    put_bytes(file, "Exif\0\0", 6);
    put_attached_exif(file, big_endian);
    file->big_endian = true;
    put_at(file, exif_at + 4, file->size - start, 4);
    put_at(file, preview_at, file->size, 4);
    put_at(file, preview_at + 4, 100, 4);
    put_jpeg_start(file, file->size, 100);
    box_end(file, mdat);
}

/* Seen in .cr3: 16 bytes with the size, then the JPEG. */
static void put_preview_box(struct built_file *file, const char *type, size_t size_at, size_t size)
{
    size_t box = box_begin(file, type);
    memset(file->bytes + file->size, 0, 16);
    put_at(file, file->size + size_at, size, 4);
    file->size = box + 8 + 16;
    put_jpeg_start(file, file->size, size);
    box_end(file, box);
}

/* The raw's XMP and larger preview stand at the top, its directories and thumbnail below moov, its picture in a track.
 */
static void build_bmff_raw(struct built_file *file, bool big_endian)
{
    memset(file, 0, sizeof *file);
    size_t ftyp = box_begin(file, "ftyp");
    put_bytes(file, "raw \0\0\0\0", 8);
    box_end(file, ftyp);
    size_t moov = box_begin(file, "moov");
    size_t uuid = box_begin(file, "uuid");
    put_bytes(file, "\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48", 16);
    size_t first = box_begin(file, "CMT1");
    tiff_begin(file, big_endian);
    directory_begin(file, 8, 2);
    text_entry(file, 0x0110, "Body A");
    entry(file, 0x0112, 3, 1, 6);
    box_end(file, first);
    size_t second = box_begin(file, "CMT2");
    tiff_begin(file, big_endian);
    put_at(file, file->base + 4, EXIF_OFFSET, 4);
    put_exif_directory(file);
    box_end(file, second);
    put_preview_box(file, "THMB", 8, 100);
    box_end(file, uuid);
    size_t trak = box_begin(file, "trak"), tkhd = box_begin(file, "tkhd");
    memset(file->bytes + file->size, 0, 76);
    file->size += 76;
    put(file, 6000u << 16, 4);
    put(file, 4000u << 16, 4);
    box_end(file, tkhd);
    box_end(file, trak);
    box_end(file, moov);
    size_t top = box_begin(file, "uuid");
    put_bytes(file, "\xbe\x7a\xcf\xcb\x97\xa9\x42\xe8\x9c\x71\x99\x94\x91\xe3\xaf\xac", 16);
    put_bytes(file, xmp_packet, sizeof xmp_packet - 1);
    box_end(file, top);
    size_t preview = box_begin(file, "uuid");
    put_bytes(file, "\xea\xf4\x2b\x5e\x1c\x98\x4b\x88\xb9\xfb\xb7\xdc\x40\x6e\x4d\x16", 16);
    put_bytes(file, "\0\0\0\0\0\0\0\1", 8);
    put_preview_box(file, "PRVW", 12, 300);
    box_end(file, preview);
}

static const struct {
    const char *name;
    void (*build)(struct built_file *file, bool big_endian);
    bool lacks_size, lacks_notes;
    uint8_t preview_count;
} built_pictures[] = {{"jpeg", build_jpeg, false, false, 2},
                      {"raw", build_raw, false, false, 1},
                      {"heif", build_heif, false, false, 2},
                      {"bmff raw", build_bmff_raw, false, true, 2},
                      {"raf", build_raf, true, false, 3}};
enum { BUILT_PICTURE_COUNT = sizeof built_pictures / sizeof *built_pictures };

#endif
