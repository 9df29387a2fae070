/* SPDX-License-Identifier: ISC */
/* The tag files of a bag without what leaves it. frames.csv may speak of files that are not there and stays as it is.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/giving.h"
#include "bag/manifest.h"
#include "bag/tag_digest.h"
#include "bag/tag_file.h"
#include "base/checked.h"
#include "base/fault.h"
#include "base/units.h"

/* In the order in which they are put in place. */
static const char *const replaced[] = {HR_BAG_FILES, HR_BAG_MANIFEST_XXH128, HR_BAG_MANIFEST_SHA256, HR_BAG_INFO,
                                       HR_BAG_TAGMANIFEST};
enum { REPLACED = sizeof replaced / sizeof *replaced };

static const char *next_of(char out[HR_TAG_NAME_SIZE], const char *name)
{
    snprintf(out, HR_TAG_NAME_SIZE, ".%s.next", name);
    return out;
}

static enum hr_status has_next(bool *out, const struct hr_giving *giving, const char *name, struct hr_fault *fault)
{
    char next[HR_TAG_NAME_SIZE];
    return hr__bag_holds(out, &giving->folder, next_of(next, name), fault);
}

void hr__giving_standing(char out[HR_TAG_NAME_SIZE], const struct hr_giving *giving, const char *name)
{
    bool is_there = true, is_next = false;
    snprintf(out, HR_TAG_NAME_SIZE, "%s", name);
    if (hr__bag_holds(&is_there, &giving->folder, name, NULL) || is_there || has_next(&is_next, giving, name, NULL) ||
        !is_next)
        return;
    next_of(out, name);
}

static enum hr_status put_next(const struct hr_giving *giving, const char *name, struct hr_text *text,
                               struct hr_fault *fault)
{
    char next[HR_TAG_NAME_SIZE];
    enum hr_status status = text->broken
                                ? hr__fault_nomem(fault, "a tag file")
                                : hr__folder_put(&giving->folder, next_of(next, name), text->bytes, text->size, fault);
    hr__text_clear(text);
    return status;
}

static bool stays(const struct hr_giving *giving, const struct hr_bag_file *file)
{
    const struct hr_given *row = hr__giving_find(giving, file->path);
    return !row || row->status != HR_OK;
}

/* ---- Each of them ---- */

static enum hr_status write_files(const struct hr_giving *giving, struct hr_text *text, struct hr_fault *fault)
{
    hr__text_append(text, hr__journal_header);
    for (size_t i = 0; i < giving->files.count; i++)
        if (stays(giving, &giving->files.rows[i]))
            hr__journal_append_row(text, &giving->files.rows[i]);
    return put_next(giving, HR_BAG_FILES, text, fault);
}

/* Every file has one: then there is a manifest of them, should a torn rename have taken it. */
static bool has_digests(const struct hr_giving *giving, enum hr_digest_kind kind)
{
    for (size_t i = 0; i < giving->files.count; i++)
        if (hr__giving_digest(&giving->files.rows[i], kind)->kind != kind)
            return false;
    return giving->files.count > 0;
}

static enum hr_status write_manifest(const struct hr_giving *giving, const char *name, enum hr_digest_kind kind,
                                     struct hr_text *text, struct hr_fault *fault)
{
    struct hr_text path;
    bool is_there;
    enum hr_status status = hr__bag_holds(&is_there, &giving->folder, name, fault);
    if (status || !(is_there || has_digests(giving, kind)))
        return status;
    hr__text_init(&path, HR_BAG_TAG_FILE_MAX);
    for (size_t i = 0; i < giving->files.count; i++) {
        const struct hr_bag_file *row = &giving->files.rows[i];
        if (!stays(giving, row))
            continue;
        hr__text_clear(&path);
        hr__text_printf(&path, HR_BAG_DATA "/%s", row->path);
        hr__manifest_append_line(text, hr__giving_digest(row, kind), path.bytes);
        text->broken |= path.broken;
    }
    hr__text_finish(&path);
    return put_next(giving, name, text, fault);
}

