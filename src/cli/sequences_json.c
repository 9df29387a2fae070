/* SPDX-License-Identifier: ISC */
#include "cli/sequences_report.h"
#include "cli/when.h"

static void time_of(struct json_writer *json, const char *key, const struct hr_frame *frame)
{
    char when[CLI_WHEN_SIZE];
    if (!frame->has_time)
        json_null(json, key);
    else if (frame->has_offset)
        json_text(json, key, cli_when_camera_offset(when, frame->local_ns, frame->offset_minutes));
    else
        json_text(json, key, cli_when_camera(when, frame->local_ns));
}

/* The copies of a file are not told: its first stands for them. */
static void files_of(struct json_writer *json, const struct sequences_found *found, const struct hr_frame *frame)
{
    json_open(json, "files", '[');
    for (size_t i = 0; i < frame->file_count; i++) {
        const struct hr_delivered_file *file = &found->delivered->files[frame->first_file + i];
        if (!file->is_copy)
            json_name(json, NULL, file->path);
    }
    json_close(json);
}

static void positive_or_null(struct json_writer *json, const char *key, double value, int digits)
{
    if (value > 0)
        json_decimal(json, key, value, digits);
    else
        json_null(json, key);
}

static void stall_of(struct json_writer *json, const struct hr_burst *burst)
{
    if (!burst->has_stall) {
        json_null(json, "stall");
        return;
    }
    json_open(json, "stall", '{');
    json_number(json, "frame", burst->stall.frame);
    positive_or_null(json, "drain_cadence", burst->stall.drain_cadence_per_s, 2);
    positive_or_null(json, "drain_MB_s", burst->stall.drain_bytes_per_s / 1e6, 1);
    json_decimal(json, "seconds_full", burst->stall.seconds_full, 3);
    json_decimal(json, "frames_lost", burst->stall.frames_lost, 1);
    json_decimal(json, "confidence", burst->stall.confidence, 3);
    json_close(json);
}

static void bursts_of(struct json_writer *json, const struct hr_sequence *sequence)
{
    json_open(json, "bursts", '[');
    for (size_t i = 0; i < sequence->burst_count; i++) {
        const struct hr_burst *burst = &sequence->bursts[i];
        json_open(json, NULL, '{');
        json_number(json, "first", burst->first);
        json_number(json, "last", burst->last);
        positive_or_null(json, "cadence", burst->cadence_per_s, 2);
        stall_of(json, burst);
        json_close(json);
    }
    json_close(json);
}

static void frames_of(struct json_writer *json, const struct sequences_found *found, const struct hr_sequence *sequence)
{
    json_open(json, "frames", '[');
    for (size_t i = 0; i < sequence->frame_count; i++) {
        const struct hr_frame *frame = sequence_frame(found, sequence, i);
        json_open(json, NULL, '{');
        json_name(json, "key", frame->key);
        time_of(json, "time", frame);
        files_of(json, found, frame);
        json_close(json);
    }
    json_close(json);
}

static void name_or_null(struct json_writer *json, const char *key, const char *name)
{
    if (name[0])
        json_name(json, key, name);
    else
        json_null(json, key);
}

static void sequence_of(struct json_writer *json, const struct sequences_found *found, size_t index)
{
    const struct hr_sequence *sequence = &found->grouping->sequences[index];
    const struct hr_filled_sequence *filled = sequence_filled(found, index);
    json_open(json, NULL, '{');
    name_or_null(json, "id", filled ? filled->name : "");
    json_name(json, "body", found->filled->body_names[sequence->body]);
    time_of(json, "start", sequence_frame(found, sequence, 0));
    json_decimal(json, "seconds", (double)sequence->length_ns / (double)HR_NS_PER_S, 3);
    frames_of(json, found, sequence);
    bursts_of(json, sequence);
    name_or_null(json, "folder", filled ? filled->path : "");
    json_close(json);
}

static void loose_frames(struct json_writer *json, const struct sequences_found *found, const char *key,
                         const uint32_t *frames, size_t count, bool with_trouble)
{
    json_open(json, key, '[');
    for (size_t i = 0; i < count; i++) {
        const struct hr_frame *frame = &found->delivered->frames[frames[i]];
        json_open(json, NULL, '{');
        json_name(json, "key", frame->key);
        files_of(json, found, frame);
        if (with_trouble)
            json_text(json, "trouble", frame->trouble);
        json_close(json);
    }
    json_close(json);
}

