/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any words as a command line, a time, the figures of a buffer and a play; any strings into JSON and
 * into a picture, each read back by a reader that forgives nothing. The first byte chooses which. */
#include <expat.h>
#include <math.h>
#include <time.h>

#include <headrace/name.h>

#include "base/utf8.h"
#include "cli/buffer_play.h"
#include "cli/buffer_rates.h"
#include "cli/buffer_words.h"
#include "cli/cli.h"
#include "cli/svg.h"
#include "cli/until.h"
#include "cli/when.h"
#include "fuzzing.h"
#include "json_reader.h"

static void check_fault(enum hr_status status, const struct hr_fault *fault)
{
    must(status == HR_INVALID && fault->status == status && *fault->text);
    must(hr__utf8_is_valid(fault->text, strlen(fault->text)));
    for (const char *at = fault->text; *at; at++)
        must((unsigned char)*at >= 0x20 && *at != 0x7f);
}

/* ---- Options ---- */

static void check_setting(const struct cli_option *option, const char *settings)
{
    const void *at = settings + option->at;
    const struct cli_order *order = at;
    int choices = 0;
    while (option->choices && option->choices[choices])
        choices++;
    switch (option->kind) {
    case CLI_FLAG:
    case CLI_TEXT:
        break;
    case CLI_NUMBER:
        must(*(const uint64_t *)at <= INT64_MAX);
        break;
    case CLI_SECONDS:
    case CLI_DECIMAL:
        must(*(const double *)at >= 0 && *(const double *)at <= 1e6);
        break;
    case CLI_DEADLINE: /* a day on which clocks are put back has 25 hours */
        must(*(const double *)at >= 0 && *(const double *)at <= 25 * 3600);
        break;
    case CLI_CHOICE:
        must(*(const int *)at >= 0 && *(const int *)at <= choices);
        break;
    case CLI_TEXTS:
        must(((const struct cli_texts *)at)->count <= CLI_LIST_MAX);
        break;
    case CLI_SERIES:
        must(((const struct cli_series *)at)->count <= CLI_SERIES_MAX);
        break;
    case CLI_ORDER:
        must(order->count <= CLI_LIST_MAX);
        for (size_t i = 0; i < order->count; i++)
            must(order->items[i] >= 0 && order->items[i] < choices);
        break;
    }
}

static void parse_options(const struct cli_command *command, const char *const *arguments, size_t count)
{
    char *settings = calloc(1, command->settings_size);
    struct cli_operands operands = {.items = calloc(count + 1, sizeof *operands.items)};
    struct hr_fault fault = {0};
    must(settings && operands.items);
    enum hr_status status =
        cli_options_parse(settings, &operands, command->options, command->option_count, arguments, &fault);
    must(operands.count <= count);
    if (status)
        check_fault(status, &fault);
    for (size_t i = 0; i < command->option_count && !status; i++)
        check_setting(&command->options[i], settings);
    free(operands.items), free(settings);
}

static void read_command_line(struct fuzz_input input)
{
    enum { WORDS_MAX = 200 };
    char *words[WORDS_MAX];
    const char *arguments[WORDS_MAX + 1];
    struct hr_fault fault = {0};
    size_t count = 0, left = 0;
    while (count < WORDS_MAX && input.left > 0) {
        words[count] = take_text(&input);
        arguments[count] = words[count];
        count++;
    }
    arguments[count] = NULL;
    const struct cli_command *command = cli_command_take(arguments, &fault);
    if (!command)
        check_fault(HR_INVALID, &fault);
    while (arguments[left])
        left++;
    must(left == count || left + 1 == count);
    for (size_t i = 0; cli_commands[i]; i++)
        if (!command || command == cli_commands[i])
            parse_options(cli_commands[i], arguments, left);
    parse_options(&cli_top, arguments, left);
    while (count > 0)
        free(words[--count]);
}

/* ---- Times ---- */

/* On either side of 1970 as far as nanoseconds go. */
static int64_t take_time(struct fuzz_input *input)
{
    return (int64_t)take_number(input) >> take_byte(input) % 64;
}

static void read_deadline(struct fuzz_input input)
{
    int64_t now = take_time(&input);
    char *typed = take_text(&input);
    double seconds = -1;
    if (cli_until_parse(&seconds, typed, now))
        must(seconds > 0 && seconds <= 25 * 3600);
    free(typed);
}

