/* SPDX-License-Identifier: ISC */
/* What a forecast looks like, made from figures by hand. */
#include "cli/forecast_report.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "suite.h"

/* A card to two places, of which the second, whose name has a line feed, holds it up. */
struct given {
    struct hr_plan_card card;
    struct hr_plan_place places[2];
    struct hr_foreseen foreseen;
    struct hr_offload_plan plan;
    struct forecast_by by;
    struct cli_output out;
};

static void give(struct given *given)
{
    *given = (struct given){.card = {.path = "/media/A"}, .places = {{.path = "/mnt/ssd"}, {.path = "/mnt/back\nup"}}};
    given->foreseen = (struct hr_foreseen){
        .job = {.card_count = 1, .place_count = 2},
        .forecast = {.copied_s = 190,
                     .verified_s = 260,
                     .stages = {{HR_LIMIT_PLACE, 1, 259}, {HR_LIMIT_CARD, 0, 185}},
                     .stage_count = 2,
                     .basis = HR_BASIS_MEASURED},
        .copied = {.low_s = 180, .high_s = 200},
        .verified = {.low_s = 230, .high_s = 300},
        .past_runs = 12,
        .changes = {{.text = "without the place /mnt/back\nup", .verified_s = 200}},
        .change_count = 1,
    };
    given->plan = (struct hr_offload_plan){.cards = &given->card,
                                           .card_count = 1,
                                           .places = given->places,
                                           .place_count = 2,
                                           .files_to_copy = 4212,
                                           .bytes_to_copy = 61200000000,
                                           .foreseen = &given->foreseen};
    cli_output_init(&given->out, NULL, false);
}

static void expect(struct given *given, const char *text)
{
    ck_assert_str_eq(given->out.text.bytes, text);
    ck_assert(cli_output_finish(&given->out));
}

START_TEST(tells_the_times_first_then_why)
{
    struct given given;
    give(&given);
    forecast_text(&given.out, &given.plan, &given.by, false);
    expect(&given, "copied in 3 min 10 s, verified in 4 min 20 s (3 min 50 s to 5 min 00 s)\n"
                   "  to copy: 4,212 files, 61.20 GB\n"
                   "  held up by the place /mnt/back%0Aup: 4 min 19 s\n"
                   "  next is the card /media/A: 3 min 05 s\n"
                   "  without the place /mnt/back%0Aup: 3 min 20 s\n"
                   "  9 of 10 runs fall within: as 12 runs did\n"
                   "\nA forecast is not a promise: pull no card on its word.\n");
}
END_TEST

START_TEST(tells_what_is_verified_by_a_time)
{
    struct given given;
    give(&given);
    setenv("TZ", "NMT-1", 1);
    tzset();
    struct hr_fits_sequence sequences[] = {{0, 0, 1, 40, 40}, {0, 9, 9, 60, 60}, {0, 20, 22, 30, 7}, {0, 30, 31, 9, 0}};
    given.by = (struct forecast_by){.deadline_s = 720,
                                    .wall_ns = 1936795320000000000, /* 14:42 UTC */
                                    .sequences = sequences,
                                    .sequence_count = 4,
                                    .fits = {.files = 4000,
                                             .frames = 2000,
                                             .bytes = 50000000000,
                                             .last_path = "DCIM/100NMERE/NMA_1999.JPG",
                                             .last_modified_ns = 1936790000000000000}};
    forecast_text(&given.out, &given.plan, &given.by, true);
    expect(&given, "copied in 3 min 10 s, verified in 4 min 20 s (3 min 50 s to 5 min 00 s)\n"
                   "  verified by 15:42: 2,000 frames, 50.00 GB; 212 files must wait\n"
                   "  the last of them is DCIM/100NMERE/NMA_1999.JPG, of 2031-05-17 14:13\n"
                   "  sequences by their files' times: 2 of 4 whole, 1 in part\n");
    give(&given);
    given.by = (struct forecast_by){.deadline_s = 720,
                                    .wall_ns = 1936795320000000000,
                                    .fits = {.files = 4212, .frames = 2106, .bytes = 61200000000}};
    forecast_text(&given.out, &given.plan, &given.by, true);
    ck_assert_ptr_nonnull(strstr(given.out.text.bytes, "  verified by 15:42: all of it\n"));
    cli_output_finish(&given.out);
}
END_TEST

