/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "offload/carry.h"
#include "offload/foresee.h"
#include "platform/clock.h"
#include "platform/machine.h"

/* ---- Prepare ---- */

static enum hr_status check_options(const struct hr_offload_options *options, struct hr_fault *fault)
{
    if (options->card_count < 1 || options->card_count > HR_CARDS_MAX)
        return hr__fault_set(fault, HR_INVALID, 0, "name 1 to %d cards", HR_CARDS_MAX);
    if (options->place_count < 1 || options->place_count > HR_PLACES_MAX)
        return hr__fault_set(fault, HR_INVALID, 0, "name 1 to %d places", HR_PLACES_MAX);
    if (options->first_count > HR_FIRST_COUNT)
        return hr__fault_set(fault, HR_INVALID, 0, "an order has at most %d keys", HR_FIRST_COUNT);
    return HR_OK;
}

static void plan_card(struct hr_plan_card *plan, const struct hr_offload_card *card, size_t place_count)
{
    const struct hr_inventory *inventory = card->inventory;
    uint8_t everywhere = (uint8_t)((1u << place_count) - 1);
    plan->path = hr_card_path(card->card);
    plan->name = hr_card_name(card->card);
    plan->identity = hr_card_identity(card->card);
    memcpy(plan->job, card->job, sizeof plan->job);
    plan->files = inventory->file_count;
    plan->frames = inventory->camera_frame_count;
    plan->bytes = inventory->total_bytes;
    for (size_t i = 0; i < inventory->file_count; i++) {
        bool is_known = card->in_places[i] == everywhere;
        plan->files_known += is_known;
        plan->files_to_copy += !is_known;
        plan->bytes_to_copy += is_known ? 0 : inventory->files[i].size_bytes;
    }
    for (size_t i = 0; i < inventory->skip_count; i++) {
        enum hr_card_skip_reason reason = inventory->skips[i].reason;
        plan->links += reason == HR_SKIP_LINK;
        plan->specials += reason == HR_SKIP_SPECIAL;
        plan->unreadable += reason != HR_SKIP_LINK && reason != HR_SKIP_SPECIAL;
    }
}

static void plan_place(struct hr_offload *offload, size_t index)
{
    const struct hr_offload_place *place = &offload->places[index];
    struct hr_plan_place *plan = &offload->plan_places[index];
    *plan = (struct hr_plan_place){.path = place->given, .drive = "", .fs_type = ""};
    if (place->has_volume) {
        plan->drive = place->volume.is_in_memory      ? "memory"
                      : place->volume.disks_are_known ? place->volume.disks[0].name
                                                      : HR_DISKS_UNKNOWN;
        plan->fs_type = place->volume.fs_type;
        plan->free_bytes = place->volume.free_bytes;
        plan->is_in_memory = place->volume.is_in_memory;
    }
    plan->drive_number = place->drive_number;
    for (size_t c = 0; c < offload->card_count; c++) {
        plan->bytes_to_copy += offload->cards[c].deliveries[index].bytes_to_copy;
        plan->files_to_copy += offload->cards[c].deliveries[index].files_to_copy;
        plan->resumed_files += offload->cards[c].deliveries[index].resumed_files;
    }
}

static void make_plan(struct hr_offload *offload)
{
    struct hr_offload_plan *plan = &offload->plan;
    *plan = (struct hr_offload_plan){.cards = offload->plan_cards,
                                     .card_count = offload->card_count,
                                     .places = offload->plan_places,
                                     .place_count = offload->options.place_count,
                                     .refusals = (const char *const *)offload->refusals.lines,
                                     .refusal_count = offload->refusals.count,
                                     .warnings = (const char *const *)offload->warnings.lines,
                                     .warning_count = offload->warnings.count,
                                     .foreseen = &offload->foreseen};
    if (!offload->options.only_xxh128)
        plan->digest_bytes_per_s = hr_transfer_digest_bytes_per_s();
    for (size_t i = 0; i < plan->place_count; i++)
        plan_place(offload, i);
    for (size_t i = 0; i < plan->card_count; i++) {
        plan_card(&offload->plan_cards[i], &offload->cards[i], plan->place_count);
        plan->files_to_copy += plan->cards[i].files_to_copy;
        plan->bytes_to_copy += plan->cards[i].bytes_to_copy;
    }
}

