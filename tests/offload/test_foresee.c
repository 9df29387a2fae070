/* SPDX-License-Identifier: ISC */
/* What is foreseen of an offload, and what a run teaches. Figures are computed by hand. */
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "offload/foresee.h"
#include "offload/foresee_learn.h"
#include "offload_fixture.h"
#include "platform/apart.h"
#include "suite.h"

/* ---- What a run teaches ---- */

static const double MB = 1e6;

/* One card to two places on devices of their own. */
static struct hr_forecast_job two_places(double together)
{
    const struct hr_forecast_place place = {.files = 10,
                                            .bytes = 1000 * MB,
                                            .write = {.bytes_per_s = 50 * MB},
                                            .read_back = {.bytes_per_s = 200 * MB},
                                            .together = together};
    struct hr_forecast_job job = {.card_count = 1, .place_count = 2, .places = {place, place}};
    job.cards[0] = (struct hr_forecast_card){.files = 10, .bytes = 1000 * MB, .read = {.bytes_per_s = 100 * MB}};
    job.places[0].device = 1;
    job.places[1].device = 2;
    return job;
}

/* A second; queue and pool in percent. */
static struct hr_throughput_row second(double card, double write, double read_back, uint32_t queue, uint32_t pool)
{
    struct hr_throughput_row row = {.took_ns = HR_NS_PER_S, .pool_percent = pool, .place_count = 2};
    row.bytes_of_card[0] = (uint64_t)(card * MB);
    row.places[0].write_bytes = (uint64_t)(write * MB);
    row.places[0].read_back_bytes = (uint64_t)(read_back * MB);
    row.places[0].queue_percent = queue;
    return row;
}

static void learn(struct hr_learn *to, const struct hr_forecast_job *job, const struct hr_throughput_row *row,
                  int seconds)
{
    for (int i = 0; i < seconds; i++)
        hr__learn_row(to, row, job);
}

START_TEST(learns_a_card_from_seconds_in_which_nothing_held_it_up)
{
    struct hr_learn learnt = {0};
    struct hr_forecast_job job = two_places(1);
    struct hr_speed read;
    struct hr_throughput_row partial = second(40, 40, 0, 5, 10), free = second(90, 90, 0, 5, 10),
                             held_up = second(30, 30, 0, 90, 100);
    learn(&learnt, &job, &partial, 1);
    learn(&learnt, &job, &free, 5);
    learn(&learnt, &job, &held_up, 5);
    ck_assert_double_eq_tol(learnt.cards[0].read_bytes, 4 * 90 * MB, 1); /* neither the first nor the last of them */
    ck_assert_double_eq_tol(learnt.cards[0].seconds, 4, 1e-9);
    ck_assert(hr__learn_card(&read, &learnt, &job, 0));
    ck_assert_double_eq_tol(read.bytes_per_s, 90 * MB, 1);
}
END_TEST

/* Writing was foreseen at 50 MB/s, reading at 200; it was 60 and, beside it or alone, 100: of 4 seconds each 240 MB
 * written; then 120 written and 180 read; then 400 read. Foreseen (240 + 120) / 50 + (180 + 400) / 200 = 10.1 s, seen
 * in 12: the first and the last second of the busy ones are left out. */
