/* SPDX-License-Identifier: ISC */
/* Finishing: the journal becomes files.csv, manifests and tag files are made from it, bagit.txt comes last. Until
 * that stands everything made here can be taken back (hr__bag_unfinish) and made again. */
#include <assert.h>
#include <inttypes.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/bag_walk.h"
#include "bag/journal_proof.h"
#include "bag/manifest.h"
#include "bag/tag_digest.h"
#include "bag/tag_file.h"
#include "bag/tag_read_back.h"
#include "base/checked.h"
#include "base/fault.h"
#include "base/units.h"
#include "platform/clock.h"
#include "platform/volume.h"

enum { TAG_CEILING = 1 << 16 };

/* What the bag is made of, while it is being finished. */
struct contents {
    struct hr_journal journal;
    uint64_t payload_bytes;
    bool has_sha256;    /* every file has one: a manifest must list all of them */
    bool renames_whole; /* the volume: with a folder's sync its new names are durable, and what they stand for */
};

static enum hr_status write_durably(const struct hr_bag *bag, const char *name, const struct hr_text *text,
                                    struct hr_fault *fault)
{
    if (text->broken)
        return hr__fault_nomem(fault, "a tag file");
    return hr__file_write_new(&bag->folder, name, text->bytes, text->size, name, fault);
}

enum hr_status hr__bag_write_tag(const struct hr_bag *bag, const char *part_name, const char *name,
                                 const struct hr_text *text, struct hr_fault *fault)
{
    enum hr_status status = write_durably(bag, part_name, text, fault);
    if (!status)
        status = hr__tag_read_back(&bag->folder, part_name, text, fault);
    return status ? status : hr__folder_rename(&bag->folder, part_name, name, fault);
}

/* ---- What is in it ---- */

static enum hr_status tell_gone(const char *path, struct hr_fault *fault)
{
    hr_fault_clear(fault);
    return hr__fault_path(fault, HR_NOT_FOUND, 0, "the bag stays unfinished: proven, but gone from data/ is", path);
}

static enum hr_status tell_stray(const char *path, struct hr_fault *fault)
{
    return hr__fault_path(fault, HR_DIFFERS, 0, "the bag stays unfinished: not proven, yet in data/ stands", path);
}

/* The rows and the files below data/ must be the same: what stands there unproven would make the bag invalid. Both are
 * sorted by path. What is gone is worse than what has come. */
static enum hr_status compare_with_data(const struct hr_journal *journal, const struct hr_bag *bag,
                                        struct hr_fault *fault)
{
    struct hr_walk walk;
    size_t files = 0, rows = 0;
    enum hr_status status = hr__bag_walk(&walk, &bag->folder, HR_BAG_DATA, fault);
    if (status)
        return status;
    while ((files < walk.count || rows < journal->count) && status != HR_NOT_FOUND) {
        const struct hr_walked *file = files < walk.count ? &walk.files[files] : NULL;
        const struct hr_bag_file *row = rows < journal->count ? &journal->rows[rows] : NULL;
        assert(file || row);
        const char *path = file ? file->path + strlen(HR_BAG_DATA "/") : NULL;
        int order = !file ? 1 : !row ? -1 : strcmp(path, row->path);
        bool is_it = order == 0 && file->kind == HR_ENTRY_FILE && file->size_bytes == row->size_bytes;
        if (order >= 0 && !is_it)
            status = tell_gone(row->path, fault);
        else if (order < 0 && !status)
            status = tell_stray(path, fault);
        files += order <= 0;
        rows += order >= 0;
    }
    hr__bag_walk_finish(&walk);
    return status;
}

static enum hr_status load_contents(struct contents *contents, const struct hr_bag *bag, struct hr_fault *fault)
{
    enum hr_status status = hr__journal_load(&contents->journal, &bag->folder, HR_BAG_FILES_PART, fault);
    if (!status && contents->journal.is_damaged)
        status = hr__journal_rewrite(&contents->journal, &bag->journal, fault);
    if (!status)
        status = compare_with_data(&contents->journal, bag, fault);
    contents->has_sha256 = true;
    for (size_t i = 0; i < contents->journal.count && !status; i++) {
        const struct hr_bag_file *row = &contents->journal.rows[i];
        contents->has_sha256 &= row->sha256.kind == HR_DIGEST_SHA256;
        if (!hr__add_u64(&contents->payload_bytes, contents->payload_bytes, row->size_bytes))
            status = hr__fault_set(fault, HR_TOO_LARGE, 0, "the bag is too large to be counted");
    }
    return status;
}

/* ---- The files ---- */

