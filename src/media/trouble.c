/* SPDX-License-Identifier: ISC */
/* Why facts are missing. */
#include "media/media_reader.h"

const char *hr_media_trouble_text(enum hr_media_trouble trouble)
{
    static const char *const texts[] = {
        [HR_MEDIA_FINE] = NULL,
        [HR_MEDIA_UNKNOWN_KIND] = "no kind of picture or clip that is read here",
        [HR_MEDIA_CUT_SHORT] = "the file ends too soon",
        [HR_MEDIA_MALFORMED] = "its head contradicts itself",
        [HR_MEDIA_BAD_TIME] = "its time is no date",
        [HR_MEDIA_NO_TIME] = "no capture time in it",
    };
    return texts[trouble];
}

void hr__media_lose(struct hr_media_reader *reader, enum hr_media_trouble why)
{
    if (reader->lost == HR_MEDIA_FINE)
        reader->lost = why;
}

void hr__media_lose_past(struct hr_media_reader *reader, uint64_t end)
{
    hr__media_lose(reader, end < reader->file_size_bytes ? HR_MEDIA_MALFORMED : HR_MEDIA_CUT_SHORT);
}

enum hr_media_trouble hr__media_trouble(const struct hr_media_reader *reader, const struct hr_media_facts *facts)
{
    if (!reader->is_known)
        return reader->lost ? reader->lost : HR_MEDIA_UNKNOWN_KIND;
    if (facts->has_time)
        return facts->width_pixels > 0 ? HR_MEDIA_FINE : reader->lost;
    if (reader->original.is_bad || reader->digitized.is_bad || reader->recorded.is_bad)
        return HR_MEDIA_BAD_TIME;
    return reader->lost ? reader->lost : HR_MEDIA_NO_TIME;
}
