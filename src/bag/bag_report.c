/* SPDX-License-Identifier: ISC */
#include <headrace/bag.h>

#include <stdlib.h>

void hr_bag_report_destroy(struct hr_bag_report *report)
{
    if (!report)
        return;
    for (size_t i = 0; i < report->proof_count; i++)
        free((char *)report->proofs[i].file.path);
    for (size_t i = 0; i < report->problem_count; i++) {
        free(report->problems[i].path);
        free(report->problems[i].text);
    }
    free(report->proofs);
    free(report->problems);
    free(report->path);
    free(report->card_identity);
    free(report->card_name);
    free(report->job);
    free(report);
}

const char *hr_bag_verdict_name(enum hr_bag_verdict verdict)
{
    static const char *const names[] = {"valid", "valid with warnings", "invalid", "unfinished"};
    return (unsigned)verdict < sizeof names / sizeof *names ? names[verdict] : "unknown";
}

const char *hr_bag_problem_name(enum hr_bag_problem_kind kind)
{
    static const char *const names[] = {"missing", "differs", "unreadable", "not listed", "rule broken", "warning"};
    return (unsigned)kind < sizeof names / sizeof *names ? names[kind] : "unknown";
}
