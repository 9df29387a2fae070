/* SPDX-License-Identifier: ISC */
/* Checking a bag: the steps in their order, and the verdict. */

#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "base/fault.h"
#include "platform/clock.h"

/* In between some files stand in neither place that is looked at. */
static enum hr_status tell_giving_up(struct hr_inspection *inspection, struct hr_fault *fault)
{
    bool is_giving_up;
    enum hr_status status = hr__bag_holds(&is_giving_up, &inspection->folder, HR_BAG_GIVING_UP, fault);
    if (is_giving_up)
        hr__inspection_problem(inspection, HR_BAG_WARNING, HR_BAG_GIVING_UP,
                               "files were leaving for sequence folders and that was cut off: fill them by move again");
    return status;
}

static enum hr_status inspect(struct hr_inspection *inspection, struct hr_fault *fault)
{
    enum hr_status status = hr__inspect_declaration(inspection, fault);
    if (status || inspection->is_unreadable)
        return status;
    status = tell_giving_up(inspection, fault);
    if (!status)
        status = hr__inspect_manifests(inspection, fault);
    if (!status)
        status = hr__inspect_presence(inspection, fault);
    if (!status)
        status = hr__inspect_info(inspection, fault);
    if (!status)
        status = hr__inspect_tags(inspection, fault);
    if (!status)
        status = hr__inspect_payload(inspection, fault);
    if (!status && inspection->has_lost_problem)
        status = hr__fault_nomem(fault, "a bag's report");
    return status;
}

static enum hr_bag_verdict judge(const struct hr_inspection *inspection)
{
    const struct hr_bag_report *report = inspection->report;
    if (inspection->is_unfinished)
        return HR_BAG_UNFINISHED;
    for (size_t i = 0; i < report->problem_count; i++)
        if (report->problems[i].kind != HR_BAG_WARNING)
            return HR_BAG_INVALID;
    return report->problem_count ? HR_BAG_VALID_WITH_WARNINGS : HR_BAG_VALID;
}

enum hr_status hr_bag_verify(struct hr_bag_report **out, const char *path, const struct hr_bag_verify_options *options,
                             const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_inspection inspection = {
        .folder = HR_FOLDER_CLOSED, .options = options, .cancel = cancel, .started_ns = hr__clock_now_ns()};
    enum hr_status status = hr__inspection_begin(&inspection, path, fault);
    if (!status)
        status = inspect(&inspection, fault);
    if (!status) {
        inspection.report->verdict = judge(&inspection);
        inspection.report->elapsed_ns = hr__clock_now_ns() - inspection.started_ns;
        *out = inspection.report;
        inspection.report = NULL;
    }
    hr__inspection_finish(&inspection);
    return status;
}
