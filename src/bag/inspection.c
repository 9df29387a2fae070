/* SPDX-License-Identifier: ISC */
#include "bag/inspection.h"

#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

#include "bag/bag_names.h"
#include "bag/tag_encoding.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/path.h"

enum { ENTRIES_MAX = 1 << 20, PROBLEMS_MAX = 1 << 22, PROBLEM_TEXT_MAX = 1 << 12 };

void hr__inspection_problem(struct hr_inspection *inspection, enum hr_bag_problem_kind kind, const char *path,
                            const char *format, ...)
{
    struct hr_bag_report *report = inspection->report;
    struct hr_text text;
    va_list arguments;
    hr__text_init(&text, PROBLEM_TEXT_MAX);
    va_start(arguments, format);
    hr__text_vprintf(&text, format, arguments);
    va_end(arguments);
    struct hr_bag_problem problem = {.kind = kind, .path = strdup(path), .text = hr__text_take(&text)};
    if (problem.path && problem.text &&
        hr__array_reserve(&report->problems, &inspection->problem_capacity, report->problem_count + 1, sizeof problem,
                          PROBLEMS_MAX)) {
        report->problems[report->problem_count++] = problem;
    } else {
        free(problem.path);
        free(problem.text);
        inspection->has_lost_problem = true;
    }
    hr__text_finish(&text);
}

const char *hr__inspection_shown(char out[HR_SHOWN_SIZE], const char *said)
{
    hr_escape_name(out, HR_SHOWN_SIZE, said, strlen(said));
    return out;
}

static int compare_path(const void *path, const void *listed)
{
    return strcmp(path, ((const struct hr_listed *)listed)->path);
}

struct hr_listed *hr__inspection_listed(const struct hr_inspection *inspection, const char *path)
{
    if (inspection->listed_count == 0)
        return NULL;
    return bsearch(path, inspection->listed, inspection->listed_count, sizeof *inspection->listed, compare_path);
}

static void finish_manifests(struct hr_manifest_file *manifests, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        free(manifests[i].name);
        free(manifests[i].text);
    }
}

void hr__inspection_finish(struct hr_inspection *inspection)
{
    hr__folder_close(&inspection->folder);
    hr__entries_free(inspection->entries, inspection->entry_count);
    finish_manifests(inspection->manifests, inspection->manifest_count);
    finish_manifests(inspection->tag_manifests, inspection->tag_manifest_count);
    free(inspection->listed);
    hr__bag_walk_finish(&inspection->data);
    hr__journal_finish(&inspection->rows);
    hr_bag_report_destroy(inspection->report);
}

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
    const char *name = HR_BAG_FILES_PART;
    bool is_there = false;
    struct hr_fault cause = {0};
    enum hr_status status = HR_OK;
    if (inspection->is_unfinished)
        status = hr__bag_holds(&is_there, &inspection->folder, name, fault);
    if (!status && !is_there) {
        name = HR_BAG_FILES;
        status = hr__bag_holds(&is_there, &inspection->folder, name, fault);
    }
    if (status || !is_there)
        return status;
    status = hr__journal_load(&inspection->rows, &inspection->folder, name, &cause);
    if (status == HR_NOMEM || status == HR_GONE)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (status)
        hr__inspection_problem(inspection, HR_BAG_FILE_UNREADABLE, name, "%s", cause.text);
    inspection->report->row_count = inspection->rows.count;
    return HR_OK;
}

enum hr_status hr__inspection_begin(struct hr_inspection *inspection, const char *path, struct hr_fault *fault)
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
    bool is_finished = false, has_rows = false;
    if (!status)
        status = hr__bag_is_unfinished(&inspection->is_unfinished, &inspection->folder, fault);
    if (!status)
        status = hr__bag_holds(&is_finished, &inspection->folder, HR_BAG_DECLARATION, fault);
    if (!status)
        status = hr__bag_holds(&has_rows, &inspection->folder, HR_BAG_FILES, fault);
    if (status)
        return status;
    if (!inspection->is_unfinished && !is_finished)
        return hr__fault_path(fault, HR_NOT_FOUND, 0, "no bag (there is no bagit.txt) in", report->path);
    report->is_ours = inspection->is_unfinished || has_rows;
    return name_parts(report) ? load_rows(inspection, fault) : hr__fault_nomem(fault, "a bag's report");
}

enum hr_status hr__inspection_load(char **text, size_t *size, struct hr_inspection *inspection, const char *name,
                                   struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    *text = NULL;
    enum hr_status status = hr__file_load(text, size, &inspection->folder, name, HR_BAG_TAG_FILE_MAX, name, &cause);
    if (status == HR_NOMEM || status == HR_GONE)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (status) {
        hr__inspection_problem(inspection, HR_BAG_FILE_UNREADABLE, name, "%s", cause.text);
        return HR_OK;
    }
    status = hr__tag_text_to_utf8(text, size, inspection->declaration.encoding);
    if (status == HR_NOMEM)
        hr__fault_nomem(fault, "a tag file");
    else if (status)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, name,
                               "cannot be read as %s, the encoding that bagit.txt names",
                               hr__inspection_shown((char[HR_SHOWN_SIZE]){0}, inspection->declaration.encoding));
    else if (strlen(*text) != *size)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, name, "holds NUL bytes: what follows them is not read");
    if (status) {
        free(*text);
        *text = NULL;
    }
    return status == HR_NOMEM ? HR_NOMEM : HR_OK;
}

enum hr_status hr__inspect_declaration(struct hr_inspection *inspection, struct hr_fault *fault)
{
    enum { DECLARATION_MAX = 1 << 16 };
    struct hr_declaration *declaration = &inspection->declaration;
    char *text = NULL;
    size_t size = 0;
    enum hr_status status = HR_OK;
    if (!inspection->is_unfinished)
        status = hr__file_load(&text, &size, &inspection->folder, HR_BAG_DECLARATION, DECLARATION_MAX,
                               HR_BAG_DECLARATION, fault);
    if (!status)
        status = text ? hr__declaration_parse(declaration, text, size)
                      : hr__declaration_parse(declaration, hr__declaration_text, strlen(hr__declaration_text));
    free(text);
    if (status)
        return status == HR_NOMEM ? hr__fault_nomem(fault, "what a bag declares") : status;
    inspection->is_unreadable = declaration->complaint != NULL;
    if (declaration->complaint)
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, HR_BAG_DECLARATION, "%s", declaration->complaint);
    else if (!hr__declaration_is_known(declaration))
        hr__inspection_problem(inspection, HR_BAG_WARNING, HR_BAG_DECLARATION,
                               "is of version %u.%u, which is not known here: read by the rules of %s",
                               declaration->major, declaration->minor,
                               hr__declaration_is_v1(declaration) ? "1.0" : "0.97");
    return HR_OK;
}
