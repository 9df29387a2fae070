/* SPDX-License-Identifier: ISC */
#include "cli/buffer_call.h"
#include "cli/buffer_card_svg.h"
#include "cli/buffer_fitted.h"
#include "cli/buffer_words.h"

static enum cli_exit write_card(const char *path, const struct buffer_fitted *fitted)
{
    struct buffer_card card = {.buffer = fitted->fit.buffer};
    if (fitted->fit.cautions & HR_FIT_ONE_COUNT) {
        cli_complain("one rate gives no depth: there is nothing to print on a card");
        return CLI_FAILED;
    }
    buffer_rates_init(&card.rates);
    for (size_t i = 0; i < fitted->count; i++)
        buffer_rates_add(&card.rates, fitted->counts[i].per_s, NULL);
    return buffer_card_write(path, &card) ? CLI_DONE : CLI_FAILED;
}

enum cli_exit buffer_fit_run(const struct cli_call *call)
{
    const struct buffer_settings *settings = call->settings;
    struct buffer_fitted fitted = {.count = settings->counts.count};
    struct hr_fault fault = {0};
    enum hr_status status = buffer_take_counts(fitted.counts, &settings->counts, &fault);
    if (status == HR_OK)
        status = hr_buffer_fit_counts(&fitted.fit, fitted.counts, fitted.count, 0, &fault);
    if (status != HR_OK)
        return cli_complain_usage(call->command, "%s", fault.text);
    if (call->common->json) {
        struct json_writer json;
        json_start(&json, call->out, true);
        buffer_fit_json(&json, &fitted);
    } else {
        buffer_fit_text(call->out, &fitted, call->common->quiet);
    }
    return settings->card ? write_card(settings->card, &fitted) : CLI_DONE;
}