enum hr_status hr_offload_prepare(struct hr_offload **out, const struct hr_offload_options *options,
                                  const struct hr_cancel *cancel, struct hr_fault *fault)
{
    enum hr_status status = check_options(options, fault);
    if (status)
        return status;
    struct hr_offload *offload = calloc(1, sizeof *offload);
    if (!offload)
        return hr__fault_nomem(fault, "the offload");
    offload->options = *options;
    offload->prepared_ns = hr__clock_now_ns();
    offload->started_wall_ns = hr__clock_wall_ns();
    status = hr__prepare_places(offload, fault);
    if (!status)
        status = hr__prepare_cards(offload, cancel, fault);
    if (!status)
        status = hr__prepare_known(offload, cancel, fault);
    if (!status)
        status = hr__preflight(offload, fault);
    if (!status) {
        make_plan(offload);
        status = hr__foresee(offload, fault);
    }
    if (status == HR_NOMEM)
        hr__fault_nomem(fault, "the plan"); /* where nothing closer was told: a sentence that could not be kept */
    if (status) {
        hr_offload_destroy(offload);
        return status;
    }
    *out = offload;
    return HR_OK;
}

const struct hr_offload_plan *hr_offload_plan(const struct hr_offload *offload)
{
    return &offload->plan;
}

/* ---- Run ---- */

static void join(struct hr_text *text, const char *line)
{
    hr__text_printf(text, "%s%s", text->size ? "\n" : "", line);
}

struct run_texts {
    struct hr_text cards, places, policies;
    char host[256];
};

static struct hr_ledger_run describe_run(struct run_texts *texts, const struct hr_offload *offload)
{
    hr__text_init(&texts->cards, 1 << 16);
    hr__text_init(&texts->places, 1 << 16);
    hr__text_init(&texts->policies, 1 << 16);
    hr__host_name(texts->host, sizeof texts->host);
    for (size_t i = 0; i < offload->card_count; i++)
        join(&texts->cards, hr_card_name(offload->cards[i].card));
    for (size_t i = 0; i < offload->options.place_count; i++) {
        join(&texts->places, offload->places[i].given);
        join(&texts->policies, offload->card_count ? offload->cards[offload->card_count - 1].deliveries[i].policy : "");
    }
    return (struct hr_ledger_run){.id = offload->run,
                                  .started_wall_ns = offload->started_wall_ns,
                                  .elapsed_ns = -1,
                                  .job = offload->card_count ? offload->cards[0].job : "",
                                  .host = texts->host,
                                  .cards = texts->cards.bytes,
                                  .places = texts->places.bytes,
                                  .outcome = "",
                                  .policies = texts->policies.bytes};
}

static void finish_texts(struct run_texts *texts)
{
    hr__text_finish(&texts->cards);
    hr__text_finish(&texts->places);
    hr__text_finish(&texts->policies);
}

/* Without a ledger the copies are made and proven all the same. */
static void start_run(struct hr_carry *carry)
{
    struct hr_offload *offload = carry->offload;
    struct run_texts texts;
    struct hr_fault fault = {0};
    if (hr_ledger_open(&offload->ledger, offload->options.ledger_path, &fault)) {
        hr__carry_ledger_failed(carry, &fault);
        return;
    }
    struct hr_ledger_run run = describe_run(&texts, offload);
    if (hr_ledger_start_run(&offload->run, offload->ledger, &run, &fault)) {
        offload->run = 0;
        hr__carry_ledger_failed(carry, &fault);
    }
    finish_texts(&texts);
}

static void end_run(struct hr_carry *carry, const char *outcome)
{
    struct hr_offload *offload = carry->offload;
    struct run_texts texts;
    struct hr_fault fault = {0};
    if (!offload->ledger)
        return;
    struct hr_ledger_run run = describe_run(&texts, offload);
    run.elapsed_ns = offload->result.elapsed_ns;
    run.outcome = outcome;
    run.files = carry->now.files_done;
    run.bytes = carry->now.done_bytes;
    run.failed_files = carry->now.failures;
    if (hr_ledger_end_run(offload->ledger, &run, &fault))
        hr__carry_ledger_failed(carry, &fault);
    finish_texts(&texts);
}

static void fill_result(const struct hr_carry *carry)
{
    struct hr_offload *offload = carry->offload;
    struct hr_offload_result *result = &offload->result;
    *result = (struct hr_offload_result){.cards = offload->result_cards,
                                         .card_count = offload->card_count,
                                         .place_count = offload->options.place_count,
                                         .all_done = true,
                                         .all_safe = offload->card_count > 0,
                                         .elapsed_ns = hr__clock_now_ns() - offload->started_ns,
                                         .stopped_at_deadline = carry->stopped_at_deadline && carry->now.failures == 0,
                                         .copied_ns = carry->copied_ns,
                                         .run = offload->run};
    for (size_t c = 0; c < offload->card_count; c++) {
        const struct hr_offload_card *card = &offload->cards[c];
        struct hr_result_card *to = &offload->result_cards[c];
        *to = (struct hr_result_card){.path = hr_card_path(card->card),
                                      .name = hr_card_name(card->card),
                                      .safety = card->safety,
                                      .was_pulled = card->was_pulled};
        result->all_done &= offload->plan_cards[c].unreadable == 0 && !card->gave_other_bytes;
        result->all_safe &= card->safety && card->safety->is_safe;
        for (size_t p = 0; p < result->place_count; p++) {
            const struct hr_delivery *delivery = &card->deliveries[p];
            struct hr_result_place *place = &to->places[p];
            *place = (struct hr_result_place){.path = offload->places[p].given,
                                              .root = offload->places[p].path,
                                              .bag_path = delivery->bag ? hr_bag_path(delivery->bag) : "",
                                              .status = delivery->fault.status,
                                              .text = delivery->fault.text,
                                              .policy = delivery->policy,
                                              .files_proven = delivery->files_proven,
                                              .files_failed = delivery->files_failed,
                                              .bytes_proven = delivery->bytes_proven};
            size_t settled = delivery->files_proven + delivery->files_failed;
            place->files_missing = delivery->files_to_copy > settled ? delivery->files_to_copy - settled : 0;
            memcpy(place->proofs, delivery->proofs, sizeof place->proofs);
            result->all_done &=
                place->files_failed == 0 && place->files_missing == 0 && delivery->fault.status == HR_OK;
            result->stopped_at_deadline &= delivery->fault.status == HR_OK && !card->was_pulled;
        }
    }
}

