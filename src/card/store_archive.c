/* SPDX-License-Identifier: ISC */
/* A card that is an archive or image: .tar (also compressed), .zip, .iso. Entries are hostile until checked. */
#include <stdlib.h>
#include <string.h>

#include <archive.h>
#include <archive_entry.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "card/card_state.h"
#include "card/inventory_draft.h"

enum { READ_AHEAD_BYTES = 1 << 20 };

/* Only what a card may be; the format for raw bytes would take any file for an archive. */
static struct archive *open_archive(const char *path)
{
    struct archive *archive = archive_read_new();
    if (!archive)
        return NULL;
    archive_read_support_filter_all(archive);
    archive_read_support_format_tar(archive);
    archive_read_support_format_zip(archive);
    archive_read_support_format_iso9660(archive);
    if (archive_read_open_filename(archive, path, READ_AHEAD_BYTES) == ARCHIVE_OK)
        return archive;
    archive_read_free(archive);
    return NULL;
}

/* An empty tar has no entry and no magic: it is no card either. */
bool hr__archive_is(const char *path)
{
    struct archive *archive = open_archive(path);
    struct archive_entry *entry;
    int result = archive ? archive_read_next_header(archive, &entry) : ARCHIVE_FATAL;
    archive_read_free(archive);
    return result == ARCHIVE_OK || result == ARCHIVE_WARN;
}

static enum hr_status malformed(const struct hr_card *card, struct archive *archive, struct hr_fault *fault)
{
    const char *why = archive ? archive_error_string(archive) : NULL;
    return hr__fault_set(fault, HR_MALFORMED, 0, "%s: the archive is damaged: %s", hr_card_path(card),
                         why ? why : "cannot be opened");
}

/* ---- The walk ---- */

static const char *without_dot(const char *name)
{
    while (name[0] == '.' && name[1] == '/')
        name += 2;
    return name;
}

/* A zip written as a stream says an entry's size only after it: such an entry is read through once. */
static enum hr_status true_size(uint64_t *size, struct archive *archive, struct archive_entry *entry,
                                const struct hr_card *card, struct hr_fault *fault)
{
    static const size_t piece = 1 << 16;
    *size = 0;
    if (archive_entry_size_is_set(entry)) {
        int64_t declared = archive_entry_size(entry);
        *size = declared > 0 ? (uint64_t)declared : 0;
        return HR_OK;
    }
    char *buffer = malloc(piece);
    la_ssize_t got = 1;
    while (buffer && got > 0) {
        got = archive_read_data(archive, buffer, piece);
        *size += got > 0 ? (uint64_t)got : 0;
    }
    enum hr_status status = !buffer   ? hr__fault_nomem(fault, "an archive")
                            : got < 0 ? malformed(card, archive, fault)
                                      : HR_OK;
    free(buffer);
    return status;
}

static enum hr_status take_entry(struct hr_inventory_draft *draft, struct archive *archive, struct archive_entry *entry,
                                 uint64_t ordinal, const struct hr_card *card, struct hr_fault *fault)
{
    const char *given = archive_entry_pathname(entry);
    const char *path = given ? without_dot(given) : "";
    __LA_MODE_T type = archive_entry_filetype(entry);
    if (type == AE_IFDIR && !archive_entry_hardlink(entry))
        return HR_OK;
    if (!given || !hr__path_is_inside(path))
        return hr__draft_add_skip(draft, given ? given : "", HR_SKIP_ESCAPES, HR_OK, fault);
    if (type == AE_IFLNK || archive_entry_hardlink(entry))
        return hr__draft_add_skip(draft, path, HR_SKIP_LINK, HR_OK, fault);
    if (type != AE_IFREG)
        return hr__draft_add_skip(draft, path, HR_SKIP_SPECIAL, HR_OK, fault);
    struct hr_card_file file = {.path = path,
                                .modified_ns =
                                    (int64_t)archive_entry_mtime(entry) * HR_NS_PER_S + archive_entry_mtime_nsec(entry),
                                .is_protected = (archive_entry_perm(entry) & 0222) == 0,
                                .archive_at = ordinal};
    enum hr_status status = true_size(&file.size_bytes, archive, entry, card, fault);
    return status ? status : hr__draft_add_file(draft, &file, fault);
}

