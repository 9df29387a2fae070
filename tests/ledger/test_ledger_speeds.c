/* SPDX-License-Identifier: ISC */
/* What was measured and foreseen, and what became of it. Every value here is made up. */
#include "ledger_fixture.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "suite.h"

static struct fixture fixture;
static struct hr_ledger *ledger;

static void start(void)
{
    fixture_init(&fixture);
    ledger = fixture_open(&fixture);
}

static void stop(void)
{
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}

static void add_speed(const char *device, const char *link, const char *direction, double bytes_per_s)
{
    struct hr_ledger_speed speed = {
        .device = device, .link = link, .direction = direction, .source = "measure", .bytes_per_s = bytes_per_s};
    ck_assert_int_eq(hr_ledger_add_speed(ledger, &speed, NULL), HR_OK);
}

/* Appends the rates, in MB/s. */
static bool note_rate(void *context, const struct hr_ledger_speed *speed)
{
    char *text = context;
    size_t used = strlen(text);
    snprintf(text + used, 256 - used, "%g ", speed->bytes_per_s / 1e6);
    return true;
}

static const char *rates(const char *device, const char *link, const char *direction, size_t limit)
{
    static char text[256];
    *text = '\0';
    ck_assert_int_eq(hr_ledger_speeds(ledger, device, link, direction, limit, note_rate, text, NULL), HR_OK);
    return text;
}

START_TEST(tells_speeds_of_one_device_and_direction_newest_first)
{
    start();
    add_speed("card A", "usb 1", "read", 90e6);
    add_speed("card A", "usb 2", "read", 300e6);
    add_speed("card B", "usb 1", "read", 7e6);
    add_speed("card A", "usb 1", "write", 8e6);
    add_speed("card A", "usb 1", "read", 95e6);
    add_speed("card A", "", "read", 50e6);
    ck_assert_str_eq(rates("card A", NULL, "read", SIZE_MAX), "50 95 300 90 ");
    ck_assert_str_eq(rates("card A", "usb 1", "read", 10), "95 90 ");
    ck_assert_str_eq(rates("card A", "usb 1", "read", 1), "95 ");
    ck_assert_str_eq(rates("card A", "", "read", 10), "50 ");
    ck_assert_str_eq(rates("card A", NULL, "read back", 10), "");
    ck_assert_str_eq(rates("card C", NULL, "read", 10), "");
    stop();
}
END_TEST

static bool compare(void *context, const struct hr_ledger_speed *speed)
{
    const struct hr_ledger_speed *wanted = context;
    ck_assert_str_eq(speed->device, wanted->device);
    ck_assert_str_eq(speed->link, wanted->link);
    ck_assert_str_eq(speed->direction, wanted->direction);
    ck_assert_str_eq(speed->source, wanted->source);
    ck_assert_int_eq(speed->at_wall_ns, wanted->at_wall_ns);
    ck_assert_uint_eq(speed->bytes, wanted->bytes);
    const double figures[] = {speed->bytes_per_s, speed->file_s, speed->fast_bytes, speed->slow_bytes_per_s,
                              speed->together};
    const double wanted_figures[] = {wanted->bytes_per_s, wanted->file_s, wanted->fast_bytes, wanted->slow_bytes_per_s,
                                     wanted->together};
    ck_assert_mem_eq(figures, wanted_figures, sizeof figures);
    return true;
}

START_TEST(gives_a_speed_back_to_the_last_bit)
{
    start();
    struct hr_ledger_speed speed = {.device = "disk \xFF",
                                    .link = "usb/\xC3",
                                    .direction = "read back",
                                    .source = "offload",
                                    .at_wall_ns = INT64_MAX,
                                    .bytes = UINT64_MAX,
                                    .bytes_per_s = 1e9 / 3,
                                    .file_s = 1e-300,
                                    .fast_bytes = 6e10 / 7,
                                    .slow_bytes_per_s = 0.1,
                                    .together = 1.3};
    ck_assert_int_eq(hr_ledger_add_speed(ledger, &speed, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_speeds(ledger, speed.device, speed.link, "read back", 9, compare, &speed, NULL), HR_OK);
    stop();
}
END_TEST

START_TEST(notes_no_figure_that_is_none)
{
    static const double wrong[] = {-1, NAN, INFINITY};
    start();
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct hr_ledger_speed speed = {.device = "d", .direction = "read", .together = wrong[i]};
        ck_assert_int_eq(hr_ledger_add_speed(ledger, &speed, NULL), HR_INVALID);
        struct hr_ledger_forecast forecast = {.run = 1, .pair = "d", .copied_s = wrong[i]};
        ck_assert_int_eq(hr_ledger_add_forecast(ledger, &forecast, NULL), HR_INVALID);
    }
    ck_assert_str_eq(rates("d", NULL, "read", 10), "");
    stop();
}
END_TEST

