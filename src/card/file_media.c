/* SPDX-License-Identifier: ISC */
/* Facts from the heads of files, read without the rest of them. */
#include <stdlib.h>

#include "base/fault.h"
#include "card/card_state.h"
#include "card/kind.h"
#include "platform/machine.h"

/* No head asks for more than this; a file that does is taken for one that says nothing. */
enum { PIECE_BYTES = 1 << 16, PIECES_MAX = 64 };

static enum hr_status feed_from_volume(struct hr_media_reader *reader, const struct hr_card *card,
                                       const struct hr_card_file *file, struct hr_fault *fault)
{
    struct hr_file open = HR_FILE_CLOSED;
    char *piece = malloc(PIECE_BYTES);
    uint64_t offset = 0;
    size_t size = 0, got = 0;
    enum hr_status status = piece
                                ? hr__file_open(&open, &card->root, file->path, HR_FILE_READ, false, file->path, fault)
                                : hr__fault_nomem(fault, "a file's head");
    for (int i = 0; i < PIECES_MAX && !status && hr_media_reader_wants(reader, &offset, &size); i++) {
        status = hr__file_read_at(&got, &open, piece, size < PIECE_BYTES ? size : PIECE_BYTES, offset, fault);
        if (!status)
            hr_media_reader_feed(reader, offset, piece, got);
    }
    (void)hr__file_close(&open, NULL);
    free(piece);
    return hr__card_blame(card, status, fault);
}

/* A stream goes one way: what passes is offered, as far as heads reach. */
static enum hr_status feed_from_archive(struct hr_media_reader *reader, const struct hr_card *card,
                                        const struct hr_card_file *file, struct hr_fault *fault)
{
    struct hr_card_reader *stream = NULL;
    void *piece = hr__aligned_alloc(PIECE_BYTES);
    uint64_t wanted = 0, offset = 0;
    size_t size = 0, got = PIECE_BYTES;
    enum hr_status status = piece ? hr_card_reader_open(&stream, card, fault) : hr__fault_nomem(fault, "a file's head");
    if (!status)
        status = hr_card_reader_start(stream, file, false, fault);
    for (int i = 0; i < PIECES_MAX && !status && got == PIECE_BYTES && hr_media_reader_wants(reader, &wanted, &size);
         i++) {
        status = hr_card_reader_read(&got, stream, piece, PIECE_BYTES, fault);
        if (!status)
            hr_media_reader_feed(reader, offset, piece, got);
        offset += got;
    }
    hr_card_reader_close(stream);
    hr__aligned_free(piece);
    return status;
}

enum hr_status hr_card_file_media(struct hr_media_facts *out, const struct hr_card *card,
                                  const struct hr_card_file *file, struct hr_fault *fault)
{
    struct hr_media_reader *reader = NULL;
    enum hr_status status = hr_media_reader_create(&reader, file->size_bytes, fault);
    if (!status)
        status = hr_card_is_archive(card) ? feed_from_archive(reader, card, file, fault)
                                          : feed_from_volume(reader, card, file, fault);
    if (!status)
        hr_media_reader_facts(reader, out);
    hr_media_reader_destroy(reader);
    return status;
}

static void read_rating(struct hr_card_frame *frame, const struct hr_inventory *inventory, const struct hr_card *card,
                        enum hr_status *status, struct hr_fault *fault)
{
    struct hr_media_facts facts;
    for (uint32_t i = 0; i < frame->file_count; i++) {
        const struct hr_card_file *file = &inventory->files[frame->first_file + i];
        struct hr_fault cause = {0};
        if (file->kind == HR_KIND_CLIP || !hr__kind_is_picture((enum hr_card_file_kind)file->kind))
            continue;
        enum hr_status read = hr_card_file_media(&facts, card, file, &cause);
        if (read == HR_GONE) {
            *status = hr__fault_set(fault, HR_GONE, 0, "%s", cause.text);
            return;
        }
        if (read == HR_OK && facts.rating != HR_RATING_UNKNOWN) {
            frame->rating = facts.rating;
            return;
        }
    }
}

enum hr_status hr_inventory_read_ratings(struct hr_inventory *inventory, const struct hr_card *card,
                                         const struct hr_cancel *cancel, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < inventory->frame_count && !status; i++) {
        if (hr_cancel_requested(cancel))
            return HR_CANCELLED;
        read_rating(&inventory->frames[i], inventory, card, &status, fault);
    }
    return status;
}
