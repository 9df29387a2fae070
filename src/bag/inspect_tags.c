/* SPDX-License-Identifier: ISC */
/* bag-info.txt, tag manifests and fetch.txt. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "bag/manifest.h"
#include "bag/tag_digest.h"
#include "base/checked.h"
#include "base/fault.h"

static bool has_entry(const struct hr_inspection *inspection, const char *name)
{
    for (size_t i = 0; i < inspection->entry_count; i++)
        if (!strcmp(inspection->entries[i].name, name))
            return true;
    return false;
}

/* ---- bag-info.txt ---- */

/* The octets and the number of files, as "OCTETS.FILES". */
static void check_oxum(struct hr_inspection *inspection, const char *name, const char *oxum)
{
    char found[64];
    uint64_t bytes = 0;
    size_t files = 0;
    for (size_t i = 0; i < inspection->data.count; i++)
        if (inspection->data.files[i].kind == HR_ENTRY_FILE) {
            if (!hr__add_u64(&bytes, bytes, inspection->data.files[i].size_bytes))
                bytes = UINT64_MAX;
            files++;
        }
    snprintf(found, sizeof found, "%" PRIu64 ".%zu", bytes, files);
    if (strcmp(found, oxum) != 0)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, name, "says Payload-Oxum %s, but there is %s",
                               hr__inspection_shown((char[HR_SHOWN_SIZE]){0}, oxum), found);
}

static void check_info(struct hr_inspection *inspection, const char *name, const struct hr_tags *tags)
{
    size_t oxum_count = 0;
    const char *oxum = hr__tags_find(tags, "Payload-Oxum", &oxum_count);
    const char *identity = hr__tags_find(tags, "External-Identifier", NULL);
    if (oxum && !inspection->is_unfinished)
        check_oxum(inspection, name, oxum);
    if (oxum_count > 1)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name, "says Payload-Oxum %zu times: the first is taken",
                               oxum_count);
    if (tags->malformed_lines)
        hr__inspection_problem(inspection, HR_BAG_WARNING, name, "lines that are not a label and a value: %zu",
                               tags->malformed_lines);
    if (identity) {
        free(inspection->report->card_identity);
        inspection->report->card_identity = strdup(identity);
        inspection->has_lost_problem |= !inspection->report->card_identity;
    }
}

/* Called package-info.txt up to 0.95. */
static const char *info_name(const struct hr_inspection *inspection)
{
    static const char *const names[] = {HR_BAG_INFO, HR_BAG_INFO_PART, "package-info.txt"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (has_entry(inspection, names[i]))
            return names[i];
    return NULL;
}

enum hr_status hr__inspect_info(struct hr_inspection *inspection, struct hr_fault *fault)
{
    const char *name = info_name(inspection);
    struct hr_tags tags = {0};
    char *text = NULL;
    size_t size = 0;
    enum hr_status status = name ? hr__inspection_load(&text, &size, inspection, name, fault) : HR_OK;
    if (!status && text) {
        status = hr__tags_parse(&tags, text, size);
        if (status)
            hr__fault_nomem(fault, "a tag file");
        else
            check_info(inspection, name, &tags);
    }
    hr__tags_finish(&tags);
    free(text);
    return status;
}

/* ---- Tag manifests ---- */

static enum hr_status check_tag_file(struct hr_inspection *inspection, const struct hr_manifest_file *manifest,
                                     const struct hr_manifest_line *line, struct hr_fault *fault)
{
    struct hr_digest made, wanted;
    struct hr_fault cause = {0};
    if (manifest->kind == HR_DIGEST_NONE || !hr_digest_from_hex(&wanted, manifest->kind, line->hex, strlen(line->hex)))
        return HR_OK;
    enum hr_status status = hr__tag_digest(&made, manifest->kind, &inspection->folder, line->path, &cause);
    if (status == HR_NOMEM || status == HR_GONE)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (status == HR_NOT_FOUND)
        hr__inspection_problem(inspection, HR_BAG_FILE_MISSING, line->path, "is in %s but not there", manifest->shown);
    else if (status)
        hr__inspection_problem(inspection, HR_BAG_FILE_UNREADABLE, line->path, "%s", cause.text);
    else if (!hr_digest_equal(&made, &wanted))
        hr__inspection_problem(inspection, HR_BAG_FILE_DIFFERS, line->path, "is not what %s says", manifest->shown);
    return HR_OK;
}

/* The tag manifest of a bag made here lists these; the payload manifests are asked for of any bag. */
static const char *const own_tags[] = {HR_BAG_DECLARATION, HR_BAG_INFO, HR_BAG_FILES, HR_BAG_FRAMES, HR_BAG_THROUGHPUT};
enum { OWN_TAGS = sizeof own_tags / sizeof *own_tags };

/* Bits of those that this line lists. */
static unsigned listed_own_tag(const char *path)
{
    for (size_t i = 0; i < OWN_TAGS; i++)
        if (!strcmp(own_tags[i], path))
            return 1u << i;
    return 0;
}

/* A line that was lost would leave its file without anybody to vouch for it. */
static void tell_own_gaps(struct hr_inspection *inspection, const struct hr_manifest_file *manifest, unsigned listed)
{
    if (!inspection->report->is_ours || inspection->is_unfinished || strcmp(manifest->name, HR_BAG_TAGMANIFEST) != 0)
        return;
    for (size_t i = 0; i < OWN_TAGS; i++)
        if (!(listed & 1u << i) && has_entry(inspection, own_tags[i]))
            hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, manifest->name, "does not list %s", own_tags[i]);
}

