/* SPDX-License-Identifier: ISC */
/* What is counted as done while places fail, told by hand in the orders in which the engine may tell it. */
#include <stdlib.h>

#include "base/fault.h"
#include "offload/carry.h"
#include "offload_fixture.h"
#include "suite.h"

/* The fixture's card: two frames of three files, wanted in two places. */
enum { FILES = 3 };

struct told {
    struct ground ground;
    struct hr_offload *offload;
    struct hr_offload_observer nobody;
    struct hr_carry carry;
};

static void begin(struct told *told)
{
    ground_begin(&told->ground);
    told->offload = ground_prepare(&told->ground);
    told->nobody = (struct hr_offload_observer){0};
    told->carry = (struct hr_carry){.offload = told->offload, .observer = &told->nobody};
    struct hr_carry *carry = &told->carry;
    carry->job = (struct hr_transfer_job){.cards = carry->job_cards,
                                          .card_count = 1,
                                          .items = calloc(FILES, sizeof *carry->job.items),
                                          .sinks = carry->sinks,
                                          .sink_count = 2};
    carry->files = calloc(FILES, sizeof *carry->files);
    ck_assert_int_eq(hr__deliveries_begin(carry, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__deliveries_items(carry, 0, NULL), HR_OK);
    ck_assert_uint_eq(carry->job.item_count, FILES);
}

static void end(struct told *told)
{
    free(told->carry.job.items);
    free(told->carry.files);
    free(told->carry.cards[0].frame_left);
    hr_offload_destroy(told->offload);
    ground_end(&told->ground);
}

static void prove(struct told *told, size_t item, size_t place)
{
    struct hr_transfer_item *proven = &told->carry.job.items[item];
    proven->xxh128.kind = HR_DIGEST_XXH128;
    proven->copies[place] = (struct hr_copy){.state = HR_COPY_PROVEN, .proof = HR_PROOF_CACHE};
    hr__carry_observer.copy_settled(&told->carry, item, place);
}

static void lose(struct told *told, size_t place)
{
    struct hr_fault fault = {0};
    hr__fault_set(&fault, HR_GONE, 0, "the drive was pulled");
    told->carry.sinks[place].status = HR_GONE;
    hr__carry_observer.complain(&told->carry, SIZE_MAX, place, &fault);
}

static void expect(const struct told *told, size_t files, size_t frames)
{
    ck_assert_uint_eq(told->carry.now.files_done, files);
    ck_assert_uint_eq(told->carry.now.frames_done, frames);
}

START_TEST(what_waited_for_a_place_is_done_when_it_fails)
{
    struct told told;
    begin(&told);
    for (size_t i = 0; i < FILES; i++)
        prove(&told, i, 0);
    expect(&told, 0, 0);
    lose(&told, 1);
    expect(&told, 3, 2);
    end(&told);
}
END_TEST

START_TEST(what_a_failed_place_still_proves_is_not_counted_twice)
{
    struct told told;
    begin(&told);
    lose(&told, 1);
    for (size_t i = 0; i < FILES; i++) {
        prove(&told, i, 0);
        prove(&told, i, 1);
    }
    expect(&told, 3, 2);
    end(&told);
}
END_TEST

START_TEST(what_no_place_has_proven_is_not_done_when_all_fail)
{
    struct told told;
    begin(&told);
    prove(&told, 0, 1);
    lose(&told, 0);
    expect(&told, 1, 0);
    lose(&told, 1);
    expect(&told, 1, 0);
    end(&told);
}
END_TEST

HR_SUITE("offload/carry", what_waited_for_a_place_is_done_when_it_fails,
         what_a_failed_place_still_proves_is_not_counted_twice, what_no_place_has_proven_is_not_done_when_all_fail)
