/* SPDX-License-Identifier: ISC */
#include <headrace/transfer.h>

#include <stdio.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "suite.h"
#include "transfer/place.h"
#include "transfer_fixture.h"

static const char *const names[] = {"DCIM/100NMERE/NMA_0001.JPG",
                                    "DCIM/100NMERE/NMA_0002.JPG",
                                    "DCIM/100NMERE/NMA_0003.DNG",
                                    "DCIM/101NMERE/NMA_0004.MOV",
                                    "MISC/empty.txt",
                                    "DCIM/100NMERE/odd\nname%.JPG"};
static const size_t sizes[] = {61441, 4096, 1 << 20, (3 << 20) + 17, 0, 1};
enum { FILES = sizeof sizes / sizeof *sizes };

static void make_card(struct fixture *fixture)
{
    fixture_begin(fixture);
    for (unsigned i = 0; i < FILES; i++) {
        char path[300];
        snprintf(path, sizeof path, "card/%s", names[i]);
        fixture_write(fixture, path, sizes[i], i + 1);
    }
}

static void expect_copies(const struct fixture *fixture, size_t place)
{
    for (size_t i = 0; i < FILES; i++) {
        char card[300], copy[300];
        struct stat left, right;
        snprintf(card, sizeof card, "card/%s", names[i]);
        snprintf(copy, sizeof copy, "p%zu/bag/data/%s", place, names[i]);
        ck_assert_msg(fixture_same(fixture, card, copy), "%s differs", copy);
        ck_assert_int_eq(stat(fixture_path(fixture, card), &left), 0);
        ck_assert_int_eq(stat(fixture_path(fixture, copy), &right), 0);
        ck_assert_int_eq(left.st_mtim.tv_sec, right.st_mtim.tv_sec);
        ck_assert_int_eq(left.st_mtim.tv_nsec, right.st_mtim.tv_nsec);
    }
}

START_TEST(puts_right_bytes_and_times_under_final_names_in_every_place)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 2);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_uint_eq(fixture.settled, 2 * FILES);
    ck_assert_uint_eq(fixture.complaints, 0);
    ck_assert(fixture.last.is_last);
    ck_assert_uint_eq(fixture.cards_started, 1);
    ck_assert_uint_eq(fixture.cards_free, 1);
    ck_assert_uint_eq(fixture.cards_settled, 1);
    for (size_t place = 0; place < 2; place++) {
        expect_copies(&fixture, place);
        ck_assert_uint_eq(fixture_parts(&fixture, place ? "p1" : "p0"), 0);
    }
    for (size_t i = 0; i < FILES; i++)
        ck_assert_int_eq(fixture.job.items[i].copies[1].state, HR_COPY_PROVEN);
    fixture_end(&fixture);
}
END_TEST

START_TEST(makes_the_digests_alone_without_places)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 0);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    char hex[HR_DIGEST_HEX_SIZE];
    const struct hr_transfer_item *empty = &fixture.job.items[fixture_item(&fixture, "MISC/empty.txt")];
    /* xxHash repository, cli/xsum_sanity_check.c, length 0; SHA-256 of nothing: FIPS 180-4 */
    ck_assert_str_eq(hr_digest_to_hex(hex, &empty->xxh128), "99aa06d3014798d86001c324468d497f");
    ck_assert_str_eq(hr_digest_to_hex(hex, &empty->sha256),
                     "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    fixture_end(&fixture);
}
END_TEST

START_TEST(believes_a_file_of_an_interrupted_run_only_after_reading_it_back)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    fixture_write(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0002.JPG", 4096, 2);
    struct hr_transfer_item *item = &fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0002.JPG")];
    item->copies[0].state = HR_COPY_UNPROVEN;
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(item->copies[0].state, HR_COPY_PROVEN);
    ck_assert_uint_eq(fixture.complaints, 0);
    fixture_end(&fixture);
}
END_TEST

