/* SPDX-License-Identifier: ISC */
#include "base/units.h"
#include "cli/log_report.h"
#include "cli/offload_report.h"
#include "cli/verify_report.h"
#include "suite.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

static void expect(struct cli_output *out, const char *text)
{
    ck_assert_str_eq(out->text.bytes, text);
    ck_assert(cli_output_finish(out));
}

static char safe_sentence[] = "SAFE to format: all 4,212 files stand proven on 2 drives.";
static char unsafe_sentence[] = "NOT SAFE to format: 12 of 4,212 files on one drive only.";

static struct hr_offload_result result_of(struct hr_result_card *card, struct hr_safety *safety)
{
    *card = (struct hr_result_card){
        .path = "/media/A",
        .name = "A",
        .safety = safety,
        .places = {{.path = "/mnt/ssd",
                    .bag_path = "/mnt/ssd/Northmere final/20260516-151204_A",
                    .text = "",
                    .policy = "",
                    .files_proven = 4212,
                    .bytes_proven = 13900000000,
                    .proofs = {0, 0, 0, 4212}},
                   {.path = "/mnt/backup", .bag_path = "", .text = "", .policy = ""}},
    };
    *safety = (struct hr_safety){.is_safe = true, .sentence = safe_sentence};
    return (struct hr_offload_result){.cards = card,
                                      .card_count = 1,
                                      .place_count = 2,
                                      .all_done = true,
                                      .all_safe = true,
                                      .elapsed_ns = 151 * HR_NS_PER_S,
                                      .run = 12};
}

START_TEST(ends_with_one_plain_sentence_a_card)
{
    struct hr_result_card card;
    struct hr_safety safety;
    struct cli_output out;
    const struct hr_offload_result result = result_of(&card, &safety);
    cli_output_init(&out, NULL, false);
    offload_text_result(&out, &result, false);
    expect(&out, "card /media/A: SAFE to format: all 4,212 files stand proven on 2 drives.\n"
                 "  /mnt/ssd  4,212 files, 13.90 GB, verified from the medium\n"
                 "    /mnt/ssd/Northmere final/20260516-151204_A\n"
                 "  /mnt/backup  nothing new\n"
                 "13.90 GB of copies proven in 2 min 31 s\n"
                 "more: headrace log 12\n");
    cli_output_init(&out, NULL, true);
    offload_text_result(&out, &result, true);
    expect(&out, "card /media/A: \033[1;32mSAFE to format: all 4,212 files stand proven on 2 drives.\033[0m\n");
}
END_TEST

START_TEST(says_what_is_missing_where)
{
    struct hr_result_card card;
    struct hr_safety safety;
    struct cli_output out;
    struct hr_offload_result result = result_of(&card, &safety);
    result.all_done = result.all_safe = false;
    result.run = 0;
    safety = (struct hr_safety){.sentence = unsafe_sentence};
    card.was_pulled = true;
    card.places[0].proofs[HR_PROOF_CACHE] = 4212;
    card.places[1] = (struct hr_result_place){.path = "/mnt/backup\n",
                                              .bag_path = "",
                                              .status = HR_FULL,
                                              .text = "no room left",
                                              .policy = "",
                                              .files_proven = 4200,
                                              .bytes_proven = 13000000000,
                                              .files_failed = 2,
                                              .files_missing = 1010,
                                              .proofs = {0, 7, 0, 4193}};
    cli_output_init(&out, NULL, false);
    offload_text_result(&out, &result, false);
    expect(&out, "card /media/A: NOT SAFE to format: 12 of 4,212 files on one drive only.\n"
                 "  it was pulled while being read; put it back and run the same command\n"
                 "  /mnt/ssd  4,212 files, 13.90 GB, verified (not from the medium)\n"
                 "    /mnt/ssd/Northmere final/20260516-151204_A\n"
                 "  /mnt/backup%0A  FAILED: no room left\n"
                 "    4,200 files, 13.00 GB, verified (7 of them not from the medium)\n"
                 "    2 files FAILED\n"
                 "    1,010 files not copied yet\n"
                 "26.90 GB of copies proven in 2 min 31 s\n"
                 "not everything is done: the same command again goes on\n");
}
END_TEST

