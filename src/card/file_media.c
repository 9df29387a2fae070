/* SPDX-License-Identifier: ISC */
/* Facts from the heads of files, read without the rest of them. */
#include <stdlib.h>

#include "base/fault.h"
#include "card/card_state.h"
#include "card/kind.h"
#include "platform/machine.h"

/* No head asks for more than this; a file that does is taken for one that says nothing. */
enum { PIECE_BYTES = 1 << 16, PIECES_MAX = 64 };

/* What the heads of one file after another are read with. */
struct heads {
    const struct hr_card *card;
    struct hr_card_reader *stream; /* of an archive: one for all, so that it is not begun anew for each */
    char *piece;
};

static enum hr_status open_heads(struct heads *heads, const struct hr_card *card, struct hr_fault *fault)
{
    *heads = (struct heads){.card = card, .piece = hr__aligned_alloc(PIECE_BYTES)};
    if (!heads->piece)
        return hr__fault_nomem(fault, "the heads of files");
    return hr_card_is_archive(card) ? hr_card_reader_open(&heads->stream, card, fault) : HR_OK;
}

static void close_heads(struct heads *heads)
{
    hr_card_reader_close(heads->stream);
    hr__aligned_free(heads->piece);
}

static enum hr_status feed_from_volume(struct hr_media_reader *reader, const struct heads *heads,
                                       const struct hr_card_file *file, struct hr_fault *fault)
{
    struct hr_file open = HR_FILE_CLOSED;
    uint64_t offset = 0;
    size_t size = 0, got = 0;
    enum hr_status status =
        hr__file_open(&open, &heads->card->root, file->path, HR_FILE_READ, false, file->path, fault);
    for (int i = 0; i < PIECES_MAX && !status && hr_media_reader_wants(reader, &offset, &size); i++) {
        status = hr__file_read_at(&got, &open, heads->piece, size < PIECE_BYTES ? size : PIECE_BYTES, offset, fault);
        if (!status)
            hr_media_reader_feed(reader, offset, heads->piece, got);
    }
    (void)hr__file_close(&open, NULL);
    return hr__card_blame(heads->card, status, fault);
}

/* A stream goes one way: what passes is offered, as far as heads reach. */
static enum hr_status feed_from_archive(struct hr_media_reader *reader, const struct heads *heads,
                                        const struct hr_card_file *file, struct hr_fault *fault)
{
    uint64_t wanted = 0, offset = 0;
    size_t size = 0, got = PIECE_BYTES;
    enum hr_status status = hr_card_reader_start(heads->stream, file, false, fault);
    for (int i = 0; i < PIECES_MAX && !status && got == PIECE_BYTES && hr_media_reader_wants(reader, &wanted, &size);
         i++) {
        status = hr_card_reader_read(&got, heads->stream, heads->piece, PIECE_BYTES, fault);
        if (!status)
            hr_media_reader_feed(reader, offset, heads->piece, got);
        offset += got;
    }
    return status;
}

static enum hr_status read_head(struct hr_media_facts *out, const struct heads *heads, const struct hr_card_file *file,
                                struct hr_fault *fault)
{
    struct hr_media_reader *reader = NULL;
    enum hr_status status = hr_media_reader_create(&reader, file->size_bytes, fault);
    if (!status)
        status = heads->stream ? feed_from_archive(reader, heads, file, fault)
                               : feed_from_volume(reader, heads, file, fault);
    if (!status)
        hr_media_reader_facts(reader, out);
    hr_media_reader_destroy(reader);
    return status;
}

enum hr_status hr_card_file_media(struct hr_media_facts *out, const struct hr_card *card,
                                  const struct hr_card_file *file, struct hr_fault *fault)
{
    struct heads heads;
    enum hr_status status = open_heads(&heads, card, fault);
    if (!status)
        status = read_head(out, &heads, file, fault);
    close_heads(&heads);
    return status;
}

/* The first of a frame's pictures that says a rating says it for the frame. */
static enum hr_status read_rating(struct hr_card_frame *frame, bool *is_rated, const struct heads *heads,
                                  const struct hr_card_file *file, struct hr_fault *fault)
{
    struct hr_media_facts facts;
    struct hr_fault cause = {0};
    enum hr_card_file_kind kind = (enum hr_card_file_kind)file->kind;
    if (*is_rated || kind == HR_KIND_CLIP || !hr__kind_is_picture(kind))
        return HR_OK;
    enum hr_status status = read_head(&facts, heads, file, &cause);
    if (status == HR_GONE || status == HR_NOMEM)
        return hr__card_pass_on(fault, status, &cause);
    if (!status && facts.rating != HR_RATING_UNKNOWN) {
        frame->rating = facts.rating;
        *is_rated = true;
    }
    return HR_OK;
}

enum hr_status hr_inventory_read_ratings(struct hr_inventory *inventory, const struct hr_card *card,
                                         const struct hr_ratings_observer *observer, const struct hr_cancel *cancel,
                                         struct hr_fault *fault)
{
    struct heads heads;
    uint32_t *order = NULL;
    bool *is_rated = calloc(inventory->frame_count + 1, sizeof *is_rated);
    enum hr_status status = open_heads(&heads, card, fault);
    if (!is_rated)
        status = hr__fault_nomem(fault, "the ratings");
    if (!status)
        status = hr_inventory_order(&order, inventory, card, NULL, 0, fault);
    for (size_t i = 0; i < inventory->file_count && !status; i++) {
        const struct hr_card_file *file = &inventory->files[order[i]];
        status = hr_cancel_requested(cancel)
                     ? HR_CANCELLED
                     : read_rating(&inventory->frames[file->frame], &is_rated[file->frame], &heads, file, fault);
        if (observer && observer->progress)
            observer->progress(observer->context, i + 1, inventory->file_count);
    }
    close_heads(&heads);
    free(order);
    free(is_rated);
    return status;
}
