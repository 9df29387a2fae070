/* SPDX-License-Identifier: ISC */
#include <headrace/forecast.h>

#include "suite.h"

static const double MB = 1e6;

/* One card and places on devices of their own, of one size; speeds are set by the test. */
static struct hr_forecast_job job_of(double files, double bytes, size_t places)
{
    struct hr_forecast_job job = {.card_count = 1, .place_count = places};
    job.cards[0] = (struct hr_forecast_card){.files = files, .bytes = bytes};
    for (size_t i = 0; i < places; i++)
        job.places[i] = (struct hr_forecast_place){.files = files, .bytes = bytes, .device = (unsigned)i + 1};
    return job;
}

static struct hr_forecast make(const struct hr_forecast_job *job)
{
    struct hr_forecast forecast;
    hr_forecast_make(&forecast, job);
    return forecast;
}

static void set_place(struct hr_forecast_place *place, double write, double read_back)
{
    place->write = (struct hr_speed){.bytes_per_s = write * MB, .is_measured = true};
    place->read_back = (struct hr_speed){.bytes_per_s = read_back * MB, .is_measured = true};
}

static struct hr_forecast_job frames_of_50_mb(double frames)
{
    struct hr_forecast_job job = job_of(frames, frames * 50 * MB, 1);
    set_place(&job.places[0], 250, 270);
    job.places[0].write.file_s = 0.002;
    return job;
}

/* Computed: 0.002 + 50/250 + 50/270 seconds a frame. */
START_TEST(writes_and_reads_back_each_frame_on_one_device)
{
    struct hr_forecast_job one = frames_of_50_mb(1), many = frames_of_50_mb(2000);
    ck_assert_double_eq_tol(make(&one).verified_s, 0.387185, 1e-6);
    ck_assert_double_eq_tol(make(&many).verified_s, 774.37, 0.005);
    ck_assert_double_eq_tol(make(&many).copied_s, 2000 * 0.202, 1e-6);
}
END_TEST

static size_t fits(const struct hr_forecast_job *job, size_t count, double file_bytes, double seconds, double factor)
{
    uint64_t *bytes = calloc(count, sizeof *bytes);
    uint8_t *card_of = calloc(count, 1);
    ck_assert(bytes && card_of);
    for (size_t i = 0; i < count; i++)
        bytes[i] = (uint64_t)file_bytes;
    size_t fitting = hr_forecast_fits(job, bytes, card_of, count, seconds, factor);
    free(bytes);
    free(card_of);
    return fitting;
}

/* Computed: 720 / 0.387185, and 720 / 1.12 / 0.387185. */
START_TEST(fits_as_many_frames_as_are_verified_in_time)
{
    struct hr_forecast_job job = frames_of_50_mb(0);
    ck_assert_uint_eq(fits(&job, 3000, 50 * MB, 720, 1), 1859);
    ck_assert_uint_eq(fits(&job, 3000, 50 * MB, 720, 1.12), 1660);
    ck_assert_uint_eq(fits(&job, 1000, 50 * MB, 720, 1.12), 1000);
    ck_assert_uint_eq(fits(&job, 1000, 50 * MB, 0.38, 1), 0);
}
END_TEST

/* Computed: 720 s less 60 s for the first 60,000 MB, at 300 MB/s. */
START_TEST(fits_what_a_drive_takes_after_its_cache_is_full)
{
    struct hr_forecast_job job = job_of(0, 0, 1);
    job.places[0].write =
        (struct hr_speed){.bytes_per_s = 1000 * MB, .fast_bytes = 60000 * MB, .slow_bytes_per_s = 300 * MB};
    ck_assert_uint_eq(fits(&job, 3000, 100 * MB, 720.0001, 1), 2580);
}
END_TEST

START_TEST(fits_a_file_only_if_it_can_be_read_back_after_the_last_byte)
{
    struct hr_forecast_job job = job_of(0, 0, 1);
    uint64_t bytes[] = {100000000, 900000000, 1000000};
    uint8_t card_of[3] = {0};
    job.cards[0].read.bytes_per_s = 100 * MB;
    set_place(&job.places[0], 1000, 300);
    ck_assert_uint_eq(hr_forecast_fits(&job, bytes, card_of, 3, 12.9, 1), 1); /* 10 s, and 3 s for the second alone */
    ck_assert_uint_eq(hr_forecast_fits(&job, bytes, card_of, 3, 13.1, 1), 3);
}
END_TEST