START_TEST(learns_one_budget_from_whatever_mix_was_moved)
{
    struct hr_learn learnt = {0};
    struct hr_forecast_job job = two_places(1);
    struct hr_throughput_row keeps_up = second(90, 90, 0, 5, 10), writes = second(60, 60, 0, 80, 100),
                             both = second(30, 30, 45, 80, 100), reads = second(0, 0, 100, 0, 0),
                             idle = second(0, 0, 0, 0, 0);
    learn(&learnt, &job, &keeps_up, 5);
    learn(&learnt, &job, &writes, 5);
    learn(&learnt, &job, &both, 4);
    learn(&learnt, &job, &reads, 5);
    learn(&learnt, &job, &idle, 2);
    const struct hr_learnt *budget = &learnt.budgets[0];
    ck_assert_double_eq_tol(budget->write_bytes, (4 * 60 + 4 * 30) * MB, 1);
    ck_assert_double_eq_tol(budget->read_bytes, (4 * 45 + 4 * 100) * MB, 1);
    ck_assert_double_eq_tol(budget->seconds, 12, 1e-9);
    struct hr_learnt_place place = hr__learn_place(&learnt, &job, 0);
    ck_assert(place.was_written_to && place.was_read_back_from);
    ck_assert_double_eq_tol(place.write.bytes_per_s, 50 * MB * 10.1 / 12, 1);
    ck_assert_double_eq_tol(place.read_back.bytes_per_s, 200 * MB * 10.1 / 12, 1);
    place = hr__learn_place(&learnt, &job, 1);
    ck_assert(!place.has_write && !place.has_read_back);
    ck_assert_double_eq_tol(place.write.bytes_per_s, 50 * MB, 1);
}
END_TEST

START_TEST(learns_each_direction_alone_where_it_has_its_own_budget)
{
    struct hr_learn learnt = {0};
    struct hr_forecast_job job = two_places(2);
    struct hr_throughput_row both = second(60, 60, 30, 80, 100), reads = second(0, 0, 120, 0, 0);
    learn(&learnt, &job, &both, 6);
    struct hr_learnt_place place = hr__learn_place(&learnt, &job, 0);
    ck_assert(place.has_write && !place.has_read_back);
    ck_assert_double_eq_tol(place.write.bytes_per_s, 60 * MB, 1);
    ck_assert_double_eq_tol(place.read_back.bytes_per_s, 200 * MB, 1);
    learn(&learnt, &job, &reads, 6);
    place = hr__learn_place(&learnt, &job, 0);
    ck_assert_double_eq_tol(place.read_back.bytes_per_s, 120 * MB, 1);
}
END_TEST

/* Foreseen at 50 and 200 MB/s. One budget: 60 / 50 + 60 / 200 = 1.5 s of work went by in each second. A place that was
 * foreseen to be faster than what came may have been idle. */
START_TEST(knows_a_place_that_keeps_up_to_be_no_slower_than_it_went)
{
    struct hr_learn quick = {0}, slow = {0};
    struct hr_forecast_job job = two_places(1), apart = two_places(2);
    struct hr_throughput_row keeps_up = second(60, 60, 60, 5, 10), trickles = second(20, 20, 20, 5, 10);
    learn(&quick, &job, &keeps_up, 5);
    struct hr_learnt_place place = hr__learn_place(&quick, &job, 0);
    ck_assert(!place.has_write && !place.has_read_back); /* nothing to remember it by */
    ck_assert(place.was_written_to && place.was_read_back_from);
    ck_assert_double_eq_tol(place.write.bytes_per_s, 1.5 * 50 * MB, 1);
    ck_assert_double_eq_tol(place.read_back.bytes_per_s, 1.5 * 200 * MB, 1);
    place = hr__learn_place(&quick, &apart, 0);
    ck_assert(place.was_written_to && !place.was_read_back_from);
    ck_assert_double_eq_tol(place.write.bytes_per_s, 60 * MB, 1);
    ck_assert_double_eq_tol(place.read_back.bytes_per_s, 200 * MB, 1);
    learn(&slow, &job, &trickles, 5);
    place = hr__learn_place(&slow, &job, 0);
    ck_assert(!place.was_written_to && !place.was_read_back_from);
    ck_assert_double_eq_tol(place.write.bytes_per_s, 50 * MB, 1);
}
END_TEST

START_TEST(adds_up_places_on_one_device)
{
    struct hr_learn learnt = {0};
    struct hr_forecast_job job = two_places(1);
    struct hr_throughput_row row = second(0, 0, 40, 0, 0);
    row.places[1].read_back_bytes = (uint64_t)(30 * MB);
    job.places[1].device = 1;
    learn(&learnt, &job, &row, 4);
    ck_assert_double_eq_tol(learnt.budgets[0].read_bytes, 2 * 70 * MB, 1);
    ck_assert_double_eq(learnt.budgets[1].read_bytes, 0);
    ck_assert_double_eq_tol(hr__learn_place(&learnt, &job, 1).read_back.bytes_per_s, 70 * MB, 1);
}
END_TEST

