/* SPDX-License-Identifier: ISC */
#include "cli/buffer_call.h"
#include "cli/buffer_memory.h"
#include "cli/sequences_job.h"

static void show(const struct cli_call *call, const struct buffer_groups *groups)
{
    struct json_writer json;
    if (call->common->json) {
        json_start(&json, call->out, true);
        buffer_groups_json(&json, groups);
    } else {
        buffer_groups_text(call->out, groups, call->common->quiet);
    }
}

static enum cli_exit report(const struct cli_call *call, const struct sequences_found *found)
{
    struct buffer_groups groups;
    struct hr_fault fault = {0};
    enum cli_exit code = CLI_FAILED;
    if (buffer_groups_make(&groups, found->delivered, found->grouping, &fault) != HR_OK) {
        cli_complain("%s", fault.text);
    } else if (found->delivered->frame_count == 0) {
        cli_complain("there is no frame in what was named");
    } else {
        show(call, &groups);
        /* What was found is right even when it cannot be remembered. */
        if (buffer_remember(call->common->ledger, &groups, &fault) != HR_OK)
            cli_complain("the ledger was not told: %s", fault.text);
        code = found->delivered->unread_count ? CLI_FAILED : CLI_DONE;
        if (code != CLI_DONE)
            cli_complain("not all could be read: %s", found->delivered->unread.text);
    }
    buffer_groups_finish(&groups);
    return code;
}

enum cli_exit buffer_from_run(const struct cli_call *call)
{
    const struct sequences_job job = {.paths = call->operands.items, .path_count = call->operands.count};
    struct sequences_found found;
    struct hr_fault fault = {0};
    enum hr_status status = sequences_find(&found, call, &job, &fault);
    if (status != HR_OK) {
        cli_complain("%s", status == HR_CANCELLED ? "stopped" : fault.text);
        return CLI_FAILED;
    }
    enum cli_exit code = report(call, &found);
    sequences_finish(&found);
    return code;
}
