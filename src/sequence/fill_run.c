/* SPDX-License-Identifier: ISC */
/* Fills a site. The index is written before any file, so that a run that dies has its names kept by the next one, and
 * again afterwards with what came. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/units.h"
#include "platform/clock.h"
#include "sequence/fill_site.h"

void hr__fill_say(struct hr_fill_site *site, const char *sentence)
{
    if (site->sentence.size)
        hr__text_append(&site->sentence, ". ");
    hr__text_append(&site->sentence, sentence);
}

/* ---- Who looks on ---- */

static bool is_wanted(const struct hr_sequence_folder *folder, size_t at)
{
    const struct hr_sequence_file *file = &folder->files[at];
    return file->sequence != HR_NOT_GROUPED && !*file->filled;
}

static void begin_watch(struct hr_fill_site *site, const struct hr_filling *filling)
{
    struct hr_sequence_progress *progress = &site->watch.progress;
    site->watch = (struct hr_fill_watch){.observer = filling->options->observer, .began_ns = hr__clock_now_ns()};
    progress->path = filling->delivered->places[site->place].path;
    for (size_t i = 0; i < site->index.folder_count; i++)
        for (size_t j = 0; j < site->index.folders[i].file_count; j++)
            progress->files_total += is_wanted(&site->index.folders[i], j);
}

void hr__fill_tell(struct hr_fill_site *site, size_t files_done)
{
    struct hr_fill_watch *watch = &site->watch;
    watch->progress.files_done = files_done;
    watch->progress.elapsed_ns = hr__clock_now_ns() - watch->began_ns;
    if (watch->observer && watch->observer->progress)
        watch->observer->progress(watch->observer->context, &watch->progress);
}

static void say_missing(struct hr_fill_site *site)
{
    char count[HR_UNIT_TEXT_SIZE];
    if (!site->frames_missing)
        return;
    hr__fill_say(site, hr__format_counted(count, site->frames_missing, "frame"));
    hr__text_append(&site->sentence, site->frames_missing == 1 ? " is not on this drive and is left out here"
                                                               : " are not on this drive and are left out here");
}

/* What can be done here of what was asked. */
static void choose(struct hr_fill_site *site, enum hr_fill asked)
{
    bool has_links = true;
    site->fill = asked == HR_FILL_DEFAULT ? HR_FILL_LINK : asked;
    if (site->fill == HR_FILL_LINK &&
        hr__folder_has_links(&has_links, &site->folder, site->below, &site->fault) != HR_OK)
        site->fill = HR_FILL_LIST;
    if (has_links || site->fault.status)
        return;
    if (asked == HR_FILL_LINK) {
        hr__fault_set(&site->fault, HR_UNSUPPORTED, 0, "this drive has no hard links: fill by copy, or by move");
        return;
    }
    site->fill = HR_FILL_LIST;
    hr__fill_say(
        site, "this drive has no hard links, so sequences are only listed: fill by copy (takes room) or by move (the "
              "bag gives the frames up)");
}

static bool save(struct hr_fill_site *site)
{
    struct hr_fault fault = {0};
    site->has_index = hr__sequence_index_save(&site->index, &site->sequences, &fault) == HR_OK;
    if (!site->has_index)
        hr__fault_set(&site->fault, fault.status, 0, "%s", fault.text);
    return site->has_index;
}

/* ---- Files ---- */

/* Of two files of a frame with one name the second is not put in the first one's stead. */
static bool has_twin(const struct hr_sequence_folder *folder, size_t at)
{
    return at > 0 && !strcmp(folder->files[at].name, folder->files[at - 1].name);
}

