/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "card/card_state.h"
#include "offload/interrupted.h"
#include "offload_fixture.h"
#include "platform/file.h"
#include "platform/folder.h"
#include "platform/volume.h"
#include "suite.h"

/* A build that cannot show that bytes came from the medium counts no copy. */
static size_t counted(size_t files)
{
    uint64_t bytes;
    struct hr_fetch_count count;
    hr__fetch_count_open(&count);
    bool is_counted = hr__fetch_count_read(&bytes, &count);
    hr__fetch_count_close(&count);
    return is_counted ? files : 0;
}

START_TEST(delivers_a_bag_to_every_place_and_says_why_it_is_not_safe)
{
    struct ground ground;
    ground_begin(&ground);
    struct hr_offload *offload = ground_run(&ground);
    const struct hr_offload_result *result = hr_offload_result(offload);
    ck_assert(result->all_done);
    ck_assert(!result->all_safe);
    ck_assert_uint_eq(result->cards[0].places[1].files_proven, 3);
    ck_assert_ptr_nonnull(strstr(result->cards[0].safety->sentence,
                                 counted(1) ? "on one drive only" : "could not show they were read back"));
    for (int i = 0; i < 2; i++) {
        ck_assert_uint_eq(ground_count(&ground, i ? "place1" : "place0", "bagit.txt"), 1);
        ck_assert_uint_eq(ground_count(&ground, i ? "place1" : "place0", "NMA_0001.DNG"), 1);
    }
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(copies_nothing_twice)
{
    struct ground ground;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0003.JPG", "third", 1778900020);
    struct hr_offload *offload = ground_run(&ground);
    const struct hr_offload_plan *plan = hr_offload_plan(offload);
    ck_assert_uint_eq(plan->cards[0].files_known, 3);
    ck_assert_uint_eq(plan->files_to_copy, 1);
    ck_assert_uint_eq(hr_offload_result(offload)->cards[0].places[0].files_proven, 1);
    ck_assert_uint_eq(ground_count(&ground, "place0", "NMA_0001.JPG"), 1);
    ck_assert_uint_eq(ground_count(&ground, "place0", "NMA_0003.JPG"), 1);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(copies_anew_what_has_vanished_from_a_place)
{
    struct ground ground;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    ck_assert_int_eq(unlink(ground_find(&ground, "place1", "NMA_0002.JPG")), 0);
    struct hr_offload *offload = ground_run(&ground);
    ck_assert_uint_eq(hr_offload_result(offload)->cards[0].places[0].files_proven, 0);
    ck_assert_uint_eq(hr_offload_result(offload)->cards[0].places[1].files_proven, 1);
    ck_assert_uint_eq(ground_count(&ground, "place1", "NMA_0002.JPG"), 1);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(lets_content_decide_when_only_the_time_has_changed)
{
    struct ground ground;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0001.JPG", "first", 1778903600);
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0002.JPG", "SECOND", 1778903610);
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_uint_eq(hr_offload_plan(offload)->files_to_copy, 1);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

/* A power cut may take the journal's last rows, which the ledger, made durable by itself, still has. */
START_TEST(finishes_a_bag_whose_last_row_only_the_ledger_remembers)
{
    struct ground ground;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    char *rows = strdup(ground_find(&ground, "place1", "files.csv"));
    ck_assert_int_eq(unlink(ground_find(&ground, "place1", "bagit.txt")), 0);
    FILE *file = fopen(rows, "r+");
    ck_assert_int_eq(fseek(file, -2, SEEK_END), 0);
    while (getc(file) != '\n')
        ck_assert_int_eq(fseek(file, -2, SEEK_CUR), 0);
    ck_assert_int_eq(ftruncate(fileno(file), ftell(file)), 0);
    fclose(file);
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_uint_eq(hr_offload_plan(offload)->places[1].resumed_files, 2);
    ck_assert_uint_eq(hr_offload_plan(offload)->places[1].files_to_copy, 1);
    ck_assert_uint_eq(hr_offload_plan(offload)->places[0].files_to_copy, 0);
    ck_assert_int_eq(hr_offload_run(offload, NULL, NULL, NULL), HR_OK);
    ck_assert(hr_offload_result(offload)->all_done);
    ck_assert_uint_eq(hr_offload_result(offload)->cards[0].places[1].files_proven, 1);
    ck_assert_uint_eq(ground_count(&ground, "place1", "bagit.txt"), 1);
    hr_offload_destroy(offload);
    free(rows);
    ground_end(&ground);
}
END_TEST

/* A whole bag in place0 that was not finished, and a ledger that knows nothing: as `hr_offload_prepare` looks at it for
 * a card whose identity is weak or not. */
static struct hr_offload *look_at_interrupted(struct ground *ground, bool is_weak)
{
    hr_offload_destroy(ground_run(ground));
    ck_assert_int_eq(unlink(ground->ledger), 0);
    struct hr_offload *offload = ground_prepare(ground);
    struct hr_offload_card *card = &offload->cards[0];
    ck_assert_int_eq(unlink(ground_find(ground, "place0", "bagit.txt")), 0);
    card->card->identity_is_weak = is_weak;
    ck_assert_int_eq(hr__interrupted_look(offload, card, 0, NULL), HR_OK);
    ck_assert_ptr_nonnull(card->deliveries[0].bag);
    return offload;
}

START_TEST(believes_rows_of_an_interrupted_bag_only_of_a_card_like_no_other)
{
    for (int is_weak = 0; is_weak < 2; is_weak++) {
        struct ground ground;
        ground_begin(&ground);
        struct hr_offload *offload = look_at_interrupted(&ground, is_weak);
        const struct hr_offload_card *card = &offload->cards[0];
        for (size_t i = 0; i < card->inventory->file_count; i++) {
            ck_assert_uint_eq(card->in_places[i], is_weak ? 0 : 1);
            ck_assert_uint_eq(card->unproven[i], is_weak ? 1 : 0);
            ck_assert(!is_weak || !(card->known.proven[i] | card->known.cached[i]));
        }
        ck_assert_uint_eq(card->deliveries[0].resumed_files, is_weak ? 0 : 3);
        ck_assert_uint_eq(card->deliveries[0].loose_files, is_weak ? 3 : 0);
        ck_assert_uint_eq(card->deliveries[0].loose_bytes, is_weak ? card->inventory->total_bytes : 0);
        hr_offload_destroy(offload);
        ground_end(&ground);
    }
}
END_TEST

/* The other card's file has the name, the size and the time of the first one's. */
START_TEST(copies_the_file_of_another_card_of_the_same_identity)
{
    struct ground ground;
    struct hr_bag_report *report;
    const struct hr_bag_verify_options options = {0};
    char found[16] = "";
    ground_begin(&ground);
    struct hr_offload *offload = look_at_interrupted(&ground, true);
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0002.JPG", "SECOND", 1778900010);
    ck_assert_int_eq(hr_offload_run(offload, NULL, NULL, NULL), HR_OK);
    ck_assert_uint_eq(hr_offload_result(offload)->cards[0].places[0].files_proven, 3);
    FILE *file = fopen(ground_find(&ground, "place0", "NMA_0002.JPG"), "r");
    ck_assert_ptr_nonnull(fgets(found, sizeof found, file));
    fclose(file);
    ck_assert_str_eq(found, "SECOND");
    char *bag = strdup(ground_find(&ground, "place0", "bagit.txt"));
    *strrchr(bag, '/') = '\0';
    ck_assert_int_eq(hr_bag_verify(&report, bag, &options, NULL, NULL), HR_OK);
    ck_assert_int_eq(report->verdict, HR_BAG_VALID);
    hr_bag_report_destroy(report);
    free(bag);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

static bool take_bytes(void *context, const struct hr_ledger_run *run)
{
    *(uint64_t *)context = run->bytes;
    return true;
}

/* What stands there under the name is not of the card: it is set aside, and the file is read a second time. */
START_TEST(remembers_of_a_run_what_it_has_proven_not_what_it_has_read)
{
    struct ground ground;
    struct hr_ledger *ledger;
    uint64_t bytes = 0;
    char path[512];
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    ck_assert_int_eq(unlink(ground_find(&ground, "place1", "bagit.txt")), 0);
    ck_assert_int_eq(truncate(ground_find(&ground, "place1", "files.csv"), 0), 0);
    snprintf(path, sizeof path, "%s", ground_find(&ground, "place1", "NMA_0002.JPG") + strlen(ground.root) + 1);
    ground_write(&ground, path, "SECOND", 1778900010);
    struct hr_offload *offload = ground_run(&ground);
    ck_assert_int_eq(hr_ledger_open_read_only(&ledger, ground.ledger, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_runs(ledger, hr_offload_result(offload)->run, 1, take_bytes, &bytes, NULL), HR_OK);
    ck_assert_uint_eq(bytes, hr_offload_plan(offload)->bytes_to_copy);
    ck_assert_uint_eq(bytes, strlen("first") + strlen("first raw") + strlen("second"));
    hr_ledger_close(ledger);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

/* Empty files are all of one content, and the ledger has more copies of it than anybody looks at. */
START_TEST(knows_a_card_of_many_equal_files_by_content)
{
    struct ground ground;
    char path[64];
    ground_begin(&ground);
    for (int round = 0; round < 2; round++) {
        for (int i = 0; i < 300; i++) {
            snprintf(path, sizeof path, "card/DCIM/101NMERE/NMB_%04d.JPG", i);
            ground_write(&ground, path, "", 1778900000 + 3600 * round);
        }
        struct hr_offload *offload = ground_run(&ground);
        ck_assert_uint_eq(hr_offload_plan(offload)->files_to_copy, round ? 0 : 303);
        hr_offload_destroy(offload);
    }
    ground_end(&ground);
}
END_TEST

START_TEST(skips_nothing_by_name_on_a_card_whose_counter_began_again)
{
    struct ground ground;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0001.JPG", "other", 1779000000);
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0002.JPG", "longer than it was", 1779000001);
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_uint_eq(hr_offload_plan(offload)->files_to_copy, 2);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(is_told_by_verified_bags_after_the_ledger_is_lost)
{
    struct ground ground;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    char name[300];
    for (int i = 0; i < 3; i++) {
        static const char *const ends[] = {"", "-wal", "-shm"};
        snprintf(name, sizeof name, "%s%s", ground.ledger, ends[i]);
        unlink(name);
    }
    for (int i = 0; i < 2; i++) {
        struct hr_bag_report *report;
        struct hr_fault fault = {0};
        struct hr_bag_verify_options options = {0};
        char *bag = strdup(ground_find(&ground, i ? "place1" : "place0", "bagit.txt"));
        *strrchr(bag, '/') = '\0';
        ck_assert_msg(!hr_bag_verify(&report, bag, &options, NULL, &fault), "%s", fault.text);
        ck_assert_int_eq(report->verdict, HR_BAG_VALID);
        ck_assert_msg(!hr_remember_bag(report, ground.ledger, &fault), "%s", fault.text);
        hr_bag_report_destroy(report);
        free(bag);
    }
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_uint_eq(hr_offload_plan(offload)->files_to_copy, 0);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(leaves_a_bag_in_which_a_run_works_to_that_run)
{
    struct ground ground;
    struct hr_bag_report *report;
    struct hr_bag_verify_options options = {0};
    struct hr_folder working;
    ground_begin(&ground);
    hr_offload_destroy(ground_run(&ground));
    char *bag = strdup(ground_find(&ground, "place0", "bagit.txt"));
    *strrchr(bag, '/') = '\0';
    ck_assert_int_eq(hr_bag_verify(&report, bag, &options, NULL, NULL), HR_OK);
    report->verdict = HR_BAG_UNFINISHED;
    ck_assert_int_eq(hr__folder_open(&working, bag, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_lock(&working, NULL), HR_OK);
    ck_assert_int_eq(hr_remember_bag(report, ground.ledger, NULL), HR_BUSY);
    hr__folder_close(&working);
    ck_assert_int_eq(hr_remember_bag(report, ground.ledger, NULL), HR_BUSY); /* it has ended its work by now */
    report->verdict = HR_BAG_VALID;
    ck_assert_int_eq(hr_remember_bag(report, ground.ledger, NULL), HR_OK);
    hr_bag_report_destroy(report);
    free(bag);
    ground_end(&ground);
}
END_TEST

START_TEST(answers_safe_from_the_ledger_and_the_card_as_it_is_now)
{
    struct ground ground;
    struct hr_safety *safety;
    struct hr_fault fault = {0};
    ground_begin(&ground);
    ck_assert_int_eq(hr_safety_check(&safety, ground.card, ground.ledger, NULL, NULL, &fault), HR_NOT_FOUND);
    hr_fault_clear(&fault);
    hr_offload_destroy(ground_run(&ground));
    ck_assert_msg(!hr_safety_check(&safety, ground.card, ground.ledger, NULL, NULL, &fault), "%s", fault.text);
    ck_assert_uint_eq(safety->on_one, counted(3));
    ck_assert_uint_eq(safety->on_none, 3 - counted(3));
    hr_safety_destroy(safety);
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0009.JPG", "new", 1778900090);
    ck_assert_msg(!hr_safety_check(&safety, ground.card, ground.ledger, NULL, NULL, &fault), "%s", fault.text);
    ck_assert_uint_eq(safety->on_none, 4 - counted(3));
    ck_assert_str_eq(safety->short_files[3], "DCIM/100NMERE/NMA_0009.JPG");
    hr_safety_destroy(safety);
    ground_end(&ground);
}
END_TEST

static void take_last_look(void *context, const struct hr_look_progress *look)
{
    *(struct hr_look_progress *)context = *look;
}

/* On a volume that may be mistaken for another, content decides about every file. */
static bool is_mistakable(const struct ground *ground)
{
    struct hr_volume volume;
    ck_assert_int_eq(hr__volume_of(&volume, ground->root, &hr__system_roots, NULL), HR_OK);
    bool is_weak = volume.identity_is_weak;
    hr__volume_finish(&volume);
    return is_weak;
}

START_TEST(tells_how_far_it_is_where_content_must_decide)
{
    struct ground ground;
    struct hr_safety *safety;
    struct hr_look_progress last = {0};
    const struct hr_look_observer look = {.context = &last, .progress = take_last_look};
    ground_begin(&ground);
    size_t other_files = is_mistakable(&ground) ? 1 : 0, other_bytes = other_files * strlen("first raw");
    hr_offload_destroy(ground_run(&ground));
    ck_assert(!hr_safety_check(&safety, ground.card, ground.ledger, &look, NULL, NULL));
    ck_assert_uint_eq(last.files_total, 3 * other_files);
    hr_safety_destroy(safety);
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0001.JPG", "first", 1778903600);
    ground_write(&ground, "card/DCIM/100NMERE/NMA_0002.JPG", "SECOND", 1778903610);
    ck_assert(!hr_safety_check(&safety, ground.card, ground.ledger, &look, NULL, NULL));
    ck_assert_uint_eq(last.files_total, 2 + other_files);
    ck_assert_uint_eq(last.bytes_total, strlen("first") + strlen("SECOND") + other_bytes);
    ck_assert_uint_eq(last.bytes_done, last.bytes_total);
    ck_assert_uint_eq(safety->on_none, 3 - counted(2));
    hr_safety_destroy(safety);
    last = (struct hr_look_progress){0};
    ground.options.look = look;
    struct hr_offload *offload = ground_prepare(&ground);
    ck_assert_uint_eq(last.files_done, 2 + other_files);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(writes_nothing_while_it_prepares)
{
    struct ground ground;
    ground_begin(&ground);
    size_t before = ground_count(&ground, "", NULL);
    hr_offload_destroy(ground_prepare(&ground));
    ck_assert_uint_eq(ground_count(&ground, "", NULL), before);
    ck_assert_int_ne(access(ground.ledger, F_OK), 0);
    ground_end(&ground);
}
END_TEST

START_TEST(refuses_before_a_byte_is_written)
{
    struct ground ground;
    char inside[300];
    ground_begin(&ground);
    ground.options.same_device = false;
    ck_assert(ground_is_refused(&ground, "stand on one drive, which holds the card "));
    ground.options.place_count = 1;
    ck_assert(ground_is_refused(&ground, "stands on the drive that holds the card"));
    ground.options.place_count = 2;
    ground.options.same_device = true;
    ground.place_list[1] = ground.places[0];
    ck_assert(ground_is_refused(&ground, "are the same folder"));
    ground.place_list[1] = "/no/such/place";
    ck_assert(ground_is_refused(&ground, "does not exist"));
    snprintf(inside, sizeof inside, "%s/DCIM", ground.card);
    ground.place_list[1] = inside;
    ck_assert(ground_is_refused(&ground, "is inside the card"));
    ground.place_list[1] = ground.root;
    ck_assert(ground_is_refused(&ground, "is inside the place"));
    ground.place_list[1] = ground.places[1];
    ground.options.job = "a/b";
    ck_assert(ground_is_refused(&ground, "becomes a folder"));
    ground.options.job = NULL;
    ground.card_list[0] = "/no/such/card";
    ck_assert(ground_is_refused(&ground, "cannot be read"));
    ground.card_list[0] = ground.places[0];
    ck_assert(ground_is_refused(&ground, "is empty"));
    ground_write(&ground, "other/file", "x", 1778900000);
    snprintf(inside, sizeof inside, "%s/other", ground.root);
    ground.card_list[0] = inside;
    ck_assert(ground_is_refused(&ground, "holds no DCIM folder"));
    ground.options.any_folder = true;
    ck_assert(!ground_is_refused(&ground, "DCIM"));
    ground_end(&ground);
}
END_TEST

START_TEST(says_once_which_places_are_lost_together)
{
    struct ground ground;
    char expected[1200];
    ground_begin(&ground);
    struct hr_offload *offload = ground_prepare(&ground);
    const struct hr_offload_plan *plan = hr_offload_plan(offload);
    snprintf(expected, sizeof expected,
             "Places %s and %s stand on one drive, which holds the card %s too: they count as one copy.",
             ground.places[0], ground.places[1], ground.card);
    ck_assert_uint_eq(plan->warning_count, 1);
    ck_assert_str_eq(plan->warnings[0], expected);
    ck_assert_uint_eq(plan->places[0].drive_number, plan->places[1].drive_number);
    hr_offload_destroy(offload);
    ground.options.same_device = false;
    ground.options.place_count = 1;
    offload = ground_prepare(&ground);
    plan = hr_offload_plan(offload);
    snprintf(expected, sizeof expected,
             "Place %s stands on the drive that holds the card %s: if it dies all is gone. Name another drive, or say "
             "--same-device.",
             ground.places[0], ground.card);
    ck_assert_uint_eq(plan->warning_count, 0);
    ck_assert_uint_eq(plan->refusal_count, 1);
    ck_assert_str_eq(plan->refusals[0], expected);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(names_the_job_by_the_day_of_the_first_frame)
{
    struct ground ground;
    ground_begin(&ground);
    ground.options.job = NULL;
    struct hr_offload *offload = ground_prepare(&ground);
    /* the files hold no Exif: the day their time says (2026-05-16 in every zone west of UTC+12) */
    ck_assert_str_eq(hr_offload_plan(offload)->cards[0].job, "2026-05-16");
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(reports_links_and_never_follows_them)
{
    struct ground ground;
    char link[300];
    ground_begin(&ground);
    snprintf(link, sizeof link, "%s/DCIM/out", ground.card);
    ck_assert_int_eq(symlink("/etc", link), 0);
    struct hr_offload *offload = ground_run(&ground);
    ck_assert_uint_eq(hr_offload_plan(offload)->cards[0].links, 1);
    ck_assert_uint_eq(hr_offload_plan(offload)->cards[0].files, 3);
    ck_assert(hr_offload_result(offload)->all_done);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

START_TEST(copies_though_the_ledger_cannot_be_used)
{
    struct ground ground;
    ground_begin(&ground);
    ground_write(&ground, "ledger.db",
                 "this is no ledger, but it is longer than a header would be, and it stays as it is", 1778900000);
    struct hr_offload *offload = ground_run(&ground);
    ck_assert(hr_offload_result(offload)->all_done);
    ck_assert_uint_ge(hr_offload_plan(offload)->warning_count, 1);
    ck_assert_int_eq(hr_offload_result(offload)->run, 0);
    hr_offload_destroy(offload);
    ground_end(&ground);
}
END_TEST

HR_SUITE_TIMED("offload/offload", 60, delivers_a_bag_to_every_place_and_says_why_it_is_not_safe, copies_nothing_twice,
               copies_anew_what_has_vanished_from_a_place, lets_content_decide_when_only_the_time_has_changed,
               finishes_a_bag_whose_last_row_only_the_ledger_remembers,
               believes_rows_of_an_interrupted_bag_only_of_a_card_like_no_other,
               copies_the_file_of_another_card_of_the_same_identity,
               remembers_of_a_run_what_it_has_proven_not_what_it_has_read, knows_a_card_of_many_equal_files_by_content,
               skips_nothing_by_name_on_a_card_whose_counter_began_again,
               is_told_by_verified_bags_after_the_ledger_is_lost, leaves_a_bag_in_which_a_run_works_to_that_run,
               answers_safe_from_the_ledger_and_the_card_as_it_is_now, tells_how_far_it_is_where_content_must_decide,
               writes_nothing_while_it_prepares, refuses_before_a_byte_is_written,
               says_once_which_places_are_lost_together, names_the_job_by_the_day_of_the_first_frame,
               reports_links_and_never_follows_them, copies_though_the_ledger_cannot_be_used)