/* Bits of the payload manifests that this line lists. */
static unsigned listed_manifest(const struct hr_inspection *inspection, const char *path)
{
    for (size_t i = 0; i < inspection->manifest_count; i++)
        if (!strcmp(inspection->manifests[i].name, path))
            return 1u << i;
    return 0;
}

static enum hr_status check_tag_line(struct hr_inspection *inspection, const struct hr_manifest_file *manifest,
                                     const struct hr_manifest_line *line, struct hr_fault *fault)
{
    enum hr_bag_problem_kind kind =
        hr__declaration_is_v1(&inspection->declaration) ? HR_BAG_RULE_BROKEN : HR_BAG_WARNING;
    if (!hr__bag_path_is_safe(line->path)) {
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, line->path, "%s lists a path that leaves the bag",
                               manifest->shown);
        return HR_OK;
    }
    if (hr__bag_path_is_payload(line->path))
        hr__inspection_problem(inspection, kind, line->path, "%s lists a payload file", manifest->shown);
    if (!strncmp(line->path, "tagmanifest-", strlen("tagmanifest-")))
        hr__inspection_problem(inspection, kind, line->path, "%s lists a tag manifest", manifest->shown);
    return check_tag_file(inspection, manifest, line, fault);
}

static enum hr_status inspect_tag_manifest(struct hr_inspection *inspection, const struct hr_manifest_file *manifest,
                                           struct hr_fault *fault)
{
    struct hr_manifest_line line;
    bool is_v1 = hr__declaration_is_v1(&inspection->declaration);
    unsigned listed = 0, listed_own = 0;
    size_t malformed = 0;
    enum hr_status status = HR_OK;
    enum hr_manifest_step step = HR_MANIFEST_LINE;
    for (char *at = manifest->text; !status && step != HR_MANIFEST_END;) {
        step = hr__manifest_next(&line, &at, manifest->kind, is_v1);
        malformed += step == HR_MANIFEST_MALFORMED;
        if (step != HR_MANIFEST_LINE)
            continue;
        listed |= listed_manifest(inspection, line.path);
        listed_own |= listed_own_tag(line.path);
        status = check_tag_line(inspection, manifest, &line, fault);
    }
    if (malformed)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, manifest->name,
                               "lines that are not a digest and a path: %zu", malformed);
    for (size_t i = 0; i < inspection->manifest_count && is_v1; i++)
        if (!(listed & 1u << i))
            hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, manifest->name, "does not list %s",
                                   inspection->manifests[i].shown);
    tell_own_gaps(inspection, manifest, listed_own);
    return status;
}

/* ---- fetch.txt ---- */

/* "URL LENGTH PATH". False when the line is not of that form. */
static bool split_fetch(char **path, char *line)
{
    uint64_t length;
    char *size = line + strcspn(line, " \t");
    if (size == line || !*size)
        return false;
    *size++ = '\0';
    size += strspn(size, " \t");
    char *at = size + strcspn(size, " \t");
    if (!*at)
        return false;
    *at++ = '\0';
    *path = at + strspn(at, " \t");
    return strchr(line, ':') && (!strcmp(size, "-") || hr__parse_u64(&length, size, UINT64_MAX)) && **path;
}

/* A file that was never fetched is missing, which is told where the manifests are compared with what stands there. */
static void check_fetch_line(struct hr_inspection *inspection, char *line)
{
    char *path;
    if (!split_fetch(&path, line)) {
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, "fetch.txt", "a line is not a URL, a length and a path");
        return;
    }
    hr__manifest_decode_path(path, hr__declaration_is_v1(&inspection->declaration));
    if (!hr__bag_path_is_payload(path))
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, path, "fetch.txt lists a path that is not below data/");
    else if (!hr__inspection_listed(inspection, path))
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, path, "is in fetch.txt but in no manifest");
}

static enum hr_status inspect_fetch(struct hr_inspection *inspection, struct hr_fault *fault)
{
    char *text = NULL;
    size_t size = 0;
    if (!has_entry(inspection, "fetch.txt"))
        return HR_OK;
    enum hr_status status = hr__inspection_load(&text, &size, inspection, "fetch.txt", fault);
    for (char *line = text, *next; !status && line && *line; line = next) {
        size_t length = strcspn(line, "\r\n");
        next = line + length + (line[length] != '\0');
        line[length] = '\0';
        if (length > 0)
            check_fetch_line(inspection, line);
    }
    free(text);
    return status;
}

enum hr_status hr__inspect_tags(struct hr_inspection *inspection, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < inspection->tag_manifest_count && !status; i++)
        status = inspect_tag_manifest(inspection, &inspection->tag_manifests[i], fault);
    if (!status && inspection->report->is_ours && !inspection->is_unfinished && inspection->tag_manifest_count == 0)
        hr__inspection_problem(inspection, HR_BAG_FILE_MISSING, HR_BAG_TAGMANIFEST, "is in every bag made here");
    if (!status && !inspection->is_unfinished)
        status = inspect_fetch(inspection, fault);
    return status;
}
