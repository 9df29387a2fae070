/* SPDX-License-Identifier: ISC */
/* What the payload manifests list, and whether they agree with each other and with the standard. */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "bag/manifest.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/utf8.h"

/* One line of one manifest. */
struct entry {
    const char *path, *hex;
    unsigned manifest;
};
struct entries {
    struct entry *entries;
    size_t count, capacity;
};

/* Oddities are told once a manifest: a bag made with the checksum tools has them in every line. */
struct oddities {
    size_t malformed, asterisks, dots, percents, not_utf8;
};

/* ---- Finding them ---- */

/* "manifest-" or "tagmanifest-", ALGORITHM, ".txt". */
static bool parse_name(struct hr_manifest_file *out, const char *name, const char *prefix)
{
    char algorithm[32];
    size_t length = strlen(name), prefix_length = strlen(prefix);
    if (strncmp(name, prefix, prefix_length) != 0 || length < prefix_length + 5 ||
        strcmp(name + length - 4, ".txt") != 0)
        return false;
    size_t size = length - 4 - prefix_length;
    *out = (struct hr_manifest_file){0};
    if (size < sizeof algorithm) {
        memcpy(algorithm, name + prefix_length, size);
        algorithm[size] = '\0';
        out->kind = hr_digest_kind_of_name(algorithm);
    }
    return true;
}

static enum hr_status take_manifest(struct hr_inspection *inspection, struct hr_manifest_file *manifests, size_t *count,
                                    struct hr_manifest_file *found, const char *name, struct hr_fault *fault)
{
    if (*count == HR_MANIFESTS_MAX) {
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, name, "is one manifest too many: not read");
        return HR_OK;
    }
    for (size_t i = 0; i < *count; i++)
        if (found->kind != HR_DIGEST_NONE && manifests[i].kind == found->kind) {
            hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, name, "is a second manifest of one algorithm");
            return HR_OK;
        }
    enum hr_status status = hr__inspection_load(&found->text, &found->size, inspection, name, fault);
    if (status || !found->text)
        return status;
    if (found->kind == HR_DIGEST_NONE)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name,
                               "is of an algorithm not known here: its digests are not "
                               "checked");
    found->name = strdup(name);
    hr__inspection_shown(found->shown, name);
    manifests[(*count)++] = *found;
    return found->name ? HR_OK : hr__fault_nomem(fault, "a manifest");
}

static enum hr_status find_manifests(struct hr_inspection *inspection, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < inspection->entry_count && !status; i++) {
        struct hr_manifest_file found;
        const char *name = inspection->entries[i].name;
        if (parse_name(&found, name, "manifest-"))
            status = take_manifest(inspection, inspection->manifests, &inspection->manifest_count, &found, name, fault);
        else if (parse_name(&found, name, "tagmanifest-"))
            status = take_manifest(inspection, inspection->tag_manifests, &inspection->tag_manifest_count, &found, name,
                                   fault);
    }
    return status;
}

/* The journal of an unfinished bag is read as the manifests that would have been made of it. */
static enum hr_status manifests_of_rows(struct hr_inspection *inspection, struct hr_fault *fault)
{
    struct hr_text lines[2], path;
    hr__text_init(&lines[0], HR_BAG_TAG_FILE_MAX);
    hr__text_init(&lines[1], HR_BAG_TAG_FILE_MAX);
    hr__text_init(&path, HR_BAG_TAG_FILE_MAX);
    for (size_t i = 0; i < inspection->rows.count; i++) {
        const struct hr_bag_file *row = &inspection->rows.rows[i];
        hr__text_clear(&path);
        hr__text_printf(&path, HR_BAG_DATA "/%s", row->path);
        hr__manifest_append_line(&lines[0], &row->xxh128, path.bytes);
        if (row->sha256.kind)
            hr__manifest_append_line(&lines[1], &row->sha256, path.bytes);
        lines[0].broken |= path.broken;
    }
    bool has_room = true;
    for (size_t i = 0; i < 2; i++) {
        struct hr_manifest_file *manifest = &inspection->manifests[inspection->manifest_count++];
        *manifest = (struct hr_manifest_file){.name = strdup(HR_BAG_FILES_PART),
                                              .shown = HR_BAG_FILES_PART,
                                              .kind = i == 0 ? HR_DIGEST_XXH128 : HR_DIGEST_SHA256,
                                              .size = lines[i].size,
                                              .text = hr__text_take(&lines[i])};
        has_room &= manifest->name && manifest->text;
        hr__text_finish(&lines[i]);
    }
    hr__text_finish(&path);
    return has_room ? HR_OK : hr__fault_nomem(fault, "the rows of a bag");
}

/* ---- Reading them ---- */

static void count_oddities(struct oddities *odd, const struct hr_manifest_line *line)
{
    odd->asterisks += line->has_asterisk;
    odd->dots += line->has_dot;
    odd->percents += line->has_stray_percent;
    odd->not_utf8 += !hr__utf8_is_valid(line->path, strlen(line->path));
}

static void tell_oddities(struct hr_inspection *inspection, const struct oddities *odd, const char *name)
{
    if (odd->malformed)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, name, "lines that are not a digest and a path: %zu",
                               odd->malformed);
    if (odd->asterisks)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name,
                               "paths that begin with an asterisk, as checksum tools write them: %zu", odd->asterisks);
    if (odd->dots)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name, "paths that begin with \"./\": %zu", odd->dots);
    if (odd->percents)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name, "paths that hold a %% not written %%25: %zu",
                               odd->percents);
    if (odd->not_utf8)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name,
                               "paths that are not UTF-8, which other programs may not read: %zu", odd->not_utf8);
}