static void write_time(struct fuzz_input input)
{
    int64_t ns = take_time(&input), read;
    char out[CLI_WHEN_SIZE];
    struct tm civil = {0};
    long fraction = 0;
    cli_when_utc(out, ns);
    const char *end = strptime(out, "%Y-%m-%dT%H:%M:%SZ", &civil);
    must(end && !*end);
    read = (int64_t)timegm(&civil);
    must(read <= INT64_MAX / 1000000000 && read >= INT64_MIN / 1000000000 - 1);
    must(read == ns / 1000000000 - (ns % 1000000000 < 0));
    cli_when_camera_offset(out, ns, (int)(int16_t)take_number(&input));
    end = strptime(out, "%Y-%m-%dT%H:%M:%S.", &civil);
    size_t digits = end ? strspn(end, "0123456789") : 0;
    must(digits == 3 || digits == 6 || digits == 9);
    for (size_t i = 0; i < 9; i++)
        fraction = 10 * fraction + (i < digits ? end[i] - '0' : 0);
    must(strlen(end + digits) == strlen("+02:00"));
    int64_t lost = ns % 1000000000 + (ns % 1000000000 < 0 ? 1000000000 : 0) - fraction;
    must((int64_t)timegm(&civil) == read && lost >= 0 && lost < 1000000);
    must(strlen(cli_when_local(out, ns)) == strlen("2031-05-17 14:32"));
}

/* ---- The figures of a buffer ---- */

static void check_plan(const struct hr_buffer_plan *plan)
{
    must(isfinite(plan->frames) && plan->frames >= 0 && plan->moment_count > 0);
    for (size_t i = 0; i < plan->moment_count; i++) {
        const struct hr_buffer_moment *moment = &plan->timeline[i];
        must(isfinite(moment->at_s) && moment->fill > -1e-6 && moment->fill < 1 + 1e-6 && moment->per_s >= 0);
        must(i == 0 || moment->at_s >= moment[-1].at_s);
    }
}

static void show_play(const struct buffer_play *play)
{
    struct cli_output out;
    struct json_writer json;
    cli_output_init(&out, NULL, false);
    buffer_play_text(&out, play, true);
    must(!out.text.broken && hr__utf8_is_valid(out.text.bytes, out.text.size));
    must(cli_output_finish(&out));
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, true);
    buffer_play_json(&json, play);
    must(!out.text.broken && json_is_valid(out.text.bytes, out.text.size));
    must(cli_output_finish(&out));
}

static void run_play(struct buffer_play *play, const char *easings)
{
    struct buffer_way *way;
    struct hr_fault fault = {0};
    enum hr_status status = buffer_play_add(&way, play, &fault);
    if (!status)
        status = buffer_play_add(&way, play, &fault);
    if (!status)
        status = buffer_take_easings(way->easings, &way->easing_count, easings, &fault);
    if (!status)
        status = buffer_play_run(play, &fault);
    if (status)
        check_fault(status, &fault);
    for (size_t i = 0; i < play->way_count && !status; i++)
        check_plan(&play->ways[i].plan);
    if (!status)
        show_play(play);
    buffer_play_finish(play);
}

/* Words by turns: counts, a drain, holds and rests, easings. */
static void read_buffer(struct fuzz_input input)
{
    char *count = take_text(&input), *drain = take_text(&input), *easings = take_text(&input);
    struct cli_texts texts = {.items = {count}, .count = 1};
    struct cli_series series = {.count = 0};
    struct hr_buffer_count counts[CLI_LIST_MAX];
    struct hr_fault fault = {0};
    struct buffer_rates rates;
    struct buffer_play play = {.buffer = {.depth_frames = 100}};
    const char *name;
    char *words[16];
    size_t word_count = 0;
    enum hr_status status = buffer_take_counts(counts, &texts, &fault);
    buffer_rates_init(&rates);
    if (!status) {
        buffer_rates_add(&rates, counts[0].per_s, &counts[0]);
        play.buffer.depth_frames = counts[0].frames;
    }
    for (size_t i = 1; i < rates.count; i++)
        must(rates.items[i - 1].per_s <= rates.items[i].per_s);
    if (!status)
        status = buffer_take_drain(&play.buffer.drain_per_s, &name, drain, &fault);
    for (; input.left > 0 && word_count < 16; word_count++) {
        words[word_count] = take_text(&input);
        series.items[series.count].name = *words[word_count] == 'r' ? "rest" : "hold";
        series.items[series.count++].value = words[word_count] + (*words[word_count] != '\0');
    }
    if (!status)
        status = buffer_take_play(play.holds, &play.hold_count, &series, 20, &fault);
    if (status)
        check_fault(status, &fault);
    else
        run_play(&play, easings);
    while (word_count > 0)
        free(words[--word_count]);
    free(count), free(drain), free(easings);
}

/* ---- JSON ---- */

enum { MEMBERS_MAX = 64 };

/* What was written, to be read again. */
struct written {
    char *texts[MEMBERS_MAX];
    bool is_name[MEMBERS_MAX];
    size_t count, seen;
};

static void expect_text(void *context, const char *text, size_t size, bool is_key)
{
    struct written *written = context;
    if (is_key)
        return;
    must(written->seen < written->count);
    const char *wanted = written->texts[written->seen];
    if (written->is_name[written->seen]) {
        char *name = copy_of(text, size);
        size_t name_size;
        must(strlen(name) == size && hr_unescape_name(name, &name_size, name) == HR_OK);
        must(name_size == strlen(wanted) && !memcmp(name, wanted, name_size));
        free(name);
    } else if (hr__utf8_is_valid(wanted, strlen(wanted))) {
        must(size == strlen(wanted) && !memcmp(text, wanted, size));
    }
    written->seen++;
}