static void bodies(struct json_writer *json, const struct sequences_found *found)
{
    json_open(json, "bodies", '[');
    for (size_t i = 0; i < found->grouping->body_count; i++) {
        const struct hr_body *body = &found->grouping->bodies[i];
        json_open(json, NULL, '{');
        json_name(json, "name", found->filled->body_names[i]);
        json_name(json, "serial", body->serial);
        json_name(json, "model", body->model);
        json_number(json, "frames", body->frame_count);
        json_signed(json, "resolution_ns", body->resolution_ns);
        json_close(json);
    }
    json_close(json);
}

static void clock_changes(struct json_writer *json, const struct sequences_found *found)
{
    json_open(json, "clock_changes", '[');
    for (size_t i = 0; i < found->grouping->clock_change_count; i++) {
        const struct hr_clock_change *change = &found->grouping->clock_changes[i];
        json_open(json, NULL, '{');
        json_name(json, "body", found->filled->body_names[change->body]);
        json_name(json, "key", found->delivered->frames[change->frame].key);
        json_signed(json, "jump_ns", change->jump_ns);
        json_bool(json, "is_summer_time", change->is_summer_time);
        json_close(json);
    }
    json_close(json);
}

static void places(struct json_writer *json, const struct sequences_found *found)
{
    json_open(json, "places", '[');
    for (size_t i = 0; i < found->filled->place_count; i++) {
        const struct hr_filled_place *place = &found->filled->places[i];
        const struct place_facts facts = place_facts_of(found->filled, place);
        json_open(json, NULL, '{');
        json_name(json, "path", found->delivered->places[place->place].path);
        json_text(json, "fill", hr_fill_name(place->fill));
        json_name_bytes(json, "folder", place->index_path, facts.folder_size);
        json_number(json, "folders_new", facts.folders_new);
        json_number(json, "folders_there", facts.folders_there);
        json_name(json, "index", place->index_path);
        json_text(json, "text", place->sentence);
        json_close(json);
    }
    json_close(json);
}

static void unread(struct json_writer *json, const struct hr_delivered *delivered)
{
    json_open(json, NULL, '{');
    json_null(json, "place");
    json_null(json, "id");
    json_text(json, "status", hr_status_name(delivered->unread.status));
    json_text(json, "text", delivered->unread.text);
    json_close(json);
}

static void failures(struct json_writer *json, const struct sequences_found *found)
{
    json_open(json, "failures", '[');
    if (found->delivered->unread_count)
        unread(json, found->delivered);
    for (size_t i = 0; i < found->filled->sequence_count; i++) {
        const struct hr_filled_sequence *sequence = &found->filled->sequences[i];
        if (!sequence->fault)
            continue;
        json_open(json, NULL, '{');
        json_name(json, "place", found->delivered->places[sequence->place].path);
        json_name(json, "id", sequence->name);
        json_text(json, "status", hr_status_name(sequence->fault->status));
        json_text(json, "text", sequence->fault->text);
        json_close(json);
    }
    json_close(json);
}

void sequences_json(struct json_writer *json, const struct sequences_found *found)
{
    const struct hr_grouping *grouping = found->grouping;
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "sequences");
    json_bool(json, "all_done", found->filled->all_done);
    json_open(json, "sequences", '[');
    for (size_t i = 0; i < grouping->sequence_count; i++)
        sequence_of(json, found, i);
    json_close(json);
    loose_frames(json, found, "singles", grouping->singles, grouping->single_count, false);
    loose_frames(json, found, "unknown", grouping->unknown, grouping->unknown_count, true);
    bodies(json, found);
    clock_changes(json, found);
    places(json, found);
    failures(json, found);
    json_close(json);
    json_end(json);
}

void sequences_json_summary(struct json_writer *json, const struct sequences_found *found)
{
    const struct sequences_facts facts = sequences_facts_of(found);
    json_bool(json, "all_done", found->filled->all_done);
    json_number(json, "frames", found->delivered->frame_count);
    json_number(json, "sequences", found->grouping->sequence_count);
    json_number(json, "singles", found->grouping->single_count);
    json_number(json, "unknown", found->grouping->unknown_count);
    json_number(json, "stalled", facts.stalled);
    places(json, found);
    failures(json, found);
}