static bool take_line(struct entries *all, const struct hr_manifest_line *line, unsigned manifest)
{
    if (!hr__array_reserve(&all->entries, &all->capacity, all->count + 1, sizeof *all->entries,
                           (size_t)HR_BAG_FILES_MAX * HR_MANIFESTS_MAX))
        return false;
    all->entries[all->count++] = (struct entry){.path = line->path, .hex = line->hex, .manifest = manifest};
    return true;
}

static bool read_manifest(struct entries *all, struct hr_inspection *inspection, unsigned manifest)
{
    const struct hr_manifest_file *file = &inspection->manifests[manifest];
    bool is_v1 = hr__declaration_is_v1(&inspection->declaration), has_room = true;
    struct oddities odd = {0};
    struct hr_manifest_line line;
    enum hr_manifest_step step = HR_MANIFEST_LINE;
    for (char *at = file->text; has_room && step != HR_MANIFEST_END;) {
        step = hr__manifest_next(&line, &at, file->kind, is_v1);
        odd.malformed += step == HR_MANIFEST_MALFORMED;
        if (step != HR_MANIFEST_LINE)
            continue;
        count_oddities(&odd, &line);
        if (hr__bag_path_is_payload(line.path))
            has_room = take_line(all, &line, manifest);
        else
            hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, line.path, "%s lists a path that is not below data/",
                                   file->shown);
    }
    tell_oddities(inspection, &odd, file->name);
    return has_room;
}

/* ---- Putting them together ---- */

static int compare_entries(const void *a, const void *b)
{
    const struct entry *one = a, *other = b;
    int order = strcmp(one->path, other->path);
    return order ? order : (one->manifest > other->manifest) - (one->manifest < other->manifest);
}

static int compare_hex(const char *a, const char *b)
{
    struct hr_digest one, other; /* hex digits may be of either case: compare what they say */
    size_t length = strlen(a);
    for (unsigned kind = 1; kind < HR_DIGEST_KIND_COUNT; kind++)
        if (hr_digest_from_hex(&one, (enum hr_digest_kind)kind, a, length) &&
            hr_digest_from_hex(&other, (enum hr_digest_kind)kind, b, strlen(b)))
            return !hr_digest_equal(&one, &other);
    return strcmp(a, b);
}

/* In 1.0 a path stands in a manifest once; before that, twice with one digest was tolerated. */
static void tell_twice(struct hr_inspection *inspection, const struct entry *entry, const char *other_hex)
{
    bool is_same = compare_hex(entry->hex, other_hex) == 0;
    bool is_broken = !is_same || hr__declaration_is_v1(&inspection->declaration);
    hr__inspection_problem(inspection, is_broken ? HR_BAG_RULE_BROKEN : HR_BAG_WARNING, entry->path,
                           "is listed twice in %s with %s digest", inspection->manifests[entry->manifest].shown,
                           is_same ? "the same" : "another");
}

static enum hr_status merge(struct hr_inspection *inspection, struct entries *all, struct hr_fault *fault)
{
    if (all->count > 0)
        qsort(all->entries, all->count, sizeof *all->entries, compare_entries);
    for (size_t i = 0; i < all->count; i++) {
        const struct entry *entry = &all->entries[i];
        enum hr_digest_kind kind = inspection->manifests[entry->manifest].kind;
        struct hr_listed *listed = inspection->listed_count ? &inspection->listed[inspection->listed_count - 1] : NULL;
        if (!listed || strcmp(listed->path, entry->path) != 0) {
            if (!hr__array_reserve(&inspection->listed, &inspection->listed_capacity, inspection->listed_count + 1,
                                   sizeof *listed, HR_BAG_FILES_MAX))
                return hr__fault_nomem(fault, "what the manifests list");
            listed = &inspection->listed[inspection->listed_count++];
            listed->path = entry->path;
        } else if (listed->manifests & 1u << entry->manifest) {
            tell_twice(inspection, entry, listed->hex[kind]);
            continue;
        }
        listed->manifests |= 1u << entry->manifest;
        listed->hex[kind] = entry->hex;
    }
    return HR_OK;
}

/* Every payload file must be in every payload manifest (1.0). */
static void tell_gaps(struct hr_inspection *inspection)
{
    if (!hr__declaration_is_v1(&inspection->declaration) || inspection->is_unfinished)
        return;
    for (size_t i = 0; i < inspection->listed_count; i++)
        for (unsigned m = 0; m < inspection->manifest_count; m++)
            if (!(inspection->listed[i].manifests & 1u << m))
                hr__inspection_problem(inspection, HR_BAG_FILE_UNLISTED, inspection->listed[i].path,
                                       "is in one manifest but not in %s", inspection->manifests[m].shown);
}

enum hr_status hr__inspect_manifests(struct hr_inspection *inspection, struct hr_fault *fault)
{
    struct entries all = {0};
    bool has_room = true;
    enum hr_status status =
        inspection->is_unfinished ? manifests_of_rows(inspection, fault) : find_manifests(inspection, fault);
    for (unsigned m = 0; m < inspection->manifest_count && has_room && !status; m++)
        has_room = read_manifest(&all, inspection, m);
    if (!has_room)
        status = hr__fault_nomem(fault, "what the manifests list");
    if (!status)
        status = merge(inspection, &all, fault);
    if (!status)
        tell_gaps(inspection);
    if (!status && inspection->manifest_count == 0)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, "",
                               "there is no payload manifest (manifest-ALGORITHM.txt)");
    free(all.entries);
    return status;
}
