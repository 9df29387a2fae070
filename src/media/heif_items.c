/* SPDX-License-Identifier: ISC */
#include "media/heif_items.h"

#include <string.h>

#include "media/endian.h"
#include "media/exif_ifd.h"
#include "media/previews.h"
#include "media/xmp.h"

/* A range of bytes read from the front. Past its end it gives zeros and is `broken`. */
struct cursor {
    const unsigned char *at, *end;
    bool broken;
};

static uint64_t read_number(struct cursor *cursor, unsigned bytes)
{
    uint64_t number = 0;
    if (bytes > (size_t)(cursor->end - cursor->at)) {
        cursor->broken = true;
        cursor->at = cursor->end;
        return 0;
    }
    for (; bytes > 0; bytes--)
        number = number << 8 | *cursor->at++;
    return number;
}

/* The next box within `cursor`: true with its content and type. Boxes over 4 GiB do not stand in a `meta` box. */
static bool next_box(struct cursor *content, uint32_t *type, struct cursor *cursor)
{
    const unsigned char *start = cursor->at;
    uint64_t size = read_number(cursor, 4);
    *type = (uint32_t)read_number(cursor, 4);
    if (cursor->broken || size < 8 || size > (size_t)(cursor->end - start))
        return false;
    *content = (struct cursor){cursor->at, start + size, false};
    cursor->at = start + size;
    return true;
}

static uint32_t box_type(const char *name)
{
    return hr__read_32((const unsigned char *)name, true);
}

static struct cursor find_box(struct cursor within, const char *name)
{
    struct cursor content;
    uint32_t type;
    while (next_box(&content, &type, &within))
        if (type == box_type(name))
            return content;
    return (struct cursor){.at = within.end, .end = within.end, .broken = true};
}

struct item {
    uint32_t id; /* 0: there is none */
    uint64_t offset, size;
};

/* The first item of each kind counts, and the first few previews. */
enum { EXIF, XMP, PREVIEW, ITEM_COUNT = PREVIEW + HR_PREVIEWS_MAX };

static uint32_t read_primary(struct cursor meta)
{
    struct cursor pitm = find_box(meta, "pitm");
    uint8_t version = (uint8_t)(read_number(&pitm, 4) >> 24);
    return (uint32_t)read_number(&pitm, version == 0 ? 2 : 4);
}

static bool read_string(struct cursor *cursor, const char **string)
{
    const unsigned char *nul = memchr(cursor->at, '\0', (size_t)(cursor->end - cursor->at));
    if (!nul)
        return false;
    *string = (const char *)cursor->at;
    cursor->at = nul + 1;
    return true;
}

/* Takes the first free place from `first` up to `end`. */
static void note_item(struct item *items, size_t first, size_t end, uint32_t id)
{
    while (first < end && items[first].id)
        first++;
    if (first < end)
        items[first].id = id;
}

/* Entries before version 2 have no type. */
static void read_entry(struct cursor infe, struct item *items, uint32_t primary)
{
    const char *name = "", *content_type = "";
    uint8_t version = (uint8_t)(read_number(&infe, 4) >> 24);
    uint32_t id = (uint32_t)read_number(&infe, version == 2 ? 2 : 4);
    read_number(&infe, 2);
    uint32_t type = (uint32_t)read_number(&infe, 4);
    if (version < 2 || infe.broken)
        return;
    if (type == box_type("Exif"))
        note_item(items, EXIF, EXIF + 1, id);
    if (type == box_type("mime") && read_string(&infe, &name) && read_string(&infe, &content_type) &&
        strcmp(content_type, "application/rdf+xml") == 0)
        note_item(items, XMP, XMP + 1, id);
    if (type == box_type("jpeg") && id != primary)
        note_item(items, PREVIEW, ITEM_COUNT, id);
}

static void read_information(struct cursor meta, struct item *items, uint32_t primary)
{
    struct cursor iinf = find_box(meta, "iinf"), infe;
    uint32_t type;
    uint8_t version = (uint8_t)(read_number(&iinf, 4) >> 24);
    read_number(&iinf, version == 0 ? 2 : 4);
    while (next_box(&infe, &type, &iinf))
        if (type == box_type("infe"))
            read_entry(infe, items, primary);
}