START_TEST(sets_a_differing_copy_aside_and_makes_it_anew)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    fixture_write(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0002.JPG", 4096, 99);
    struct hr_transfer_item *item = &fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0002.JPG")];
    item->copies[0].state = HR_COPY_UNPROVEN;
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(item->copies[0].state, HR_COPY_PROVEN);
    ck_assert_uint_eq(fixture.complaints, 1);
    ck_assert_int_eq(fixture.first_complaint.status, HR_DIFFERS);
    expect_copies(&fixture, 0);
    ck_assert(fixture_exists(&fixture, "p0/bag.aside/DCIM/100NMERE/NMA_0002.JPG.1"));
    fixture_end(&fixture);
}
END_TEST

/* A folder stands where the copy should: no more to be read than a file on bad blocks. */
START_TEST(sets_aside_a_copy_of_an_interrupted_run_that_cannot_be_read)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    fixture_write(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0002.JPG/inside", 10, 7);
    fixture_write(&fixture, "p0/bag.aside/DCIM/100NMERE/NMA_0002.JPG.1", 10, 8); /* of a run before */
    fixture_write(&fixture, "mine", 10, 8);
    struct hr_transfer_item *item = &fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0002.JPG")];
    item->copies[0].state = HR_COPY_UNPROVEN;
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(item->copies[0].state, HR_COPY_PROVEN);
    expect_copies(&fixture, 0);
    ck_assert(fixture_same(&fixture, "mine", "p0/bag.aside/DCIM/100NMERE/NMA_0002.JPG.1"));
    ck_assert(fixture_exists(&fixture, "p0/bag.aside/DCIM/100NMERE/NMA_0002.JPG.2/inside"));
    fixture_end(&fixture);
}
END_TEST

/* Comes back once its loss was told. */
static void put_back(void *context, size_t feed, size_t item, uint64_t offset, const void *bytes, size_t size,
                     enum hr_status status)
{
    const struct fixture *fixture = context;
    (void)feed;
    (void)item;
    (void)offset;
    (void)bytes;
    if (size == 0 && status != HR_OK)
        (void)rename(fixture_path(fixture, "away"), fixture_path(fixture, "card/DCIM/100NMERE/NMA_0002.JPG"));
}

START_TEST(reads_the_card_again_for_a_copy_of_an_interrupted_run)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    fixture.job.listener = (struct hr_transfer_listener){.context = &fixture, .hear = put_back};
    struct hr_transfer_item *item = &fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0002.JPG")];
    fixture_write(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0002.JPG", 4096, 2);
    item->copies[0].state = HR_COPY_UNPROVEN;
    ck_assert_int_eq(rename(fixture_path(&fixture, "card/DCIM/100NMERE/NMA_0002.JPG"), fixture_path(&fixture, "away")),
                     0);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(item->copies[0].state, HR_COPY_PROVEN);
    fixture_end(&fixture);
}
END_TEST

START_TEST(says_what_it_set_aside_with_names_escaped)
{
    struct fixture fixture;
    fixture_begin(&fixture);
    fixture_write(&fixture, "card/DCIM/\033[2KSAFE.JPG", 700, 1);
    fixture_job(&fixture, 1);
    fixture_write(&fixture, "p0/bag/data/DCIM/\033[2KSAFE.JPG", 700, 2);
    fixture.job.items[0].copies[0].state = HR_COPY_UNPROVEN;
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    const char *text = fixture.first_complaint.text;
    ck_assert_ptr_nonnull(strstr(text, "DCIM/%1B[2KSAFE.JPG: reads back different from the card;"));
    ck_assert_ptr_nonnull(strstr(text, "/p0/bag.aside/DCIM/%1B[2KSAFE.JPG.1"));
    ck_assert_ptr_null(strchr(text, '\033'));
    fixture_end(&fixture);
}
END_TEST

START_TEST(never_overwrites_what_stands_under_the_final_name)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    fixture_write(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0002.JPG", 10, 7);
    fixture_write(&fixture, "mine", 10, 7);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    const struct hr_transfer_item *item = &fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0002.JPG")];
    ck_assert_int_eq(item->copies[0].state, HR_COPY_FAILED);
    ck_assert_int_eq(item->copies[0].status, HR_EXISTS);
    ck_assert(fixture_same(&fixture, "mine", "p0/bag/data/DCIM/100NMERE/NMA_0002.JPG"));
    ck_assert_uint_eq(fixture_parts(&fixture, "p0"), 0);
    fixture_end(&fixture);
}
END_TEST

