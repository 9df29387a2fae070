/* SPDX-License-Identifier: ISC */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "card_fixture.h"
#include "platform/machine.h"
#include "suite.h"

enum { PIECE_BYTES = 1 << 16, FRAME_BYTES = 3 * PIECE_BYTES + 17, SOMEBODY = 65534 };

static unsigned char frame[FRAME_BYTES];
#define FRAME "DCIM/100NMERE/NMA_0001.JPG"

/* A card with one file, written long ago, so that any later write shows in its time. */
static void insert_frame(struct slot *slot)
{
    for (size_t i = 0; i < FRAME_BYTES; i++)
        frame[i] = (unsigned char)(i * 2654435761u >> 24);
    slot_begin(slot);
    slot_write(slot, "card/" FRAME, frame, FRAME_BYTES);
    slot_stamp(slot, "card/" FRAME, 1779030245, 0);
    slot_insert(slot, "card");
}

START_TEST(gives_the_bytes_of_each_size_through_the_cache_and_past_it)
{
    static const size_t sizes[] = {0, 1, 4095, 4096, 4097, PIECE_BYTES - 1, PIECE_BYTES, PIECE_BYTES + 1, FRAME_BYTES};
    struct slot slot;
    insert_frame(&slot);
    slot_close(&slot);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        slot_write(&slot, "card/" FRAME, frame, sizes[i]);
        slot_insert(&slot, "card");
        slot_expect_bytes(&slot, FRAME, frame, sizes[i]);
        struct hr_card_reader *reader = NULL;
        unsigned char *piece = hr__aligned_alloc(PIECE_BYTES);
        size_t got = PIECE_BYTES, size = 0;
        ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
        ck_assert_int_eq(hr_card_reader_start(reader, slot_file(&slot, FRAME), true, NULL), HR_OK);
        for (; got == PIECE_BYTES; size += got) {
            ck_assert_int_eq(hr_card_reader_read(&got, reader, piece, PIECE_BYTES, NULL), HR_OK);
            ck_assert(!memcmp(piece, frame + size, got));
        }
        ck_assert_uint_eq(size, sizes[i]);
        ck_assert_int_eq(hr_card_reader_end(reader, NULL), HR_OK);
        hr_card_reader_close(reader);
        hr__aligned_free(piece);
        slot_close(&slot);
    }
    slot_end(&slot);
}
END_TEST

/* ---- What happens to a file while it is read ---- */

static void grow(const char *path)
{
    FILE *file = fopen(path, "ab");
    fwrite(frame, 1, PIECE_BYTES, file);
    ck_assert_int_eq(fclose(file), 0);
}

static void shrink(const char *path)
{
    ck_assert_int_eq(truncate(path, PIECE_BYTES + 5), 0);
}

static void empty(const char *path)
{
    ck_assert_int_eq(truncate(path, 0), 0);
}

static void rewrite(const char *path)
{
    int descriptor = open(path, O_WRONLY);
    ck_assert_int_eq(pwrite(descriptor, "x", 1, 0), 1);
    close(descriptor);
}

static void touch(const char *path)
{
    ck_assert_int_eq(utimensat(AT_FDCWD, path, NULL, 0), 0);
}

static void become_older(const char *path)
{
    const struct timespec times[2] = {{.tv_nsec = UTIME_OMIT}, {.tv_sec = 1779030244, .tv_nsec = 999999999}};
    ck_assert_int_eq(utimensat(AT_FDCWD, path, times, 0), 0);
}

static void grow_and_keep_its_time(const char *path)
{
    const struct timespec times[2] = {{.tv_nsec = UTIME_OMIT}, {.tv_sec = 1779030245}};
    grow(path);
    ck_assert_int_eq(utimensat(AT_FDCWD, path, times, 0), 0);
}

static void remove_it(const char *path)
{
    ck_assert_int_eq(unlink(path), 0);
}

static void become_a_link(const char *path)
{
    remove_it(path);
    ck_assert_int_eq(symlink("/etc/passwd", path), 0);
}

