/* SPDX-License-Identifier: ISC */
#include "cli/forecast_report.h"
#include "cli/offload_report.h"

static const char *const event_names[] = {
    [HR_EVENT_CARD_STARTED] = "card_started", [HR_EVENT_FILE_PROVEN] = "file_proven",
    [HR_EVENT_FILE_FAILED] = "file_failed",   [HR_EVENT_NOTE] = "note",
    [HR_EVENT_PLACE_FAILED] = "place_failed", [HR_EVENT_CARD_FREE] = "card_free",
    [HR_EVENT_CARD_NEEDED] = "card_needed",   [HR_EVENT_CARD_FINISHED] = "card_finished",
};

static const char *const activity_names[] = {
    [HR_SINK_WAITING] = "waiting", [HR_SINK_WRITING] = "writing", [HR_SINK_READING_BACK] = "reading_back",
    [HR_SINK_DONE] = "done",       [HR_SINK_FAILED] = "failed",
};

static void begin(struct json_writer *json, const char *kind, const char *name)
{
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, kind, name);
}

static void finish(struct json_writer *json)
{
    json_close(json);
    json_end(json);
}

static void plan_card(struct json_writer *json, const struct hr_plan_card *card)
{
    json_open(json, NULL, '{');
    json_name(json, "path", card->path);
    json_name(json, "name", card->name);
    json_name(json, "identity", card->identity);
    json_name(json, "job", card->job);
    json_number(json, "files", card->files);
    json_number(json, "frames", card->frames);
    json_number(json, "bytes", card->bytes);
    json_number(json, "files_known", card->files_known);
    json_number(json, "files_to_copy", card->files_to_copy);
    json_number(json, "bytes_to_copy", card->bytes_to_copy);
    json_number(json, "links", card->links);
    json_number(json, "specials", card->specials);
    json_number(json, "unreadable", card->unreadable);
    json_close(json);
}

static void plan_place(struct json_writer *json, const struct hr_plan_place *place)
{
    json_open(json, NULL, '{');
    json_name(json, "path", place->path);
    json_name(json, "drive", place->drive);
    json_number(json, "drive_number", place->drive_number);
    json_name(json, "fs_type", place->fs_type);
    json_bool(json, "is_in_memory", place->is_in_memory);
    json_number(json, "free_bytes", place->free_bytes);
    json_number(json, "files_to_copy", place->files_to_copy);
    json_number(json, "bytes_to_copy", place->bytes_to_copy);
    json_number(json, "resumed_files", place->resumed_files);
    json_close(json);
}

void offload_json_plan(struct json_writer *json, const struct hr_offload_plan *plan)
{
    begin(json, "document", "plan");
    json_texts(json, "refusals", plan->refusals, plan->refusal_count);
    json_texts(json, "warnings", plan->warnings, plan->warning_count);
    json_number(json, "files_to_copy", plan->files_to_copy);
    json_number(json, "bytes_to_copy", plan->bytes_to_copy);
    json_number(json, "digest_bytes_per_s", (uint64_t)plan->digest_bytes_per_s);
    if (plan->foreseen && plan->foreseen->forecast.stage_count) {
        json_open(json, "forecast", '{');
        forecast_json_members(json, plan);
        json_close(json);
    } else {
        json_null(json, "forecast");
    }
    json_open(json, "cards", '[');
    for (size_t i = 0; i < plan->card_count; i++)
        plan_card(json, &plan->cards[i]);
    json_close(json);
    json_open(json, "places", '[');
    for (size_t i = 0; i < plan->place_count; i++)
        plan_place(json, &plan->places[i]);
    json_close(json);
    finish(json);
}

static void result_place(struct json_writer *json, const struct hr_result_place *place)
{
    json_open(json, NULL, '{');
    json_name(json, "path", place->path);
    json_name(json, "bag", place->bag_path);
    json_text(json, "status", hr_status_name(place->status));
    json_text(json, "text", place->text);
    json_text(json, "policy", place->policy);
    json_number(json, "files_proven", place->files_proven);
    json_number(json, "files_failed", place->files_failed);
    json_number(json, "files_missing", place->files_missing);
    json_number(json, "bytes_proven", place->bytes_proven);
    json_open(json, "proofs", '{');
    for (enum hr_proof proof = HR_PROOF_CACHE; proof <= HR_PROOF_DIRECT; proof++)
        json_number(json, hr_proof_name(proof), place->proofs[proof]);
    json_close(json);
    json_close(json);
}