START_TEST(copies_a_file_of_the_card_that_is_named_as_ours_are_while_written)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_write(&fixture, "card/DCIM/100NMERE/.NMA_0001.JPG.part", 5000, 9);
    fixture_job(&fixture, 1);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_uint_eq(fixture.complaints, 0);
    ck_assert_uint_eq(fixture.settled, FILES + 1);
    expect_copies(&fixture, 0);
    ck_assert(fixture_same(&fixture, "card/DCIM/100NMERE/.NMA_0001.JPG.part",
                           "p0/bag/data/DCIM/100NMERE/.NMA_0001.JPG.part"));
    fixture_end(&fixture);
}
END_TEST

START_TEST(sets_aside_a_copy_whose_name_is_as_long_as_names_may_be)
{
    struct fixture fixture;
    char name[256], path[400];
    memset(name, 'n', 251);
    strcpy(name + 251, ".JPG");
    fixture_begin(&fixture);
    snprintf(path, sizeof path, "card/DCIM/%s", name);
    fixture_write(&fixture, path, 700, 1);
    fixture_job(&fixture, 1);
    snprintf(path, sizeof path, "p0/bag/data/DCIM/%s", name);
    fixture_write(&fixture, path, 700, 2);
    fixture.job.items[0].copies[0].state = HR_COPY_UNPROVEN;
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(fixture.job.items[0].copies[0].state, HR_COPY_PROVEN);
    ck_assert_uint_eq(fixture.complaints, 1);
    ck_assert(fixture_exists(&fixture, "p0/bag.aside/DCIM/0.1"));
    fixture_end(&fixture);
}
END_TEST

START_TEST(knows_the_names_of_copies_that_are_being_made)
{
    static const struct {
        const char *name;
        bool is_part;
    } rows[] = {{".NMA_0001.JPG.part", true},
                {".7.2.part", true},
                {".a.part", true},
                {"..part", false},
                {".part", false},
                {"a.part", false},
                {".NMA_0001.JPG", false},
                {".a.part.JPG", false},
                {"", false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_msg(hr_transfer_is_part_name(rows[i].name) == rows[i].is_part, "%s", rows[i].name);
}
END_TEST

START_TEST(counts_the_dots_of_names_that_could_be_its_own)
{
    static const struct {
        const char *path;
        unsigned dots;
    } rows[] = {{"DCIM/NMA_0001.JPG", 0},
                {"DCIM/.NMA_0001.JPG.part", 1},
                {"DCIM/.N1.JPG.part/N1.JPG", 1},
                {"...7.1.part/.7.part/N", 3},
                {"DCIM/.N1.JPG.PART", 1},
                {"DCIM/N1.part", 0},
                {"DCIM/...hidden/N1.JPG", 0},
                {".part", 0},
                {"..part", 2},
                {"DCIM/.partial/..N1.part", 2}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_msg(hr__part_dots(rows[i].path) == rows[i].dots, "%s", rows[i].path);
}
END_TEST

START_TEST(measures_how_fast_digests_are_made_before_anybody_waits)
{
    struct timespec before, after;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &before);
    double rate = hr_transfer_digest_bytes_per_s();
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &after);
    ck_assert(rate > 10e6 && rate < 100e9);
    /* The promise is 50 ms; processor time, and generous, because a test must not hang on a machine's mood. */
    ck_assert((after.tv_sec - before.tv_sec) * 1000 + (after.tv_nsec - before.tv_nsec) / 1000000 < 500);
}
END_TEST

START_TEST(goes_on_with_the_rest_when_a_file_is_gone_or_has_changed)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    ck_assert_int_eq(unlink(fixture_path(&fixture, "card/DCIM/100NMERE/NMA_0001.JPG")), 0);
    fixture_write(&fixture, "card/DCIM/100NMERE/NMA_0003.DNG", (1 << 20) + 5, 3);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0001.JPG")].status, HR_NOT_FOUND);
    ck_assert_int_eq(fixture.job.items[fixture_item(&fixture, "DCIM/100NMERE/NMA_0003.DNG")].status, HR_DIFFERS);
    ck_assert_uint_eq(fixture.settled, FILES - 2);
    ck_assert(!fixture_exists(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0003.DNG"));
    ck_assert_uint_eq(fixture_parts(&fixture, "p0"), 0);
    fixture_end(&fixture);
}
END_TEST

START_TEST(keeps_other_places_when_one_is_missing)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 2);
    fixture.job_card.landings[0] = (struct hr_transfer_landing){.data_path = "/nowhere/at/all/bag/data",
                                                                .aside_path = "/nowhere/at/all/bag.aside"};
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(fixture.sinks[0].status, HR_NOT_FOUND);
    ck_assert_int_eq(fixture.job.items[0].copies[0].state, HR_COPY_WANTED);
    ck_assert_uint_eq(fixture.settled, FILES);
    expect_copies(&fixture, 1);
    fixture_end(&fixture);
}
END_TEST

