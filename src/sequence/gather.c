/* SPDX-License-Identifier: ISC */
/* From places, bags and folders to files with facts. */
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "card/frame_row.h"
#include "card/kind.h"
#include "platform/clock.h"
#include "sequence/delivered_state.h"
#include "sequence/moved.h"

static const char what[] = "the delivered frames";

/* Where the files at hand stand. */
struct source {
    const char *root, *job; /* paths on the card begin below `root` */
    uint32_t place, card;
    size_t first_item;
};

/* ---- Places and cards ---- */

static enum hr_status find_place(uint32_t *out, struct hr_gathering *gathering, const char *path, bool is_card,
                                 struct hr_fault *fault)
{
    struct hr_delivered *shown = &gathering->shown;
    for (uint32_t i = 0; i < shown->place_count; i++)
        if (strcmp(shown->places[i].path, path) == 0) {
            *out = i;
            return HR_OK;
        }
    const char *kept = hr__gathering_keep(gathering, strdup(path));
    if (!kept || !hr__array_reserve(&shown->places, &gathering->place_capacity, shown->place_count + 1,
                                    sizeof *shown->places, UINT32_MAX))
        return hr__fault_nomem(fault, what);
    *out = (uint32_t)shown->place_count;
    shown->places[shown->place_count++] = (struct hr_delivered_place){.path = kept, .is_card = is_card};
    return HR_OK;
}

static enum hr_status find_card(uint32_t *out, struct hr_gathering *gathering, const char *identity,
                                struct hr_fault *fault)
{
    for (uint32_t i = 0; *identity && i < gathering->card_count; i++)
        if (strcmp(gathering->cards[i], identity) == 0) {
            *out = i;
            return HR_OK;
        }
    char *kept = strdup(identity);
    if (!kept || !hr__array_reserve(&gathering->cards, &gathering->card_capacity, gathering->card_count + 1,
                                    sizeof *gathering->cards, UINT32_MAX)) {
        free(kept);
        return hr__fault_nomem(fault, what);
    }
    *out = (uint32_t)gathering->card_count;
    gathering->cards[gathering->card_count++] = kept;
    return HR_OK;
}

/* ---- Files and their facts ---- */

/* Both strings as the gathering keeps them; NULL: no memory. */
static enum hr_status add_item(struct hr_gathering *gathering, const struct source *source, const char *path,
                               const char *on_card, uint64_t size_bytes, struct hr_fault *fault)
{
    if (!path || !on_card ||
        !hr__array_reserve(&gathering->items, &gathering->item_capacity, gathering->item_count + 1,
                           sizeof *gathering->items, UINT32_MAX))
        return hr__fault_nomem(fault, what);
    gathering->items[gathering->item_count++] =
        (struct hr_gathered_file){.file = {.path = path,
                                           .on_card = on_card,
                                           .place = source->place,
                                           .kind = (uint8_t)hr__kind_of_path(on_card),
                                           .size_bytes = size_bytes},
                                  .job = source->job,
                                  .card = source->card,
                                  .serial = "",
                                  .model = ""};
    return HR_OK;
}

/* A frame's: what is of no kind that cameras write is no part of one. */
static enum hr_status add_file(struct hr_gathering *gathering, const struct source *source, const char *on_card,
                               uint64_t size_bytes, struct hr_fault *fault)
{
    if (hr__kind_of_path(on_card) == HR_KIND_OTHER)
        return HR_OK;
    const char *path = hr__gathering_keep(gathering, hr__path_join(source->root, on_card));
    return add_item(gathering, source, path, path ? path + strlen(path) - strlen(on_card) : NULL, size_bytes, fault);
}

/* Most files of a body follow one another, so one text serves them all. */
static const char *keep_text(struct hr_gathering *gathering, const char *text, const char *last)
{
    if (!*text)
        return "";
    return strcmp(text, last) == 0 ? last : hr__gathering_keep(gathering, strdup(text));
}

/* Two times 146 years on either side of 1970 can still be taken from each other, by their offsets too. A clock that
 * says more says nothing. */
