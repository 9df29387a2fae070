/* SPDX-License-Identifier: ISC */
#include "media/previews.h"

#include <string.h>

static bool is_within(const struct hr_media_reader *reader, const struct hr_media_preview *preview)
{
    return preview->offset < reader->file_size_bytes &&
           preview->size_bytes <= reader->file_size_bytes - preview->offset;
}

static bool is_known(const struct hr_media_facts *facts, const struct hr_media_preview *preview)
{
    for (size_t i = 0; i < facts->preview_count; i++)
        if (facts->previews[i].offset == preview->offset)
            return true;
    return false;
}

void hr__previews_add(struct hr_media_reader *reader, uint64_t offset, uint64_t size_bytes)
{
    struct hr_media_facts *facts = &reader->facts;
    struct hr_media_preview preview = {offset, size_bytes};
    if (size_bytes == 0 || !is_within(reader, &preview) || is_known(facts, &preview))
        return;
    size_t at = facts->preview_count;
    while (at > 0 && facts->previews[at - 1].size_bytes < size_bytes)
        at--;
    if (at == HR_PREVIEWS_MAX)
        return;
    if (facts->preview_count < HR_PREVIEWS_MAX)
        facts->preview_count++;
    memmove(&facts->previews[at + 1], &facts->previews[at], (facts->preview_count - 1 - at) * sizeof preview);
    facts->previews[at] = preview;
}

void hr__previews_trim(struct hr_media_reader *reader)
{
    struct hr_media_facts *facts = &reader->facts;
    uint8_t kept = 0;
    for (size_t i = 0; i < facts->preview_count; i++)
        if (is_within(reader, &facts->previews[i]))
            facts->previews[kept++] = facts->previews[i];
    facts->preview_count = kept;
}
