/* SPDX-License-Identifier: ISC */
/* A scratch folder with a card in it, open and walked. What must hold for the test to go on is checked here. */
#ifndef HR_TESTS_CARD_FIXTURE_H
#define HR_TESTS_CARD_FIXTURE_H

#include <headrace/card.h>

struct slot {
    char root[256];
    struct hr_card *card;
    struct hr_inventory *inventory;
};

void slot_begin(struct slot *slot);
/* Closes what is open and takes the folder away with all that is in it. */
void slot_end(struct slot *slot);

/* Below the root, in one of four static buffers. */
const char *slot_path(const struct slot *slot, const char *path);
/* Makes the folders on the way. A size of 0 makes an empty file. */
void slot_write(const struct slot *slot, const char *path, const void *bytes, size_t size);
void slot_text(const struct slot *slot, const char *path, const char *text);
void slot_folder(const struct slot *slot, const char *path);
/* Seconds since 1970, and nanoseconds. */
void slot_stamp(const struct slot *slot, const char *path, int64_t s, long ns);

/* Opens and walks `path`; slot_close comes first when a card is open. */
void slot_insert(struct slot *slot, const char *path);
void slot_close(struct slot *slot);
/* What opening, and if that goes well walking, says. Nothing stays open. */
enum hr_status slot_try(const struct slot *slot, const char *path, struct hr_fault *fault);

/* NULL when the inventory has none. */
const struct hr_card_file *slot_file(const struct slot *slot, const char *path);
const struct hr_card_skip *slot_skip(const struct slot *slot, const char *path);
/* The paths of the inventory in its order, or in `order`, a '|' between them, and between frames '||', in a static
 * buffer. */
const char *slot_order(const struct slot *slot, const uint32_t *order);
void slot_expect_skip(const struct slot *slot, const char *path, enum hr_card_skip_reason reason,
                      enum hr_status status);

/* The content of a file as the card's reader gives it, in *bytes (caller frees, also on failure), `piece` bytes at a
 * time. */
enum hr_status slot_read(unsigned char **bytes, size_t *size, struct hr_card_reader *reader,
                         const struct hr_card_file *file, size_t piece, struct hr_fault *fault);
/* By a reader of its own. */
enum hr_status slot_read_once(unsigned char **bytes, size_t *size, const struct slot *slot,
                              const struct hr_card_file *file, struct hr_fault *fault);
void slot_expect_bytes(const struct slot *slot, const char *path, const void *bytes, size_t size);
void slot_expect_text(const struct slot *slot, const char *path, const char *text);
/* Reading this file fails so; the fault's text is kept in a static buffer and given back. */
const char *slot_expect_failure(const struct slot *slot, const char *path, enum hr_status status);

#endif
