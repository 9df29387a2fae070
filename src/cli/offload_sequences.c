/* SPDX-License-Identifier: ISC */
#include "cli/offload_sequences.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "cli/sequences_job.h"
#include "cli/sequences_report.h"

struct job_folders {
    char *paths[HR_CARDS_MAX * HR_PLACES_MAX]; /* owned */
    size_t count;
};

/* The folder the bag stands in; two bags of one job stand in one. False: no memory. */
static bool add_folder(struct job_folders *folders, const char *bag_path)
{
    size_t size = hr__path_folder_length(bag_path);
    for (size_t i = 0; i < folders->count; i++)
        if (strlen(folders->paths[i]) == size && memcmp(folders->paths[i], bag_path, size) == 0)
            return true;
    char *path = strndup(bag_path, size);
    if (path)
        folders->paths[folders->count++] = path;
    return path != NULL;
}

static bool gather(struct job_folders *folders, const struct hr_offload_result *result)
{
    bool has_memory = true;
    for (size_t i = 0; i < result->card_count; i++)
        for (size_t k = 0; k < result->place_count; k++) {
            const struct hr_result_place *place = &result->cards[i].places[k];
            if (place->bag_path[0] && (place->files_proven > 0 || place->status == HR_OK))
                has_memory = has_memory && add_folder(folders, place->bag_path);
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
                            const struct hr_offload_result *result)
{
    struct job_folders folders = {0};
    bool has_memory = gather(&folders, result);
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