static enum hr_status walk_archive(struct hr_inventory_draft *draft, const struct hr_card *card,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct archive *archive = open_archive(card->resolved);
    struct archive_entry *entry;
    enum hr_status status = archive ? HR_OK : malformed(card, archive, fault);
    for (uint64_t ordinal = 0; !status; ordinal++) {
        int result = archive_read_next_header(archive, &entry);
        if (result == ARCHIVE_EOF)
            break;
        if (hr_cancel_requested(cancel))
            status = HR_CANCELLED;
        else if (result != ARCHIVE_OK && result != ARCHIVE_WARN)
            status = malformed(card, archive, fault);
        else
            status = take_entry(draft, archive, entry, ordinal, card, fault);
    }
    archive_read_free(archive);
    return status;
}

/* ---- The stream ---- */

struct archive_stream {
    const struct hr_card *card;
    const struct hr_card_file *wanted;
    struct archive *archive;
    uint64_t next; /* ordinal of the entry the next header gives */
    uint64_t offset;
    bool reached_end;
};

static enum hr_status open_stream(void **stream, const struct hr_card *card, struct hr_fault *fault)
{
    struct archive_stream *made = calloc(1, sizeof *made);
    if (!made)
        return hr__fault_nomem(fault, "a reader");
    made->card = card;
    *stream = made;
    return HR_OK;
}

static void close_stream(void *state)
{
    struct archive_stream *stream = state;
    archive_read_free(stream->archive);
    free(stream);
}

/* Forward from where the archive stands; backward from its beginning. */
static enum hr_status start(void *state, const struct hr_card_file *file, bool past_cache, struct hr_fault *fault)
{
    struct archive_stream *stream = state;
    struct archive_entry *entry = NULL;
    (void)past_cache;
    if (!stream->archive || stream->next > file->archive_at) {
        archive_read_free(stream->archive);
        stream->archive = open_archive(stream->card->resolved);
        stream->next = 0;
    }
    stream->wanted = file;
    stream->offset = 0;
    stream->reached_end = false;
    if (!stream->archive)
        return hr__card_blame(stream->card, malformed(stream->card, NULL, fault), fault);
    while (stream->next <= file->archive_at) {
        int result = archive_read_next_header(stream->archive, &entry);
        if (result != ARCHIVE_OK && result != ARCHIVE_WARN)
            return malformed(stream->card, stream->archive, fault);
        stream->next++;
    }
    const char *name = archive_entry_pathname(entry);
    if (!name || strcmp(without_dot(name), file->path) != 0)
        return hr__fault_set(fault, HR_DIFFERS, 0, "%s: the archive changed meanwhile", hr_card_path(stream->card));
    return HR_OK;
}

static enum hr_status read_some(size_t *got, void *state, void *into, size_t size, struct hr_fault *fault)
{
    struct archive_stream *stream = state;
    *got = 0;
    while (*got < size && !stream->reached_end) {
        la_ssize_t count = archive_read_data(stream->archive, (char *)into + *got, size - *got);
        if (count < 0) /* a warning too: a check sum that does not fit, a file cut short */
            return hr__fault_set(fault, HR_DIFFERS, 0, "%s: damaged in the archive: %s", stream->wanted->path,
                                 archive_error_string(stream->archive));
        stream->reached_end = count == 0;
        *got += (size_t)count;
        stream->offset += (size_t)count;
        if (stream->offset > stream->wanted->size_bytes)
            return hr__fault_set(fault, HR_DIFFERS, 0, "%s: holds more bytes than the archive declares",
                                 stream->wanted->path);
    }
    return HR_OK;
}

static enum hr_status end(void *state, struct hr_fault *fault)
{
    struct archive_stream *stream = state;
    if (stream->offset != stream->wanted->size_bytes)
        return hr__fault_set(fault, HR_DIFFERS, 0, "%s: holds fewer bytes than the archive declares",
                             stream->wanted->path);
    return HR_OK;
}

static bool was_from_device(const void *state)
{
    (void)state;
    return false;
}

const struct hr_card_store hr__store_archive = {
    .walk = walk_archive,
    .stream_open = open_stream,
    .stream_close = close_stream,
    .start = start,
    .read = read_some,
    .end = end,
    .was_from_device = was_from_device,
};