/* A fifth longer than by the figures of the one above. */
START_TEST(takes_as_much_longer_as_past_runs_did)
{
    struct hr_forecast_job job = frames_of_50_mb(2000);
    job.scale = 1.2;
    struct hr_forecast forecast = make(&job);
    ck_assert_double_eq_tol(forecast.verified_s, 1.2 * 774.37, 0.005);
    ck_assert_double_eq_tol(forecast.stages[0].seconds, 1.2 * 774.37, 0.005);
    ck_assert_double_eq_tol(forecast.copied_s, 1.2 * 2000 * 0.202, 1e-6);
    ck_assert_int_eq(forecast.basis, HR_BASIS_RUNS);
}
END_TEST

/* Computed: 100,000 MB at 250 and 270 MB/s one after the other; at 800 and 900 MB/s. */
START_TEST(is_held_up_by_the_slowest_of_devices_side_by_side)
{
    struct hr_forecast_job job = job_of(1, 100000 * MB, 2);
    job.cards[0].read = (struct hr_speed){.bytes_per_s = 1000 * MB, .is_measured = true};
    set_place(&job.places[0], 800, 900);
    set_place(&job.places[1], 250, 270);
    struct hr_forecast forecast = make(&job);
    ck_assert_double_eq_tol(forecast.verified_s, 770.37, 0.005);
    ck_assert_double_eq_tol(forecast.copied_s, 400, 1e-9);
    ck_assert_uint_eq(forecast.stage_count, 3);
    ck_assert_int_eq(forecast.stages[0].kind, HR_LIMIT_PLACE);
    ck_assert_uint_eq(forecast.stages[0].index, 1);
    ck_assert_double_eq_tol(forecast.stages[1].seconds, 236.11, 0.005);
    ck_assert_uint_eq(forecast.stages[1].index, 0);
    ck_assert_int_eq(forecast.stages[2].kind, HR_LIMIT_CARD);
    ck_assert_int_eq(forecast.basis, HR_BASIS_MEASURED);
    job.place_count = 1;
    ck_assert_double_eq_tol(make(&job).verified_s, 236.11, 0.005);
}
END_TEST

/* A card's 20 s; 10 s of writing and 15 s of reading back. By hand, from what the engine does. */
START_TEST(follows_how_the_engine_reads_back_from_each_kind_of_drive)
{
    static const struct {
        double together, card_s, copied_s, verified_s;
    } rows[] = {
        {0, 20, 20, 25},
        {1, 20, 20, 25},
        {1.2, 20, 20, 25},
        {0.8, 20, 20, 25},
        {0.5, 20, 20, 35} /* not before all is written */,
        {0.5, 5, 10, 25},
        {2, 20, 20, 20},
        {2, 5, 10, 15} /* reading is slower */,
        {1.5, 5, 40 / 3.0 * 1, 50 / 3.0},
        {1.5, 40, 40, 40},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct hr_forecast_job job = job_of(1, 3000 * MB, 1);
        job.cards[0].read.bytes_per_s = 3000 * MB / rows[i].card_s;
        set_place(&job.places[0], 300, 200);
        job.places[0].together = rows[i].together;
        struct hr_forecast forecast = make(&job);
        ck_assert_msg(forecast.copied_s - rows[i].copied_s < 1e-9 && rows[i].copied_s - forecast.copied_s < 1e-9,
                      "row %zu: copied in %g s", i, forecast.copied_s);
        ck_assert_msg(forecast.verified_s - rows[i].verified_s < 1e-9 &&
                          rows[i].verified_s - forecast.verified_s < 1e-9,
                      "row %zu: verified in %g s", i, forecast.verified_s);
    }
}
END_TEST

/* Card of 200 MB/s, two places of as many MB/s each way. Computed; a prototype of the engine that was measured on
 * throttled devices took 1.009 to 1.04 of these times for large files, 1.2 for 61 kB ones. */
