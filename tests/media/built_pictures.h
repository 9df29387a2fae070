/* SPDX-License-Identifier: ISC */
/* One picture a container, each with every fact: Body A, serial NM-0042, 2026-05-17 15:04:05.042 +02:00, orientation 6,
 * rating 4, 6000 x 4000 pixels (but where it lacks a size). */
#ifndef HR_TESTS_BUILT_PICTURES_H
#define HR_TESTS_BUILT_PICTURES_H

#include "built_file.h"

static const char xmp_packet[] =
    "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>"
    "<rdf:Description xmlns:xmp='http://ns.adobe.com/xap/1.0/' xmp:Rating='4'/></rdf:RDF></x:xmpmeta>";

enum { EXIF_OFFSET = 400, SUB_OFFSET = 700 };

static void put_exif_directory(struct built_file *file)
{
    directory_begin(file, EXIF_OFFSET, 6);
    text_entry(file, 0x9003, "2026:05:17 15:04:05");
    text_entry(file, 0x9011, "+02:00");
    text_entry(file, 0x9291, "042");
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
}

/* FFE1, length, name, content; the length is filled in by segment_end. */
static size_t segment_begin(struct built_file *file, const char *name, size_t name_size)
{
    put_bytes(file, "\xff\xe1\0\0", 4);
    put_bytes(file, name, name_size);
    return file->size - name_size - 2;
}

static void segment_end(struct built_file *file, size_t length_at)
{
    file->big_endian = true;
    put_at(file, length_at, file->size - length_at, 2);
}

/* From here on a JPEG with a frame header of that size. */
static void put_jpeg(struct built_file *file, bool big_endian, unsigned width, unsigned height)
{
    put_bytes(file, "\xff\xd8", 2);
    size_t exif = segment_begin(file, "Exif\0\0", 6);
    put_attached_exif(file, big_endian);
    segment_end(file, exif);
    size_t xmp = segment_begin(file, "http://ns.adobe.com/xap/1.0/", 29);
    put_bytes(file, xmp_packet, sizeof xmp_packet - 1);
    segment_end(file, xmp);
    put_bytes(file, "\xff\xff\xdb\0\3\0", 6); /* a fill byte before a segment of no interest */
    put_bytes(file, "\xff\xc0\0\x0b\x08", 5);
    file->big_endian = true;
    put(file, height, 2);
    put(file, width, 2);
    put_bytes(file, "\1\1\x11\0\xff\xda\0\2scan", 12);
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
    directory_begin(file, 8, 8);
    entry(file, 0x00fe, 4, 1, 1); /* a reduced picture */
    entry(file, 0x0100, 3, 1, 160);
    entry(file, 0x0101, 3, 1, 120);
    text_entry(file, 0x0110, "Body A");
    entry(file, 0x0112, 3, 1, 6);
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

/* HEIF: items 1 (the picture), 2 (Exif, in the file), 3 (XMP, within the meta box). */
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
    put_bytes(file, "\0\0\0\0\0\3", 6);
    static const char *const types[] = {"hvc1\0", "Exif\0", "mime\0application/rdf+xml\0"};
    static const size_t type_sizes[] = {5, 5, 25};
    for (unsigned i = 0; i < 3; i++) {
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
    put_bytes(file, "\1\0\0\0\x44\0\0\2", 8);
    put_bytes(file, "\0\2\0\0\0\0\0\1", 8);
    size_t exif_at = file->size;
    put(file, 0, 8);
    put_bytes(file, "\0\3\0\1\0\0\0\1", 8);
    put(file, 0, 4);
    put(file, sizeof xmp_packet - 1, 4);
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
    box_end(file, mdat);
}

/* The raw's XMP stands at the top, its directories below moov, its picture in a track. */
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
}

static const struct {
    const char *name;
    void (*build)(struct built_file *file, bool big_endian);
    bool lacks_size;
} built_pictures[] = {{"jpeg", build_jpeg, false},
                      {"raw", build_raw, false},
                      {"heif", build_heif, false},
                      {"bmff raw", build_bmff_raw, false},
                      {"raf", build_raf, true}};
enum { BUILT_PICTURE_COUNT = sizeof built_pictures / sizeof *built_pictures };

#endif
