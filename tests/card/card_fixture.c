/* SPDX-License-Identifier: ISC */
#include "card_fixture.h"

#include <check.h>
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "platform/machine.h"

enum { PIECE_BYTES = 1 << 16 };

void slot_begin(struct slot *slot)
{
    const char *folder = getenv("TMPDIR");
    *slot = (struct slot){0};
    snprintf(slot->root, sizeof slot->root, "%s/headrace-card-XXXXXX", folder ? folder : "/var/tmp");
    ck_assert_ptr_nonnull(mkdtemp(slot->root));
    ck_assert_int_eq(chmod(slot->root, 0755), 0); /* a test may go on as somebody else than root */
}

/* By descriptor, so that depth makes no name too long. */
static void remove_below(int folder, const char *name)
{
    if (unlinkat(folder, name, 0) == 0)
        return;
    int descriptor = openat(folder, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW);
    DIR *stream = fdopendir(descriptor);
    ck_assert_ptr_nonnull(stream);
    for (const struct dirent *entry; (entry = readdir(stream));)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            remove_below(descriptor, entry->d_name);
    closedir(stream);
    ck_assert_int_eq(unlinkat(folder, name, AT_REMOVEDIR), 0);
}

void slot_end(struct slot *slot)
{
    slot_close(slot);
    remove_below(AT_FDCWD, slot->root);
}

const char *slot_path(const struct slot *slot, const char *path)
{
    static char buffers[4][2048];
    static unsigned next;
    char *buffer = buffers[next++ % 4];
    snprintf(buffer, sizeof buffers[0], "%s/%s", slot->root, path);
    return buffer;
}

static void make_folders(char *path, size_t from)
{
    for (char *slash = path + from; (slash = strchr(slash, '/')); *slash++ = '/') {
        *slash = '\0';
        mkdir(path, 0777);
    }
}

void slot_write(const struct slot *slot, const char *path, const void *bytes, size_t size)
{
    char full[2048];
    snprintf(full, sizeof full, "%s", slot_path(slot, path));
    make_folders(full, strlen(slot->root) + 1);
    unlink(full); /* ext4 writes a file that was cut and filled again out at once, which takes its time */
    FILE *file = fopen(full, "wb");
    ck_assert_msg(file, "%s", full);
    ck_assert_uint_eq(fwrite(bytes, 1, size, file), size);
    ck_assert_int_eq(fclose(file), 0);
}

void slot_text(const struct slot *slot, const char *path, const char *text)
{
    slot_write(slot, path, text, strlen(text));
}

void slot_folder(const struct slot *slot, const char *path)
{
    char full[2048];
    snprintf(full, sizeof full, "%s/", slot_path(slot, path));
    make_folders(full, strlen(slot->root) + 1);
}

void slot_stamp(const struct slot *slot, const char *path, int64_t s, long ns)
{
    const struct timespec times[2] = {{.tv_nsec = UTIME_OMIT}, {.tv_sec = (time_t)s, .tv_nsec = ns}};
    ck_assert_int_eq(utimensat(AT_FDCWD, slot_path(slot, path), times, AT_SYMLINK_NOFOLLOW), 0);
}

void slot_insert(struct slot *slot, const char *path)
{
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_card_open(&slot->card, slot_path(slot, path), &fault), "%s", fault.text);
    ck_assert_msg(!hr_inventory_create(&slot->inventory, slot->card, NULL, &fault), "%s", fault.text);
}

void slot_close(struct slot *slot)
{
    hr_inventory_destroy(slot->inventory);
    hr_card_close(slot->card);
    slot->inventory = NULL;
    slot->card = NULL;
}

enum hr_status slot_try(const struct slot *slot, const char *path, struct hr_fault *fault)
{
    struct hr_card *card = NULL;
    struct hr_inventory *inventory = NULL;
    enum hr_status status = hr_card_open(&card, slot_path(slot, path), fault);
    if (!status)
        status = hr_inventory_create(&inventory, card, NULL, fault);
    hr_inventory_destroy(inventory);
    hr_card_close(card);
    return status;
}

