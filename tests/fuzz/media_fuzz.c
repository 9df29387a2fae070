/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as a picture file, or as an XMP packet by itself. The first byte chooses how they come;
 * the rest is the file. */
#include <headrace/media.h>

#include "fuzzing.h"
#include "media/xmp.h"

/* In a buffer of its own, so that the sanitizer sees a read past its end. */
static void feed_copy(struct hr_media_reader *reader, uint64_t offset, const uint8_t *bytes, size_t size)
{
    uint8_t *copy = malloc(size ? size : 1);
    must(copy != NULL);
    memcpy(copy, bytes, size);
    hr_media_reader_feed(reader, offset, copy, size);
    free(copy);
}

static void answer_wants(struct hr_media_reader *reader, const uint8_t *file, size_t file_size, size_t piece)
{
    uint64_t offset = 0;
    size_t size = 0;
    for (uint64_t steps = 0; hr_media_reader_wants(reader, &offset, &size); steps++) {
        size_t there = offset < file_size ? file_size - (size_t)offset : 0;
        size_t fed = size < there ? size : there;
        must(steps <= 2u * file_size + 100000 && size > 0 && size <= 256u << 10);
        feed_copy(reader, offset, file + offset, fed < piece ? fed : piece);
    }
}

static void check_previews(const struct hr_media_facts *facts, uint64_t file_size)
{
    must(facts->preview_count <= HR_PREVIEWS_MAX);
    for (size_t i = 0; i < facts->preview_count; i++) {
        const struct hr_media_preview *preview = &facts->previews[i];
        must(preview->size_bytes > 0 && preview->offset < file_size &&
             preview->size_bytes <= file_size - preview->offset);
        must(i == 0 || preview->size_bytes <= preview[-1].size_bytes);
    }
}

static void check_facts(const struct hr_media_reader *reader, uint64_t file_size)
{
    struct hr_media_facts facts;
    hr_media_reader_facts(reader, &facts);
    must(facts.orientation <= 8 && facts.fraction_ns <= 999999999 && abs(facts.offset_minutes) < 24 * 60);
    must(memchr(facts.model, '\0', sizeof facts.model) && memchr(facts.serial, '\0', sizeof facts.serial));
    must(memchr(facts.maker_serial, '\0', sizeof facts.maker_serial));
    must(memchr(facts.drive_mode, '\0', sizeof facts.drive_mode) && facts.run_number >= -1);
    must(facts.rating == HR_RATING_UNKNOWN || (facts.rating >= -1 && facts.rating <= 5));
    must((facts.exposure_numerator > 0) == (facts.exposure_denominator > 0));
    must(facts.trouble <= HR_MEDIA_NO_TIME && (facts.has_time || facts.trouble != HR_MEDIA_FINE));
    must(!hr_media_trouble_text((enum hr_media_trouble)facts.trouble) == (facts.trouble == HR_MEDIA_FINE));
    check_previews(&facts, file_size);
}

static void read_packet(const uint8_t *bytes, size_t size)
{
    struct hr_media_facts facts = {.rating = HR_RATING_UNKNOWN};
    char *packet = copy_of(bytes, size);
    int8_t rating = 77;
    hr__xmp_read(&facts, (const unsigned char *)packet, size);
    must(facts.rating == HR_RATING_UNKNOWN || (facts.rating >= -1 && facts.rating <= 5));
    must(hr__xmp_rating(&rating, packet, size) ? rating >= -1 && rating <= 5 : rating == 77);
    free(packet);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const size_t pieces[] = {SIZE_MAX, 7, 64, 4096};
    struct hr_media_reader *reader = NULL;
    if (size == 0)
        return 0;
    unsigned way = *data++;
    size--;
    if (way >= 192) {
        read_packet(data, size);
        return 0;
    }
    /* A file may be said to be longer than it turns out to be. */
    uint64_t claimed = way & 8 ? UINT64_MAX : size + (way & 16 ? 1000000 : 0);
    must(hr_media_reader_create(&reader, claimed, NULL) == HR_OK);
    size_t piece = pieces[way & 3];
    for (size_t at = 0; way & 4 && at < size; at += piece < size - at ? piece : size - at)
        feed_copy(reader, at, data + at, piece < size - at ? piece : size - at);
    answer_wants(reader, data, size, piece);
    check_facts(reader, claimed);
    hr_media_reader_destroy(reader);
    return 0;
}
