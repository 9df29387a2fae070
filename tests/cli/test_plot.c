/* SPDX-License-Identifier: ISC */
#include "base/units.h"
#include "cli/plot_scale.h"
#include "cli/plot_svg.h"
#include "cli/run_history.h"
#include "suite.h"

#include <expat.h>
#include <string.h>

/* A row a second: what moved in it, in MB; -1 ends. */
struct script {
    const char *stage;
    uint32_t lane;
    int mb[16];
    uint32_t queue_percent;
};

static void play(struct run_history *history, const struct script *scripts, size_t count, const char *places)
{
    const struct hr_ledger_run run = {.id = 12,
                                      .started_wall_ns = 1778938324 * HR_NS_PER_S,
                                      .elapsed_ns = -1,
                                      .job = "Northmere final",
                                      .host = "",
                                      .cards = "A",
                                      .places = places,
                                      .outcome = "safe",
                                      .bytes = 1000000000,
                                      .policies = ""};
    history_init(history);
    history_take_run(history, &run);
    for (size_t i = 0; i < count; i++)
        for (int second = 0; scripts[i].mb[second] >= 0; second++) {
            const struct hr_ledger_sample sample = {.at_ns = (second + 1) * HR_NS_PER_S,
                                                    .stage = scripts[i].stage,
                                                    .lane = scripts[i].lane,
                                                    .device = "",
                                                    .link = "",
                                                    .bytes = (uint64_t)scripts[i].mb[second] * 1000000,
                                                    .queue_fill_percent = scripts[i].queue_percent};
            history_take_sample(history, &sample);
        }
    history_close(history);
    ck_assert(!history->is_short_of_memory);
}

static void expect_slowest(const struct script *scripts, size_t count, const char *text)
{
    struct run_history history;
    struct hr_text out;
    play(&history, scripts, count, "/mnt/ssd\n/mnt/backup");
    hr__text_init(&out, 1000);
    history_describe_slowest(&out, &history);
    ck_assert_str_eq(out.bytes, text);
    hr__text_finish(&out);
    history_finish(&history);
}

static const struct script slow_read_back[] = {
    {.stage = "card", .mb = {200, 200, 200, 200, 200, 0, 0, 0, -1}},
    {.stage = "digest", .mb = {200, 200, 200, 200, 200, 0, 0, 0, -1}},
    {.stage = "write", .lane = 0, .mb = {200, 200, 200, 200, 200, 0, 0, 0, -1}},
    {.stage = "read back", .lane = 0, .mb = {0, 250, 250, 250, 250, 0, 0, 0, -1}},
    {.stage = "write", .lane = 1, .mb = {190, 200, 210, 200, 200, 0, 0, 0, -1}},
    {.stage = "read back", .lane = 1, .mb = {0, 140, 150, 140, 140, 140, 150, 140, -1}},
};
enum { SLOW_READ_BACK_COUNT = sizeof slow_read_back / sizeof *slow_read_back };

START_TEST(names_the_stage_that_was_busy_longest)
{
    expect_slowest(slow_read_back, SLOW_READ_BACK_COUNT, "read-back of /mnt/backup (143 MB/s)");
}
END_TEST

START_TEST(names_the_slower_of_two_busy_alike)
{
    static const struct script scripts[] = {
        {.stage = "card", .mb = {200, 200, 200, 200, -1}},
        {.stage = "write", .lane = 0, .mb = {200, 200, 200, 200, -1}},
        {.stage = "read back", .lane = 0, .mb = {150, 150, 150, 150, -1}},
    };
    expect_slowest(scripts, 3, "read-back of /mnt/ssd (150 MB/s)");
}
END_TEST

START_TEST(names_the_place_only_where_blocks_queue_up_before_it)
{
    struct script scripts[] = {
        {.stage = "card", .mb = {200, 200, 200, 200, -1}},
        {.stage = "write", .lane = 1, .mb = {200, 200, 200, 200, -1}, .queue_percent = 90},
    };
    expect_slowest(scripts, 2, "writing to /mnt/backup (200 MB/s)");
    scripts[1].queue_percent = 3;
    expect_slowest(scripts, 2, "reading the card (200 MB/s)");
}
END_TEST

START_TEST(tells_nothing_of_a_run_too_short)
{
    static const struct script scripts[] = {{.stage = "card", .mb = {200, 200, -1}}};
    expect_slowest(scripts, 1, "");
}
END_TEST

START_TEST(adds_the_rest_of_a_second_to_the_one_before)
{
    static const struct script scripts[] = {{.stage = "card", .mb = {100, 100, -1}}};
    struct run_history history;
    play(&history, scripts, 1, "/mnt/ssd");
    const struct hr_ledger_sample rest = {
        .at_ns = 2 * HR_NS_PER_S + 100000000, .stage = "card", .device = "", .link = "", .bytes = 21000000};
    history_take_sample(&history, &rest);
    const struct history_lane *lane = &history.lanes[0];
    ck_assert_uint_eq(lane->point_count, 2);
    ck_assert_uint_eq(lane->points[1].bytes, 121000000);
    ck_assert_double_eq_tol(history_rate(&lane->points[1]), 110e6, 1);
    history_finish(&history);
}
END_TEST

