/* SPDX-License-Identifier: ISC */
/* What `buffer` makes of words, rates and moments. */
#include "cli/bar.h"
#include "cli/buffer_play.h"
#include "cli/buffer_rates.h"
#include "cli/buffer_words.h"
#include "suite.h"

#include <string.h>

#include <expat.h>

START_TEST(reads_holds_and_rests_in_the_order_given)
{
    const struct cli_series series = {
        .items = {{"hold", "3s@40"}, {"rest", "2"}, {"rest", ".5s"}, {"hold", "6"}, {"hold", "1.5@30"}}, .count = 5};
    static const struct hr_hold wanted[] = {{3, 40, 2.5}, {6, 20, 0}, {1.5, 30, 0}};
    struct hr_hold holds[HR_HOLDS_MAX];
    struct hr_fault fault = {0};
    size_t count;
    ck_assert_int_eq(buffer_take_play(holds, &count, &series, 20, &fault), HR_OK);
    ck_assert_uint_eq(count, 3);
    for (size_t i = 0; i < count; i++) {
        ck_assert_double_eq(holds[i].hold_s, wanted[i].hold_s);
        ck_assert_double_eq(holds[i].per_s, wanted[i].per_s);
        ck_assert_double_eq(holds[i].rest_s, wanted[i].rest_s);
    }
}
END_TEST

START_TEST(refuses_a_hold_that_is_none)
{
    static const char *const texts[] = {"",
                                        "s",
                                        "3x",
                                        "3s40",
                                        "3s@",
                                        "3s@0",
                                        "0s@40",
                                        "-3s",
                                        "3s@40s",
                                        "3@40@50",
                                        "1e1",
                                        "86401s",
                                        "3s@1234567890123456789012345678901234567890"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const struct cli_series series = {.items = {{"hold", texts[i]}}, .count = 1};
        struct hr_hold holds[HR_HOLDS_MAX];
        struct hr_fault fault = {0};
        size_t count;
        ck_assert_msg(buffer_take_play(holds, &count, &series, 20, &fault) == HR_INVALID, "%s", texts[i]);
        ck_assert_msg(strncmp(fault.text, "--hold wants ", 13) == 0, "%s", fault.text);
    }
}
END_TEST

START_TEST(a_play_has_an_end)
{
    struct cli_series series = {.count = HR_HOLDS_MAX + 1};
    for (size_t i = 0; i < series.count; i++) {
        series.items[i].name = "hold";
        series.items[i].value = "1s";
    }
    struct hr_hold holds[HR_HOLDS_MAX];
    struct hr_fault fault = {0};
    size_t count;
    ck_assert_int_eq(buffer_take_play(holds, &count, &series, 20, &fault), HR_INVALID);
    ck_assert_str_eq(fault.text, "a play has 64 holds at most");
}
END_TEST

START_TEST(reads_the_steps_of_an_easing)
{
    struct hr_easing easings[HR_EASINGS_MAX];
    struct hr_fault fault = {0};
    size_t count;
    ck_assert_int_eq(buffer_take_easings(easings, &count, "50%:30,75.5%:20", &fault), HR_OK);
    ck_assert_uint_eq(count, 2);
    ck_assert_double_eq(easings[0].at_fill, 0.5);
    ck_assert_double_eq(easings[0].per_s, 30);
    ck_assert_double_eq_tol(easings[1].at_fill, 0.755, 1e-12);
    ck_assert_double_eq(easings[1].per_s, 20);
    static const char *const refused[] = {
        "",      "75",     "75%",     "75%20",   "75:20", "75%:",
        "0%:20", "101%:2", "75%:20,", "75%:-20", ",",     "1%:9,2%:8,3%:7,4%:6,5%:5,6%:4,7%:3,8%:2,9%:1"};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(buffer_take_easings(easings, &count, refused[i], &fault) == HR_INVALID, "%s", refused[i]);
}
END_TEST

START_TEST(reads_a_drain_with_the_name_of_its_card)
{
    struct hr_fault fault = {0};
    const char *name;
    double per_s;
    ck_assert_int_eq(buffer_take_drain(&per_s, &name, "17.9", &fault), HR_OK);
    ck_assert_double_eq(per_s, 17.9);
    ck_assert_ptr_null(name);
    ck_assert_int_eq(buffer_take_drain(&per_s, &name, "21=card = B", &fault), HR_OK);
    ck_assert_double_eq(per_s, 21);
    ck_assert_str_eq(name, "card = B");
    static const char *const refused[] = {"", "21=", "=B", "0=B", "B", "21 =B"};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(buffer_take_drain(&per_s, &name, refused[i], &fault) == HR_INVALID, "%s", refused[i]);
}
END_TEST

