/* SPDX-License-Identifier: ISC */
/* The listener hears what is read from cards, as it is read. */
#include <headrace/transfer.h>

#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "suite.h"
#include "transfer_fixture.h"

enum { ITEMS_MAX = 8 };

/* What was heard. Each feed writes of its own items alone. */
struct ear {
    struct fixture *fixture;
    atomic_bool is_hearing[HR_FEEDS_MAX];
    struct hr_hasher *hasher[HR_FEEDS_MAX];
    size_t item[HR_FEEDS_MAX]; /* under way; SIZE_MAX: none */
    uint64_t offset[HR_FEEDS_MAX];
    atomic_bool was_wrong; /* two calls at once, a gap, or items mixed */
    struct hr_digest digest[ITEMS_MAX];
    uint64_t size[ITEMS_MAX];
    enum hr_status status[ITEMS_MAX];
    size_t endings[ITEMS_MAX], read[ITEMS_MAX];
};

static void hear(void *context, size_t feed, size_t item, uint64_t offset, const void *bytes, size_t size,
                 enum hr_status status)
{
    struct ear *ear = context;
    ear->was_wrong |= atomic_exchange(&ear->is_hearing[feed], true);
    if (ear->item[feed] == SIZE_MAX) {
        ear->item[feed] = item;
        ear->offset[feed] = 0;
        hr_hasher_restart(ear->hasher[feed]);
    }
    ear->was_wrong |= ear->item[feed] != item || ear->offset[feed] != offset;
    hr_hasher_update(ear->hasher[feed], bytes, size);
    ear->offset[feed] += size;
    if (size == 0) {
        ear->digest[item] = hr_hasher_finish(ear->hasher[feed]);
        ear->size[item] = offset;
        ear->status[item] = status;
        ear->endings[item]++;
        ear->item[feed] = SIZE_MAX;
    }
    atomic_store(&ear->is_hearing[feed], false);
}

/* By then it was heard to its end. */
static void item_read(void *context, size_t item)
{
    struct ear *ear = context;
    ear->was_wrong |= ear->endings[item] == 0;
    ear->read[item]++;
}

static void begin(struct ear *ear, struct fixture *fixture, size_t places)
{
    static const struct {
        const char *path;
        size_t size;
    } files[] = {{"card/DCIM/100NMERE/NMA_0001.JPG", 61441},
                 {"card/DCIM/100NMERE/NMA_0002.JPG", 4096},
                 {"card/DCIM/100NMERE/NMA_0003.DNG", 1 << 20},
                 {"card/DCIM/100NMERE/NMA_0004.MOV", (3 << 20) + 17},
                 {"card/MISC/empty.txt", 0}};
    fixture_begin(fixture);
    for (unsigned i = 0; i < sizeof files / sizeof *files; i++)
        fixture_write(fixture, files[i].path, files[i].size, i + 1);
    fixture_job(fixture, places);
    *ear = (struct ear){.fixture = fixture};
    for (size_t i = 0; i < HR_FEEDS_MAX; i++) {
        ear->item[i] = SIZE_MAX;
        ck_assert_int_eq(hr_hasher_create(&ear->hasher[i], HR_DIGEST_XXH128, NULL), HR_OK);
    }
    fixture->job.listener = (struct hr_transfer_listener){.context = ear, .hear = hear};
}

static void run(struct ear *ear, enum hr_status status, const struct hr_cancel *cancel)
{
    struct hr_transfer_observer observer = {.context = ear, .item_read = item_read};
    ck_assert_int_eq(hr_transfer_run(&ear->fixture->job, &observer, cancel, NULL), status);
    ck_assert(!ear->was_wrong);
    for (size_t i = 0; i < HR_FEEDS_MAX; i++)
        hr_hasher_destroy(ear->hasher[i]);
}

static void expect_heard(const struct ear *ear, size_t item, size_t times)
{
    const struct hr_transfer_item *heard = &ear->fixture->job.items[item];
    ck_assert_uint_eq(ear->endings[item], times);
    ck_assert_uint_eq(ear->read[item], times);
    ck_assert_int_eq(ear->status[item], HR_OK);
    ck_assert_uint_eq(ear->size[item], heard->file->size_bytes);
    ck_assert(hr_digest_equal(&ear->digest[item], &heard->xxh128));
}

