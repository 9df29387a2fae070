/* SPDX-License-Identifier: ISC */
#include "cli/offload_sequences.h"

#include <stdlib.h>
#include <string.h>

#include <headrace/bag.h>

#include "base/fault.h"
#include "base/path.h"
#include "cli/sequences_job.h"
#include "cli/sequences_report.h"

struct job_folders {
    char *paths[HR_CARDS_MAX * HR_PLACES_MAX]; /* owned */
    size_t count;
};

/* Takes `path`, NULL when memory was out; two bags of one job stand in one folder. False: no memory. */
static bool take_folder(struct job_folders *folders, char *path)
{
    if (!path)
        return false;
    for (size_t i = 0; i < folders->count; i++)
        if (strcmp(folders->paths[i], path) == 0) {
            free(path);
            return true;
        }
    folders->paths[folders->count++] = path;
    return true;
}

/* What cannot be looked at is for who looks closer to tell. */
static bool has_no_bags(const char *path)
{
    char **bags = NULL;
    size_t count = 0;
    enum hr_status status = hr_bags_find(&bags, &count, NULL, path, NULL);
    hr_bag_paths_free(bags, count);
    return status == HR_NOT_FOUND || (!status && count == 0);
}

/* Where nothing was new a run that was cut off may have left the sequences undone. */
static bool add_standing(struct job_folders *folders, const struct hr_result_place *place, const char *job)
{
    char *path = hr__path_join(place->root, job);
    if (!path || !has_no_bags(path))
        return take_folder(folders, path);
    free(path);
    return true;
}

static bool gather(struct job_folders *folders, const struct hr_offload_plan *plan,
                   const struct hr_offload_result *result)
{
    bool has_memory = true;
    for (size_t i = 0; i < result->card_count && has_memory; i++)
        for (size_t k = 0; k < result->place_count && has_memory; k++) {
            const struct hr_result_place *place = &result->cards[i].places[k];
            if (place->status != HR_OK && place->files_proven == 0)
                continue;
            if (place->bag_path[0])
                has_memory = take_folder(folders, strndup(place->bag_path, hr__path_folder_length(place->bag_path)));
            else
                has_memory = add_standing(folders, place, plan->cards[i].job);
        }
    return has_memory;
}

static void complain(const struct offload_sequences *sequences)
{
    if (sequences->status == HR_CANCELLED)
        cli_complain("stopped before the sequences were done; 'headrace sequences' makes them");
    else if (sequences->status != HR_OK)
        cli_complain("the sequences FAILED: %s", sequences->fault.text);
}

void offload_sequences_make(struct offload_sequences *sequences, const struct cli_call *call,
                            const struct hr_offload_plan *plan, const struct hr_offload_result *result)
{
    struct job_folders folders = {0};
    bool has_memory = gather(&folders, plan, result);
    const struct sequences_job job = {.paths = (const char *const *)folders.paths, .path_count = folders.count};
    *sequences = (struct offload_sequences){.has_run = folders.count > 0};
    if (!has_memory)
        sequences->status = hr__fault_set(&sequences->fault, HR_NOMEM, 0, "no memory");
    else if (sequences->has_run)
        sequences->status = sequences_make(&sequences->found, call, &job, &sequences->fault);
    for (size_t i = 0; i < folders.count; i++)
        free(folders.paths[i]);
    complain(sequences);
}

void offload_sequences_finish(struct offload_sequences *sequences)
{
    sequences_finish(&sequences->found);
}

bool offload_sequences_failed(const struct offload_sequences *sequences)
{
    return sequences->status != HR_OK || (sequences->has_run && !sequences->found.filled->all_done);
}

void offload_sequences_text(const struct cli_call *call, const struct offload_sequences *sequences)
{
    if (!sequences->has_run || sequences->status != HR_OK)
        return;
    if (call->common->quiet)
        sequences_text_line(call->out, &sequences->found);
    else
        sequences_text_summary(call->out, &sequences->found);
}

static void put_members(struct json_writer *json, const struct offload_sequences *sequences)
{
    json_text(json, "status", hr_status_name(sequences->status));
    json_text(json, "text", sequences->fault.text);
    if (sequences->status == HR_OK)
        sequences_json_summary(json, &sequences->found);
}

void offload_sequences_member(struct json_writer *json, const struct offload_sequences *sequences)
{
    if (!sequences->has_run) {
        json_null(json, "sequences");
        return;
    }
    json_open(json, "sequences", '{');
    put_members(json, sequences);
    json_close(json);
}

void offload_sequences_event(struct json_writer *json, const struct offload_sequences *sequences)
{
    if (!sequences->has_run)
        return;
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "event", "sequences");
    put_members(json, sequences);
    json_close(json);
    json_end(json);
}
