/* SPDX-License-Identifier: ISC */
/* A card as the library gives it, for shell tests.
 *
 *     card_tool name CARD           its name
 *     card_tool list CARD           "file SIZE SECONDS.NANOSECONDS protected|- PATH" and "skip REASON, STATUS: PATH"
 *     card_tool rows CARD           of each picture and clip the row of frames.csv that its head gives
 *     card_tool copy CARD FOLDER    each file to FOLDER, with its time; read twice, the second time past the cache
 *
 * What fails is told on stderr; status 1. */
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <headrace/card.h>
#include <headrace/name.h>

#include "card/frame_row.h"
#include "card/kind.h"
#include "platform/machine.h"

enum { PIECE_BYTES = 1 << 20 };

struct tool {
    struct hr_card *card;
    struct hr_inventory *inventory;
    struct hr_card_reader *reader;
    struct hr_fault fault;
    unsigned char *piece;
};

static const char *shown(const char *path)
{
    static char text[1 << 16];
    hr_escape_name(text, sizeof text, path, strlen(path));
    return text;
}

static enum hr_status list(struct tool *tool)
{
    const struct hr_inventory *inventory = tool->inventory;
    for (size_t i = 0; i < inventory->file_count; i++) {
        const struct hr_card_file *file = &inventory->files[i];
        int64_t s = file->modified_ns / 1000000000, ns = file->modified_ns % 1000000000;
        printf("file %" PRIu64 " %" PRId64 ".%09" PRId64 " %s %s\n", file->size_bytes, s, ns,
               file->is_protected ? "protected" : "-", shown(file->path));
    }
    for (size_t i = 0; i < inventory->skip_count; i++)
        printf("skip %s, %s: %s\n", hr_card_skip_text(inventory->skips[i].reason),
               hr_status_name(inventory->skips[i].status), shown(inventory->skips[i].path));
    return HR_OK;
}

static enum hr_status rows(struct tool *tool)
{
    enum hr_status status = HR_OK;
    struct hr_text text;
    hr__text_init(&text, 1 << 28);
    for (size_t i = 0; i < tool->inventory->file_count && !status; i++) {
        const struct hr_card_file *file = &tool->inventory->files[i];
        struct hr_frame_row row = {.path = file->path, .is_protected = file->is_protected};
        if (!hr__kind_is_picture((enum hr_card_file_kind)file->kind))
            continue;
        status = hr_card_file_media(&row.facts, tool->card, file, &tool->fault);
        hr__frame_row_append(&text, &row);
        hr__text_append(&text, "\n");
    }
    fputs(text.bytes, stdout);
    hr__text_finish(&text);
    return status;
}

static int make_file(const char *folder, const char *path)
{
    char full[1 << 13];
    snprintf(full, sizeof full, "%s/%s", folder, path);
    for (char *slash = full + strlen(folder) + 1; (slash = strchr(slash, '/')); *slash++ = '/') {
        *slash = '\0';
        mkdir(full, 0777);
    }
    return open(full, O_RDWR | O_CREAT | O_EXCL, 0666);
}

/* The first reading writes, the second compares. */
static enum hr_status pass_over(struct tool *tool, const struct hr_card_file *file, int out, bool is_second)
{
    static unsigned char written[PIECE_BYTES];
    size_t got = PIECE_BYTES;
    off_t offset = 0;
    enum hr_status status = hr_card_reader_start(tool->reader, file, is_second, &tool->fault);
    for (; !status && got == PIECE_BYTES; offset += (off_t)got) {
        status = hr_card_reader_read(&got, tool->reader, tool->piece, PIECE_BYTES, &tool->fault);
        if (status)
            break;
        ssize_t done = is_second ? pread(out, written, got, offset) : pwrite(out, tool->piece, got, offset);
        if (done != (ssize_t)got || (is_second && memcmp(written, tool->piece, got) != 0)) {
            fprintf(stderr, "%s: the second reading differs, or it cannot be written\n", shown(file->path));
            return HR_DIFFERS;
        }
    }
    return status ? status : hr_card_reader_end(tool->reader, &tool->fault);
}

static enum hr_status copy_one(struct tool *tool, const struct hr_card_file *file, const char *folder)
{
    const struct timespec times[2] = {
        {.tv_nsec = UTIME_OMIT},
        {.tv_sec = (time_t)(file->modified_ns / 1000000000), .tv_nsec = (long)(file->modified_ns % 1000000000)}};
    int out = make_file(folder, file->path);
    if (out < 0) {
        fprintf(stderr, "%s: %s\n", shown(file->path), strerror(errno));
        return HR_IO;
    }
    enum hr_status status = pass_over(tool, file, out, false);
    if (!status)
        status = pass_over(tool, file, out, true);
    futimens(out, times);
    close(out);
    return status;
}

/* A file that fails does not keep the others. */
static enum hr_status copy(struct tool *tool, const char *folder)
{
    uint32_t *order = NULL;
    enum hr_status first = HR_OK, status = hr_card_reader_open(&tool->reader, tool->card, &tool->fault);
    if (!status)
        status = hr_inventory_order(&order, tool->inventory, tool->card, NULL, 0, &tool->fault);
    for (size_t i = 0; i < tool->inventory->file_count && !status; i++) {
        enum hr_status one = copy_one(tool, &tool->inventory->files[order[i]], folder);
        first = first ? first : one;
    }
    free(order);
    return status ? status : first;
}

static enum hr_status run(struct tool *tool, int count, char **arguments)
{
    enum hr_status status = hr_card_open(&tool->card, arguments[2], &tool->fault);
    if (!status)
        status = hr_inventory_create(&tool->inventory, tool->card, NULL, &tool->fault);
    if (status)
        return status;
    if (!strcmp(arguments[1], "name"))
        return puts(hr_card_name(tool->card)) < 0 ? HR_IO : HR_OK;
    if (!strcmp(arguments[1], "list"))
        return list(tool);
    if (!strcmp(arguments[1], "rows"))
        return rows(tool);
    return count == 4 && !strcmp(arguments[1], "copy") ? copy(tool, arguments[3]) : HR_INVALID;
}

int main(int count, char **arguments)
{
    struct tool tool = {.piece = hr__aligned_alloc(PIECE_BYTES)};
    enum hr_status status = count >= 3 ? run(&tool, count, arguments) : HR_INVALID;
    if (status)
        fprintf(stderr, "%s: %s\n", hr_status_name(status), tool.fault.text);
    hr_card_reader_close(tool.reader);
    hr_inventory_destroy(tool.inventory);
    hr_card_close(tool.card);
    hr__aligned_free(tool.piece);
    return status ? EXIT_FAILURE : EXIT_SUCCESS;
}
