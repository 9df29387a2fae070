/* SPDX-License-Identifier: ISC */
#include "power_again.h"

#include <string.h>

#include <headrace/offload.h>
#include <headrace/sequence.h>

#include "base/fault.h"

static bool offload(const char *card, const char *place, struct hr_fault *fault)
{
    const struct hr_offload_options options = {
        .cards = &card, .card_count = 1, .places = &place, .place_count = 1, .job = "Cup final", .same_device = true};
    struct hr_offload *offload = NULL;
    enum hr_status status = hr_offload_prepare(&offload, &options, NULL, fault);
    if (!status)
        status = hr_offload_run(offload, NULL, NULL, fault);
    bool all_done = !status && hr_offload_result(offload)->all_done;
    if (!status && !all_done)
        hr__fault_set(fault, HR_DIFFERS, 0, "not all done: %s", hr_offload_result(offload)->cards[0].places[0].text);
    hr_offload_destroy(offload);
    return all_done;
}

static enum hr_fill way_of(const char *job)
{
    for (unsigned way = HR_FILL_LINK; way < HR_FILL_COUNT; way++)
        if (!strcmp(hr_fill_name((enum hr_fill)way), job))
            return (enum hr_fill)way;
    return HR_FILL_DEFAULT;
}

static const char *why_not(const struct hr_filled *filled)
{
    for (size_t i = 0; i < filled->sequence_count; i++)
        if (filled->sequences[i].fault)
            return filled->sequences[i].fault->text;
    return filled->place_count ? filled->places[0].sentence : "";
}

static bool fill(const char *job, const char *place, struct hr_fault *fault)
{
    const struct hr_grouping_options grouped = {0};
    const struct hr_fill_options options = {.fill = way_of(job)};
    struct hr_delivered *delivered = NULL;
    struct hr_grouping *grouping = NULL;
    struct hr_filled *filled = NULL;
    enum hr_status status = hr_delivered_create(&delivered, &place, 1, NULL, NULL, fault);
    if (!status)
        status = hr_grouping_create(&grouping, delivered->frames, delivered->frame_count, &grouped, fault);
    if (!status)
        status = hr_sequences_fill(&filled, delivered, grouping, &options, NULL, fault);
    bool all_done = !status && filled->all_done;
    if (!status && !all_done)
        hr__fault_set(fault, HR_DIFFERS, 0, "not all filled: %s", why_not(filled));
    hr_filled_destroy(filled);
    hr_grouping_destroy(grouping);
    hr_delivered_destroy(delivered);
    return all_done;
}

bool power_again(const char *job, const char *card, const char *place, struct hr_fault *fault)
{
    bool offloads = !strcmp(job, "offload") || !strcmp(job, "again");
    if (offloads || !strcmp(job, "sequences"))
        return offload(card, place, fault) && (offloads || fill(job, place, fault));
    return fill(job, place, fault);
}

bool power_believes(size_t *copies, bool *is_safe, const char *card, struct hr_fault *fault)
{
    struct hr_safety *safety = NULL;
    struct hr_fault cause = {0};
    enum hr_status status = hr_safety_check(&safety, card, NULL, NULL, NULL, &cause);
    *copies = 0;
    *is_safe = safety && safety->is_safe;
    for (size_t i = 0; safety && i < safety->drive_count; i++) {
        size_t on_drive = safety->drives[i].files + safety->drives[i].not_from_medium;
        *copies = on_drive > *copies ? on_drive : *copies;
    }
    hr_safety_destroy(safety);
    if (status && status != HR_NOT_FOUND)
        hr__fault_set(fault, status, 0, "%s", cause.text);
    return status == HR_OK || status == HR_NOT_FOUND;
}

static bool is_valid(const char *bag, struct hr_fault *fault)
{
    struct hr_bag_report *report = NULL;
    const struct hr_bag_verify_options options = {0};
    if (hr_bag_verify(&report, bag, &options, NULL, fault) != HR_OK)
        return false;
    bool is_valid = report->verdict == HR_BAG_VALID;
    if (!is_valid)
        hr__fault_set(fault, HR_DIFFERS, 0, "%s: %s %s", hr_bag_verdict_name(report->verdict),
                      report->problem_count ? report->problems[0].path : bag,
                      report->problem_count ? report->problems[0].text : "");
    hr_bag_report_destroy(report);
    return is_valid;
}

bool power_bags_are_valid(const char *place, struct hr_fault *fault)
{
    char **bags = NULL;
    size_t count = 0;
    if (hr_bags_find(&bags, &count, NULL, place, fault) != HR_OK)
        return false;
    bool are_valid = count > 0;
    for (size_t i = 0; i < count && are_valid; i++)
        are_valid = is_valid(bags[i], fault);
    if (count == 0)
        hr__fault_set(fault, HR_NOT_FOUND, 0, "no bag in %s", place);
    hr_bag_paths_free(bags, count);
    return are_valid;
}