static void become_a_pipe(const char *path)
{
    remove_it(path);
    ck_assert_int_eq(mkfifo(path, 0666), 0);
}

static void become_a_folder(const char *path)
{
    remove_it(path);
    ck_assert_int_eq(mkdir(path, 0777), 0);
}

/* The folder it stands in, to one that holds a file of that name. */
static void be_led_elsewhere(const char *path)
{
    char folder[2048], aside[2100];
    snprintf(folder, sizeof folder, "%.*s", (int)(strrchr(path, '/') - path), path);
    snprintf(aside, sizeof aside, "%s.aside", folder);
    ck_assert_int_eq(rename(folder, aside), 0);
    ck_assert_int_eq(symlink(strrchr(aside, '/') + 1, folder), 0);
}

typedef void change_file(const char *path);

/* `after` pieces are read before the change. */
static enum hr_status read_while(change_file *change, size_t after, struct hr_fault *fault)
{
    struct slot slot;
    insert_frame(&slot);
    struct hr_card_reader *reader = NULL;
    unsigned char *piece = hr__aligned_alloc(PIECE_BYTES);
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    enum hr_status status = hr_card_reader_start(reader, slot_file(&slot, FRAME), false, fault);
    size_t got = PIECE_BYTES;
    for (size_t i = 0; !status && got == PIECE_BYTES; i++) {
        if (i == after)
            change(slot_path(&slot, "card/" FRAME));
        ck_assert_uint_lt(i, 100);
        status = hr_card_reader_read(&got, reader, piece, PIECE_BYTES, fault);
    }
    if (!status)
        status = hr_card_reader_end(reader, fault);
    hr_card_reader_close(reader);
    hr__aligned_free(piece);
    slot_end(&slot);
    return status;
}

START_TEST(says_that_a_file_differs_when_it_is_changed_while_it_is_read)
{
    static change_file *const changes[] = {grow, shrink, empty, rewrite, touch, become_older, grow_and_keep_its_time};
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++)
        for (size_t after = 0; after < 4; after++) {
            struct hr_fault fault = {0};
            enum hr_status status = read_while(changes[i], after, &fault);
            ck_assert_msg(status == HR_DIFFERS && fault.status == HR_DIFFERS, "change %zu after %zu: %s", i, after,
                          hr_status_name(status));
            ck_assert_msg(strstr(fault.text, FRAME) && strstr(fault.text, "on the card"), "%s", fault.text);
        }
}
END_TEST

/* As a clip does that the camera is still writing. */
START_TEST(ends_reading_a_file_that_goes_on_growing)
{
    struct slot slot;
    struct hr_fault fault = {0};
    insert_frame(&slot);
    struct hr_card_reader *reader = NULL;
    unsigned char *piece = hr__aligned_alloc(PIECE_BYTES);
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    enum hr_status status = hr_card_reader_start(reader, slot_file(&slot, FRAME), false, &fault);
    size_t reads = 0, got = PIECE_BYTES;
    for (; !status && got == PIECE_BYTES; reads++) {
        grow(slot_path(&slot, "card/" FRAME));
        ck_assert_uint_lt(reads, 10);
        status = hr_card_reader_read(&got, reader, piece, PIECE_BYTES, &fault);
    }
    ck_assert_int_eq(status, HR_DIFFERS);
    hr_card_reader_close(reader);
    hr__aligned_free(piece);
    slot_end(&slot);
}
END_TEST

