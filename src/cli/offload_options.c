/* SPDX-License-Identifier: ISC */
#include "cli/offload_options.h"

const char *const offload_first_choices[] = {"protected", "rated", "newest", NULL};
const char *const offload_digest_choices[] = {"both", "xxh128", NULL};
enum { DIGEST_XXH128 = 2 };

enum cli_exit offload_wish_check(const struct cli_call *call, const struct offload_wish *wish)
{
    if (wish->places.count == 0)
        return cli_complain_usage(call->command, "say where to: --to PLACE");
    if (wish->places.count > HR_PLACES_MAX)
        return cli_complain_usage(call->command, "%d places at most", HR_PLACES_MAX);
    if (wish->first.count > HR_FIRST_COUNT)
        return cli_complain_usage(call->command, "--first takes each word once");
    return CLI_DONE;
}

struct hr_offload_options offload_wish_options(const struct cli_call *call, const struct offload_wish *wish,
                                               struct look_shown *look)
{
    struct hr_offload_options wanted = {
        .cards = call->operands.items,
        .card_count = call->operands.count,
        .places = wish->places.items,
        .place_count = wish->places.count,
        .cards_at_once = (size_t)wish->cards_at_once,
        .only_xxh128 = wish->digest == DIGEST_XXH128,
        .same_device = wish->same_device,
        .any_folder = wish->any_folder,
        .reread_card = wish->reread_card,
        .seconds_max = wish->by_s,
        .ledger_path = call->common->ledger,
        .look = {.context = look, .progress = look_show},
    };
    for (size_t i = 0; i < wish->first.count; i++)
        wanted.first[wanted.first_count++] = (enum hr_first)wish->first.items[i];
    return wanted;
}

enum cli_exit offload_exit(enum hr_status status, const struct hr_fault *fault)
{
    if (status != HR_OK && status != HR_CANCELLED)
        cli_complain("%s", fault->text);
    return status == HR_OK        ? CLI_DONE
           : status == HR_REFUSED ? CLI_REFUSED
           : status == HR_INVALID ? CLI_USAGE
                                  : CLI_FAILED;
}

enum cli_exit offload_show_refusals(const struct hr_offload_plan *plan)
{
    for (size_t i = 0; i < plan->refusal_count; i++)
        cli_complain("refused: %s", plan->refusals[i]);
    if (plan->refusal_count)
        cli_complain("nothing was written");
    return plan->refusal_count ? CLI_REFUSED : CLI_DONE;
}