static enum hr_status settle_file(struct hr_file *file, const struct hr_bag *bag, const char *part_name,
                                  const char *name, struct hr_fault *fault)
{
    bool is_there;
    enum hr_status status = hr__bag_holds(&is_there, &bag->folder, part_name, fault);
    if (status || !is_there)
        return status;
    if (file->descriptor < 0)
        status = hr__file_open(file, &bag->folder, part_name, HR_FILE_APPEND, false, part_name, fault);
    if (!status)
        status = hr__file_sync(file, fault);
    if (!status)
        status = hr__folder_rename(&bag->folder, part_name, name, fault);
    return status;
}

static enum hr_status settle_log(struct hr_bag_log *log, const struct hr_bag *bag, const char *name,
                                 struct hr_fault *fault)
{
    enum hr_status status = hr__bag_log_write_out(log, fault);
    return status ? status : settle_file(&log->file, bag, log->part_name, name, fault);
}

static enum hr_status write_manifest(const struct hr_bag *bag, const struct contents *contents, const char *part_name,
                                     const char *name, bool is_sha256, struct hr_fault *fault)
{
    struct hr_text text, path;
    hr__text_init(&text, HR_BAG_TAG_FILE_MAX);
    hr__text_init(&path, HR_BAG_TAG_FILE_MAX);
    for (size_t i = 0; i < contents->journal.count; i++) {
        const struct hr_bag_file *row = &contents->journal.rows[i];
        hr__text_clear(&path);
        hr__text_printf(&path, HR_BAG_DATA "/%s", row->path);
        hr__manifest_append_line(&text, is_sha256 ? &row->sha256 : &row->xxh128, path.bytes);
        text.broken |= path.broken;
    }
    enum hr_status status = hr__bag_write_tag(bag, part_name, name, &text, fault);
    hr__text_finish(&path);
    hr__text_finish(&text);
    return status;
}

static void describe(struct hr_text *out, const struct hr_bag *bag, const struct contents *contents)
{
    char size[HR_UNIT_TEXT_SIZE];
    struct hr_civil today = hr__clock_civil(hr__clock_wall_ns());
    hr__text_printf(out, "Bag-Software-Agent: headrace %s\n", hr_version());
    hr__text_printf(out, "Bagging-Date: %04d-%02d-%02d\n", today.year, today.month, today.day);
    hr__tag_append(out, "External-Identifier", bag->identity);
    if (*bag->description)
        hr__tag_append(out, "External-Description", bag->description);
    hr__text_printf(out, "Payload-Oxum: %" PRIu64 ".%zu\n", contents->payload_bytes, contents->journal.count);
    hr__tag_append(out, "Bag-Size", hr__format_bytes(size, contents->payload_bytes));
    hr__tag_append(out, "Payload-Digests", contents->has_sha256 ? "xxh128 sha256" : "xxh128");
}

/* They were durable by the names they were written under; by those they have now FAT would show them empty. */
static enum hr_status sync_name(const struct hr_bag *bag, const struct contents *contents, const char *name,
                                struct hr_fault *fault)
{
    return contents->renames_whole ? hr__folder_sync(&bag->folder, "", fault)
                                   : hr__folder_sync_name(&bag->folder, name, fault);
}

/* The cover goes when the new name is durable: after a power cut one of them must say whose bag it is. */
static enum hr_status write_info(const struct hr_bag *bag, const struct contents *contents, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, TAG_CEILING);
    describe(&text, bag, contents);
    enum hr_status status = hr__bag_write_tag(bag, HR_BAG_INFO_FINAL_PART, HR_BAG_INFO, &text, fault);
    hr__text_finish(&text);
    if (!status)
        status = sync_name(bag, contents, HR_BAG_INFO, fault);
    return status ? status : hr__folder_remove(&bag->folder, HR_BAG_INFO_PART, fault);
}

static struct hr_digest digest_of_declaration(struct hr_fault *fault)
{
    struct hr_hasher *hasher = NULL;
    struct hr_digest digest = {0};
    if (hr_hasher_create(&hasher, HR_DIGEST_SHA256, fault) == HR_OK) {
        hr_hasher_update(hasher, hr__declaration_text, strlen(hr__declaration_text));
        digest = hr_hasher_finish(hasher);
    }
    hr_hasher_destroy(hasher);
    return digest;
}

/* Those that a bag may have, but for the two that vouch for all others. */
static const char *const tag_names[] = {
    HR_BAG_INFO, HR_BAG_FILES, HR_BAG_FRAMES, HR_BAG_MANIFEST_SHA256, HR_BAG_MANIFEST_XXH128, HR_BAG_THROUGHPUT};
