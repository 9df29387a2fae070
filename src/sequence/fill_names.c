/* SPDX-License-Identifier: ISC */
/* Names that last: a body keeps its letter, a sequence its folder. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "sequence/fill_site.h"
#include "sequence/names.h"

enum { REPEATS_MAX = 10000, ENTRIES_MAX = 1 << 20 };

/* ---- Bodies ---- */

static const char *asked_name(const struct hr_filling *filling, const char *serial)
{
    for (size_t i = 0; *serial && i < filling->options->body_name_count; i++)
        if (!strcmp(filling->options->body_names[i].serial, serial))
            return filling->options->body_names[i].name;
    return NULL;
}

/* Does this folder of an earlier run hold frames of the body? By serial; where that is unknown, by its files. */
static bool is_of_body(const struct hr_sequence_folder *folder, const struct hr_grouping *grouping, uint32_t body)
{
    const char *serial = grouping->bodies[body].serial;
    if (*serial)
        return !strcmp(folder->columns[HR_INDEX_SERIAL], serial);
    return folder->sequence != HR_NOT_GROUPED && grouping->sequences[folder->sequence].body == body;
}

/* A folder that has no name for its body is a new one. */
static const char *kept_name(const struct hr_filling *filling, const struct hr_fill_sites *sites, uint32_t body)
{
    for (size_t i = 0; i < sites->count; i++)
        for (size_t j = 0; j < sites->sites[i].index.folder_count; j++) {
            const struct hr_sequence_folder *folder = &sites->sites[i].index.folders[j];
            if (*folder->columns[HR_INDEX_BODY] && is_of_body(folder, filling->grouping, body))
                return folder->columns[HR_INDEX_BODY];
        }
    return NULL;
}

static bool is_given(const char *name, const struct hr_filling *filling)
{
    for (size_t i = 0; i < filling->grouping->body_count; i++)
        if (filling->body_names[i] && !strcmp(filling->body_names[i], name))
            return true;
    return false;
}

static bool is_taken(const char *name, const struct hr_filling *filling, const struct hr_fill_sites *sites)
{
    bool taken = is_given(name, filling);
    for (size_t i = 0; i < sites->count && !taken; i++)
        for (size_t j = 0; j < sites->sites[i].index.folder_count && !taken; j++)
            taken = !strcmp(sites->sites[i].index.folders[j].columns[HR_INDEX_BODY], name);
    return taken;
}

static char *free_letters(const struct hr_filling *filling, const struct hr_fill_sites *sites, uint32_t body)
{
    char letters[HR_LETTERS_SIZE];
    while (is_taken(hr__body_letters(letters, body), filling, sites))
        body++;
    return strdup(letters);
}

/* Those that have a name come first, so that letters go past them. Jobs that were sorted one by one may have given two
 * bodies one letter: the first keeps it. */
enum hr_status hr__fill_bodies_name(struct hr_filling *filling, const struct hr_fill_sites *sites,
                                    struct hr_fault *fault)
{
    const struct hr_grouping *grouping = filling->grouping;
    bool has_room = (filling->body_names = calloc(grouping->body_count + 1, sizeof *filling->body_names)) != NULL;
    for (uint32_t i = 0; i < grouping->body_count && has_room; i++) {
        const char *name = asked_name(filling, grouping->bodies[i].serial);
        if (!name) {
            name = kept_name(filling, sites, i);
            name = name && !is_given(name, filling) ? name : NULL;
        }
        has_room = !name || (filling->body_names[i] = strdup(name)) != NULL;
    }
    for (uint32_t i = 0; i < grouping->body_count && has_room; i++)
        if (!filling->body_names[i])
            has_room = (filling->body_names[i] = free_letters(filling, sites, i)) != NULL;
    return has_room ? HR_OK : hr__fault_nomem(fault, "the names of bodies");
}

/* ---- Folders ---- */

static bool is_in_index(const struct hr_sequence_index *index, const char *name)
{
    for (size_t i = 0; i < index->folder_count; i++)
        if (!strcmp(index->folders[i].columns[HR_INDEX_NAME], name))
            return true;
    return false;
}

static bool is_one_of(const struct hr_sequence_folder *folder, const struct hr_entry *entry,
                      const struct hr_filling *filling)
{
    for (size_t i = 0; i < folder->file_count; i++)
        if (!strcmp(folder->files[i].name, entry->name))
            return entry->kind == HR_ENTRY_FILE &&
                   entry->facts.size_bytes == filling->delivered->files[folder->files[i].delivered].size_bytes;
    return false;
}

/* A folder that no index speaks of is this one where all that stands in it would stand in this one: the index was lost,
 * or somebody made it. */
static bool is_free(const struct hr_fill_site *site, const char *name, const struct hr_sequence_folder *folder,
                    const struct hr_filling *filling)
{
    struct hr_file_facts facts;
    if (is_in_index(&site->index, name))
        return false;
    if (site->sequences.descriptor < 0 || hr__folder_facts(&facts, &site->sequences, name, NULL) == HR_NOT_FOUND)
        return true;
    struct hr_entry *entries = NULL;
    size_t count = 0;
    if (hr__folder_list(&entries, &count, &site->sequences, name, ENTRIES_MAX, NULL) != HR_OK)
        return false;
    bool is_ours = true;
    for (size_t i = 0; i < count && is_ours; i++)
        is_ours = is_one_of(folder, &entries[i], filling);
    hr__entries_free(entries, count);
    return is_ours;
}

static const char *free_name(struct hr_fill_site *site, const struct hr_sequence_folder *folder,
                             const struct hr_filling *filling)
{
    const struct hr_sequence *sequence = &filling->grouping->sequences[folder->sequence];
    const struct hr_frame *first = &filling->delivered->frames[sequence->frames[folder->files[0].position]];
    size_t frames = folder->files[folder->file_count - 1].number;
    char *name = NULL;
    for (unsigned repeat = 1; repeat < REPEATS_MAX; repeat++) {
        free(name);
        name = hr__sequence_name(first->local_ns, filling->body_names[sequence->body], frames, repeat);
        if (!name || is_free(site, name, folder, filling))
            break;
    }
    return hr__sequence_index_keep(&site->index, name);
}

enum hr_status hr__fill_site_name(struct hr_fill_site *site, const struct hr_filling *filling, struct hr_fault *fault)
{
    for (size_t i = 0; i < site->index.folder_count; i++) {
        struct hr_sequence_folder *folder = &site->index.folders[i];
        if (!*folder->columns[HR_INDEX_NAME]) {
            const char *name = free_name(site, folder, filling);
            if (!name)
                return hr__fault_nomem(fault, "the name of a sequence");
            folder->columns[HR_INDEX_NAME] = name;
        }
        enum hr_status status = hr__fill_describe(&site->index, folder, filling, fault);
        if (status)
            return status;
    }
    hr__sequence_index_sort(&site->index);
    return HR_OK;
}
