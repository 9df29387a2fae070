/* SPDX-License-Identifier: ISC */
#include "cli/sequences_job.h"

#include "cli/progress.h"

static void show_heads(void *context, const struct hr_delivered_progress *progress)
{
    const struct reading_view view = {.what = "frames in ",
                                      .name = progress->path,
                                      .why = "reading the heads of files",
                                      .elapsed_ns = progress->elapsed_ns,
                                      .files_done = progress->files_done,
                                      .files_total = progress->files_total};
    if (progress->files_done == 1)
        progress_restart(context);
    progress_reading(context, &view);
}

static enum hr_status gather(struct sequences_found *found, const struct cli_call *call,
                             const struct sequences_job *job, struct progress *progress, struct hr_fault *fault)
{
    const struct hr_delivered_observer observer = {.context = progress, .progress = show_heads};
    progress_remark(progress, "gathering the frames in ", job->paths[0]);
    enum hr_status status =
        hr_delivered_create(&found->delivered, job->paths, job->path_count, &observer, call->cancel, fault);
    if (status == HR_OK)
        status = hr_grouping_create(&found->grouping, found->delivered->frames, found->delivered->frame_count,
                                    &job->grouping, fault);
    return status;
}

/* Files that were moved are named where they stand now. */
static void gather_anew(struct sequences_found *found, const struct cli_call *call, const struct sequences_job *job,
                        struct progress *progress)
{
    struct sequences_found anew = {0};
    if (gather(&anew, call, job, progress, NULL) == HR_OK &&
        anew.grouping->sequence_count == found->grouping->sequence_count) {
        anew.filled = found->filled;
        found->filled = NULL;
        sequences_finish(found);
        *found = anew;
    } else {
        sequences_finish(&anew);
    }
}

static enum hr_status make(struct sequences_found *found, const struct cli_call *call, const struct sequences_job *job,
                           struct progress *progress, struct hr_fault *fault)
{
    enum hr_status status = gather(found, call, job, progress, fault);
    if (status != HR_OK)
        return status;
    progress_remark(progress, "filling the folders of sequences in ", job->paths[0]);
    status = hr_sequences_fill(&found->filled, found->delivered, found->grouping, &job->fill, call->cancel, fault);
    if (status == HR_OK && job->fill.fill == HR_FILL_MOVE)
        gather_anew(found, call, job, progress);
    return status;
}

static enum hr_status with_progress(struct sequences_found *out, const struct cli_call *call,
                                    const struct sequences_job *job,
                                    enum hr_status (*step)(struct sequences_found *found, const struct cli_call *call,
                                                           const struct sequences_job *job, struct progress *progress,
                                                           struct hr_fault *fault),
                                    struct hr_fault *fault)
{
    struct sequences_found found = {0};
    struct progress progress;
    progress_init(&progress, call->common->quiet ? PROGRESS_NONE : PROGRESS_AUTO,
                  cli_wants_colour(call->common, stderr), stderr);
    enum hr_status status = step(&found, call, job, &progress, fault);
    progress_finish(&progress);
    if (status == HR_OK)
        *out = found;
    else
        sequences_finish(&found);
    return status;
}

enum hr_status sequences_make(struct sequences_found *out, const struct cli_call *call, const struct sequences_job *job,
                              struct hr_fault *fault)
{
    return with_progress(out, call, job, make, fault);
}

enum hr_status sequences_find(struct sequences_found *out, const struct cli_call *call, const struct sequences_job *job,
                              struct hr_fault *fault)
{
    return with_progress(out, call, job, gather, fault);
}

void sequences_finish(struct sequences_found *found)
{
    hr_filled_destroy(found->filled);
    hr_grouping_destroy(found->grouping);
    hr_delivered_destroy(found->delivered);
}
