/* SPDX-License-Identifier: ISC */
#include "cli/buffer_words.h"

#include <string.h>

#include <headrace/name.h>

#include "base/checked.h"
#include "base/fault.h"

enum { DIGITS_SIZE = 24, SHOWN_SIZE = 64 };
static const double most_figure = 1e6, most_seconds = 24 * 3600;

/* A number above 0 up to one of `stops` or the end; *at then stands there. */
static bool take_number(double *out, const char **at, const char *stops, double most)
{
    char digits[DIGITS_SIZE];
    size_t size = strcspn(*at, stops);
    if (size >= sizeof digits)
        return false;
    memcpy(digits, *at, size);
    digits[size] = '\0';
    *at += size;
    return hr__parse_decimal(out, digits, most) && *out > 0;
}

static bool take_mark(const char **at, char mark)
{
    bool is_there = **at == mark;
    *at += is_there;
    return is_there;
}

static bool take_seconds(double *out, const char **at)
{
    bool is_number = take_number(out, at, "s@", most_seconds);
    take_mark(at, 's');
    return is_number;
}

static enum hr_status refuse(struct hr_fault *fault, const char *option, const char *wanted, const char *text)
{
    char shown[SHOWN_SIZE];
    hr_escape_name(shown, sizeof shown, text, strlen(text));
    return hr__fault_set(fault, HR_INVALID, 0, "--%s wants %s, not '%s'", option, wanted, shown);
}

enum hr_status buffer_take_counts(struct hr_buffer_count out[CLI_LIST_MAX], const struct cli_texts *texts,
                                  struct hr_fault *fault)
{
    for (size_t i = 0; i < texts->count; i++) {
        const char *at = texts->items[i];
        out[i] = (struct hr_buffer_count){0};
        if (!take_number(&out[i].per_s, &at, ":", most_figure) || !take_mark(&at, ':') ||
            !take_number(&out[i].frames, &at, "", most_figure))
            return refuse(fault, "count", "frames a second and frames until the camera stopped, above 0, as 40:257",
                          texts->items[i]);
    }
    return HR_OK;
}

static enum hr_status take_hold(struct hr_hold *out, const char *text, double per_s, struct hr_fault *fault)
{
    const char *at = text;
    *out = (struct hr_hold){.per_s = per_s};
    bool is_right = take_seconds(&out->hold_s, &at);
    if (is_right && take_mark(&at, '@'))
        is_right = take_number(&out->per_s, &at, "", most_figure);
    if (!is_right || *at)
        return refuse(fault, "hold", "seconds above 0, and a rate where it has its own, as 3s or 3s@40", text);
    if (out->per_s <= 0)
        return hr__fault_set(fault, HR_INVALID, 0, "say how many frames a second: --rate 40, or --hold 3s@40");
    return HR_OK;
}

static enum hr_status take_rest(struct hr_hold *holds, size_t count, const char *text, struct hr_fault *fault)
{
    const char *at = text;
    double seconds;
    if (!take_seconds(&seconds, &at) || *at)
        return refuse(fault, "rest", "seconds above 0, as 2s", text);
    if (count == 0)
        return hr__fault_set(fault, HR_INVALID, 0, "a play begins with --hold: from an empty buffer");
    holds[count - 1].rest_s += seconds;
    return HR_OK;
}

enum hr_status buffer_take_play(struct hr_hold out[HR_HOLDS_MAX], size_t *count, const struct cli_series *series,
                                double per_s, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    *count = 0;
    for (size_t i = 0; i < series->count && status == HR_OK; i++) {
        const char *text = series->items[i].value;
        if (strcmp(series->items[i].name, "rest") == 0)
            status = take_rest(out, *count, text, fault);
        else if (*count == HR_HOLDS_MAX)
            status = hr__fault_set(fault, HR_INVALID, 0, "a play has %d holds at most", HR_HOLDS_MAX);
        else
            status = take_hold(&out[(*count)++], text, per_s, fault);
    }
    if (status == HR_OK && *count == 0)
        status = hr__fault_set(fault, HR_INVALID, 0, "describe the play: --hold 3s --rest 2s --hold 6s");
    return status;
}

enum hr_status buffer_take_easings(struct hr_easing out[HR_EASINGS_MAX], size_t *count, const char *text,
                                   struct hr_fault *fault)
{
    const char *at = text;
    *count = 0;
    do {
        struct hr_easing easing;
        if (*count == HR_EASINGS_MAX)
            return hr__fault_set(fault, HR_INVALID, 0, "--ease takes %d steps at most", HR_EASINGS_MAX);
        if (!take_number(&easing.at_fill, &at, "%", 100) || !take_mark(&at, '%') || !take_mark(&at, ':') ||
            !take_number(&easing.per_s, &at, ",", most_figure))
            return refuse(fault, "ease", "fill and frames a second from there on, as 75%:20 or 50%:30,75%:20", text);
        easing.at_fill /= 100;
        out[(*count)++] = easing;
    } while (take_mark(&at, ','));
    return HR_OK;
}

enum hr_status buffer_take_drain(double *per_s, const char **name, const char *text, struct hr_fault *fault)
{
    const char *at = text;
    bool is_right = take_number(per_s, &at, "=", most_figure);
    *name = NULL;
    if (is_right && take_mark(&at, '=')) {
        *name = at;
        is_right = *at != '\0';
    }
    return is_right ? HR_OK : refuse(fault, "drain", "frames a second above 0, as 17.9 or 21=NAME", text);
}
