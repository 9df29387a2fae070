/* SPDX-License-Identifier: ISC */
#include "hostile_archive.h"

#include <check.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/path.h"
#include "card_fixture.h"
#include "platform/machine.h"

static const char first_body[] = "the first frame of the final at Northmere";
static const char last_body[HOSTILE_LAST_BYTES] = "the last frame of the final, and nothing after it";
const struct hostile_file hostile_files[HOSTILE_FILES] = {
    {"DCIM/N0001.JPG", first_body, sizeof first_body - 1},
    {"DCIM/N0002.JPG", "", 0},
    {"DCIM/N0003.JPG", last_body, HOSTILE_LAST_BYTES},
};

enum { PIECE_BYTES = 4096 };

/* What a card that may be damaged shows of itself. */
struct outcome {
    bool told;    /* some call or some skip said that not all is well */
    size_t right; /* of the three, with their bytes */
    size_t wrong; /* of the three, with others and no word of it */
    char text[HR_FAULT_TEXT_SIZE];
};

static void judge_file(struct outcome *outcome, const struct hr_card_file *file, const unsigned char *bytes,
                       size_t size)
{
    for (size_t i = 0; i < HOSTILE_FILES; i++)
        if (!strcmp(file->path, hostile_files[i].path)) {
            bool is_right = size == hostile_files[i].size && (size == 0 || !memcmp(bytes, hostile_files[i].body, size));
            outcome->right += is_right;
            outcome->wrong += !is_right;
        }
}

static void read_all(struct outcome *outcome, const struct slot *slot)
{
    struct hr_card_reader *reader = NULL;
    uint32_t *order = NULL;
    ck_assert_int_eq(hr_card_reader_open(&reader, slot->card, NULL), HR_OK);
    ck_assert_int_eq(hr_inventory_order(&order, slot->inventory, slot->card, NULL, 0, NULL), HR_OK);
    for (size_t i = 0; i < slot->inventory->file_count; i++) {
        const struct hr_card_file *file = &slot->inventory->files[order[i]];
        unsigned char *bytes;
        size_t size;
        struct hr_fault fault = {0};
        ck_assert_msg(hr__path_is_inside(file->path), "%s", file->path);
        ck_assert_msg(file->size_bytes < 1 << 30, "%s claims %ju bytes", file->path, (uintmax_t)file->size_bytes);
        enum hr_status status = slot_read(&bytes, &size, reader, file, PIECE_BYTES, &fault);
        ck_assert(status || size == file->size_bytes);
        ck_assert_msg(status == fault.status, "%s: %s and no cause", file->path, hr_status_name(status));
        if (status)
            outcome->told = true;
        else
            judge_file(outcome, file, bytes, size);
        free(bytes);
    }
    free(order);
    hr_card_reader_close(reader);
}

static struct outcome try_archive(struct slot *slot, const char *name)
{
    struct outcome outcome = {0};
    struct hr_fault fault = {0};
    enum hr_status status = hr_card_open(&slot->card, slot_path(slot, name), &fault);
    ck_assert_msg(!status || status == HR_UNSUPPORTED, "opening says %s", hr_status_name(status));
    if (!status) {
        status = hr_inventory_create(&slot->inventory, slot->card, NULL, &fault);
        ck_assert_msg(!status || status == HR_MALFORMED, "walking says %s", hr_status_name(status));
    }
    ck_assert_int_eq(status, fault.status);
    outcome.told = status != HR_OK || slot->inventory->skip_count > 0;
    if (!status)
        read_all(&outcome, slot);
    memcpy(outcome.text, fault.text, sizeof outcome.text);
    slot_close(slot);
    return outcome;
}

void hostile_cut(const struct archive_writer *archive, const char *name, size_t step, size_t padding)
{
    struct slot slot;
    slot_begin(&slot);
    for (size_t size = archive->size;; size -= step) {
        slot_write(&slot, name, archive->bytes, size);
        struct outcome outcome = try_archive(&slot, name);
        ck_assert_msg(outcome.wrong == 0, "%zu of %zu bytes: other content", size, archive->size);
        ck_assert_msg(outcome.told || outcome.right == HOSTILE_FILES, "%zu of %zu bytes: %zu files and no word", size,
                      archive->size, outcome.right);
        if (size == archive->size)
            ck_assert_msg(!outcome.told && outcome.right == HOSTILE_FILES, "the whole archive: %s", outcome.text);
        ck_assert_msg(outcome.told || archive->size - size <= padding, "%zu of %zu bytes pass", size, archive->size);
        if (size < step)
            break;
    }
    slot_end(&slot);
}