START_TEST(says_what_the_range_rests_on)
{
    struct given given;
    give(&given);
    given.foreseen.past_runs = 0;
    forecast_text(&given.out, &given.plan, &given.by, false);
    ck_assert_ptr_nonnull(strstr(given.out.text.bytes, "the range is a guess until 9 runs are known\n"));
    cli_output_finish(&given.out);
    give(&given);
    given.foreseen.past_runs = 0;
    given.foreseen.like_runs = 1;
    given.foreseen.forecast.basis = HR_BASIS_RUNS;
    forecast_text(&given.out, &given.plan, &given.by, false);
    ck_assert_ptr_nonnull(strstr(given.out.text.bytes, "as 1 run of these devices went; the range is a guess until 9"));
    cli_output_finish(&given.out);
    give(&given);
    given.foreseen.forecast.basis = HR_BASIS_CEILINGS;
    forecast_text(&given.out, &given.plan, &given.by, false);
    ck_assert_ptr_nonnull(strstr(given.out.text.bytes, "a guess: not all of these were measured yet"));
    cli_output_finish(&given.out);
}
END_TEST

START_TEST(says_nothing_is_to_copy_only_where_no_file_is)
{
    struct given given;
    give(&given);
    given.foreseen.forecast = (struct hr_forecast){.copied_s = 0.1, .verified_s = 0.1}; /* of empty files */
    given.plan.files_to_copy = 2;
    given.plan.bytes_to_copy = 0;
    forecast_text(&given.out, &given.plan, &given.by, false);
    ck_assert_ptr_nonnull(strstr(given.out.text.bytes, "  to copy: 2 files, 0 B\n"));
    cli_output_finish(&given.out);
    give(&given);
    given.plan.files_to_copy = 0;
    forecast_text(&given.out, &given.plan, &given.by, false);
    expect(&given, "nothing to copy: every file is there and proven\n");
    give(&given);
    given.plan.files_to_copy = 0;
    given.card.unreadable = 2;
    forecast_text(&given.out, &given.plan, &given.by, true);
    expect(&given, "nothing to copy: every file that can be read is there and proven; UNREADABLE: 2\n");
}
END_TEST

START_TEST(a_plan_has_one_line_of_it)
{
    struct given given;
    give(&given);
    forecast_text_line(&given.out, &given.plan);
    expect(&given, "about 4 min 20 s to verified, 3 min 50 s to 5 min 00 s; the place /mnt/back%0Aup holds it up\n");
    give(&given);
    given.foreseen.forecast = (struct hr_forecast){0};
    forecast_text_line(&given.out, &given.plan);
    expect(&given, "");
}
END_TEST

START_TEST(names_a_link_by_what_hangs_on_it)
{
    struct given given;
    give(&given);
    given.foreseen.job.places[0].link = 18;
    forecast_text_stage(&given.out, &given.plan, &(struct hr_forecast_stage){HR_LIMIT_LINK, 18, 1});
    expect(&given, "the link of /mnt/ssd");
}
END_TEST

START_TEST(names_a_hub_by_all_that_hangs_on_it)
{
    struct given given;
    struct hr_forecast_job *job = &given.foreseen.job;
    give(&given);
    job->cards[0].link = 1;
    job->places[1].link = 19;
    job->links[0] = (struct hr_forecast_link){1, 1, 30};
    job->links[1] = (struct hr_forecast_link){19, 1, 30};
    job->link_count = 2;
    forecast_text_stage(&given.out, &given.plan, &(struct hr_forecast_stage){HR_LIMIT_LINK, 30, 1});
    expect(&given, "the hub of /media/A, /mnt/back%0Aup");
}
END_TEST

HR_SUITE("cli/forecast", tells_the_times_first_then_why, tells_what_is_verified_by_a_time, says_what_the_range_rests_on,
         says_nothing_is_to_copy_only_where_no_file_is, a_plan_has_one_line_of_it, names_a_link_by_what_hangs_on_it,
         names_a_hub_by_all_that_hangs_on_it)
