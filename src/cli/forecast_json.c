/* SPDX-License-Identifier: ISC */
#include "cli/forecast_report.h"

#include "base/units.h"
#include "cli/when.h"

static void range(struct json_writer *json, const char *key, double middle, const struct hr_forecast_range *bounds)
{
    json_open(json, key, '{');
    json_decimal(json, "low", bounds->low_s, 3);
    json_decimal(json, "mid", middle, 3);
    json_decimal(json, "high", bounds->high_s, 3);
    json_close(json);
}

static void rate(struct json_writer *json, double bytes, double seconds)
{
    json_decimal(json, "rate_MB_s", seconds > 0 ? bytes / seconds / 1e6 : 0, 1);
}

static const char *device_path(const struct hr_offload_plan *plan, const struct hr_forecast_stage *stage)
{
    return stage->kind == HR_LIMIT_CARD    ? plan->cards[stage->index].path
           : stage->kind == HR_LIMIT_PLACE ? plan->places[stage->index].path
                                           : "";
}

static void bottleneck(struct json_writer *json, const char *key, const struct hr_offload_plan *plan,
                       const struct hr_forecast_stage *stage)
{
    static const char *const kinds[] = {[HR_LIMIT_NONE] = "none",
                                        [HR_LIMIT_CARD] = "card",
                                        [HR_LIMIT_LINK] = "link",
                                        [HR_LIMIT_PLACE] = "place",
                                        [HR_LIMIT_DIGEST] = "digest"};
    json_open(json, key, '{');
    json_text(json, "stage", kinds[stage->kind]);
    json_name(json, "device", device_path(plan, stage));
    json_decimal(json, "seconds", stage->seconds, 3);
    rate(json, (double)plan->bytes_to_copy, stage->seconds);
    json_close(json);
}

static void work(struct json_writer *json, const char *name, const char *device, const struct hr_speed *speed,
                 double seconds)
{
    json_open(json, NULL, '{');
    json_text(json, "stage", name);
    json_name(json, "device", device);
    json_decimal(json, "rate_MB_s", speed->bytes_per_s / 1e6, 1);
    json_decimal(json, "file_cost_ms", speed->file_s * 1e3, 3);
    json_bool(json, "is_measured", speed->is_measured);
    json_decimal(json, "seconds", seconds, 3);
    json_close(json);
}

static void works(struct json_writer *json, const struct hr_offload_plan *plan)
{
    const struct hr_forecast_job *job = &plan->foreseen->job;
    json_open(json, "stages", '[');
    for (size_t i = 0; i < job->card_count; i++)
        work(json, "read", plan->cards[i].path, &job->cards[i].read, hr_forecast_card_seconds(&job->cards[i]));
    for (size_t i = 0; i < job->place_count; i++) {
        const struct hr_forecast_place *place = &job->places[i];
        work(json, "write", plan->places[i].path, &place->write,
             hr_speed_seconds(&place->write, place->files, place->bytes));
        work(json, "read back", plan->places[i].path, &place->read_back,
             hr_speed_seconds(&place->read_back, place->files, place->bytes));
    }
    json_close(json);
}

static void changes(struct json_writer *json, const struct hr_foreseen *foreseen)
{
    json_open(json, "what_if", '[');
    for (size_t i = 0; i < foreseen->change_count; i++) {
        json_open(json, NULL, '{');
        json_name(json, "change", foreseen->changes[i].text);
        json_decimal(json, "verified_s", foreseen->changes[i].verified_s, 3);
        json_close(json);
    }
    json_close(json);
}

void forecast_json_members(struct json_writer *json, const struct hr_offload_plan *plan)
{
    const struct hr_foreseen *foreseen = plan->foreseen;
    const struct hr_forecast *forecast = &foreseen->forecast;
    range(json, "copied_s", forecast->copied_s, &foreseen->copied);
    range(json, "verified_s", forecast->verified_s, &foreseen->verified);
    json_bool(json, "is_measured", forecast->basis != HR_BASIS_CEILINGS);
    json_number(json, "like_runs", foreseen->like_runs);
    json_number(json, "past_runs", foreseen->past_runs);
    bottleneck(json, "bottleneck", plan, &forecast->stages[0]);
    bottleneck(json, "next", plan, &forecast->stages[1]);
    works(json, plan);
    changes(json, foreseen);
}

static void sequences(struct json_writer *json, const struct hr_offload_plan *plan, const struct forecast_by *by)
{
    char when[CLI_WHEN_SIZE];
    json_open(json, "sequences", '[');
    for (size_t i = 0; i < by->sequence_count; i++) {
        const struct hr_fits_sequence *sequence = &by->sequences[i];
        json_open(json, NULL, '{');
        json_name(json, "card", plan->cards[sequence->card].path);
        json_text(json, "start", cli_when_utc(when, sequence->start_ns));
        json_decimal(json, "seconds", (double)(sequence->end_ns - sequence->start_ns) / HR_NS_PER_S, 3);
        json_number(json, "frames", sequence->frames);
        json_number(json, "frames_by_then", sequence->frames_by_then);
        json_close(json);
    }
    json_close(json);
}

void forecast_json(struct json_writer *json, const struct hr_offload_plan *plan, const struct forecast_by *by)
{
    json_open(json, NULL, '{');
    json_number(json, "schema", CLI_SCHEMA);
    json_text(json, "document", "forecast");
    json_texts(json, "warnings", plan->warnings, plan->warning_count);
    json_number(json, "files", plan->files_to_copy);
    json_number(json, "bytes", plan->bytes_to_copy);
    forecast_json_members(json, plan);
    if (by->deadline_s > 0) {
        json_open(json, "by", '{');
        json_decimal(json, "deadline_s", by->deadline_s, 3);
        json_number(json, "files", by->fits.files);
        json_number(json, "frames", by->fits.frames);
        json_number(json, "bytes", by->fits.bytes);
        if (by->fits.last_path) {
            char when[CLI_WHEN_SIZE];
            json_name(json, "last", by->fits.last_path);
            json_text(json, "last_modified", cli_when_utc(when, by->fits.last_modified_ns));
        }
        sequences(json, plan, by);
        json_close(json);
    } else {
        json_null(json, "by");
    }
    json_close(json);
    json_end(json);
}
