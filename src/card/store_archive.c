/* SPDX-License-Identifier: ISC */
/* A card that is an archive or image: .tar, .zip, .iso. Entries are hostile until checked. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <archive.h>
#include <archive_entry.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "card/archive_pass.h"
#include "card/card_state.h"
#include "card/inventory_draft.h"

/* A walk skips the contents where it can: reading far ahead would fetch them all the same. */
enum { WALK_AHEAD_BYTES = 1 << 16, READ_AHEAD_BYTES = 1 << 20 };

static const char *without_dot(const char *name)
{
    while (name[0] == '.' && name[1] == '/')
        name += 2;
    return name;
}

/* ---- The walk ---- */

struct archive_walk {
    struct hr_inventory_draft *draft;
    struct hr_archive_pass *pass;
    uint64_t ordinal;
};

/* Times past what nanoseconds can say (the year 2262) stand at the border. */
static int64_t modified_ns(struct archive_entry *entry)
{
    const int64_t last_s = INT64_MAX / HR_NS_PER_S - 1;
    int64_t s = (int64_t)archive_entry_mtime(entry);
    s = s > last_s ? last_s : s < -last_s ? -last_s : s;
    return s * HR_NS_PER_S + archive_entry_mtime_nsec(entry);
}

static enum hr_status take_file(struct archive_walk *walk, const char *path, struct archive_entry *entry,
                                struct hr_fault *fault)
{
    bool says_bits = !hr__archive_pass_is_image(walk->pass);
    struct hr_card_file file = {
        .path = path,
        .size_bytes = archive_entry_size(entry) > 0 ? (uint64_t)archive_entry_size(entry) : 0,
        .modified_ns = modified_ns(entry),
        .is_protected = says_bits && (archive_entry_perm(entry) & 0222) == 0,
        .archive_at = walk->ordinal,
    };
    return hr__draft_add_file(walk->draft, &file, fault);
}

static enum hr_status skip_nameless(struct archive_walk *walk, struct hr_fault *fault)
{
    char name[48];
    snprintf(name, sizeof name, "(entry %" PRIu64 ")", walk->ordinal + 1);
    return hr__draft_add_skip(walk->draft, name, HR_SKIP_UNREADABLE, HR_MALFORMED, fault);
}

static bool is_special(__LA_MODE_T type)
{
    return type == AE_IFCHR || type == AE_IFBLK || type == AE_IFIFO || type == AE_IFSOCK;
}

/* A hard link's content stands in the archive under another name only: it is not carried under this one, and unlike a
 * symbolic link it was a file, so the card must not pass as safe. The same goes for what has no type that is known. */
static enum hr_status take_item(struct archive_walk *walk, const struct hr_archive_item *item, struct hr_fault *fault)
{
    if (!item->name)
        return skip_nameless(walk, fault);
    const char *path = without_dot(item->name);
    bool is_hard_link = archive_entry_hardlink(item->entry);
    __LA_MODE_T type = archive_entry_filetype(item->entry);
    if (type == AE_IFDIR && !is_hard_link) {
        hr__draft_note_folder(walk->draft, path);
        return HR_OK;
    }
    if (!hr__path_is_inside(path))
        return hr__draft_add_skip(walk->draft, item->name, HR_SKIP_ESCAPES, HR_OK, fault);
    if (type == AE_IFLNK)
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_LINK, HR_OK, fault);
    if (is_hard_link || archive_entry_is_encrypted(item->entry))
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_UNREADABLE, HR_UNSUPPORTED, fault);
    if (item->is_doubtful)
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_UNREADABLE, HR_MALFORMED, fault);
    if (is_special(type))
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_SPECIAL, HR_OK, fault);
    if (type != AE_IFREG)
        return hr__draft_add_skip(walk->draft, path, HR_SKIP_UNREADABLE, HR_UNSUPPORTED, fault);
    return take_file(walk, path, item->entry, fault);
}