START_TEST(says_that_nothing_was_new_and_no_more)
{
    struct hr_result_card card;
    struct hr_safety safety;
    struct cli_output out;
    struct hr_offload_result result = result_of(&card, &safety);
    result.run = 0;
    card.places[0] = (struct hr_result_place){.path = "/mnt/ssd", .bag_path = "", .text = ""};
    card.places[1] = (struct hr_result_place){.path = "/mnt/backup", .bag_path = "", .text = "", .files_missing = 1};
    cli_output_init(&out, NULL, false);
    offload_text_result(&out, &result, false);
    expect(&out, "card /media/A: SAFE to format: all 4,212 files stand proven on 2 drives.\n"
                 "  /mnt/ssd  nothing new\n"
                 "  /mnt/backup  nothing proven in this run\n"
                 "    1 file not copied yet\n");
}
END_TEST

START_TEST(shows_a_plan_by_card_and_place)
{
    const struct hr_plan_card card = {.path = "/media/A",
                                      .name = "A",
                                      .identity = "uuid:1",
                                      .job = "2026-05-16",
                                      .files = 4212,
                                      .frames = 2106,
                                      .bytes = 13900000000,
                                      .files_known = 4000,
                                      .files_to_copy = 212,
                                      .bytes_to_copy = 700000000,
                                      .links = 1,
                                      .unreadable = 2};
    const struct hr_plan_place places[] = {
        {.path = "/mnt/ssd",
         .drive = "sdb",
         .fs_type = "ext4",
         .free_bytes = 412000000000,
         .bytes_to_copy = 700000000,
         .files_to_copy = 212,
         .resumed_files = 3},
        {.path = "/tmp/x", .drive = "memory", .fs_type = "tmpfs", .is_in_memory = true}};
    const struct hr_offload_plan plan = {.cards = &card,
                                         .card_count = 1,
                                         .places = places,
                                         .place_count = 2,
                                         .files_to_copy = 212,
                                         .bytes_to_copy = 700000000};
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    offload_text_plan(&out, &plan);
    expect(&out, "card  /media/A (A), job '2026-05-16'\n"
                 "      2,106 frames in 4,212 files, 13.90 GB\n"
                 "      to copy: 212 files, 700 MB; 4,000 already there and proven\n"
                 "      left out: 1 link\n"
                 "      UNREADABLE: 2\n"
                 "place /mnt/ssd\n"
                 "      to copy: 212 files, 700 MB; 412.0 GB free\n"
                 "      3 files kept from an interrupted run\n"
                 "      ext4 on drive sdb\n"
                 "place /tmp/x\n"
                 "      to copy: 0 files, 0 B; 0 B free\n"
                 "      in memory: counts as no copy\n"
                 "total 212 files, 700 MB; nothing was written\n");
}
END_TEST

