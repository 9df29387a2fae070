/* SPDX-License-Identifier: ISC */
#include "cli/sequences_job.h"

#include "cli/progress.h"

struct show {
    struct progress *progress;
    const char *what, *why;
};

static void show(void *context, const struct hr_sequence_progress *at)
{
    const struct show *show = context;
    const struct reading_view view = {.what = show->what,
                                      .name = at->path,
                                      .why = show->why,
                                      .elapsed_ns = at->elapsed_ns,
                                      .files_done = at->files_done,
                                      .files_total = at->files_total};
    if (at->files_done == 1)
        progress_restart(show->progress);
    progress_reading(show->progress, &view);
}

static enum hr_status gather(struct sequences_found *found, const struct cli_call *call,
                             const struct sequences_job *job, struct progress *progress, struct hr_fault *fault)
{
    struct show heads = {progress, "frames in ", "reading the heads of files"};
    const struct hr_sequence_observer observer = {.context = &heads, .progress = show};
    progress_remark(progress, "gathering the frames in ", job->paths[0]);
    enum hr_status status =
        hr_delivered_create(&found->delivered, job->paths, job->path_count, &observer, call->cancel, fault);
    if (status == HR_OK)
        status = hr_grouping_create(&found->grouping, found->delivered->frames, found->delivered->frame_count,
                                    &job->grouping, fault);
    return status;
}

static enum hr_status fill(struct sequences_found *found, const struct cli_call *call, const struct sequences_job *job,
                           struct progress *progress, struct hr_fault *fault)
{
    struct show files = {progress, "sequences in ", ""};
    const struct hr_sequence_observer observer = {.context = &files, .progress = show};
    struct hr_fill_options options = job->fill;
    options.observer = &observer;
    progress_remark(progress, "filling the folders of sequences in ", job->paths[0]);
    return hr_sequences_fill(&found->filled, found->delivered, found->grouping, &options, call->cancel, fault);
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
    status = fill(found, call, job, progress, fault);
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