void hostile_flip(const struct archive_writer *archive, const char *name, size_t from, size_t step,
                  enum hostile_protection protection)
{
    struct slot slot;
    slot_begin(&slot);
    for (size_t at = from; at < archive->size; at += step)
        for (int bit = 0; bit < 8; bit++) {
            archive->bytes[at] ^= (unsigned char)(1 << bit);
            slot_write(&slot, name, archive->bytes, archive->size);
            archive->bytes[at] ^= (unsigned char)(1 << bit);
            struct outcome outcome = try_archive(&slot, name);
            if (protection == HOSTILE_CONTENT_IS_PROTECTED)
                ck_assert_msg(outcome.wrong == 0, "bit %d of byte %zu passes", bit, at);
        }
    slot_end(&slot);
}

/* ---- Changes ---- */

struct change {
    const char *what;
    enum hr_status status; /* before it is read; while it is read, HR_DIFFERS or none */
    bool shows_while_read; /* in the file that stays open, or at the next opening */
};

static void change_archive(const struct slot *slot, const char *name, int how)
{
    char path[2048], other[2100];
    snprintf(path, sizeof path, "%s", slot_path(slot, name));
    snprintf(other, sizeof other, "%s.other", path);
    int descriptor = open(path, O_RDWR);
    if (how == 0)
        ck_assert_int_eq(pwrite(descriptor, "x", 1, 100), 1);
    if (how == 1)
        ck_assert_int_eq(ftruncate(descriptor, 600), 0);
    if (how == 2)
        ck_assert_int_eq(unlink(path), 0);
    if (how == 3) {
        slot_text(slot, "other", "something else");
        ck_assert_int_eq(rename(slot_path(slot, "other"), path), 0);
    }
    if (how == 4)
        ck_assert_int_eq(rename(path, other), 0);
    close(descriptor);
}

/* The card is where its archive is: without it, it is gone. */
static const struct change changes[] = {{"written to", HR_DIFFERS, true},
                                        {"cut", HR_DIFFERS, true},
                                        {"removed", HR_GONE, false},
                                        {"replaced", HR_DIFFERS, false},
                                        {"moved", HR_GONE, false}};

static void open_changed(struct slot *slot, const struct archive_writer *archive, const char *name)
{
    slot_begin(slot);
    slot_write(slot, name, archive->bytes, archive->size);
    slot_stamp(slot, name, 1779030245, 0);
    slot_insert(slot, name);
}

static void change_before(const struct archive_writer *archive, const char *name, int how)
{
    struct slot slot;
    struct hr_inventory *inventory = NULL;
    struct hr_fault fault = {0};
    open_changed(&slot, archive, name);
    change_archive(&slot, name, how);
    const char *text = slot_expect_failure(&slot, hostile_files[2].path, changes[how].status);
    ck_assert_msg(strstr(text, name), "%s: %s", changes[how].what, text);
    ck_assert_msg(hr_inventory_create(&inventory, slot.card, NULL, &fault) == changes[how].status, "%s: %s",
                  changes[how].what, fault.text);
    slot_end(&slot);
}

/* What was removed or replaced lives on for the reader that has it open, and gives the bytes it held. */
static void change_while_read(const struct archive_writer *archive, const char *name, int how)
{
    struct slot slot;
    struct hr_card_reader *reader = NULL;
    struct hr_fault fault = {0};
    open_changed(&slot, archive, name);
    unsigned char *piece = hr__aligned_alloc(PIECE_BYTES);
    size_t got = PIECE_BYTES, size = 0;
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    ck_assert_int_eq(hr_card_reader_start(reader, slot_file(&slot, hostile_files[2].path), false, NULL), HR_OK);
    enum hr_status status = hr_card_reader_read(&got, reader, piece, PIECE_BYTES, &fault);
    ck_assert_int_eq(status, HR_OK);
    change_archive(&slot, name, how);
    for (size = got; !status && got == PIECE_BYTES; size += got)
        status = hr_card_reader_read(&got, reader, piece, PIECE_BYTES, &fault);
    if (!status)
        status = hr_card_reader_end(reader, &fault);
    ck_assert(status || size == HOSTILE_LAST_BYTES);
    ck_assert_msg(status == (changes[how].shows_while_read ? HR_DIFFERS : HR_OK), "%s: %s (%s)", changes[how].what,
                  hr_status_name(status), fault.text);
    hr_card_reader_close(reader);
    hr__aligned_free(piece);
    slot_end(&slot);
}

void hostile_change(const struct archive_writer *archive, const char *name)
{
    for (int how = 0; how < (int)(sizeof changes / sizeof *changes); how++) {
        change_before(archive, name, how);
        change_while_read(archive, name, how);
    }
}