START_TEST(speaks_of_one_file_as_one)
{
    struct hr_result_card card;
    struct hr_safety safety;
    struct cli_output out;
    struct hr_offload_result result = result_of(&card, &safety);
    const struct hr_plan_card planned = {
        .path = "A", .name = "A", .job = "x", .files = 1, .frames = 1, .files_to_copy = 1, .specials = 1};
    const struct hr_offload_plan plan = {.cards = &planned, .card_count = 1, .files_to_copy = 1};
    card.places[0].files_proven = card.places[0].files_failed = card.places[0].files_missing = 1;
    cli_output_init(&out, NULL, false);
    offload_text_plan(&out, &plan);
    offload_text_result(&out, &result, false);
    ck_assert_ptr_null(strstr(out.text.bytes, "1 files"));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "  1 frame in 1 file, "));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "  left out: 1 entry that is no file\n"));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "total 1 file, "));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "  /mnt/ssd  1 file, "));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "    1 file FAILED\n    1 file not copied yet\n"));
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(says_which_bag_is_right_and_what_is_wrong)
{
    char path[] = "/mnt/backup/x", empty[] = "", file[] = "data/DCIM/a\n.JPG", text[] = "its sha256 is another";
    struct hr_bag_problem problem = {.kind = HR_BAG_FILE_DIFFERS, .path = file, .text = text};
    struct hr_bag_report report = {.path = path,
                                   .card_identity = empty,
                                   .card_name = empty,
                                   .job = empty,
                                   .payload_files = 188,
                                   .payload_bytes = 17000000,
                                   .proof_count = 188,
                                   .from_medium = true,
                                   .elapsed_ns = 2 * HR_NS_PER_S};
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    verify_text_bag(&out, &report, false);
    report.verdict = HR_BAG_INVALID;
    report.proof_count = 187;
    report.from_medium = false;
    report.problems = &problem;
    report.problem_count = 1;
    verify_text_bag(&out, &report, false);
    problem.kind = HR_BAG_FILE_MISSING;
    verify_text_bag(&out, &report, false);
    problem.kind = HR_BAG_FILE_UNLISTED;
    report.proof_count = 188;
    verify_text_bag(&out, &report, false);
    report.proof_count = 187;
    report.verdict = HR_BAG_UNFINISHED;
    verify_text_bag(&out, &report, true);
    report.problem_count = 0;
    verify_text_bag(&out, &report, false);
    verify_text_sum(&out, &(struct verify_sum){.bags = 3, .right = 2, .folders = 1});
    verify_text_sum(&out, &(struct verify_sum){.bags = 3, .right = 3, .folders = 2});
    verify_text_sum(&out, &(struct verify_sum){.bags = 1, .right = 1, .folders = 1});
    verify_text_sum(&out, &(struct verify_sum){.folders = 1, .folders_unchecked = 1});
    verify_text_sum(&out, &(struct verify_sum){.bags = 1, .right = 1, .folders = 2, .folders_unchecked = 1});
    verify_text_sum(&out, &(struct verify_sum){.bags = 3, .right = 2, .folders = 4, .folders_unchecked = 2});
    expect(&out, "RIGHT  /mnt/backup/x\n"
                 "  188 of 188 files proven, 17 MB in 2 s, verified from the medium\n"
                 "NOT RIGHT  /mnt/backup/x\n"
                 "  187 of 188 files proven, 17 MB in 2 s, verified (not from the medium)\n"
                 "  differs: data/DCIM/a%0A.JPG: its sha256 is another\n"
                 "  take such files from another copy, or offload the card again\n"
                 "NOT RIGHT  /mnt/backup/x\n"
                 "  187 of 189 files proven, 17 MB in 2 s, verified (not from the medium)\n"
                 "  missing: data/DCIM/a%0A.JPG: its sha256 is another\n"
                 "  take such files from another copy, or offload the card again\n"
                 "NOT RIGHT  /mnt/backup/x\n"
                 "  188 of 188 files proven, 17 MB in 2 s, verified (not from the medium)\n"
                 "  not listed: data/DCIM/a%0A.JPG: its sha256 is another\n"
                 "  no file of the card is harmed: what is not listed came later, move it out of data/\n"
                 "NOT FINISHED  /mnt/backup/x\n"
                 "  not listed: data/DCIM/a%0A.JPG: its sha256 is another\n"
                 "NOT FINISHED  /mnt/backup/x\n"
                 "  187 of 188 files proven, 17 MB in 2 s, verified (not from the medium)\n"
                 "  the same offload again finishes it\n"
                 "NOT RIGHT: 1 of 3 bags\n"
                 "RIGHT: all 3 bags\n"
                 "NOT RIGHT: nothing was checked in 1 of 2 folders\n"
                 "NOT RIGHT: 1 of 3 bags; nothing was checked in 2 of 4 folders\n");
}
END_TEST