static enum hr_status walk_archive(struct hr_inventory_draft *draft, const struct hr_card *card,
                                   const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct archive_walk walk = {.draft = draft};
    struct hr_archive_item item = {0};
    enum hr_status status = hr__archive_pass_open(&walk.pass, card, WALK_AHEAD_BYTES, false, cancel, fault);
    for (; !status; walk.ordinal++) {
        status = hr_cancel_requested(cancel) ? HR_CANCELLED : hr__archive_pass_next(&item, walk.pass, fault);
        if (status || !item.entry)
            break;
        status = take_item(&walk, &item, fault);
    }
    if (!status)
        status = hr__archive_pass_check(walk.pass, fault);
    hr__archive_pass_close(walk.pass);
    return status;
}

/* ---- The stream ---- */

/* How far one pass has come. */
struct lane {
    struct hr_archive_pass *pass;
    uint64_t next; /* ordinal of the entry that comes next */
};

/* A second reading of each file, right after the first, has a pass of its own: so neither ever goes back. */
struct archive_stream {
    const struct hr_card *card;
    const struct hr_card_file *wanted;
    struct lane lanes[2];
    struct lane *lane;
    uint64_t offset;
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

static void close_lane(struct lane *lane)
{
    hr__archive_pass_close(lane->pass);
    *lane = (struct lane){0};
}

static void close_stream(void *state)
{
    struct archive_stream *stream = state;
    close_lane(&stream->lanes[0]);
    close_lane(&stream->lanes[1]);
    free(stream);
}

/* Forward from where the pass stands; backward from the beginning. */
static enum hr_status go_to(struct hr_archive_item *item, struct archive_stream *stream, bool past_cache,
                            struct hr_fault *fault)
{
    struct lane *lane = stream->lane;
    enum hr_status status = HR_OK;
    if (lane->next > stream->wanted->archive_at)
        close_lane(lane);
    if (!lane->pass)
        status = hr__archive_pass_open(&lane->pass, stream->card, READ_AHEAD_BYTES, past_cache, NULL, fault);
    else if (past_cache)
        hr__archive_pass_drop_cache(lane->pass);
    while (!status && lane->next <= stream->wanted->archive_at) {
        status = hr__archive_pass_next(item, lane->pass, fault);
        lane->next++;
        if (!item->entry)
            break;
    }
    return status;
}

static enum hr_status start(void *state, const struct hr_card_file *file, bool past_cache, struct hr_fault *fault)
{
    struct archive_stream *stream = state;
    struct hr_archive_item item = {0};
    stream->lane = &stream->lanes[past_cache];
    stream->wanted = file;
    stream->offset = 0;
    enum hr_status status = go_to(&item, stream, past_cache, fault);
    if (!status && (!item.name || strcmp(without_dot(item.name), file->path) != 0))
        status = hr__fault_about(fault, HR_DIFFERS, stream->card->given, "the archive changed meanwhile");
    if (status)
        close_lane(stream->lane);
    return status;
}

static enum hr_status read_some(size_t *got, void *state, void *into, size_t size, struct hr_fault *fault)
{
    struct archive_stream *stream = state;
    enum hr_status status = hr__archive_pass_read(got, stream->lane->pass, into, size, fault);
    stream->offset += *got;
    if (!status && stream->offset > stream->wanted->size_bytes)
        status = hr__fault_about(fault, HR_DIFFERS, stream->wanted->path, "holds more bytes than the archive declares");
    if (status && hr__archive_pass_is_dead(stream->lane->pass))
        close_lane(stream->lane);
    return status;
}

static enum hr_status end(void *state, struct hr_fault *fault)
{
    struct archive_stream *stream = state;
    if (stream->offset != stream->wanted->size_bytes)
        return hr__fault_about(fault, HR_DIFFERS, stream->wanted->path, "holds fewer bytes than the archive declares");
    return hr__archive_pass_check(stream->lane->pass, fault);
}

const struct hr_card_store hr__store_archive = {
    .walk = walk_archive,
    .stream_open = open_stream,
    .stream_close = close_stream,
    .start = start,
    .read = read_some,
    .end = end,
};
