/* SPDX-License-Identifier: ISC */
/* A gate that shuts ends the run early: what was begun is proven, the rest is not touched. */
#include <headrace/transfer.h>

#include <stdio.h>

#include "suite.h"
#include "transfer_fixture.h"

struct gate {
    size_t open_for, asked;
};

static bool may_begin(void *context, size_t item)
{
    struct gate *gate = context;
    (void)item;
    return gate->asked++ < gate->open_for;
}

static void begin(struct fixture *fixture, struct gate *gate)
{
    char path[64];
    fixture_begin(fixture);
    for (unsigned i = 0; i < 6; i++) {
        snprintf(path, sizeof path, "card/DCIM/100NMERE/NMA_%04u.JPG", i);
        fixture_write(fixture, path, 50000 + i, i + 1);
    }
    fixture_job(fixture, 2);
    fixture->job.gate = (struct hr_transfer_gate){.context = gate, .may_begin = may_begin};
}

START_TEST(proves_what_was_begun_and_leaves_the_rest_wanted)
{
    struct fixture fixture;
    struct gate gate = {.open_for = 4};
    begin(&fixture, &gate);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    for (size_t i = 0; i < fixture.job.item_count; i++) {
        const struct hr_transfer_item *item = &fixture.job.items[i];
        ck_assert_int_eq(item->status, i < 4 ? HR_OK : HR_CANCELLED);
        for (size_t sink = 0; sink < 2; sink++)
            ck_assert_int_eq(item->copies[sink].state, i < 4 ? HR_COPY_PROVEN : HR_COPY_WANTED);
    }
    ck_assert_uint_eq(fixture_parts(&fixture, "."), 0);
    ck_assert_int_eq(fixture.job_card.status, HR_CANCELLED);
    ck_assert_uint_eq(fixture.cards_free, 0);
    ck_assert_uint_eq(fixture.complaints, 0);
    fixture_end(&fixture);
}
END_TEST

START_TEST(asks_no_more_once_it_is_shut)
{
    struct fixture fixture;
    struct gate gate = {.open_for = 2};
    begin(&fixture, &gate);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_uint_eq(gate.asked, 3);
    fixture_end(&fixture);
}
END_TEST

START_TEST(changes_nothing_while_it_is_open)
{
    struct fixture fixture;
    struct gate gate = {.open_for = SIZE_MAX};
    begin(&fixture, &gate);
    ck_assert_int_eq(fixture_run(&fixture, NULL), HR_OK);
    ck_assert_uint_eq(gate.asked, 6);
    ck_assert_int_eq(fixture.job_card.status, HR_OK);
    ck_assert_uint_eq(fixture.settled, 12);
    fixture_end(&fixture);
}
END_TEST

HR_SUITE("transfer/gate", proves_what_was_begun_and_leaves_the_rest_wanted, asks_no_more_once_it_is_shut,
         changes_nothing_while_it_is_open)