/* Its time reads the same wherever this runs. */
static struct hr_ledger_run northmere(void)
{
    setenv("TZ", "UTC", 1);
    tzset();
    return (struct hr_ledger_run){.id = 12,
                                  .started_wall_ns = 1778944324 * HR_NS_PER_S,
                                  .elapsed_ns = 151 * HR_NS_PER_S,
                                  .job = "Northmere final",
                                  .host = "field",
                                  .cards = "A\nB",
                                  .places = "/mnt/ssd\n/mnt/back,up",
                                  .outcome = "safe",
                                  .files = 4212,
                                  .bytes = 13900000000,
                                  .policies = "read back while writing\nafter it"};
}

START_TEST(lists_runs_in_columns)
{
    struct hr_ledger_run run = northmere();
    struct cli_output out;
    struct log_table table = {.out = &out};
    cli_output_init(&out, NULL, false);
    log_table_row(&table, &run);
    run.id = 11;
    run.elapsed_ns = -1;
    run.outcome = "";
    run.files = run.bytes = 0;
    log_table_row(&table, &run);
    expect(&out, " run  outcome    when                 files        size          time   MB/s\n"
                 "  12  safe       2026-05-16 15:12     4,212    13.90 GB    2 min 31 s     92\n"
                 "      Northmere final: A B to /mnt/ssd /mnt/back,up\n"
                 "  11  not ended  2026-05-16 15:12         0         0 B             -      0\n"
                 "      Northmere final: A B to /mnt/ssd /mnt/back,up\n");
}
END_TEST

START_TEST(lists_runs_as_csv)
{
    const struct hr_ledger_run run = northmere();
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    log_csv_heading(&out);
    log_csv_row(&out, &run);
    expect(&out, "run,started,elapsed_ns,job,host,cards,places,files,bytes,failed_files,outcome\n"
                 "12,2026-05-16T15:12:04Z,151000000000,Northmere final,field,A%0AB,\"/mnt/ssd%0A/mnt/back,up\",4212,"
                 "13900000000,0,safe\n");
}
END_TEST

START_TEST(tells_of_one_run_what_held_it_up)
{
    const struct hr_ledger_run run = northmere();
    struct run_history history;
    struct cli_output out;
    history_init(&history);
    history_take_run(&history, &run);
    for (int second = 1; second <= 4; second++) {
        struct hr_ledger_sample sample = {
            .at_ns = second * HR_NS_PER_S, .stage = "card", .device = "", .link = "", .bytes = 200000000};
        history_take_sample(&history, &sample);
        sample.stage = "read back";
        sample.lane = 1;
        sample.bytes = 148000000;
        history_take_sample(&history, &sample);
    }
    history_close(&history);
    cli_output_init(&out, NULL, false);
    log_text_details(&out, &history);
    expect(&out, " run  outcome    when                 files        size          time   MB/s\n"
                 "  12  safe       2026-05-16 15:12     4,212    13.90 GB    2 min 31 s     92\n"
                 "\n"
                 "host    field\n"
                 "job     Northmere final\n"
                 "cards   A\n"
                 "        B\n"
                 "places  /mnt/ssd\n"
                 "        /mnt/back,up\n"
                 "\n"
                 "  while busy                                 mean       peak     busy for\n"
                 "  card, read                             200 MB/s   200 MB/s          4 s\n"
                 "  read back /mnt/back,up                 148 MB/s   148 MB/s          4 s\n"
                 "\n"
                 "held up by: read-back of /mnt/back,up (148 MB/s)\n"
                 "how     /mnt/ssd: read back while writing\n"
                 "        /mnt/back,up: after it\n");
    history_finish(&history);
}
END_TEST

HR_SUITE("cli/reports", ends_with_one_plain_sentence_a_card, says_what_is_missing_where,
         says_that_nothing_was_new_and_no_more, shows_a_plan_by_card_and_place, speaks_of_one_file_as_one,
         says_which_bag_is_right_and_what_is_wrong, lists_runs_in_columns, lists_runs_as_csv,
         tells_of_one_run_what_held_it_up)