static void result_card(struct json_writer *json, const struct hr_result_card *card, size_t place_count)
{
    json_open(json, NULL, '{');
    json_name(json, "path", card->path);
    json_name(json, "name", card->name);
    json_bool(json, "was_pulled", card->was_pulled);
    safety_json_members(json, card->safety);
    json_open(json, "places", '[');
    for (size_t i = 0; i < place_count; i++)
        result_place(json, &card->places[i]);
    json_close(json);
    json_close(json);
}

void offload_json_result(struct json_writer *json, const struct hr_offload_plan *plan,
                         const struct hr_offload_result *result, bool was_interrupted,
                         const struct offload_sequences *sequences)
{
    begin(json, json->indented ? "document" : "event", json->indented ? "offload" : "result");
    json_signed(json, "run", result->run);
    json_bool(json, "all_done", result->all_done);
    json_bool(json, "all_safe", result->all_safe);
    json_bool(json, "was_interrupted", was_interrupted);
    json_bool(json, "stopped_at_deadline", result->stopped_at_deadline);
    json_signed(json, "elapsed_ns", result->elapsed_ns);
    json_signed(json, "copied_ns", result->copied_ns);
    json_texts(json, "warnings", plan->warnings, plan->warning_count);
    json_open(json, "cards", '[');
    for (size_t i = 0; i < result->card_count; i++)
        result_card(json, &result->cards[i], result->place_count);
    json_close(json);
    if (sequences)
        offload_sequences_member(json, sequences);
    finish(json);
}

void offload_json_event(struct json_writer *json, const struct hr_offload_plan *plan,
                        const struct hr_offload_event *event)
{
    char hex[HR_DIGEST_HEX_SIZE];
    begin(json, "event", event_names[event->kind]);
    json_signed(json, "elapsed_ns", event->elapsed_ns);
    if (event->card < plan->card_count)
        json_name(json, "card", plan->cards[event->card].path);
    if (event->place < plan->place_count)
        json_name(json, "place", plan->places[event->place].path);
    if (event->path && *event->path)
        json_name(json, "path", event->path);
    if (event->kind == HR_EVENT_FILE_PROVEN) {
        json_number(json, "size_bytes", event->size_bytes);
        json_text(json, "proof", hr_proof_name(event->proof));
        if (event->xxh128)
            json_text(json, "xxh128", hr_digest_to_hex(hex, event->xxh128));
    }
    if (event->text && *event->text)
        json_text(json, "text", event->text);
    finish(json);
}

static void left(struct json_writer *json, const char *key, int64_t ns)
{
    if (ns < 0)
        json_null(json, key);
    else
        json_signed(json, key, ns);
}

void offload_json_progress(struct json_writer *json, const struct hr_offload_plan *plan,
                           const struct hr_offload_progress *progress)
{
    begin(json, "event", "progress");
    json_signed(json, "elapsed_ns", progress->elapsed_ns);
    json_name(json, "card", plan->cards[progress->card].path);
    json_number(json, "cards_under_way", progress->cards_under_way);
    json_number(json, "cards_done", progress->cards_done);
    json_number(json, "read_bytes", progress->read_bytes);
    json_number(json, "total_bytes", progress->total_bytes);
    json_number(json, "frames_done", progress->frames_done);
    json_number(json, "frames_total", progress->frames_total);
    json_number(json, "files_done", progress->files_done);
    json_number(json, "files_total", progress->files_total);
    json_number(json, "failures", progress->failures);
    left(json, "left_low_ns", progress->left_low_ns);
    left(json, "left_high_ns", progress->left_high_ns);
    json_open(json, "places", '[');
    for (size_t i = 0; i < progress->place_count; i++) {
        const struct hr_offload_place_progress *place = &progress->places[i];
        json_open(json, NULL, '{');
        json_name(json, "path", plan->places[i].path);
        json_text(json, "activity", activity_names[place->activity]);
        json_number(json, "written_bytes", place->written_bytes);
        json_number(json, "read_back_bytes", place->read_back_bytes);
        json_number(json, "proven_bytes", place->proven_bytes);
        json_number(json, "total_bytes", place->total_bytes);
        json_rate(json, "write_bytes_per_s", place->write_bytes_per_s);
        json_rate(json, "read_back_bytes_per_s", place->read_back_bytes_per_s);
        json_close(json);
    }
    json_close(json);
    finish(json);
}