START_TEST(agrees_with_the_bounds_of_offloads_that_were_measured)
{
    static const struct {
        double bytes, places[2], together, bound_s;
    } rows[] = {
        {2800e6, {300, 150}, 2, 18.67},  /* 19.35 s */
        {2800e6, {600, 450}, 1, 14.00},  /* 14.12 s */
        {2800e6, {300, 150}, 1, 37.33},  /* 37.8 to 38.6 s */
        {307.2e6, {600, 450}, 1, 1.536}, /* 1.88 s */
        {307.2e6, {300, 150}, 2, 2.048}, /* 2.4 to 2.5 s */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct hr_forecast_job job = job_of(1, rows[i].bytes, 2);
        job.cards[0].read.bytes_per_s = 200 * MB;
        for (size_t place = 0; place < 2; place++) {
            set_place(&job.places[place], rows[i].places[place], rows[i].places[place]);
            job.places[place].together = rows[i].together;
        }
        ck_assert_double_eq_tol(make(&job).verified_s, rows[i].bound_s, 0.005);
    }
}
END_TEST

/* 10 s of each card, of which two share a reader; 40 s of one device that has two places; 3000 MB to digest. */
START_TEST(adds_up_what_shares_a_link_or_a_device)
{
    struct hr_forecast_job job = job_of(1, 1000 * MB, 2);
    job.card_count = 3;
    for (size_t i = 0; i < 3; i++)
        job.cards[i] = (struct hr_forecast_card){1, 1000 * MB, {.bytes_per_s = 100 * MB}, i < 2 ? 7 : 0, 1};
    for (size_t i = 0; i < 2; i++) {
        job.places[i] = (struct hr_forecast_place){.bytes = 3000 * MB, .device = 4, .link = 9};
        set_place(&job.places[i], 300, 300);
    }
    job.links[job.link_count++] = (struct hr_forecast_link){9, 200 * MB, 0};
    job.links[job.link_count++] = (struct hr_forecast_link){7, 125 * MB, 0};
    job.digest_bytes_per_s = 1500 * MB;
    job.overhead_s = 1.5;
    struct hr_forecast forecast = make(&job);
    static const struct hr_forecast_stage expected[] = {
        {HR_LIMIT_LINK, 9, 60}, {HR_LIMIT_PLACE, 0, 40}, {HR_LIMIT_CARD, 0, 20},
        {HR_LIMIT_LINK, 7, 16}, {HR_LIMIT_CARD, 2, 10},  {HR_LIMIT_DIGEST, 0, 2},
    };
    ck_assert_uint_eq(forecast.stage_count, sizeof expected / sizeof *expected);
    for (size_t i = 0; i < forecast.stage_count; i++) {
        ck_assert_int_eq(forecast.stages[i].kind, expected[i].kind);
        ck_assert_uint_eq(forecast.stages[i].index, expected[i].index);
        ck_assert_double_eq_tol(forecast.stages[i].seconds, expected[i].seconds, 1e-9);
    }
    ck_assert_double_eq_tol(forecast.verified_s, 61.5, 1e-9);
    ck_assert_double_eq_tol(forecast.copied_s, 31.5, 1e-9); /* 6,000 MB over the link of both places */
    ck_assert_int_eq(forecast.basis, HR_BASIS_CEILINGS);
}
END_TEST

/* Worked by hand: cards of 10, 20, 5 and 5 s, the first two on one link. */
START_TEST(reads_no_more_cards_at_once_than_it_is_told)
{
    static const struct {
        size_t at_once;
        double seconds;
    } rows[] = {{1, 40}, {2, 30}, {3, 30}, {0, 30}};
    struct hr_forecast_job job = {.card_count = 4};
    struct hr_forecast forecast;
    for (size_t i = 0; i < 4; i++)
        job.cards[i] = (struct hr_forecast_card){.bytes = (double[]){1000, 2000, 500, 500}[i] * MB,
                                                 .read = {.bytes_per_s = 100 * MB},
                                                 .link = i < 2 ? 1 : (unsigned)i};
    for (size_t i = 0; i < 4; i++) {
        job.cards_at_once = rows[i].at_once;
        hr_forecast_make(&forecast, &job);
        ck_assert_double_eq_tol(forecast.copied_s, rows[i].seconds, 1e-9);
        ck_assert_double_eq_tol(hr_forecast_cards_seconds(&job), rows[i].seconds, 1e-9);
        ck_assert_double_eq_tol(forecast.stages[0].seconds, rows[i].seconds, 1e-9);
    }
    job.cards[1].link = 9; /* all on links of their own: two readers take 10 and 20, then 5 and 5 after the 10 */
    job.cards_at_once = 2;
    ck_assert_double_eq_tol(hr_forecast_cards_seconds(&job), 20, 1e-9);
    job.cards[2].bytes = 1500 * MB; /* 25 after the 10, and then the last after the 20 */
    ck_assert_double_eq_tol(hr_forecast_cards_seconds(&job), 25, 1e-9);
}
END_TEST

