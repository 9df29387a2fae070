/* SPDX-License-Identifier: ISC */
#include <stdio.h>

#include "base/fault.h"
#include "cli/buffer_call.h"
#include "cli/buffer_card_svg.h"
#include "cli/buffer_play.h"
#include "cli/buffer_words.h"
#include "cli/plot_file.h"
#include "cli/progress_pen.h"
#include "platform/terminal.h"

enum { NAME_COLUMNS_MAX = 24 };

/* ---- the buffer ---- */

static enum hr_status fit_buffer(struct hr_buffer *out, const struct buffer_settings *settings, struct hr_fault *fault)
{
    struct hr_buffer_count counts[CLI_LIST_MAX];
    struct hr_buffer_fit fit;
    enum hr_status status = buffer_take_counts(counts, &settings->counts, fault);
    if (status == HR_OK)
        status = hr_buffer_fit_counts(&fit, counts, settings->counts.count, 0, fault);
    if (status != HR_OK)
        return status;
    if (fit.cautions & HR_FIT_ONE_COUNT)
        return hr__fault_set(fault, HR_INVALID, 0, "one rate gives no depth: --count at a slower rate too");
    *out = fit.buffer;
    return HR_OK;
}

static enum hr_status type_buffer(struct hr_buffer *out, const struct buffer_settings *settings, struct hr_fault *fault)
{
    const char *name;
    if (settings->depth <= 0 || settings->drains.count == 0)
        return hr__fault_set(fault, HR_INVALID, 0,
                             "say what the buffer is: --depth 144 --drain 17.9, or --count 40:257 --count 20:1362, or "
                             "--body SERIAL");
    out->depth_frames = settings->depth;
    return buffer_take_drain(&out->drain_per_s, &name, settings->drains.items[0], fault);
}

/* Of the drains given, so many are the buffer's own; those that follow are other cards'. */
static size_t own_drains(const struct buffer_settings *settings)
{
    return settings->counts.count > 0 || settings->body ? 0 : 1;
}

static enum hr_status take_buffer(struct buffer_play *play, const struct buffer_settings *settings,
                                  struct hr_fault *fault)
{
    if ((settings->depth > 0) + (settings->counts.count > 0) + (settings->body != NULL) > 1)
        return hr__fault_set(fault, HR_INVALID, 0, "one of --depth, --count and --body, not several");
    if (settings->body)
        return buffer_recall(&play->buffer, play->source, settings->common.ledger, settings->body, fault);
    return settings->counts.count ? fit_buffer(&play->buffer, settings, fault)
                                  : type_buffer(&play->buffer, settings, fault);
}

/* ---- the ways to compare ---- */

static enum hr_status add_easing(struct buffer_play *play, const char *text, struct hr_fault *fault)
{
    struct buffer_way *way;
    enum hr_status status = buffer_play_add(&way, play, fault);
    if (status == HR_OK)
        status = buffer_take_easings(way->easings, &way->easing_count, text, fault);
    if (status != HR_OK)
        return status;
    int at = snprintf(way->name, sizeof way->name, "ease");
    for (size_t i = 0; i < way->easing_count && at < (int)sizeof way->name; i++)
        at += snprintf(way->name + at, sizeof way->name - (size_t)at, "%s %g%% to %g/s", i ? "," : "",
                       100 * way->easings[i].at_fill, way->easings[i].per_s);
    return HR_OK;
}

static enum hr_status add_size(struct buffer_play *play, double size, struct hr_fault *fault)
{
    struct buffer_way *way;
    enum hr_status status = buffer_play_add(&way, play, fault);
    if (status != HR_OK)
        return status;
    way->buffer = hr_buffer_with_size(&play->buffer, size);
    snprintf(way->name, sizeof way->name, "files %g times the size", size);
    return HR_OK;
}