static bool is_time_told(const struct hr_media_facts *facts)
{
    const int64_t most_s = INT64_MAX / 2 / HR_NS_PER_S - 24 * 3600;
    return facts->has_time && facts->local_time_s <= most_s && facts->local_time_s >= -most_s;
}

static enum hr_status take_facts(struct hr_gathered_file *item, struct hr_gathering *gathering,
                                 const struct hr_media_facts *facts, struct hr_fault *fault)
{
    const struct hr_gathered_file *last = item > gathering->items ? item - 1 : item;
    const char *serial = facts->serial[0] ? facts->serial : facts->maker_serial;
    item->is_known = true;
    item->has_time = is_time_told(facts);
    item->has_offset = item->has_time && facts->has_offset;
    item->fraction_digits = facts->fraction_digits;
    item->offset_minutes = facts->offset_minutes;
    item->local_ns = item->has_time ? facts->local_time_s * HR_NS_PER_S + facts->fraction_ns : 0;
    item->iso = facts->iso;
    bool is_lost = facts->has_time && !item->has_time;
    item->trouble = hr_media_trouble_text(is_lost ? HR_MEDIA_BAD_TIME : (enum hr_media_trouble)facts->trouble);
    item->serial = keep_text(gathering, serial, last->serial);
    item->model = keep_text(gathering, facts->model, last->model);
    return item->serial && item->model ? HR_OK : hr__fault_nomem(fault, what);
}

static bool wants_head(const struct hr_gathered_file *item)
{
    return !item->is_known && hr__kind_is_picture((enum hr_card_file_kind)item->file.kind);
}

static void note_unread(struct hr_gathering *gathering, const struct hr_fault *cause)
{
    struct hr_delivered *shown = &gathering->shown;
    if (shown->unread_count++ == 0)
        shown->unread = *cause;
}

static enum hr_status read_head(struct hr_gathered_file *item, struct hr_gathering *gathering,
                                const struct hr_card *folder, struct hr_fault *fault)
{
    struct hr_media_facts facts;
    struct hr_fault cause = {0};
    const char *below = item->file.path + strlen(hr_card_resolved_path(folder));
    struct hr_card_file file = {
        .path = below + strspn(below, "/"), .size_bytes = item->file.size_bytes, .kind = item->file.kind};
    enum hr_status status = hr_card_file_media(&facts, folder, &file, &cause);
    if (status == HR_OK)
        return take_facts(item, gathering, &facts, fault);
    if (status == HR_NOMEM || status == HR_GONE)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    note_unread(gathering, &cause);
    item->is_known = true;
    item->trouble = hr__gathering_keep(gathering, strdup(cause.text));
    return item->trouble ? HR_OK : hr__fault_nomem(fault, what);
}

static size_t count_wanted_heads(const struct hr_gathering *gathering, const struct source *source)
{
    size_t wanted = 0;
    for (size_t i = source->first_item; i < gathering->item_count; i++)
        wanted += wants_head(&gathering->items[i]);
    return wanted;
}

static void tell(const struct hr_gathering *gathering, const struct hr_sequence_progress *progress)
{
    const struct hr_sequence_observer *observer = gathering->observer;
    if (observer && observer->progress)
        observer->progress(observer->context, progress);
}

/* Of the files from `source` that nothing is known of. */
static enum hr_status read_heads(struct hr_gathering *gathering, const struct source *source, struct hr_card *folder,
                                 const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_sequence_progress progress = {.path = hr_card_resolved_path(folder),
                                            .files_total = count_wanted_heads(gathering, source)};
    int64_t began_ns = hr__clock_now_ns();
    enum hr_status status = HR_OK;
    for (size_t i = source->first_item; i < gathering->item_count && !status; i++) {
        if (!wants_head(&gathering->items[i]))
            continue;
        status = hr_cancel_requested(cancel) ? HR_CANCELLED : read_head(&gathering->items[i], gathering, folder, fault);
        progress.files_done++;
        progress.elapsed_ns = hr__clock_now_ns() - began_ns;
        tell(gathering, &progress);
    }
    return status;
}

/* ---- Bags ---- */