/* 1,000 MB of a card at 100 MB/s, read twice; the link carries both readings, digests are made of one. */
START_TEST(reads_a_card_as_often_as_it_is_told)
{
    struct hr_forecast_job job = job_of(10, 1000 * MB, 0);
    job.cards[0] = (struct hr_forecast_card){10, 1000 * MB, {.bytes_per_s = 100 * MB, .file_s = 0.5}, 7, 2};
    job.links[job.link_count++] = (struct hr_forecast_link){7, 125 * MB, 0};
    job.digest_bytes_per_s = 500 * MB;
    struct hr_forecast forecast = make(&job);
    static const struct hr_forecast_stage expected[] = {
        {HR_LIMIT_CARD, 0, 30}, {HR_LIMIT_LINK, 7, 16}, {HR_LIMIT_DIGEST, 0, 2}};
    ck_assert_uint_eq(forecast.stage_count, sizeof expected / sizeof *expected);
    for (size_t i = 0; i < forecast.stage_count; i++) {
        ck_assert_int_eq(forecast.stages[i].kind, expected[i].kind);
        ck_assert_double_eq_tol(forecast.stages[i].seconds, expected[i].seconds, 1e-9);
    }
    ck_assert_double_eq_tol(hr_forecast_card_seconds(&job.cards[0]), 30, 1e-9);
    ck_assert_uint_eq(fits(&job, 10, 100 * MB, 15.1, 1), 5);
}
END_TEST

/* Two cards of 1,000 MB in readers on one hub of 100 MB/s, which hangs with the place on one of 160: 2,000 MB take 20 s
 * over the inner hub, and with what is written and read back 6,000 MB take 37.5 s over the outer one. */
START_TEST(adds_up_what_crosses_a_hub)
{
    struct hr_forecast_job job = job_of(1, 2000 * MB, 1);
    job.card_count = 2;
    for (unsigned i = 0; i < 2; i++) {
        job.cards[i] = (struct hr_forecast_card){1, 1000 * MB, {.bytes_per_s = 90 * MB}, i + 1, 1};
        job.links[job.link_count++] = (struct hr_forecast_link){i + 1, 95 * MB, 20};
    }
    set_place(&job.places[0], 400, 400);
    job.places[0].link = 9;
    job.links[job.link_count++] = (struct hr_forecast_link){9, 450 * MB, 21};
    job.links[job.link_count++] = (struct hr_forecast_link){20, 100 * MB, 21};
    job.links[job.link_count++] = (struct hr_forecast_link){21, 160 * MB, 0};
    struct hr_forecast forecast = make(&job);
    ck_assert_int_eq(forecast.stages[0].kind, HR_LIMIT_LINK);
    ck_assert_uint_eq(forecast.stages[0].index, 21);
    ck_assert_double_eq_tol(forecast.stages[0].seconds, 37.5, 1e-9);
    ck_assert_uint_eq(forecast.stages[1].index, 20);
    ck_assert_double_eq_tol(forecast.stages[1].seconds, 20, 1e-9);
    ck_assert_double_eq_tol(forecast.copied_s, 25, 1e-9); /* 4,000 MB over the outer one */
    ck_assert(hr_forecast_crosses(&job, 1, 1) && hr_forecast_crosses(&job, 1, 21) && hr_forecast_crosses(&job, 9, 21));
    ck_assert(!hr_forecast_crosses(&job, 9, 20) && !hr_forecast_crosses(&job, 0, 21));
    job.links[job.link_count - 1].up = 20; /* a ring ends too */
    ck_assert(!hr_forecast_crosses(&job, 1, 9));
}
END_TEST

START_TEST(lets_places_of_one_device_share_its_fast_cache)
{
    struct hr_forecast_job job = job_of(1, 600 * MB, 2);
    for (size_t i = 0; i < 2; i++) {
        job.places[i].device = 1;
        job.places[i].write =
            (struct hr_speed){.bytes_per_s = 1000 * MB, .fast_bytes = 1000 * MB, .slow_bytes_per_s = 100 * MB};
    }
    ck_assert_double_eq_tol(make(&job).copied_s, 1 + 2, 1e-9);
}
END_TEST