static void put_text(struct json_writer *json, struct written *written, struct fuzz_input *input, const char *key)
{
    bool is_name = take_byte(input) & 1;
    char *text = take_text(input);
    written->is_name[written->count] = is_name;
    written->texts[written->count++] = text;
    if (is_name)
        json_name(json, key, text);
    else
        json_text(json, key, text);
}

static void put_figure(struct json_writer *json, struct fuzz_input *input, const char *key)
{
    unsigned how = take_byte(input);
    uint64_t number = take_number(input);
    double value;
    memcpy(&value, &number, sizeof value);
    if (how % 6 == 0)
        json_number(json, key, number);
    else if (how % 6 == 1)
        json_signed(json, key, (int64_t)number);
    else if (how % 6 == 2)
        json_rate(json, key, value);
    else if (how % 6 == 3)
        json_decimal(json, key, value, (int)(how / 6 % 10));
    else if (how % 6 == 4)
        json_bool(json, key, number & 1);
    else
        json_null(json, key);
}

static void put_member(struct json_writer *json, struct written *written, struct fuzz_input *input)
{
    unsigned how = take_byte(input);
    bool has_key = json->closers[json->depth - 1] == '}';
    char *key = has_key ? take_text(input) : NULL;
    if (how % 8 < 2 && json->depth < JSON_DEPTH_MAX)
        json_open(json, key, how & 1 ? '{' : '[');
    else if (how % 8 < 6)
        put_text(json, written, input, key);
    else
        put_figure(json, input, key);
    free(key);
    if (how >= 128 && json->depth > 1)
        json_close(json);
}

static void write_json(struct fuzz_input input)
{
    struct cli_output out;
    struct json_writer json;
    struct written written = {.count = 0};
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, take_byte(&input) & 1);
    json_open(&json, NULL, '[');
    for (size_t i = 0; i < MEMBERS_MAX && input.left > 0; i++)
        put_member(&json, &written, &input);
    while (json.depth > 0)
        json_close(&json);
    json_end(&json);
    must(!out.text.broken && json_read(out.text.bytes, out.text.size, expect_text, &written));
    must(written.seen == written.count && cli_output_finish(&out));
    while (written.count > 0)
        free(written.texts[--written.count]);
}

/* ---- Pictures ---- */

struct label {
    char bytes[1 << 16];
    size_t size;
    bool is_in_text;
};

static void XMLCALL begin_element(void *data, const char *name, const char **attributes)
{
    (void)attributes;
    ((struct label *)data)->is_in_text = !strcmp(name, "text");
}

static void XMLCALL end_element(void *data, const char *name)
{
    (void)name;
    ((struct label *)data)->is_in_text = false;
}

static void XMLCALL add_characters(void *data, const char *bytes, int size)
{
    struct label *label = data;
    for (int i = 0; i < size && label->is_in_text && label->size < sizeof label->bytes; i++)
        label->bytes[label->size++] = bytes[i];
}

/* U+FFFE and U+FFFF are characters of no document. */
static void replace_no_characters(char *text)
{
    for (char *at = text; (at = strstr(at, "\xef\xbf")); at += 2)
        if (at[2] == '\xbe' || at[2] == '\xbf')
            at[2] = '\xbd';
}

/* As they come into a picture: a name escaped, or what a camera's head may say. */
static void write_label(struct fuzz_input input)
{
    static struct label label;
    struct hr_text name, picture;
    char *bytes = take_text(&input);
    hr__text_init(&name, 1 << 20);
    hr__text_init(&picture, 1 << 22);
    hr__text_append_name(&name, bytes, strlen(bytes));
    svg_begin(&picture, 100, 100, "");
    svg_text(&picture, 0, 0, "", name.bytes);
    svg_end(&picture);
    replace_no_characters(name.bytes);
    label.size = 0;
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, &label);
    XML_SetElementHandler(parser, begin_element, end_element);
    XML_SetCharacterDataHandler(parser, add_characters);
    must(XML_Parse(parser, picture.bytes, (int)picture.size, true) == XML_STATUS_OK);
    must(label.size == sizeof label.bytes || (label.size == name.size && !memcmp(label.bytes, name.bytes, name.size)));
    XML_ParserFree(parser);
    hr__text_finish(&picture), hr__text_finish(&name), free(bytes);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static void (*const readers[])(struct fuzz_input) = {read_command_line, read_deadline, write_time,
                                                         read_buffer,       write_json,    write_label};
    struct fuzz_input input = {data, size};
    setenv("TZ", "Europe/Berlin", 1); /* clocks are put on and back */
    readers[take_byte(&input) % (sizeof readers / sizeof *readers)](input);
    return 0;
}