static int compare_item_path(const void *path, const void *item)
{
    return strcmp(path, ((const struct hr_gathered_file *)item)->file.on_card);
}

static int compare_items(const void *a, const void *b)
{
    return strcmp(((const struct hr_gathered_file *)a)->file.on_card,
                  ((const struct hr_gathered_file *)b)->file.on_card);
}

/* Items of one bag stand in the order of their paths. */
static enum hr_status take_frame_lines(struct hr_gathering *gathering, const struct source *source,
                                       const struct hr_bag_listing *listing, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < listing->frame_line_count && !status; i++) {
        struct hr_frame_row row;
        if (!hr__frame_row_parse(&row, listing->frame_lines[i]))
            continue;
        struct hr_gathered_file *item =
            bsearch(row.path, gathering->items + source->first_item, gathering->item_count - source->first_item,
                    sizeof *gathering->items, compare_item_path);
        if (item)
            status = take_facts(item, gathering, &row.facts, fault);
    }
    return status;
}

static enum hr_status list_bag(const struct hr_bag_listing **out, struct hr_gathering *gathering, const char *path,
                               struct hr_fault *fault)
{
    if (!hr__array_reserve(&gathering->listings, &gathering->listing_capacity, gathering->listing_count + 1,
                           sizeof *gathering->listings, SIZE_MAX))
        return hr__fault_nomem(fault, what);
    enum hr_status status = hr_bag_list(&gathering->listings[gathering->listing_count], path, fault);
    if (!status)
        *out = gathering->listings[gathering->listing_count++];
    return status;
}

static enum hr_status add_moved_files(struct hr_gathering *gathering, const struct source *source,
                                      const struct hr_bag_listing *listing, struct hr_fault *fault)
{
    struct hr_moved moved = {0};
    enum hr_status status = hr__moved_find(&moved, listing, fault);
    for (size_t i = 0; i < moved.count && !status; i++) {
        const struct hr_moved_file *file = &moved.files[i];
        status = add_item(gathering, source, hr__gathering_keep(gathering, strdup(file->path)),
                          hr__gathering_keep(gathering, strdup(file->on_card)), file->size_bytes, fault);
        if (!status)
            gathering->items[gathering->item_count - 1].digest = file->xxh128;
    }
    if (!status && moved.count)
        qsort(gathering->items + source->first_item, gathering->item_count - source->first_item,
              sizeof *gathering->items, compare_items);
    hr__moved_finish(&moved);
    return status;
}

static enum hr_status add_bag_files(struct hr_gathering *gathering, const struct source *source,
                                    const struct hr_bag_listing *listing, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < listing->file_count && !status; i++) {
        size_t before = gathering->item_count;
        status = add_file(gathering, source, listing->files[i].path, listing->files[i].size_bytes, fault);
        if (gathering->item_count > before)
            gathering->items[before].digest = listing->files[i].xxh128;
    }
    if (!status)
        status = add_moved_files(gathering, source, listing, fault);
    return status ? status : take_frame_lines(gathering, source, listing, fault);
}

/* From the folder in which the bag stands, since what was moved stands beside it. */
static enum hr_status read_bag_heads(struct hr_gathering *gathering, const struct source *source,
                                     const struct hr_bag_listing *listing, const struct hr_cancel *cancel,
                                     struct hr_fault *fault)
{
    struct hr_card *folder = NULL;
    if (count_wanted_heads(gathering, source) == 0)
        return HR_OK;
    char *above = strndup(listing->path, hr__path_folder_length(listing->path));
    enum hr_status status = above ? hr_card_open(&folder, *above ? above : "/", fault) : hr__fault_nomem(fault, what);
    if (!status)
        status = read_heads(gathering, source, folder, cancel, fault);
    hr_card_close(folder);
    free(above);
    return status;
}