START_TEST(keeps_other_places_when_one_fills)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 2);
    if (geteuid() != 0 || mount("tmpfs", fixture_path(&fixture, "p0"), "tmpfs", 0, "size=2m") != 0) {
        fixture_end(&fixture);
        return; /* only root can make a volume this small */
    }
    char command_path[1024];
    snprintf(command_path, sizeof command_path, "%s", fixture_path(&fixture, "p0/bag"));
    ck_assert_int_eq(mkdir(command_path, 0777), 0);
    ck_assert_int_eq(mkdir(fixture_path(&fixture, "p0/bag/data"), 0777), 0);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_int_eq(fixture.sinks[0].status, HR_FULL);
    expect_copies(&fixture, 1);
    ck_assert_int_eq(umount(fixture_path(&fixture, "p0")), 0);
    fixture_end(&fixture);
}
END_TEST

START_TEST(stops_when_asked_and_leaves_no_temporary_names)
{
    struct fixture fixture;
    struct hr_cancel *cancel = hr_cancel_create();
    make_card(&fixture);
    fixture_job(&fixture, 1);
    hr_cancel_request(cancel);
    ck_assert_int_eq(fixture_run(&fixture, cancel), HR_CANCELLED);
    ck_assert_uint_eq(fixture_parts(&fixture, "p0"), 0);
    hr_cancel_destroy(cancel);
    fixture_end(&fixture);
}
END_TEST

START_TEST(reads_the_card_a_second_time_when_asked)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    fixture.job.reread_card = true;
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_uint_eq(fixture.settled, FILES);
    ck_assert_uint_eq(fixture.last.read.bytes, fixture.inventory->total_bytes);
    ck_assert_uint_eq(fixture.last.bytes_of_card[0], 2 * fixture.inventory->total_bytes);
    fixture_end(&fixture);
}
END_TEST

START_TEST(says_how_each_read_back_was_proven)
{
    struct fixture fixture;
    make_card(&fixture);
    fixture_job(&fixture, 1);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    for (size_t i = 0; i < FILES; i++)
        ck_assert_int_ne(fixture.job.items[i].copies[0].proof, HR_PROOF_NONE);
    fixture_end(&fixture);
}
END_TEST

HR_SUITE_TIMED("transfer/transfer", 60, puts_right_bytes_and_times_under_final_names_in_every_place,
               makes_the_digests_alone_without_places, believes_a_file_of_an_interrupted_run_only_after_reading_it_back,
               sets_a_differing_copy_aside_and_makes_it_anew, says_what_it_set_aside_with_names_escaped,
               sets_aside_a_copy_of_an_interrupted_run_that_cannot_be_read,
               reads_the_card_again_for_a_copy_of_an_interrupted_run, never_overwrites_what_stands_under_the_final_name,
               knows_the_names_of_copies_that_are_being_made, counts_the_dots_of_names_that_could_be_its_own,
               measures_how_fast_digests_are_made_before_anybody_waits,
               copies_a_file_of_the_card_that_is_named_as_ours_are_while_written,
               sets_aside_a_copy_whose_name_is_as_long_as_names_may_be,
               goes_on_with_the_rest_when_a_file_is_gone_or_has_changed, keeps_other_places_when_one_is_missing,
               keeps_other_places_when_one_fills, stops_when_asked_and_leaves_no_temporary_names,
               reads_the_card_a_second_time_when_asked, says_how_each_read_back_was_proven)