START_TEST(says_before_reading_what_became_of_a_file_since_the_walk)
{
    static const struct {
        change_file *change;
        enum hr_status status;
    } cases[] = {{grow, HR_DIFFERS},
                 {grow_and_keep_its_time, HR_DIFFERS},
                 {shrink, HR_DIFFERS},
                 {rewrite, HR_DIFFERS},
                 {touch, HR_DIFFERS},
                 {remove_it, HR_NOT_FOUND},
                 {become_a_link, HR_UNSUPPORTED},
                 {become_a_pipe, HR_UNSUPPORTED},
                 {become_a_folder, HR_UNSUPPORTED},
                 {be_led_elsewhere, HR_UNSUPPORTED}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct slot slot;
        struct hr_card_reader *reader = NULL;
        struct hr_fault fault = {0};
        insert_frame(&slot);
        cases[i].change(slot_path(&slot, "card/" FRAME));
        ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
        enum hr_status status = hr_card_reader_start(reader, slot_file(&slot, FRAME), false, &fault);
        ck_assert_msg(status == cases[i].status && fault.status == status, "case %zu: %s", i, hr_status_name(status));
        ck_assert_msg(strstr(fault.text, FRAME), "%s", fault.text);
        hr_card_reader_close(reader);
        slot_end(&slot);
    }
}
END_TEST

START_TEST(may_not_read_what_the_card_denies_and_reads_the_next)
{
    struct slot slot;
    insert_frame(&slot);
    slot_close(&slot);
    slot_text(&slot, "card/DCIM/100NMERE/NMA_0002.JPG", "open");
    ck_assert_int_eq(chmod(slot_path(&slot, "card/" FRAME), 0), 0);
    slot_insert(&slot, "card");
    if (getuid() == 0)
        ck_assert_int_eq(seteuid(SOMEBODY), 0);
    struct hr_card_reader *reader = NULL;
    unsigned char *bytes;
    size_t size;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr_card_reader_open(&reader, slot.card, NULL), HR_OK);
    ck_assert_int_eq(slot_read(&bytes, &size, reader, slot_file(&slot, FRAME), PIECE_BYTES, &fault), HR_DENIED);
    ck_assert_ptr_null(bytes);
    const struct hr_card_file *next = slot_file(&slot, "DCIM/100NMERE/NMA_0002.JPG");
    ck_assert_int_eq(slot_read(&bytes, &size, reader, next, PIECE_BYTES, NULL), HR_OK);
    ck_assert(size == 4 && !memcmp(bytes, "open", 4));
    free(bytes);
    hr_card_reader_close(reader);
    if (getuid() == 0)
        ck_assert_int_eq(seteuid(0), 0);
    slot_end(&slot);
}
END_TEST

/* A pulled card ends the run at once: it must not look like one file that is missing. */
START_TEST(says_gone_and_not_missing_when_the_card_is_pulled)
{
    struct slot slot;
    insert_frame(&slot);
    ck_assert_int_eq(unlink(slot_path(&slot, "card/" FRAME)), 0);
    const char *text = slot_expect_failure(&slot, FRAME, HR_NOT_FOUND);
    ck_assert_msg(strstr(text, FRAME), "%s", text);
    char away[2048];
    snprintf(away, sizeof away, "%s", slot_path(&slot, "away"));
    ck_assert_int_eq(rename(slot_path(&slot, "card"), away), 0);
    text = slot_expect_failure(&slot, FRAME, HR_GONE);
    ck_assert_msg(strstr(text, "card: the card is no longer there"), "%s", text);
    struct hr_media_facts facts;
    ck_assert_int_eq(hr_card_file_media(&facts, slot.card, slot_file(&slot, FRAME), NULL), HR_GONE);
    slot_end(&slot);
}
END_TEST

START_TEST(closes_a_reader_that_was_never_opened)
{
    hr_card_reader_close(NULL);
    hr_card_close(NULL);
    hr_inventory_destroy(NULL);
}
END_TEST

HR_SUITE("card/stream", gives_the_bytes_of_each_size_through_the_cache_and_past_it,
         says_that_a_file_differs_when_it_is_changed_while_it_is_read, ends_reading_a_file_that_goes_on_growing,
         says_before_reading_what_became_of_a_file_since_the_walk, may_not_read_what_the_card_denies_and_reads_the_next,
         says_gone_and_not_missing_when_the_card_is_pulled, closes_a_reader_that_was_never_opened)
