/* SPDX-License-Identifier: ISC */
#include <stdlib.h>

#include "base/fault.h"
#include "card/card_state.h"

struct hr_card_reader {
    const struct hr_card_store *store;
    void *stream;
};

enum hr_status hr_card_reader_open(struct hr_card_reader **out, const struct hr_card *card, struct hr_fault *fault)
{
    struct hr_card_reader *reader = calloc(1, sizeof *reader);
    if (!reader)
        return hr__fault_nomem(fault, "a reader");
    reader->store = card->store;
    enum hr_status status = card->store->stream_open(&reader->stream, card, fault);
    if (status)
        free(reader);
    else
        *out = reader;
    return status;
}

void hr_card_reader_close(struct hr_card_reader *reader)
{
    if (!reader)
        return;
    reader->store->stream_close(reader->stream);
    free(reader);
}

enum hr_status hr_card_reader_start(struct hr_card_reader *reader, const struct hr_card_file *file, bool past_cache,
                                    struct hr_fault *fault)
{
    return reader->store->start(reader->stream, file, past_cache, fault);
}

enum hr_status hr_card_reader_read(size_t *got, struct hr_card_reader *reader, void *into, size_t size,
                                   struct hr_fault *fault)
{
    return reader->store->read(got, reader->stream, into, size, fault);
}

enum hr_status hr_card_reader_end(struct hr_card_reader *reader, struct hr_fault *fault)
{
    return reader->store->end(reader->stream, fault);
}