enum { TAG_COUNT = sizeof tag_names / sizeof *tag_names };

/* Lists bagit.txt too, which is not written yet but always the same. */
static enum hr_status write_tagmanifest(const struct hr_bag *bag, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, TAG_CEILING);
    struct hr_digest digest = digest_of_declaration(fault);
    enum hr_status status = digest.kind == HR_DIGEST_NONE ? HR_NOMEM : HR_OK;
    hr__manifest_append_line(&text, &digest, HR_BAG_DECLARATION);
    for (size_t i = 0; i < TAG_COUNT && !status; i++) {
        bool is_there;
        status = hr__bag_holds(&is_there, &bag->folder, tag_names[i], fault);
        if (status || !is_there)
            continue;
        status = hr__tag_digest(&digest, HR_DIGEST_SHA256, &bag->folder, tag_names[i], fault);
        hr__manifest_append_line(&text, &digest, tag_names[i]);
    }
    if (!status)
        status = hr__bag_write_tag(bag, "." HR_BAG_TAGMANIFEST ".part", HR_BAG_TAGMANIFEST, &text, fault);
    hr__text_finish(&text);
    return status;
}

static enum hr_status sync_tags(const struct hr_bag *bag, const struct contents *contents, struct hr_fault *fault)
{
    enum hr_status status = sync_name(bag, contents, HR_BAG_TAGMANIFEST, fault);
    for (size_t i = 0; i < TAG_COUNT && !contents->renames_whole && !status; i++) {
        bool is_there;
        status = hr__bag_holds(&is_there, &bag->folder, tag_names[i], fault);
        if (!status && is_there)
            status = sync_name(bag, contents, tag_names[i], fault);
    }
    return status;
}

/* Last of all, and only when everything it vouches for is durable. */
static enum hr_status write_declaration(const struct hr_bag *bag, const struct contents *contents,
                                        struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, TAG_CEILING);
    hr__text_append(&text, hr__declaration_text);
    enum hr_status status = sync_tags(bag, contents, fault);
    if (!status)
        status = hr__bag_write_tag(bag, "." HR_BAG_DECLARATION ".part", HR_BAG_DECLARATION, &text, fault);
    if (!status)
        status = sync_name(bag, contents, HR_BAG_DECLARATION, fault);
    hr__text_finish(&text);
    return status;
}

static enum hr_status write_all(struct hr_bag *bag, const struct contents *contents, struct hr_fault *fault)
{
    enum hr_status status = settle_file(&bag->journal, bag, HR_BAG_FILES_PART, HR_BAG_FILES, fault);
    if (!status)
        status = settle_log(&bag->throughput, bag, HR_BAG_THROUGHPUT, fault);
    if (!status)
        status = settle_log(&bag->frames, bag, HR_BAG_FRAMES, fault);
    if (!status)
        status =
            write_manifest(bag, contents, "." HR_BAG_MANIFEST_XXH128 ".part", HR_BAG_MANIFEST_XXH128, false, fault);
    if (!status && contents->has_sha256)
        status = write_manifest(bag, contents, "." HR_BAG_MANIFEST_SHA256 ".part", HR_BAG_MANIFEST_SHA256, true, fault);
    if (!status)
        status = write_info(bag, contents, fault);
    if (!status)
        status = write_tagmanifest(bag, fault);
    return status ? status : write_declaration(bag, contents, fault);
}

static bool is_on_a_volume_that_renames_whole(const struct hr_bag *bag)
{
    struct hr_volume volume;
    if (hr__volume_of(&volume, bag->path, &hr__system_roots, NULL))
        return false;
    bool renames_whole = volume.renames_whole;
    hr__volume_finish(&volume);
    return renames_whole;
}

enum hr_status hr_bag_finish(struct hr_bag *bag, struct hr_fault *fault)
{
    struct contents contents = {.renames_whole = is_on_a_volume_that_renames_whole(bag)};
    /* A finishing that failed after bagit.txt had its name has only to be made durable. */
    enum hr_status status = hr__bag_holds(&bag->is_finished, &bag->folder, HR_BAG_DECLARATION, fault);
    if (status || bag->is_finished)
        return status ? status : sync_name(bag, &contents, HR_BAG_DECLARATION, fault);
    hr_bag_forget_files(bag); /* the file has these rows and the new ones */
    status = hr__bag_unfinish(bag, fault);
    if (!status)
        status = hr__journal_prove(bag, fault);
    if (!status)
        status = load_contents(&contents, bag, fault);
    if (!status)
        status = write_all(bag, &contents, fault);
    hr__journal_finish(&contents.journal);
    bag->is_finished = status == HR_OK;
    return status;
}
