/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as a picture file. The first byte chooses how they come; the rest is the file. */
#include <headrace/media.h>

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* In a buffer of its own, so that the sanitizer sees a read past its end. */
static void feed_copy(struct hr_media_reader *reader, uint64_t offset, const uint8_t *bytes, size_t size)
{
    uint8_t *copy = malloc(size ? size : 1);
    if (!copy)
        abort();
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
        if (steps > 2u * file_size + 100000 || size == 0 || size > 256u << 10)
            abort();
        feed_copy(reader, offset, file + offset, fed < piece ? fed : piece);
    }
}

static void check_facts(const struct hr_media_reader *reader)
{
    struct hr_media_facts facts;
    hr_media_reader_facts(reader, &facts);
    if (facts.orientation > 8 || facts.fraction_ns > 999999999 || abs(facts.offset_minutes) >= 24 * 60 ||
        !memchr(facts.model, '\0', sizeof facts.model) || !memchr(facts.serial, '\0', sizeof facts.serial) ||
        (facts.rating != HR_RATING_UNKNOWN && (facts.rating < -1 || facts.rating > 5)))
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const size_t pieces[] = {SIZE_MAX, 1, 64, 4096};
    struct hr_media_reader *reader = NULL;
    if (size == 0)
        return 0;
    unsigned way = *data++;
    size--;
    /* A file may be said to be longer than it turns out to be. */
    uint64_t claimed = way & 8 ? UINT64_MAX : size + (way & 16 ? 1000000 : 0);
    if (hr_media_reader_create(&reader, claimed, NULL) != HR_OK)
        abort();
    size_t piece = pieces[way & 3];
    for (size_t at = 0; way & 4 && at < size; at += piece < size - at ? piece : size - at)
        feed_copy(reader, at, data + at, piece < size - at ? piece : size - at);
    answer_wants(reader, data, size, piece);
    check_facts(reader);
    hr_media_reader_destroy(reader);
    return 0;
}