/* 1,000 files of 1 MB at 2 ms and 100 MB/s were foreseen to take 12 s; at 50 MB/s in all they take 20. */
START_TEST(scales_both_parts_of_a_speed_as_the_time_was)
{
    const struct hr_learn learnt = {.cards[0] = {.read_bytes = 500 * MB, .seconds = 10}},
                          too_short = {.cards[0] = {.read_bytes = 100 * MB, .seconds = 1.5}};
    struct hr_forecast_job job = {.card_count = 1};
    struct hr_speed speed;
    job.cards[0] = (struct hr_forecast_card){
        .files = 1000, .bytes = 1000 * MB, .read = {.bytes_per_s = 100 * MB, .file_s = 0.002, .is_measured = true}};
    ck_assert(hr__learn_card(&speed, &learnt, &job, 0));
    ck_assert_double_eq_tol(hr_speed_seconds(&speed, 1000, 1000 * MB), 20, 1e-6);
    ck_assert_double_eq_tol(speed.file_s, 0.002 * 20 / 12, 1e-9);
    ck_assert(!hr__learn_card(&speed, &too_short, &job, 0));
    ck_assert_double_eq_tol(speed.bytes_per_s, 100 * MB, 1);
}
END_TEST

/* ---- What is remembered ---- */

static void add_speed(struct hr_ledger *ledger, const char *link, const char *direction, double rate, double together)
{
    struct hr_fault fault = {0};
    const struct hr_ledger_speed row = {.device = "serial:1",
                                        .link = link,
                                        .direction = direction,
                                        .source = "measure",
                                        .at_wall_ns = 1778900000 * HR_NS_PER_S,
                                        .bytes = 1,
                                        .bytes_per_s = rate * MB,
                                        .together = together};
    ck_assert_msg(!hr_ledger_add_speed(ledger, &row, &fault), "%s", fault.text);
}

START_TEST(believes_the_median_of_the_newest_five)
{
    struct ground ground;
    struct hr_ledger *ledger;
    static const double rates[] = {900, 100, 104, 50, 102, 101};
    const struct hr_past_device device = {.device = "serial:1", .link = {.identity = "usb:2-1"}};
    ground_begin(&ground);
    ck_assert_int_eq(hr_ledger_open(&ledger, ground.ledger, NULL), HR_OK);
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++)
        add_speed(ledger, "usb:2-1", "read", rates[i], 0);
    struct hr_speed speed = hr__past_speed(ledger, &device, HR_DIRECTION_READ);
    ck_assert(speed.is_measured);
    ck_assert_double_eq_tol(speed.bytes_per_s, 101 * MB, 1);
    hr_ledger_close(ledger);
    ground_end(&ground);
}
END_TEST

START_TEST(takes_a_speed_through_another_link_as_a_guess_no_faster_than_this_one)
{
    struct ground ground;
    struct hr_ledger *ledger;
    const struct hr_past_device device = {.device = "serial:1",
                                          .link = {.identity = "usb:2-1", .ceiling_bytes_per_s = 53 * MB}};
    ground_begin(&ground);
    ck_assert_int_eq(hr_ledger_open(&ledger, ground.ledger, NULL), HR_OK);
    struct hr_speed speed = hr__past_speed(ledger, &device, HR_DIRECTION_WRITE);
    ck_assert(!speed.is_measured);
    ck_assert_double_eq_tol(speed.bytes_per_s, 0.6 * 53 * MB, 1); /* the prior of <headrace/forecast.h> */
    add_speed(ledger, "usb:4-1", "write", 300, 1.7);
    speed = hr__past_speed(ledger, &device, HR_DIRECTION_WRITE);
    ck_assert(!speed.is_measured);
    ck_assert_double_eq_tol(speed.bytes_per_s, 53 * MB, 1);
    ck_assert_double_eq_tol(hr__past_together(ledger, &device), 1.7, 1e-9);
    hr_ledger_close(ledger);
    ground_end(&ground);
}
END_TEST