/* Finds the ranges of the items with an id. An item in several pieces, or in another file, is left out. */
static void read_locations(struct cursor meta, uint64_t idat_offset, struct item *items)
{
    enum { IN_FILE = 0, IN_IDAT = 1 };
    struct cursor iloc = find_box(meta, "iloc");
    uint8_t version = (uint8_t)(read_number(&iloc, 4) >> 24);
    unsigned sizes = (unsigned)read_number(&iloc, 2);
    unsigned offset_size = sizes >> 12, length_size = sizes >> 8 & 15, base_size = sizes >> 4 & 15;
    unsigned index_size = version > 0 ? sizes & 15 : 0;
    uint64_t count = read_number(&iloc, version < 2 ? 2 : 4);
    if (offset_size > 8 || length_size > 8 || base_size > 8)
        return;
    for (; count > 0 && !iloc.broken; count--) {
        uint32_t id = (uint32_t)read_number(&iloc, version < 2 ? 2 : 4);
        uint64_t method = version > 0 ? read_number(&iloc, 2) & 15 : IN_FILE;
        uint64_t elsewhere = read_number(&iloc, 2), base = read_number(&iloc, base_size);
        uint64_t extents = read_number(&iloc, 2);
        bool takes_bytes = index_size + offset_size + length_size > 0; /* or many would take time alone */
        for (uint64_t extent = 0; extent < extents && (takes_bytes || extent == 0) && !iloc.broken; extent++) {
            read_number(&iloc, index_size);
            uint64_t offset = read_number(&iloc, offset_size), size = read_number(&iloc, length_size);
            for (size_t i = 0; i < ITEM_COUNT && extents == 1 && !elsewhere && method <= IN_IDAT; i++)
                if (items[i].id && items[i].id == id) {
                    items[i].offset = base + offset + (method == IN_IDAT ? idat_offset : 0);
                    items[i].size = size;
                }
        }
    }
}

/* The `index`-th property, counted from 1, if it is a size. */
static bool read_size_property(struct hr_media_size *out, struct cursor ipco, uint64_t index)
{
    struct cursor property;
    uint32_t type = 0;
    for (uint64_t i = 0; i < index; i++)
        if (!next_box(&property, &type, &ipco))
            return false;
    if (index == 0 || type != box_type("ispe"))
        return false;
    read_number(&property, 4);
    out->width_pixels = (uint32_t)read_number(&property, 4);
    out->height_pixels = (uint32_t)read_number(&property, 4);
    return !property.broken;
}

static void read_picture_size(struct hr_media_size *out, struct cursor meta, uint32_t primary)
{
    struct cursor iprp = find_box(meta, "iprp");
    struct cursor ipco = find_box(iprp, "ipco"), ipma = find_box(iprp, "ipma");
    uint32_t version_and_flags = (uint32_t)read_number(&ipma, 4);
    uint64_t count = read_number(&ipma, 4);
    for (; count > 0 && !ipma.broken; count--) {
        uint64_t id = read_number(&ipma, version_and_flags >> 24 == 0 ? 2 : 4);
        uint64_t properties = read_number(&ipma, 1);
        for (; properties > 0 && !ipma.broken; properties--) {
            bool is_wide = version_and_flags & 1;
            uint64_t index = read_number(&ipma, is_wide ? 2 : 1) & (is_wide ? 0x7fff : 0x7f);
            if (id == primary && read_size_property(out, ipco, index))
                return;
        }
        if (id == primary)
            return; /* an item has one entry */
    }
}

static void take_exif_prefix(struct hr_media_reader *reader, const struct hr_media_context *context,
                             const unsigned char *bytes, size_t size)
{
    uint64_t at = context->base + size + hr__read_32(bytes, true);
    if (at < context->end)
        hr__exif_start(reader, at, context->end, HR_EXIF_BLOCK_ATTACHED);
    else
        hr__media_lose(reader, HR_MEDIA_MALFORMED);
}

static void want_exif(struct hr_media_reader *reader, const struct item *item)
{
    enum { PREFIX_BYTES = 4 };
    if (item->size > reader->file_size_bytes || item->offset > reader->file_size_bytes - item->size) {
        hr__media_lose(reader, HR_MEDIA_CUT_SHORT);
    } else if (item->size > PREFIX_BYTES) {
        struct hr_media_context context = {.base = item->offset, .end = item->offset + item->size};
        hr__media_want(reader, item->offset, PREFIX_BYTES, take_exif_prefix, &context);
    }
}

void hr__heif_take_meta(struct hr_media_reader *reader, const struct hr_media_context *context,
                        const unsigned char *bytes, size_t size)
{
    enum { VERSION_BYTES = 4 };
    struct cursor meta = {bytes, bytes + size, false};
    struct item items[ITEM_COUNT] = {{0}};
    read_number(&meta, VERSION_BYTES);
    struct cursor idat = find_box(meta, "idat");
    uint32_t primary = read_primary(meta);
    read_information(meta, items, primary);
    read_locations(meta, context->base + (uint64_t)(idat.at - bytes), items);
    read_picture_size(&reader->stored, meta, primary);

    want_exif(reader, &items[EXIF]);
    hr__media_want(reader, items[XMP].offset, items[XMP].size, hr__xmp_take, context);
    for (size_t i = PREVIEW; i < ITEM_COUNT; i++)
        hr__previews_add(reader, items[i].offset, items[i].size);
}