const struct hr_card_file *slot_file(const struct slot *slot, const char *path)
{
    for (size_t i = 0; i < slot->inventory->file_count; i++)
        if (!strcmp(slot->inventory->files[i].path, path))
            return &slot->inventory->files[i];
    return NULL;
}

const struct hr_card_skip *slot_skip(const struct slot *slot, const char *path)
{
    for (size_t i = 0; i < slot->inventory->skip_count; i++)
        if (!strcmp(slot->inventory->skips[i].path, path))
            return &slot->inventory->skips[i];
    return NULL;
}

const char *slot_order(const struct slot *slot, const uint32_t *order)
{
    static char text[8192];
    const struct hr_card_file *files = slot->inventory->files;
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < slot->inventory->file_count; i++) {
        size_t at = order ? order[i] : i, before = i ? order ? order[i - 1] : i - 1 : 0;
        const char *border = i == 0 ? "" : files[at].frame == files[before].frame ? "|" : "||";
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", border, files[at].path);
        ck_assert_uint_lt(used, sizeof text);
    }
    return text;
}

void slot_expect_skip(const struct slot *slot, const char *path, enum hr_card_skip_reason reason, enum hr_status status)
{
    const struct hr_card_skip *skip = slot_skip(slot, path);
    ck_assert_msg(skip, "%s is not among %zu skips", path, slot->inventory->skip_count);
    ck_assert_msg(skip->reason == reason && skip->status == status, "%s: %s, %s", path, hr_card_skip_text(skip->reason),
                  hr_status_name(skip->status));
}

enum hr_status slot_read(unsigned char **bytes, size_t *size, struct hr_card_reader *reader,
                         const struct hr_card_file *file, size_t piece, struct hr_fault *fault)
{
    unsigned char *memory = hr__aligned_alloc(piece);
    size_t got = piece;
    *bytes = NULL;
    *size = 0;
    enum hr_status status = hr_card_reader_start(reader, file, false, fault);
    while (!status && got == piece) {
        status = hr_card_reader_read(&got, reader, memory, piece, fault);
        *bytes = realloc(*bytes, *size + got + 1);
        memcpy(*bytes + *size, memory, got);
        *size += got;
    }
    if (!status)
        status = hr_card_reader_end(reader, fault);
    hr__aligned_free(memory);
    return status;
}

enum hr_status slot_read_once(unsigned char **bytes, size_t *size, const struct slot *slot,
                              const struct hr_card_file *file, struct hr_fault *fault)
{
    struct hr_card_reader *reader = NULL;
    ck_assert_int_eq(hr_card_reader_open(&reader, slot->card, NULL), HR_OK);
    enum hr_status status = slot_read(bytes, size, reader, file, PIECE_BYTES, fault);
    hr_card_reader_close(reader);
    return status;
}

void slot_expect_bytes(const struct slot *slot, const char *path, const void *bytes, size_t size)
{
    const struct hr_card_file *file = slot_file(slot, path);
    ck_assert_msg(file, "no file %s", path);
    ck_assert_uint_eq(file->size_bytes, size);
    unsigned char *read;
    size_t read_size;
    struct hr_fault fault = {0};
    enum hr_status status = slot_read_once(&read, &read_size, slot, file, &fault);
    ck_assert_msg(!status, "%s: %s", path, fault.text);
    ck_assert_msg(read_size == size && !memcmp(read, bytes, size), "%s gives other bytes", path);
    free(read);
}

void slot_expect_text(const struct slot *slot, const char *path, const char *text)
{
    slot_expect_bytes(slot, path, text, strlen(text));
}

const char *slot_expect_failure(const struct slot *slot, const char *path, enum hr_status status)
{
    static struct hr_fault fault;
    const struct hr_card_file *file = slot_file(slot, path);
    unsigned char *bytes;
    size_t size;
    fault = (struct hr_fault){0};
    ck_assert_msg(file, "no file %s", path);
    enum hr_status got = slot_read_once(&bytes, &size, slot, file, &fault);
    free(bytes);
    ck_assert_msg(got == status, "%s: %s, not %s: %s", path, hr_status_name(got), hr_status_name(status), fault.text);
    ck_assert_int_eq(fault.status, status);
    return fault.text;
}