static void add_runs(struct hr_ledger *ledger, const char *pair, int count, double factor)
{
    struct hr_fault fault = {0};
    for (int i = 0; i < count; i++) {
        struct hr_ledger_forecast row = {.pair = pair,
                                         .copied_s = 10,
                                         .verified_s = 20,
                                         .real_copied_s = i ? 10 * factor : 0,
                                         .real_verified_s = 20 * factor};
        const struct hr_ledger_run run = {.job = "", .host = "", .cards = "", .places = ""};
        ck_assert_msg(!hr_ledger_start_run(&row.run, ledger, &run, &fault), "%s", fault.text);
        ck_assert_msg(!hr_ledger_add_forecast(ledger, &row, &fault), "%s", fault.text);
    }
}

START_TEST(ranges_rest_on_nine_runs_of_the_pair_else_on_nine_of_any)
{
    struct ground ground;
    struct hr_ledger *ledger;
    struct hr_past_errors errors;
    ground_begin(&ground);
    ck_assert_int_eq(hr_ledger_open(&ledger, ground.ledger, NULL), HR_OK);
    add_runs(ledger, "a\nb", 8, 1.1);
    hr__past_errors(&errors, ledger, "a\nb");
    ck_assert_uint_eq(errors.verified_count, 0);
    add_runs(ledger, "a\nc", 1, 0.5);
    hr__past_errors(&errors, ledger, "a\nb");
    ck_assert_uint_eq(errors.verified_count, 9);
    add_runs(ledger, "a\nb", 1, 1.1);
    hr__past_errors(&errors, ledger, "a\nb");
    ck_assert_uint_eq(errors.verified_count, 9);
    ck_assert_uint_eq(errors.copied_count, 7); /* of two runs it is not known */
    for (size_t i = 0; i < errors.verified_count; i++)
        ck_assert_double_eq_tol(errors.verified[i], log(1.1), 1e-9);
    hr_ledger_close(ledger);
    ground_end(&ground);
}
END_TEST

/* A run of `pair` that took so long. */
static void add_run(struct hr_ledger *ledger, const char *pair, uint64_t files, double mb, double seconds)
{
    struct hr_fault fault = {0};
    struct hr_ledger_run run = {.job = "", .host = "", .cards = "", .places = "", .outcome = "safe", .policies = ""};
    ck_assert_msg(!hr_ledger_start_run(&run.id, ledger, &run, &fault), "%s", fault.text);
    run.files = files;
    run.bytes = (uint64_t)(mb * MB);
    ck_assert_msg(!hr_ledger_end_run(ledger, &run, &fault), "%s", fault.text);
    struct hr_ledger_forecast row = {.run = run.id, .pair = pair, .real_verified_s = seconds};
    ck_assert_msg(!hr_ledger_add_forecast(ledger, &row, &fault), "%s", fault.text);
}

