/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "base/fault.h"
#include "base/path.h"
#include "platform/clock.h"

enum { ENTRIES_MAX = 1 << 20 };

/* ---- Beginning ---- */

/* PLACE/JOB/YYYYMMDD-HHMMSS_CARD. */
static bool name_parts(struct hr_bag_report *report)
{
    unsigned number;
    const char *name = hr__path_last(report->path);
    const char *card = report->is_ours ? hr__bag_name_card(name, &number) : NULL;
    const char *job_end = name > report->path ? name - 1 : name, *job = job_end;
    while (job > report->path && job[-1] != '/')
        job--;
    report->card_name = strdup(card ? card : "");
    report->job = card ? strndup(job, (size_t)(job_end - job)) : strdup("");
    report->card_identity = strdup("");
    return report->card_name && report->job && report->card_identity;
}

static enum hr_status load_rows(struct hr_inspection *inspection, struct hr_fault *fault)
{
    const char *name = NULL;
    struct hr_fault cause = {0};
    if (inspection->is_unfinished && hr__bag_holds(&inspection->folder, HR_BAG_FILES_PART))
        name = HR_BAG_FILES_PART;
    else if (hr__bag_holds(&inspection->folder, HR_BAG_FILES))
        name = HR_BAG_FILES;
    if (!name)
        return HR_OK;
    enum hr_status status = hr__journal_load(&inspection->rows, &inspection->folder, name, &cause);
    if (status == HR_NOMEM || status == HR_GONE)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (status)
        hr__inspection_problem(inspection, HR_BAG_FILE_UNREADABLE, name, "%s", cause.text);
    return HR_OK;
}

static enum hr_status begin(struct hr_inspection *inspection, const char *path, struct hr_fault *fault)
{
    struct hr_bag_report *report = calloc(1, sizeof *report);
    inspection->report = report;
    if (!report)
        return hr__fault_nomem(fault, "a bag's report");
    enum hr_status status = hr__path_resolve(&report->path, path, fault);
    if (!status)
        status = hr__folder_open(&inspection->folder, report->path, fault);
    if (!status)
        status = hr__folder_list(&inspection->entries, &inspection->entry_count, &inspection->folder, "", ENTRIES_MAX,
                                 fault);
    if (status)
        return status;
    inspection->is_unfinished = hr__bag_is_unfinished(&inspection->folder);
    if (!inspection->is_unfinished && !hr__bag_holds(&inspection->folder, HR_BAG_DECLARATION))
        return hr__fault_path(fault, HR_NOT_FOUND, 0, "no bag (there is no bagit.txt) in", report->path);
    report->is_ours = inspection->is_unfinished || hr__bag_holds(&inspection->folder, HR_BAG_FILES);
    return name_parts(report) ? load_rows(inspection, fault) : hr__fault_nomem(fault, "a bag's report");
}

/* ---- The steps ---- */

static enum hr_status inspect(struct hr_inspection *inspection, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    if (inspection->is_unfinished)
        status = hr__declaration_parse(&inspection->declaration, hr__declaration_text, strlen(hr__declaration_text));
    else
        status = hr__inspect_declaration(inspection, fault);
    if (status || inspection->is_unreadable)
        return status;
    status = hr__inspect_manifests(inspection, fault);
    if (!status)
        status = hr__inspect_presence(inspection, fault);
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
    enum hr_status status = begin(&inspection, path, fault);
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
