/* SPDX-License-Identifier: ISC */
#include "offload/heads.h"

#include <stdlib.h>

#include "base/fault.h"
#include "card/frame_row.h"
#include "card/kind.h"

enum { ROW_CEILING = 1 << 17 };

enum hr_status hr__heads_init(struct hr_heads *heads, const struct hr_transfer_item *items, size_t item_count,
                              struct hr_fault *fault)
{
    *heads = (struct hr_heads){.items = items, .item_count = item_count};
    heads->rows = calloc(item_count + 1, sizeof *heads->rows);
    return heads->rows ? HR_OK : hr__fault_nomem(fault, "the frames to note");
}

void hr__heads_finish(struct hr_heads *heads)
{
    for (size_t i = 0; i < HR_FEEDS_MAX; i++)
        hr_media_reader_destroy(heads->readers[i]);
    for (size_t i = 0; heads->rows && i < heads->item_count; i++)
        free(heads->rows[i]);
    free(heads->rows);
    *heads = (struct hr_heads){0};
}

static char *write_row(const struct hr_card_file *file, const struct hr_media_reader *reader)
{
    struct hr_frame_row row = {.path = file->path, .is_protected = file->is_protected};
    struct hr_text text;
    hr__text_init(&text, ROW_CEILING);
    hr_media_reader_facts(reader, &row.facts);
    hr__frame_row_append(&text, &row);
    return hr__text_take(&text);
}

/* Read in an earlier pass, the item has its row already. */
static void begin(struct hr_media_reader **reader, const struct hr_transfer_item *item)
{
    hr_media_reader_destroy(*reader);
    *reader = NULL;
    bool is_known = item->xxh128.kind != HR_DIGEST_NONE;
    if (!is_known && hr__kind_is_picture((enum hr_card_file_kind)item->file->kind) &&
        hr_media_reader_create(reader, item->file->size_bytes, NULL) != HR_OK)
        *reader = NULL; /* no memory: no row */
}

static void hear(void *context, size_t feed, size_t item, uint64_t offset, const void *bytes, size_t size,
                 enum hr_status status)
{
    struct hr_heads *heads = context;
    struct hr_media_reader **reader = &heads->readers[feed];
    uint64_t wanted_offset;
    size_t wanted_size;
    if (offset == 0)
        begin(reader, &heads->items[item]);
    bool wants = *reader && hr_media_reader_wants(*reader, &wanted_offset, &wanted_size);
    if (wants && size > 0)
        hr_media_reader_feed(*reader, offset, bytes, size);
    if (*reader && !wants && size == 0 && status == HR_OK)
        heads->rows[item] = write_row(heads->items[item].file, *reader);
}

struct hr_transfer_listener hr__heads_listener(struct hr_heads *heads)
{
    return (struct hr_transfer_listener){.context = heads, .hear = hear};
}

char *hr__heads_take(struct hr_heads *heads, size_t item)
{
    char *row = heads->rows[item];
    heads->rows[item] = NULL;
    return row;
}