static enum hr_status add_card(struct buffer_play *play, const char *text, struct hr_fault *fault)
{
    struct buffer_way *way;
    const char *name;
    char shown[PEN_NAME_SIZE];
    enum hr_status status = buffer_play_add(&way, play, fault);
    if (status == HR_OK)
        status = buffer_take_drain(&way->buffer.drain_per_s, &name, text, fault);
    if (status != HR_OK)
        return status;
    pen_format_name(shown, name ? name : "another card", NAME_COLUMNS_MAX);
    snprintf(way->name, sizeof way->name, "%s, drain %g/s", shown, way->buffer.drain_per_s);
    return HR_OK;
}

static enum hr_status add_ways(struct buffer_play *play, const struct buffer_settings *settings, struct hr_fault *fault)
{
    struct buffer_way *as_it_is;
    enum hr_status status = buffer_play_add(&as_it_is, play, fault);
    if (status == HR_OK)
        snprintf(as_it_is->name, sizeof as_it_is->name, "do nothing");
    for (size_t i = 0; i < settings->easings.count && status == HR_OK; i++)
        status = add_easing(play, settings->easings.items[i], fault);
    if (status == HR_OK && settings->size > 0)
        status = add_size(play, settings->size, fault);
    for (size_t i = own_drains(settings); i < settings->drains.count && status == HR_OK; i++)
        status = add_card(play, settings->drains.items[i], fault);
    return status;
}

/* ---- what is made of it ---- */

static void draw_play(struct hr_text *out, const void *play)
{
    buffer_play_svg(out, play);
}

static bool write_card(const char *path, const struct buffer_play *play)
{
    struct buffer_card card = {.buffer = play->buffer};
    buffer_rates_init(&card.rates);
    for (size_t i = 0; i < play->hold_count; i++)
        buffer_rates_add(&card.rates, play->holds[i].per_s, NULL);
    return buffer_card_write(path, &card);
}

static void show(const struct cli_call *call, const struct buffer_play *play)
{
    struct json_writer json;
    if (call->common->json) {
        json_start(&json, call->out, true);
        buffer_play_json(&json, play);
    } else if (call->common->quiet) {
        buffer_play_line(call->out, play);
    } else {
        buffer_play_text(call->out, play, hr__terminal_takes_utf8());
    }
}

static enum hr_status check_fills(const struct buffer_play *play, struct hr_fault *fault)
{
    for (size_t i = 0; i < play->hold_count; i++)
        if (play->holds[i].per_s > play->buffer.drain_per_s)
            return HR_OK;
    return hr__fault_set(fault, HR_INVALID, 0,
                         "the card takes %.3g frames a second and no hold is faster: the buffer never fills",
                         play->buffer.drain_per_s);
}

static enum hr_status make_play(struct buffer_play *play, const struct buffer_settings *settings,
                                struct hr_fault *fault)
{
    enum hr_status status = take_buffer(play, settings, fault);
    if (status == HR_OK)
        status = buffer_take_play(play->holds, &play->hold_count, &settings->play, settings->per_s, fault);
    if (status == HR_OK)
        status = check_fills(play, fault);
    if (status == HR_OK)
        status = add_ways(play, settings, fault);
    if (status == HR_OK)
        status = buffer_play_run(play, fault);
    return status;
}

enum cli_exit buffer_plan_run(const struct cli_call *call)
{
    const struct buffer_settings *settings = call->settings;
    struct buffer_play play = {0};
    struct hr_fault fault = {0};
    enum cli_exit code = CLI_DONE;
    enum hr_status status = make_play(&play, settings, &fault);
    if (status == HR_OK)
        show(call, &play);
    else if (status == HR_INVALID)
        code = cli_complain_usage(call->command, "%s", fault.text);
    else
        code = (cli_complain("%s", fault.text), CLI_FAILED);
    if (code == CLI_DONE && settings->plot && !plot_file_write(settings->plot, draw_play, &play))
        code = CLI_FAILED;
    if (code == CLI_DONE && settings->card && !write_card(settings->card, &play))
        code = CLI_FAILED;
    buffer_play_finish(&play);
    return code;
}