static enum hr_status judge_cards(struct hr_offload *offload, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < offload->card_count && !status; i++)
        status =
            hr__known_judge(&offload->cards[i].safety, &offload->cards[i].known, offload->cards[i].inventory, fault);
    return status;
}

static void count_totals(struct hr_carry *carry)
{
    const struct hr_offload *offload = carry->offload;
    uint8_t everywhere = (uint8_t)((1u << offload->options.place_count) - 1);
    for (size_t c = 0; c < offload->card_count; c++) {
        const struct hr_offload_card *card = &offload->cards[c];
        for (size_t p = 0; p < offload->options.place_count; p++)
            carry->place_total[p] += card->deliveries[p].bytes_to_copy;
        for (size_t f = 0; f < card->inventory->frame_count; f++) {
            const struct hr_card_frame *frame = &card->inventory->frames[f];
            bool is_wanted = false;
            for (uint32_t i = 0; i < frame->file_count; i++)
                is_wanted |= card->in_places[frame->first_file + i] != everywhere;
            carry->frames_total += is_wanted && hr__frame_is_camera(card->inventory, f);
        }
    }
}

static const char *outcome_of(const struct hr_offload *offload, enum hr_status status)
{
    if (status == HR_CANCELLED)
        return "cancelled";
    if (offload->result.stopped_at_deadline)
        return "deadline";
    if (status || !offload->result.all_done)
        return "failed";
    return offload->result.all_safe ? "safe" : "not safe";
}

enum hr_status hr_offload_run(struct hr_offload *offload, const struct hr_offload_observer *observer,
                              const struct hr_cancel *cancel, struct hr_fault *fault)
{
    static const struct hr_offload_observer nobody = {0};
    if (offload->refusals.count > 0)
        return hr__fault_set(fault, HR_REFUSED, 0, "%s", offload->refusals.lines[0]);
    struct hr_carry *carry = calloc(1, sizeof *carry);
    if (!carry)
        return hr__fault_nomem(fault, "the offload");
    *carry = (struct hr_carry){.offload = offload, .observer = observer ? observer : &nobody};
    offload->started_ns = hr__clock_now_ns();
    count_totals(carry);
    start_run(carry);
    enum hr_status status = hr__carry_run(carry, cancel, fault);
    enum hr_status judged = judge_cards(offload, fault);
    fill_result(carry);
    end_run(carry, outcome_of(offload, status));
    hr__carry_remember(carry);
    free(carry);
    return status ? status : judged;
}

const struct hr_offload_result *hr_offload_result(const struct hr_offload *offload)
{
    return &offload->result;
}

/* ---- End ---- */

void hr__offload_card_finish(struct hr_offload_card *card)
{
    for (size_t i = 0; i < HR_PLACES_MAX; i++)
        hr_bag_close(card->deliveries[i].bag);
    hr_safety_destroy(card->safety);
    hr__known_finish(&card->known);
    free(card->disks);
    free(card->in_places);
    free(card->unproven);
    free(card->order);
    hr_inventory_destroy(card->inventory);
    if (card->has_volume)
        hr__volume_finish(&card->volume);
    hr_card_close(card->card);
    *card = (struct hr_offload_card){0};
}

void hr_offload_destroy(struct hr_offload *offload)
{
    if (!offload)
        return;
    for (size_t i = 0; i < HR_CARDS_MAX; i++)
        hr__offload_card_finish(&offload->cards[i]);
    for (size_t i = 0; i < offload->options.place_count; i++) {
        if (offload->places[i].has_volume)
            hr__volume_finish(&offload->places[i].volume);
        free(offload->places[i].path);
        free(offload->places[i].disks);
    }
    hr_ledger_close(offload->ledger);
    hr__sentences_finish(&offload->refusals);
    hr__sentences_finish(&offload->warnings);
    free(offload);
}