/* What it says stays, but for what there is. */
static void append_info(struct hr_text *out, const struct hr_tags *tags, const struct hr_giving *giving)
{
    char size[HR_UNIT_TEXT_SIZE];
    uint64_t bytes = 0;
    size_t count = 0;
    for (size_t i = 0; i < giving->files.count; i++)
        if (stays(giving, &giving->files.rows[i])) {
            count++;
            out->broken |= !hr__add_u64(&bytes, bytes, giving->files.rows[i].size_bytes);
        }
    for (size_t i = 0; i < tags->count; i++)
        if (!strcmp(tags->tags[i].label, "Payload-Oxum"))
            hr__text_printf(out, "Payload-Oxum: %" PRIu64 ".%zu\n", bytes, count);
        else if (!strcmp(tags->tags[i].label, "Bag-Size"))
            hr__tag_append(out, "Bag-Size", hr__format_bytes(size, bytes));
        else if (!strcmp(tags->tags[i].label, "Payload-Digests") && has_digests(giving, HR_DIGEST_SHA256))
            hr__tag_append(out, "Payload-Digests", "xxh128 sha256"); /* the last file without it left earlier */
        else
            hr__tag_append(out, tags->tags[i].label, tags->tags[i].value);
}

static enum hr_status write_info(const struct hr_giving *giving, struct hr_text *text, struct hr_fault *fault)
{
    char *before = NULL, name[HR_TAG_NAME_SIZE];
    size_t size = 0;
    struct hr_tags tags = {0};
    hr__giving_standing(name, giving, HR_BAG_INFO);
    enum hr_status status =
        hr__file_load(&before, &size, &giving->folder, name, HR_BAG_TAG_FILE_MAX, HR_BAG_INFO, fault);
    if (!status && hr__tags_parse(&tags, before, size) != HR_OK)
        status = hr__fault_nomem(fault, "a tag file");
    if (!status) {
        append_info(text, &tags, giving);
        status = put_next(giving, HR_BAG_INFO, text, fault);
    }
    hr__tags_finish(&tags);
    free(before);
    return status;
}

static enum hr_status append_tag_line(struct hr_text *out, const struct hr_giving *giving, const char *name,
                                      struct hr_fault *fault)
{
    char next[HR_TAG_NAME_SIZE];
    struct hr_digest digest;
    bool is_there = false;
    const char *standing = next_of(next, name);
    enum hr_status status = has_next(&is_there, giving, name, fault);
    if (!status && !is_there) {
        standing = name;
        status = hr__bag_holds(&is_there, &giving->folder, standing, fault);
    }
    if (status || !is_there)
        return status;
    status = hr__tag_digest(&digest, HR_DIGEST_SHA256, &giving->folder, standing, fault);
    if (!status)
        hr__manifest_append_line(out, &digest, name);
    return status;
}

static enum hr_status write_tagmanifest(const struct hr_giving *giving, struct hr_text *text, struct hr_fault *fault)
{
    static const char *const listed[] = {
        HR_BAG_DECLARATION,     HR_BAG_INFO,      HR_BAG_FILES, HR_BAG_FRAMES, HR_BAG_MANIFEST_SHA256,
        HR_BAG_MANIFEST_XXH128, HR_BAG_THROUGHPUT};
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < sizeof listed / sizeof *listed && !status; i++)
        status = append_tag_line(text, giving, listed[i], fault);
    return status ? status : put_next(giving, HR_BAG_TAGMANIFEST, text, fault);
}

/* ---- All of them ---- */

enum hr_status hr__giving_write_tags(const struct hr_giving *giving, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, HR_BAG_TAG_FILE_MAX);
    enum hr_status status = write_files(giving, &text, fault);
    if (!status)
        status = write_manifest(giving, HR_BAG_MANIFEST_XXH128, HR_DIGEST_XXH128, &text, fault);
    if (!status)
        status = write_manifest(giving, HR_BAG_MANIFEST_SHA256, HR_DIGEST_SHA256, &text, fault);
    if (!status)
        status = write_info(giving, &text, fault);
    if (!status)
        status = write_tagmanifest(giving, &text, fault);
    hr__text_finish(&text);
    return status;
}

enum hr_status hr__giving_place_tags(const struct hr_giving *giving, struct hr_fault *fault)
{
    char next[HR_TAG_NAME_SIZE];
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < REPLACED && !status; i++) {
        bool is_there;
        status = has_next(&is_there, giving, replaced[i], fault);
        if (is_there)
            status = hr__folder_replace(&giving->folder, next_of(next, replaced[i]), replaced[i], fault);
        if (is_there && !status)
            status = hr__folder_sync_name(&giving->folder, replaced[i], fault);
    }
    return status;
}

void hr__giving_drop_tags(const struct hr_giving *giving)
{
    char next[HR_TAG_NAME_SIZE];
    for (size_t i = REPLACED; i > 0; i--)
        hr__folder_remove(&giving->folder, next_of(next, replaced[i - 1]), NULL);
}