START_TEST(hears_the_bytes_of_each_item_once_and_in_order)
{
    for (size_t places = 0; places <= 2; places += 2)
        for (int twice = 0; twice < 2; twice++) {
            struct fixture fixture;
            struct ear ear;
            begin(&ear, &fixture, places);
            fixture.job.reread_card = twice;
            run(&ear, HR_OK, NULL);
            for (size_t i = 0; i < fixture.job.item_count; i++)
                expect_heard(&ear, i, 1);
            fixture_end(&fixture);
        }
}
END_TEST

START_TEST(hears_an_item_again_that_is_read_again)
{
    struct fixture fixture;
    struct ear ear;
    begin(&ear, &fixture, 2);
    size_t again = fixture_item(&fixture, "DCIM/100NMERE/NMA_0004.MOV");
    /* What stands there is not what the card has: it is set aside and copied anew in another pass. */
    fixture_write(&fixture, "p0/bag/data/DCIM/100NMERE/NMA_0004.MOV", (3 << 20) + 17, 99);
    fixture.job.items[again].copies[0].state = HR_COPY_UNPROVEN;
    run(&ear, HR_OK, NULL);
    ck_assert_int_eq(fixture.job.items[again].copies[0].state, HR_COPY_PROVEN);
    for (size_t i = 0; i < fixture.job.item_count; i++)
        expect_heard(&ear, i, i == again ? 2 : 1);
    fixture_end(&fixture);
}
END_TEST

START_TEST(hears_all_though_a_place_has_failed)
{
    struct fixture fixture;
    struct ear ear;
    begin(&ear, &fixture, 2);
    fixture.job_card.landings[0] =
        (struct hr_transfer_landing){"/nowhere/at/all/bag/data", "/nowhere/at/all/bag.aside"};
    run(&ear, HR_OK, NULL);
    for (size_t i = 0; i < fixture.job.item_count; i++)
        expect_heard(&ear, i, 1);
    fixture_end(&fixture);
}
END_TEST

START_TEST(hears_of_an_item_that_cannot_be_read_how_it_ended)
{
    struct fixture fixture;
    struct ear ear;
    begin(&ear, &fixture, 1);
    size_t gone = fixture_item(&fixture, "DCIM/100NMERE/NMA_0001.JPG");
    size_t grown = fixture_item(&fixture, "DCIM/100NMERE/NMA_0003.DNG");
    ck_assert_int_eq(unlink(fixture_path(&fixture, "card/DCIM/100NMERE/NMA_0001.JPG")), 0);
    fixture_write(&fixture, "card/DCIM/100NMERE/NMA_0003.DNG", (1 << 20) + 5, 3);
    run(&ear, HR_OK, NULL);
    ck_assert_int_eq(ear.status[gone], HR_NOT_FOUND);
    ck_assert_int_eq(ear.status[grown], HR_DIFFERS);
    ck_assert_uint_eq(ear.endings[gone], 3); /* attempts */
    ck_assert_uint_eq(ear.read[gone] + ear.read[grown], 0);
    expect_heard(&ear, fixture_item(&fixture, "DCIM/100NMERE/NMA_0004.MOV"), 1);
    fixture_end(&fixture);
}
END_TEST

START_TEST(hears_nothing_of_a_run_that_was_stopped_before)
{
    struct fixture fixture;
    struct ear ear;
    struct hr_cancel *cancel = hr_cancel_create();
    begin(&ear, &fixture, 1);
    hr_cancel_request(cancel);
    run(&ear, HR_CANCELLED, cancel);
    for (size_t i = 0; i < fixture.job.item_count; i++)
        ck_assert_uint_eq(ear.endings[i], 0);
    hr_cancel_destroy(cancel);
    fixture_end(&fixture);
}
END_TEST

HR_SUITE_TIMED("transfer/listener", 60, hears_the_bytes_of_each_item_once_and_in_order,
               hears_an_item_again_that_is_read_again, hears_all_though_a_place_has_failed,
               hears_of_an_item_that_cannot_be_read_how_it_ended, hears_nothing_of_a_run_that_was_stopped_before)