/* 1,000 files of 1 MB at 100 MB/s: 10 s by the card's speed. */
START_TEST(is_scaled_by_the_newest_five_runs_of_the_pair_that_were_like_it)
{
    struct ground ground;
    struct hr_ledger *ledger;
    struct hr_forecast_job job = {.card_count = 1};
    job.cards[0] = (struct hr_forecast_card){.files = 1000, .bytes = 1000 * MB, .read = {.bytes_per_s = 100 * MB}};
    ground_begin(&ground);
    ck_assert_int_eq(hr_ledger_open(&ledger, ground.ledger, NULL), HR_OK);
    ck_assert_uint_eq(hr__past_scale(NULL, "a\nb", &job, 1000, 1000 * MB).runs, 0);
    add_run(ledger, "a\nc", 1000, 1000, 30);
    add_run(ledger, "a\nb", 10, 1000, 30); /* larger files */
    add_run(ledger, "a\nb", 100, 100, 30); /* a tenth of it */
    add_run(ledger, "a\nb", 0, 0, 30);     /* nothing new */
    ck_assert_uint_eq(hr__past_scale(ledger, "a\nb", &job, 1000, 1000 * MB).runs, 0);
    ck_assert_double_eq(hr__past_scale(ledger, "a\nb", &job, 1000, 1000 * MB).scale, 0);
    add_run(ledger, "a\nb", 500, 500, 6); /* 5 s by the card's speed */
    ck_assert_double_eq_tol(hr__past_scale(ledger, "a\nb", &job, 1000, 1000 * MB).scale, 1.2, 1e-9);
    for (int i = 0; i < 5; i++)
        add_run(ledger, "a\nb", 2000, 2000, i == 2 ? 90 : 22);
    struct hr_past_scale scale = hr__past_scale(ledger, "a\nb", &job, 1000, 1000 * MB);
    ck_assert_uint_eq(scale.runs, 5);
    ck_assert_double_eq_tol(scale.scale, 1.1, 1e-9);
    hr_ledger_close(ledger);
    ground_end(&ground);
}
END_TEST

/* ---- Whole offloads ---- */

START_TEST(foresees_a_plan_by_the_speeds_the_ledger_has_of_its_devices)
{
    struct ground ground;
    struct hr_volume volume;
    struct hr_ledger *ledger;
    ground_begin(&ground);
    ck_assert_int_eq(hr__volume_of(&volume, ground.card, &hr__system_roots, NULL), HR_OK);
    char *disks = hr__disks_text(&volume);
    struct hr_past_device device = hr__foresee_device(&volume, disks);
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_int_eq(hr_offload_plan(offload)->foreseen->forecast.basis, HR_BASIS_CEILINGS);
    ck_assert_double_gt(hr_offload_plan(offload)->foreseen->verified.high_s,
                        hr_offload_plan(offload)->foreseen->forecast.verified_s);
    hr_offload_destroy(offload);
    ck_assert_int_eq(hr_ledger_open(&ledger, ground.ledger, NULL), HR_OK);
    for (enum hr_direction i = HR_DIRECTION_READ; i < HR_DIRECTION_COUNT; i++) {
        struct hr_ledger_speed row = {.device = device.device,
                                      .link = device.link.identity,
                                      .direction = hr_direction_name(i),
                                      .source = "measure",
                                      .bytes_per_s = (10 + (double)i) * MB,
                                      .file_s = 0.5};
        ck_assert_int_eq(hr_ledger_add_speed(ledger, &row, NULL), HR_OK);
    }
    hr_ledger_close(ledger);
    offload = ground_prepare(&ground);
    const struct hr_foreseen *foreseen = hr_offload_plan(offload)->foreseen;
    ck_assert_int_eq(foreseen->forecast.basis, HR_BASIS_MEASURED);
    ck_assert_double_eq_tol(foreseen->job.cards[0].read.bytes_per_s, 10 * MB, 1);
    ck_assert_double_eq_tol(foreseen->job.places[1].write.bytes_per_s, 11 * MB, 1);
    ck_assert_double_eq_tol(foreseen->job.places[1].read_back.bytes_per_s, 12 * MB, 1);
    ck_assert_double_ge(foreseen->forecast.verified_s, 6); /* three files, twice half a second in each of two places */
    double once_s = hr_forecast_card_seconds(&foreseen->job.cards[0]), bytes = foreseen->job.cards[0].bytes;
    hr_offload_destroy(offload);
    ground.options.reread_card = true;
    offload = ground_prepare(&ground);
    foreseen = hr_offload_plan(offload)->foreseen;
    ck_assert_double_eq_tol(hr_forecast_card_seconds(&foreseen->job.cards[0]), 2 * once_s, 1e-9);
    ck_assert_double_eq_tol(foreseen->job.cards[0].bytes, bytes, 1e-9);
    hr_offload_destroy(offload);
    free(disks);
    hr__volume_finish(&volume);
    ground_end(&ground);
}
END_TEST