static int64_t add_run(void)
{
    struct hr_ledger_run run = {.started_wall_ns = 5};
    int64_t id = 0;
    ck_assert_int_eq(hr_ledger_start_run(&id, ledger, &run, NULL), HR_OK);
    return id;
}

static void end_run(int64_t id, uint64_t files, uint64_t bytes)
{
    struct hr_ledger_run run = {.id = id, .outcome = "safe", .files = files, .bytes = bytes, .policies = ""};
    ck_assert_int_eq(hr_ledger_end_run(ledger, &run, NULL), HR_OK);
}

static bool note_forecast(void *context, const struct hr_ledger_forecast *forecast)
{
    char *text = context;
    size_t used = strlen(text);
    snprintf(text + used, 256 - used, "%s %g %g %g %g %" PRIu64 " %" PRIu64 ";", forecast->pair, forecast->copied_s,
             forecast->verified_s, forecast->real_copied_s, forecast->real_verified_s, forecast->files,
             forecast->bytes);
    return true;
}

static const char *forecasts(const char *pair, size_t limit)
{
    static char text[256];
    *text = '\0';
    ck_assert_int_eq(hr_ledger_forecasts(ledger, pair, limit, note_forecast, text, NULL), HR_OK);
    return text;
}

START_TEST(tells_forecasts_of_a_pair_or_of_all_newest_first)
{
    start();
    struct hr_ledger_forecast first = {add_run(), "a\nb", 10, 20, 11, 21, 0, 0},
                              second = {add_run(), "a\nc", 30, 40, 0, 44, 0, 0},
                              third = {add_run(), "a\nb", 50, 60, 49, 59, 0, 0};
    ck_assert_int_eq(hr_ledger_add_forecast(ledger, &first, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_add_forecast(ledger, &second, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_add_forecast(ledger, &third, NULL), HR_OK);
    end_run(first.run, 7, 7000);
    end_run(third.run, 9, 9000);
    ck_assert_str_eq(forecasts("a\nb", 10), "a\nb 50 60 49 59 9 9000;a\nb 10 20 11 21 7 7000;");
    ck_assert_str_eq(forecasts(NULL, 2), "a\nb 50 60 49 59 9 9000;a\nc 30 40 0 44 0 0;");
    ck_assert_str_eq(forecasts("", 10), "");
    stop();
}
END_TEST

START_TEST(keeps_one_forecast_a_run_and_none_without)
{
    start();
    struct hr_ledger_forecast forecast = {add_run(), "a", 1, 2, 3, 4, 0, 0};
    ck_assert_int_eq(hr_ledger_add_forecast(ledger, &forecast, NULL), HR_OK);
    forecast.real_verified_s = 5;
    ck_assert_int_eq(hr_ledger_add_forecast(ledger, &forecast, NULL), HR_OK);
    ck_assert_str_eq(forecasts(NULL, 10), "a 1 2 3 5 0 0;");
    forecast.run++;
    ck_assert_int_eq(hr_ledger_add_forecast(ledger, &forecast, NULL), HR_NOT_FOUND);
    stop();
}
END_TEST

HR_SUITE("ledger/speeds", tells_speeds_of_one_device_and_direction_newest_first, gives_a_speed_back_to_the_last_bit,
         notes_no_figure_that_is_none, tells_forecasts_of_a_pair_or_of_all_newest_first,
         keeps_one_forecast_a_run_and_none_without)