START_TEST(reads_back_what_stands_there_already)
{
    struct hr_forecast_job job = job_of(1, 1000 * MB, 1);
    set_place(&job.places[0], 100, 200);
    job.places[0].unread_bytes = 3000 * MB;
    job.places[0].link = 1;
    ck_assert_double_eq_tol(make(&job).copied_s, 10, 1e-9);
    ck_assert_double_eq_tol(make(&job).verified_s, 10 + 20, 1e-9);
    ck_assert_uint_eq(fits(&job, 10, 100 * MB, 15 + 5.9, 1), 3); /* 1.5 s each, after 15 s */
    job.links[job.link_count++] = (struct hr_forecast_link){1, 100 * MB, 0};
    ck_assert_double_eq_tol(make(&job).verified_s, 50, 1e-9);
}
END_TEST

START_TEST(takes_no_time_for_nothing_and_knows_nothing_of_unknown_speeds)
{
    struct hr_forecast_job nothing = {.overhead_s = 2}, unknown = job_of(10, 1000 * MB, 1);
    struct hr_forecast forecast = make(&nothing);
    ck_assert_double_eq(forecast.verified_s, 2);
    ck_assert_int_eq(forecast.stages[0].kind, HR_LIMIT_NONE);
    ck_assert_uint_eq(forecast.stage_count, 0);
    ck_assert_int_eq(make(&unknown).basis, HR_BASIS_CEILINGS);
}
END_TEST

/* ---- Properties, on jobs by chance ---- */

static double between(unsigned *seed, double low, double high)
{
    *seed = *seed * 1664525u + 1013904223u;
    return low + (high - low) * (*seed >> 8) / 16777216.0;
}

static struct hr_speed any_speed(unsigned *seed)
{
    return (struct hr_speed){.bytes_per_s = between(seed, 20, 2000) * MB,
                             .file_s = between(seed, 0, 0.01),
                             .fast_bytes = between(seed, 0, 50000) * MB,
                             .slow_bytes_per_s = between(seed, -300, 300) * MB};
}

static struct hr_forecast_job any_job(unsigned *seed)
{
    struct hr_forecast_job job = {.card_count = 1 + (size_t)between(seed, 0, 4),
                                  .place_count = 1 + (size_t)between(seed, 0, 4),
                                  .link_count = 3,
                                  .digest_bytes_per_s = between(seed, 300, 2000) * MB,
                                  .overhead_s = between(seed, 0, 2),
                                  .last_bytes = between(seed, 0, 4000) * MB};
    for (size_t i = 0; i < job.card_count; i++)
        job.cards[i] = (struct hr_forecast_card){.files = between(seed, 1, 3000),
                                                 .bytes = between(seed, 1, 64000) * MB,
                                                 .read = any_speed(seed),
                                                 .link = (unsigned)between(seed, 0, 4)};
    for (size_t i = 0; i < job.place_count; i++)
        job.places[i] = (struct hr_forecast_place){.files = between(seed, 1, 3000),
                                                   .bytes = between(seed, 1, 64000) * MB,
                                                   .unread_bytes = between(seed, 0, 4000) * MB,
                                                   .write = any_speed(seed),
                                                   .read_back = any_speed(seed),
                                                   .device = (unsigned)between(seed, 0, 3),
                                                   .link = (unsigned)between(seed, 0, 4),
                                                   .together = between(seed, 0.3, 2)};
    for (unsigned i = 0; i < 3; i++)
        job.links[i] = (struct hr_forecast_link){i + 1, between(seed, 50, 1000) * MB, i};
    return job;
}

enum { JOBS = 2000 };

static void expect_no_less(const struct hr_forecast_job *more, const struct hr_forecast *than, unsigned job)
{
    struct hr_forecast forecast = make(more);
    ck_assert_msg(forecast.copied_s >= than->copied_s * (1 - 1e-12), "job %u is copied sooner", job);
    ck_assert_msg(forecast.verified_s >= than->verified_s * (1 - 1e-12), "job %u is verified sooner", job);
}