static enum hr_status fill_at(struct hr_fill_count *done, struct hr_sequence_folder *folder, size_t at,
                              const char *path, const struct hr_fill_site *site, const struct hr_filling *filling)
{
    struct hr_fault fault = {0};
    bool was_there = false;
    enum hr_status status;
    if (has_twin(folder, at))
        status = hr__fault_path(&fault, HR_EXISTS, 0, "two files of one frame are called", folder->files[at].name);
    else
        status = hr__fill_file(&was_there, site, path, &folder->files[at], filling, &fault);
    if (!status) {
        folder->files[at].filled = hr_fill_name(site->fill);
        done->files_there += was_there;
        done->files_new += !was_there;
        return HR_OK;
    }
    done->files_failed++;
    hr__fault_set(&done->fault, status, 0, "%s", fault.text);
    return status == HR_NOMEM ? HR_NOMEM : HR_OK;
}

/* What an earlier run brought is not asked after, unless the folder is gone with all of it. */
static void count_there(struct hr_fill_site *site)
{
    for (size_t i = 0; i < site->index.folder_count; i++) {
        struct hr_sequence_folder *folder = &site->index.folders[i];
        struct hr_file_facts facts;
        bool is_gone = hr__folder_facts(&facts, &site->sequences, folder->columns[HR_INDEX_NAME], NULL) == HR_NOT_FOUND;
        for (size_t j = 0; j < folder->file_count; j++) {
            folder->files[j].filled = is_gone ? "" : folder->files[j].filled;
            site->done[i].files_there += *folder->files[j].filled != '\0';
        }
    }
}

static enum hr_status fill_folder(struct hr_fill_count *done, struct hr_sequence_folder *folder, const char *path,
                                  struct hr_fill_site *site, const struct hr_filling *filling)
{
    size_t wanted = 0;
    for (size_t i = 0; i < folder->file_count; i++)
        wanted += is_wanted(folder, i);
    if (wanted && hr__folder_make(&site->folder, path, &done->fault) != HR_OK) {
        done->files_failed = wanted;
        return done->fault.status == HR_NOMEM ? HR_NOMEM : HR_OK;
    }
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < folder->file_count && !status; i++) {
        if (!is_wanted(folder, i))
            continue;
        status = hr_cancel_requested(filling->cancel) ? HR_CANCELLED : fill_at(done, folder, i, path, site, filling);
        hr__fill_tell(site, site->watch.progress.files_done + !status);
    }
    if (done->files_new && hr__folder_sync(&site->folder, path, &done->fault) == HR_NOMEM)
        status = HR_NOMEM;
    return status;
}

static enum hr_status fill_folders(struct hr_fill_site *site, const struct hr_filling *filling)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < site->index.folder_count && !status; i++) {
        struct hr_sequence_folder *folder = &site->index.folders[i];
        if (folder->sequence == HR_NOT_GROUPED)
            continue;
        char *path = hr__path_join(site->below, folder->columns[HR_INDEX_NAME]);
        status = path ? fill_folder(&site->done[i], folder, path, site, filling) : HR_NOMEM;
        free(path);
    }
    return status;
}

enum hr_status hr__fill_site_fill(struct hr_fill_site *site, const struct hr_filling *filling, struct hr_fault *fault)
{
    site->fill = HR_FILL_LIST;
    say_missing(site);
    site->done = calloc(site->index.folder_count + 1, sizeof *site->done);
    if (!site->done)
        return hr__fault_nomem(fault, "the files of sequences");
    if (filling->delivered->places[site->place].is_card) {
        hr__fill_say(site, "this is a camera's card: nothing is ever written to it");
        return HR_OK;
    }
    if (!site->fault.status)
        choose(site, filling->options->fill);
    if (site->fault.status)
        return HR_OK;
    count_there(site);
    begin_watch(site, filling);
    if (!save(site) || site->fill == HR_FILL_LIST)
        return HR_OK;
    enum hr_status status = site->fill == HR_FILL_MOVE ? hr__fill_move(site, filling) : fill_folders(site, filling);
    if (hr__folder_sync(&site->folder, site->below, &site->fault) == HR_OK)
        save(site);
    if (status == HR_NOMEM)
        return hr__fault_nomem(fault, "the files of sequences");
    return status ? hr__fault_set(fault, status, 0, "stopped while sequence folders were filled: run again to go on")
                  : HR_OK;
}