static enum hr_status gather_own_bag(struct hr_gathering *gathering, const struct hr_bag_listing *listing,
                                     const struct hr_cancel *cancel, struct hr_fault *fault)
{
    char *root = hr__path_join(listing->path, "data");
    struct source source = {.root = root, .job = listing->job, .first_item = gathering->item_count};
    gathering->shown.has_unfinished |= !listing->is_finished;
    enum hr_status status =
        root ? find_place(&source.place, gathering, listing->place, false, fault) : hr__fault_nomem(fault, what);
    if (!status)
        status = find_card(&source.card, gathering, listing->card_identity, fault);
    if (!status)
        status = add_bag_files(gathering, &source, listing, fault);
    if (!status)
        status = read_bag_heads(gathering, &source, listing, cancel, fault);
    free(root);
    return status;
}

/* ---- Folders ---- */

static const char ours[] = "sequences/";

static bool is_ours(const char *path)
{
    return strncmp(path, ours, strlen(ours)) == 0;
}

static void note_skips(struct hr_gathering *gathering, const struct hr_card *folder,
                       const struct hr_inventory *inventory)
{
    for (size_t i = 0; i < inventory->skip_count; i++) {
        const struct hr_card_skip *skip = &inventory->skips[i];
        char name[HR_FAULT_TEXT_SIZE / 2], root[HR_FAULT_TEXT_SIZE / 4];
        struct hr_fault cause = {0};
        if (skip->reason != HR_SKIP_UNREADABLE || is_ours(skip->path))
            continue;
        hr_escape_name(name, sizeof name, skip->path, strlen(skip->path));
        hr_escape_name(root, sizeof root, hr_card_path(folder), strlen(hr_card_path(folder)));
        hr__fault_set(&cause, skip->status, 0, "%s %s in %s (%s)", name, hr_card_skip_text(skip->reason), root,
                      hr_status_name(skip->status));
        note_unread(gathering, &cause);
    }
}

/* `place` NULL: the folder is its own place. */
static enum hr_status gather_folder(struct hr_gathering *gathering, const char *path, const char *place,
                                    const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_card *folder = NULL;
    struct hr_inventory *inventory = NULL;
    struct source source = {.job = "", .first_item = gathering->item_count};
    enum hr_status status = hr_card_open(&folder, path, fault);
    if (!status)
        status = hr_inventory_create(&inventory, folder, cancel, fault);
    if (!status) {
        source.root = hr_card_resolved_path(folder);
        status =
            find_place(&source.place, gathering, place ? place : source.root, !place && inventory->has_dcim, fault);
    }
    if (!status)
        status = find_card(&source.card, gathering, "", fault);
    for (size_t i = 0; !status && i < inventory->file_count; i++)
        if (!is_ours(inventory->files[i].path))
            status = add_file(gathering, &source, inventory->files[i].path, inventory->files[i].size_bytes, fault);
    if (!status)
        status = read_heads(gathering, &source, folder, cancel, fault);
    if (!status)
        note_skips(gathering, folder, inventory);
    hr_inventory_destroy(inventory);
    hr_card_close(folder);
    return status;
}

/* A bag of others says neither how large its files are nor what they hold: it is a folder with files. */
static enum hr_status gather_bag(struct hr_gathering *gathering, const char *path, const struct hr_cancel *cancel,
                                 struct hr_fault *fault)
{
    const struct hr_bag_listing *listing = NULL;
    enum hr_status status = list_bag(&listing, gathering, path, fault);
    if (status || listing->is_ours)
        return status ? status : gather_own_bag(gathering, listing, cancel, fault);
    char *root = hr__path_join(listing->path, "data");
    status = root ? gather_folder(gathering, root, listing->place, cancel, fault) : hr__fault_nomem(fault, what);
    free(root);
    return status;
}

enum hr_status hr__gather(struct hr_gathering *gathering, const char *path, const struct hr_cancel *cancel,
                          struct hr_fault *fault)
{
    char **bags = NULL;
    size_t bag_count = 0;
    enum hr_status status = hr_bags_find(&bags, &bag_count, NULL, path, fault);
    for (size_t i = 0; i < bag_count && !status; i++)
        status = hr_cancel_requested(cancel) ? HR_CANCELLED : gather_bag(gathering, bags[i], cancel, fault);
    if (!status && bag_count == 0)
        status = gather_folder(gathering, path, NULL, cancel, fault);
    hr_bag_paths_free(bags, bag_count);
    return status;
}