START_TEST(never_takes_less_time_for_more_bytes)
{
    for (unsigned i = 0, seed = 7; i < JOBS; i++) {
        struct hr_forecast_job job = any_job(&seed), more = job;
        struct hr_forecast forecast = make(&job);
        more.cards[i % job.card_count].bytes *= between(&seed, 1, 3);
        expect_no_less(&more, &forecast, i);
        more = job;
        more.places[i % job.place_count].bytes *= between(&seed, 1, 3);
        expect_no_less(&more, &forecast, i);
        more = job;
        more.places[i % job.place_count].unread_bytes += 1000 * MB;
        expect_no_less(&more, &forecast, i);
        more.last_bytes *= 1.5;
        expect_no_less(&more, &forecast, i);
    }
}
END_TEST

START_TEST(never_takes_less_time_for_a_slower_stage)
{
    for (unsigned i = 0, seed = 8; i < JOBS; i++) {
        struct hr_forecast_job job = any_job(&seed);
        struct hr_forecast forecast = make(&job);
        for (unsigned stage = 0; stage < 5; stage++) {
            struct hr_forecast_job slower = job;
            double share = between(&seed, 0.2, 1);
            slower.cards[0].read.bytes_per_s *= stage == 0 ? share : 1;
            slower.places[0].write.bytes_per_s *= stage == 1 ? share : 1;
            slower.places[0].read_back.bytes_per_s *= stage == 2 ? share : 1;
            slower.links[i % 3].bytes_per_s *= stage == 3 ? share : 1;
            slower.digest_bytes_per_s *= stage == 4 ? share : 1;
            expect_no_less(&slower, &forecast, i);
        }
    }
}
END_TEST

/* Sets what holds up to take no time. */
static void free_stage(struct hr_forecast_job *job, const struct hr_forecast_stage *stage)
{
    for (size_t i = 0; i < job->card_count && stage->kind == HR_LIMIT_CARD; i++)
        if (i == stage->index || (job->cards[i].link && job->cards[i].link == job->cards[stage->index].link))
            job->cards[i].read = (struct hr_speed){0};
    for (size_t i = 0; i < job->place_count && stage->kind == HR_LIMIT_PLACE; i++)
        if (job->places[i].device == job->places[stage->index].device)
            job->places[i].write = job->places[i].read_back = (struct hr_speed){0};
    for (size_t i = 0; i < job->link_count && stage->kind == HR_LIMIT_LINK; i++)
        if (job->links[i].link == stage->index)
            job->links[i].bytes_per_s = 0;
    if (stage->kind == HR_LIMIT_DIGEST)
        job->digest_bytes_per_s = 0;
}

START_TEST(names_next_what_holds_up_when_the_first_takes_no_time)
{
    for (unsigned i = 0, seed = 9; i < JOBS; i++) {
        struct hr_forecast_job job = any_job(&seed);
        struct hr_forecast forecast = make(&job);
        ck_assert(forecast.stage_count > 1);
        ck_assert(forecast.verified_s >= job.overhead_s + forecast.stages[0].seconds);
        ck_assert(forecast.copied_s <= forecast.verified_s);
        free_stage(&job, &forecast.stages[0]);
        struct hr_forecast without = make(&job);
        ck_assert_int_eq(without.stages[0].kind, forecast.stages[1].kind);
        ck_assert_uint_eq(without.stages[0].index, forecast.stages[1].index);
        ck_assert_double_eq(without.stages[0].seconds, forecast.stages[1].seconds);
        ck_assert_uint_eq(without.stage_count, forecast.stage_count - 1);
    }
}
END_TEST

HR_SUITE("forecast/forecast", writes_and_reads_back_each_frame_on_one_device, takes_as_much_longer_as_past_runs_did,
         fits_as_many_frames_as_are_verified_in_time, fits_what_a_drive_takes_after_its_cache_is_full,
         fits_a_file_only_if_it_can_be_read_back_after_the_last_byte, is_held_up_by_the_slowest_of_devices_side_by_side,
         follows_how_the_engine_reads_back_from_each_kind_of_drive,
         agrees_with_the_bounds_of_offloads_that_were_measured, adds_up_what_shares_a_link_or_a_device,
         reads_no_more_cards_at_once_than_it_is_told, reads_a_card_as_often_as_it_is_told, adds_up_what_crosses_a_hub,
         lets_places_of_one_device_share_its_fast_cache, reads_back_what_stands_there_already,
         takes_no_time_for_nothing_and_knows_nothing_of_unknown_speeds, never_takes_less_time_for_more_bytes,
         never_takes_less_time_for_a_slower_stage, names_next_what_holds_up_when_the_first_takes_no_time)