START_TEST(adds_up_cards_that_are_read_side_by_side)
{
    static const struct script scripts[] = {{.stage = "card", .mb = {40, 40, -1}}};
    struct run_history history;
    play(&history, scripts, 1, "/mnt/ssd");
    const struct hr_ledger_sample other = {
        .at_ns = 2 * HR_NS_PER_S, .stage = "card", .lane = 1, .device = "", .link = "", .bytes = 35000000};
    history_take_sample(&history, &other);
    const struct history_lane *lane = &history.lanes[0];
    ck_assert_uint_eq(lane->point_count, 2);
    ck_assert_double_eq_tol(history_rate(&lane->points[1]), 75e6, 1);
    history_finish(&history);
}
END_TEST

START_TEST(ignores_samples_of_no_known_stage)
{
    static const struct script scripts[] = {{.stage = "unheard of", .mb = {1, -1}},
                                            {.stage = "write", .lane = 7, .mb = {1, -1}}};
    struct run_history history;
    play(&history, scripts, 2, "/mnt/ssd");
    ck_assert(!history.has_moved);
    history_finish(&history);
}
END_TEST

START_TEST(rounds_ticks)
{
    static const struct {
        double most, step;
    } rates[] = {{64e6, 20e6}, {80e6, 20e6}, {81e6, 50e6}, {412e6, 200e6}, {1, 0.5}, {0, 1}, {2.5e9, 1e9}};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++)
        ck_assert_double_eq_tol(plot_round_step(rates[i].most, 4), rates[i].step, rates[i].step * 1e-9);
    static const struct {
        double most_s, step_s;
    } times[] = {{3, 1}, {10, 1}, {22, 5}, {151, 30}, {600, 60}, {601, 120}, {4000, 600}, {86400, 21600}};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        ck_assert_double_eq(plot_clock_step(times[i].most_s, 10), times[i].step_s);
}
END_TEST

/* Does an XML parser take it? */
static void check_xml(const struct hr_text *text)
{
    XML_Parser parser = XML_ParserCreate(NULL);
    enum XML_Status status = XML_Parse(parser, text->bytes, (int)text->size, 1);
    ck_assert_msg(status == XML_STATUS_OK, "%s at line %lu", XML_ErrorString(XML_GetErrorCode(parser)),
                  XML_GetCurrentLineNumber(parser));
    XML_ParserFree(parser);
}

static void draw(struct hr_text *out, const struct script *scripts, size_t count, const char *places)
{
    struct run_history history;
    play(&history, scripts, count, places);
    hr__text_init(out, 1 << 20);
    plot_svg(out, &history);
    ck_assert(!out->broken);
    check_xml(out);
    history_finish(&history);
}

START_TEST(draws_a_panel_a_place_and_names_what_held_it_up)
{
    struct hr_text out;
    draw(&out, slow_read_back, SLOW_READ_BACK_COUNT, "/mnt/ssd\n/mnt/backup");
    static const char *const wanted[] = {
        ">Held up by read-back of /mnt/backup (143 MB/s)<",
        "safe<",
        ">card<",
        ">/mnt/ssd<",
        ">/mnt/backup<",
        ">read 200 MB/s<",
        ">write 200 MB/s<",
        ">read back 250 MB/s<",
        "font-weight=\"bold\">read back 143 MB/s<",
        ">300 MB/s<",
        ">8 s<",
        /* The card: up at 0 s, along for five seconds, down. */
        "d=\"M84.0 208.0V136.0H167.5V136.0H251.0V136.0H334.5V136.0H418.0V136.0H501.5V208.0\"",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        ck_assert_msg(strstr(out.bytes, wanted[i]) != NULL, "%s", wanted[i]);
    hr__text_finish(&out);
}
END_TEST

START_TEST(stays_well_formed_whatever_a_place_is_called)
{
    static const struct script scripts[] = {{.stage = "write", .lane = 0, .mb = {5, 5, 5, 5, -1}}};
    struct hr_text out;
    draw(&out, scripts, 1, "/mnt/<&\"']]>\001\377\303\244%");
    ck_assert_ptr_nonnull(strstr(out.bytes, "/mnt/&lt;&amp;\"']]&gt;%01%FF\303\244%25<"));
    ck_assert_ptr_nonnull(strstr(out.bytes, "nothing moved here"));
    hr__text_finish(&out);
}
END_TEST

START_TEST(stays_small_for_a_long_run)
{
    struct run_history history;
    struct hr_text out;
    const struct script none[] = {{.stage = "card", .mb = {-1}}};
    play(&history, none, 0, "/mnt/ssd");
    for (int second = 1; second <= 36000; second++) {
        const struct hr_ledger_sample sample = {.at_ns = second * HR_NS_PER_S,
                                                .stage = "card",
                                                .device = "",
                                                .link = "",
                                                .bytes = (uint64_t)(100 + second % 7) * 1000000};
        history_take_sample(&history, &sample);
    }
    history_close(&history);
    hr__text_init(&out, 1 << 20);
    plot_svg(&out, &history);
    check_xml(&out);
    ck_assert_uint_lt(out.size, 20000);
    ck_assert_ptr_nonnull(strstr(out.bytes, ">10 h<"));
    hr__text_finish(&out);
    history_finish(&history);
}
END_TEST

HR_SUITE("cli/plot", names_the_stage_that_was_busy_longest, names_the_slower_of_two_busy_alike,
         names_the_place_only_where_blocks_queue_up_before_it, tells_nothing_of_a_run_too_short,
         adds_the_rest_of_a_second_to_the_one_before, adds_up_cards_that_are_read_side_by_side,
         ignores_samples_of_no_known_stage, rounds_ticks, draws_a_panel_a_place_and_names_what_held_it_up,
         stays_well_formed_whatever_a_place_is_called, stays_small_for_a_long_run)