START_TEST(lists_rates_from_slow_to_fast_each_once_but_for_its_counts)
{
    static const struct hr_buffer_count counts[] = {{.per_s = 20}, {.per_s = 20}, {.per_s = 8}};
    static const double wanted[] = {8, 10, 12, 15, 20, 20, 25, 30, 40, 50};
    struct buffer_rates rates;
    buffer_rates_init(&rates);
    for (size_t i = 0; i < 3; i++)
        buffer_rates_add(&rates, counts[i].per_s, &counts[i]);
    buffer_rates_add(&rates, 50, NULL);
    buffer_rates_add(&rates, 50, NULL);
    buffer_rates_add(&rates, 20, NULL);
    ck_assert_uint_eq(rates.count, sizeof wanted / sizeof *wanted);
    for (size_t i = 0; i < rates.count; i++)
        ck_assert_double_eq(rates.items[i].per_s, wanted[i]);
    ck_assert_ptr_eq(rates.items[0].count, &counts[2]);
    ck_assert_ptr_eq(rates.items[4].count, &counts[0]);
    ck_assert_ptr_eq(rates.items[5].count, &counts[1]);
    ck_assert_ptr_null(rates.items[9].count);
}
END_TEST

START_TEST(knows_the_fill_between_two_moments)
{
    struct hr_buffer_moment timeline[] = {{0, 0, 40}, {4, 0.8, 0}, {6, 0.4, 30}, {7, 0.5, 0}};
    const struct hr_buffer_plan plan = {.timeline = timeline, .moment_count = 4};
    static const struct hr_buffer_moment wanted[] = {{0, 0, 40},   {1, 0.2, 40},    {4, 0.8, 0}, {5, 0.6, 0},
                                                     {6, 0.4, 30}, {6.5, 0.45, 30}, {7, 0.5, 0}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        struct hr_buffer_moment moment = buffer_moment_at(&plan, wanted[i].at_s);
        ck_assert_double_eq_tol(moment.fill, wanted[i].fill, 1e-12);
        ck_assert_double_eq(moment.per_s, wanted[i].per_s);
    }
}
END_TEST

START_TEST(draws_a_bar_in_eighths_or_in_whole_columns)
{
    static const struct {
        double share;
        const char *blocks, *plain;
    } cases[] = {{0, "", "."},
                 {0.01, "\u258f", "."},
                 {0.5, "\u2588\u2588\u2588\u2588", "####"},
                 {0.55, "\u2588\u2588\u2588\u2588\u258d", "####"},
                 {1, "\u2588\u2588\u2588\u2588\u2588\u2588\u2588\u2588", "########"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char bar[BAR_SIZE];
        format_bar(bar, cases[i].share, 8, true);
        ck_assert_str_eq(bar, cases[i].blocks);
        format_bar(bar, cases[i].share, 8, false);
        ck_assert_str_eq(bar, cases[i].plain);
    }
}
END_TEST

START_TEST(draws_as_many_ways_as_there_may_be)
{
    struct buffer_play play = {.buffer = {100, 20}, .holds = {{3, 40, 1}, {4, 40, 0}}, .hold_count = 2};
    struct hr_fault fault = {0};
    struct buffer_way *way;
    for (int i = 0; i < BUFFER_WAYS_MAX - 1; i++) {
        ck_assert_int_eq(buffer_play_add(&way, &play, &fault), HR_OK);
        snprintf(way->name, sizeof way->name, "<&> %d", i);
    }
    ck_assert_int_eq(buffer_play_add(&way, &play, &fault), HR_INVALID);
    ck_assert_int_eq(buffer_play_run(&play, &fault), HR_OK);
    ck_assert(play.has_best);
    struct hr_text out;
    hr__text_init(&out, 1 << 20);
    buffer_play_svg(&out, &play);
    XML_Parser parser = XML_ParserCreate(NULL);
    ck_assert_int_eq(XML_Parse(parser, out.bytes, (int)out.size, 1), XML_STATUS_OK);
    XML_ParserFree(parser);
    hr__text_finish(&out);
    buffer_play_finish(&play);
}
END_TEST

HR_SUITE("cli/buffer", reads_holds_and_rests_in_the_order_given, refuses_a_hold_that_is_none, a_play_has_an_end,
         reads_the_steps_of_an_easing, reads_a_drain_with_the_name_of_its_card,
         lists_rates_from_slow_to_fast_each_once_but_for_its_counts, knows_the_fill_between_two_moments,
         draws_a_bar_in_eighths_or_in_whole_columns, draws_as_many_ways_as_there_may_be)