/* What takes another time is another pair. */
START_TEST(a_pair_is_its_devices_and_how_they_are_used)
{
    struct hr_offload offload = {.card_count = 1,
                                 .options.place_count = 2,
                                 .cards[0].timed.device = "serial:b",
                                 .places = {{.timed.device = "serial:c"}, {.timed.device = "serial:a"}}};
    char *plain = hr__foresee_pair(&offload);
    offload.options.reread_card = offload.options.only_xxh128 = true;
    char *other = hr__foresee_pair(&offload);
    ck_assert_str_eq(plain, "serial:a\nserial:b\nserial:c");
    ck_assert_str_eq(other, "serial:a\nserial:b\nserial:c\nreread\nxxh128");
    free(plain);
    free(other);
}
END_TEST

static bool take_forecast(void *context, const struct hr_ledger_forecast *forecast)
{
    struct hr_ledger_forecast *taken = context;
    *taken = *forecast;
    return false;
}

START_TEST(notes_what_was_foreseen_beside_what_came)
{
    struct ground ground;
    struct hr_ledger *ledger;
    struct hr_ledger_forecast noted = {0};
    ground_begin(&ground);
    struct hr_offload *offload = ground_run(&ground);
    double foreseen_s = hr_offload_plan(offload)->foreseen->forecast.verified_s;
    double real_s = (double)hr_offload_result(offload)->elapsed_ns / HR_NS_PER_S;
    hr_offload_destroy(offload);
    hr_offload_destroy(ground_run(&ground)); /* nothing new: nothing to note */
    ck_assert_int_eq(hr_ledger_open(&ledger, ground.ledger, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_forecasts(ledger, NULL, 9, take_forecast, &noted, NULL), HR_OK);
    ck_assert_int_eq(noted.run, 1);
    ck_assert_double_eq_tol(noted.verified_s, foreseen_s, 1e-6);
    ck_assert_double_eq_tol(noted.real_verified_s, real_s, 1e-6);
    ck_assert_double_le(noted.real_copied_s, real_s);
    hr_ledger_close(ledger);
    ground_end(&ground);
}
END_TEST

START_TEST(counts_what_fits_in_whole_frames)
{
    struct ground ground;
    struct hr_fits fits;
    ground_begin(&ground);
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_int_eq(hr_offload_fits(&fits, offload, 60, NULL), HR_OK);
    ck_assert_uint_eq(fits.files, 3);
    ck_assert_uint_eq(fits.frames, 2);
    ck_assert_uint_eq(fits.bytes, sizeof "first" - 1 + sizeof "first raw" - 1 + sizeof "second" - 1);
    ck_assert_int_eq(hr_offload_fits(&fits, offload, 0.001, NULL), HR_OK);
    ck_assert_uint_eq(fits.files, 0);
    ck_assert_uint_eq(fits.frames, 0);
    ck_assert_ptr_null(fits.last_path);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

HR_SUITE("offload/foresee", learns_a_card_from_seconds_in_which_nothing_held_it_up,
         learns_one_budget_from_whatever_mix_was_moved, learns_each_direction_alone_where_it_has_its_own_budget,
         knows_a_place_that_keeps_up_to_be_no_slower_than_it_went, adds_up_places_on_one_device,
         scales_both_parts_of_a_speed_as_the_time_was, believes_the_median_of_the_newest_five,
         takes_a_speed_through_another_link_as_a_guess_no_faster_than_this_one,
         ranges_rest_on_nine_runs_of_the_pair_else_on_nine_of_any, a_pair_is_its_devices_and_how_they_are_used,
         is_scaled_by_the_newest_five_runs_of_the_pair_that_were_like_it,
         foresees_a_plan_by_the_speeds_the_ledger_has_of_its_devices, notes_what_was_foreseen_beside_what_came,
         counts_what_fits_in_whole_frames)
