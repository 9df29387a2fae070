/* SPDX-License-Identifier: ISC */
/* No two stretches that are under way have a byte of memory in common, and copies come whole and in their order. */
#include "transfer/fetch_ahead.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "platform/machine.h"
#include "platform/volume.h"
#include "suite.h"

enum { MANY = 64 };

/* What is taken, in order. */
struct ring {
    struct hr_fetch_span spans[MANY];
    size_t first, count;
};

static struct hr_fetch_span *nth(struct ring *ring, size_t n)
{
    return &ring->spans[(ring->first + n) % MANY];
}

static bool take(struct ring *ring, size_t size)
{
    struct hr_fetch_span span;
    const struct hr_fetch_span *oldest = ring->count ? nth(ring, 0) : NULL;
    const struct hr_fetch_span *newest = ring->count ? nth(ring, ring->count - 1) : NULL;
    if (ring->count == MANY || !hr__fetch_span_find(&span, oldest, newest, size))
        return false;
    ck_assert_uint_eq(span.end - span.begin, size);
    ck_assert_uint_le(span.end, HR_FETCH_AHEAD_BYTES);
    for (size_t i = 0; i < ring->count; i++)
        ck_assert(span.end <= nth(ring, i)->begin || span.begin >= nth(ring, i)->end);
    *nth(ring, ring->count++) = span;
    return true;
}

static void let_go(struct ring *ring)
{
    ring->first = (ring->first + 1) % MANY;
    ring->count--;
}

START_TEST(gives_nothing_that_is_taken)
{
    static const size_t border = 4096, sizes_max = (1 << 20) / 4096;
    srand(1);
    for (int round = 0; round < 100; round++) {
        struct ring ring = {0};
        for (int step = 0; step < 1000; step++) {
            size_t size = border * (1 + (size_t)rand() % (rand() % 2 ? sizes_max : 20));
            if (ring.count == 0 || rand() % 2)
                ck_assert(take(&ring, size) || ring.count > 0);
            else
                let_go(&ring);
        }
    }
}
END_TEST

START_TEST(the_whole_ring_can_be_had)
{
    struct ring ring = {0};
    ck_assert(take(&ring, HR_FETCH_AHEAD_BYTES));
    ck_assert(!take(&ring, 4096));
    let_go(&ring);
    ck_assert(take(&ring, HR_FETCH_AHEAD_BYTES));
}
END_TEST

/* ---- Copies ---- */

enum { COPIES = 40, LARGE = 6, LARGE_BYTES = 5 * HR_BLOCK_BYTES + 777 };

static size_t size_of(size_t n)
{
    static const size_t sizes[] = {1, 0, HR_BLOCK_BYTES, 61441, HR_BLOCK_BYTES + 1, 4096, LARGE_BYTES, 30000};
    return n < sizeof sizes / sizeof *sizes ? sizes[n] : 20000 + n;
}

/* A place with copies under their final names, the n-th of bytes 'A' + n. */
struct ground {
    char scratch[64], data[80], names[COPIES][24];
    struct hr_card_file files[COPIES];
    struct hr_transfer_item items[COPIES];
    struct hr_transfer_card card;
    struct hr_transfer_job job;
    struct hr_engine engine;
    struct hr_place place;
    struct hr_folder folder; /* the copies' */
    struct hr_pending_copy copies[COPIES];
    size_t listed, taken; /* of the copies */
    struct hr_copy_list list;
    struct hr_read_back read_back;
    struct hr_fetch_ahead ahead;
    unsigned turns, turns_max;
    uint64_t most_under_way;
    bool can_ask; /* of this volume, by this build */
};

static void list_one(struct ground *ground)
{
    struct hr_pending_copy *copy = &ground->copies[ground->listed];
    hr__copy_list_push(&ground->list, copy, size_of(ground->listed++));
}

/* While it waits, the rest becomes durable. */
static bool take_turn(void *context)
{
    struct ground *ground = context;
    while (ground->listed < COPIES)
        list_one(ground);
    if (ground->ahead.under_way > ground->most_under_way)
        ground->most_under_way = ground->ahead.under_way;
    return ground->turns++ < ground->turns_max;
}

static void make(struct ground *ground, size_t n)
{
    struct hr_file file;
    unsigned char *bytes = hr__aligned_alloc(LARGE_BYTES);
    snprintf(ground->names[n], sizeof ground->names[n], "%02zu", n);
    memset(bytes, 'A' + (int)n, size_of(n));
    ck_assert_int_eq(hr__file_open(&file, &ground->folder, ground->names[n], HR_FILE_CREATE, false, "", NULL), HR_OK);
    if (size_of(n) > 0)
        ck_assert_int_eq(hr__file_write_at(&file, bytes, size_of(n), 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(bytes);
    ground->files[n] = (struct hr_card_file){.path = ground->names[n], .size_bytes = size_of(n)};
    ground->items[n].file = &ground->files[n];
    ground->copies[n] = (struct hr_pending_copy){.item = (uint32_t)n, .is_adopted = true};
}

static bool can_ask(struct ground *ground)
{
    struct hr_volume volume;
    struct hr_file file;
    ck_assert_int_eq(hr__volume_of(&volume, ground->scratch, &hr__system_roots, NULL), HR_OK);
    ground->place.is_counted = hr__volume_is_counted(&volume);
    hr__volume_finish(&volume);
    if (!ground->place.is_counted || !hr__read_back_open_to_ask(&file, &ground->read_back, &ground->folder, "00"))
        return false;
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    return true;
}

/* `listed` of the copies are durable. */
static void ground_begin(struct ground *ground, size_t listed)
{
    *ground = (struct ground){.scratch = "fetch-ahead-XXXXXX", .turns_max = UINT_MAX};
    ck_assert_ptr_nonnull(mkdtemp(ground->scratch));
    snprintf(ground->data, sizeof ground->data, "%s/data", ground->scratch);
    ck_assert_int_eq(mkdir(ground->data, 0700), 0);
    ground->card.landings[0].data_path = ground->data;
    ground->job = (struct hr_transfer_job){.items = ground->items, .cards = &ground->card};
    ground->engine.job = &ground->job;
    ground->place.engine = &ground->engine;
    ground->place.root_length = strlen(ground->scratch);
    hr__lock_init(&ground->place.lock);
    hr__pace_init(&ground->place.pace, false, false);
    ck_assert_int_eq(hr__folder_open(&ground->place.root, ground->scratch, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_open(&ground->folder, ground->data, NULL), HR_OK);
    for (size_t n = 0; n < COPIES; n++)
        make(ground, n);
    while (ground->listed < listed)
        list_one(ground);
    ground->read_back = (struct hr_read_back){.place = &ground->place, .take_turn = take_turn, .context = ground};
    ck_assert_int_eq(hr__read_back_init(&ground->read_back, NULL), HR_OK);
    ck_assert_int_eq(hr__fetch_ahead_init(&ground->ahead, &ground->read_back, &ground->list, NULL), HR_OK);
    ground->can_ask = can_ask(ground);
}

static void ground_end(struct ground *ground)
{
    hr__fetch_ahead_finish(&ground->ahead);
    hr__read_back_finish(&ground->read_back);
    for (size_t n = 0; n < COPIES; n++)
        (void)hr__folder_remove(&ground->folder, ground->names[n], NULL);
    hr__folder_close(&ground->folder);
    hr__folder_close(&ground->place.root);
    hr__lock_finish(&ground->place.lock);
    ck_assert_int_eq(rmdir(ground->data), 0);
    ck_assert_int_eq(rmdir(ground->scratch), 0);
}

static bool has_digest(const struct hr_digest *digest, size_t n)
{
    struct hr_hasher *hasher;
    unsigned char *bytes = hr__aligned_alloc(LARGE_BYTES);
    memset(bytes, 'A' + (int)n, size_of(n));
    ck_assert_int_eq(hr_hasher_create(&hasher, HR_DIGEST_XXH128, NULL), HR_OK);
    hr_hasher_update(hasher, bytes, size_of(n));
    struct hr_digest wanted = hr_hasher_finish(hasher);
    hr_hasher_destroy(hasher);
    hr__aligned_free(bytes);
    return hr_digest_equal(&wanted, digest);
}

static bool take_next(struct ground *ground)
{
    struct hr_digest digest;
    bool is_whole = hr__fetch_ahead_take(&digest, &ground->ahead);
    ck_assert(!is_whole || has_digest(&digest, ground->taken));
    (void)hr__copy_list_pop(&ground->list, ground->items);
    ground->taken++;
    return is_whole;
}

/* Every copy comes up to the `end`th, but the empty one, for which no drive can be asked, and `missing`. */
static void take_until(struct ground *ground, size_t end, size_t missing)
{
    while (ground->taken < end) {
        bool is_wanted = size_of(ground->taken) > 0 && ground->taken != missing;
        ck_assert_int_eq(take_next(ground), ground->can_ask && is_wanted);
    }
}

static void take_all_but(struct ground *ground, size_t missing)
{
    take_until(ground, COPIES, missing);
}

START_TEST(copies_of_all_sizes_come_whole_and_in_their_order)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    take_all_but(&ground, COPIES);
    ck_assert_int_eq(ground.most_under_way > HR_BLOCK_BYTES, ground.can_ask);
    ground_end(&ground);
}
END_TEST

START_TEST(beside_writing_no_more_is_under_way_than_a_write)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    atomic_store(&ground.place.is_writing, true);
    take_all_but(&ground, COPIES);
    ck_assert_uint_le(ground.most_under_way, HR_BLOCK_BYTES);
    ground_end(&ground);
}
END_TEST

START_TEST(beside_writing_that_loses_nothing_as_much_is_under_way_as_ever)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    atomic_store(&ground.place.is_writing, true);
    hr__pace_init(&ground.place.pace, true, false);
    take_all_but(&ground, COPIES);
    ck_assert_int_eq(ground.most_under_way > HR_BLOCK_BYTES, ground.can_ask);
    ground_end(&ground);
}
END_TEST

START_TEST(what_becomes_durable_meanwhile_comes_too)
{
    struct ground ground;
    ground_begin(&ground, LARGE + 1);
    take_until(&ground, LARGE + 1, COPIES);
    take_all_but(&ground, COPIES);
    ground_end(&ground);
}
END_TEST

START_TEST(a_copy_under_its_temporary_name_comes)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    ground.copies[5].is_adopted = false;
    ck_assert_int_eq(hr__folder_rename(&ground.folder, "05", ".05.part", NULL), HR_OK);
    take_all_but(&ground, COPIES);
    ck_assert_int_eq(hr__folder_remove(&ground.folder, ".05.part", NULL), HR_OK);
    ground_end(&ground);
}
END_TEST

START_TEST(a_copy_that_is_gone_is_missing_alone)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    ck_assert_int_eq(hr__folder_remove(&ground.folder, "03", NULL), HR_OK);
    take_all_but(&ground, 3);
    ground_end(&ground);
}
END_TEST

/* It grew since it was written, by a byte over a border or more. */
START_TEST(a_copy_that_is_too_long_does_not_come)
{
    static const size_t numbers[] = {2, 3, 4, LARGE};
    static const uint64_t by[] = {1, 4096, 1, HR_BLOCK_BYTES};
    for (size_t i = 0; i < sizeof by / sizeof *by; i++) {
        struct ground ground;
        ground_begin(&ground, COPIES);
        ground.files[numbers[i]].size_bytes -= by[i];
        take_all_but(&ground, numbers[i]);
        ground_end(&ground);
    }
}
END_TEST

/* The drive was not asked for as much as it should have been: that may be for any that went with it. */
START_TEST(a_copy_that_is_too_short_takes_the_word_from_those_that_went_with_it)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    ground.files[3].size_bytes += 100000;
    for (size_t n = 0; n <= LARGE; n++)
        ck_assert(!take_next(&ground));
    while (ground.taken < COPIES - 1)
        (void)take_next(&ground);
    ck_assert_int_eq(take_next(&ground), ground.can_ask);
    ground_end(&ground);
}
END_TEST

/* A hole, for which no drive is asked, between copies whose ends the drive gives more of than they have. */
START_TEST(a_copy_that_no_drive_gave_is_not_hidden_by_its_neighbours)
{
    struct ground ground;
    struct hr_file file;
    ground_begin(&ground, COPIES);
    ck_assert_int_eq(hr__folder_remove(&ground.folder, "05", NULL), HR_OK);
    ck_assert_int_eq(hr__file_open(&file, &ground.folder, "05", HR_FILE_CREATE, false, "", NULL), HR_OK);
    ck_assert_int_eq(hr__file_truncate(&file, size_of(5), NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    while (ground.taken < 5)
        (void)take_next(&ground);
    ck_assert(!take_next(&ground));
    ground_end(&ground);
}
END_TEST

START_TEST(nothing_comes_that_was_not_counted)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    hr__fetch_count_close(&ground.read_back.count);
    while (ground.taken < COPIES)
        ck_assert(!take_next(&ground));
    ground_end(&ground);
}
END_TEST

START_TEST(a_turn_that_is_denied_ends_a_copy)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    ground.turns_max = 3; /* the fifth copy has two stretches */
    take_all_but(&ground, LARGE);
    ground_end(&ground);
}
END_TEST

START_TEST(what_was_asked_for_can_be_let_go_of)
{
    struct ground ground;
    ground_begin(&ground, COPIES);
    ground.turns_max = 3;
    while (ground.taken <= LARGE + 1)
        (void)take_next(&ground);
    ck_assert_int_eq(ground.ahead.under_way > 0, ground.can_ask);
    hr__fetch_ahead_drop(&ground.ahead);
    ck_assert_uint_eq(ground.ahead.under_way + ground.ahead.copy_count + ground.ahead.stretch_count, 0);
    ground_end(&ground);
}
END_TEST

HR_SUITE("transfer/fetch_ahead", gives_nothing_that_is_taken, the_whole_ring_can_be_had,
         copies_of_all_sizes_come_whole_and_in_their_order, beside_writing_no_more_is_under_way_than_a_write,
         beside_writing_that_loses_nothing_as_much_is_under_way_as_ever, what_becomes_durable_meanwhile_comes_too,
         a_copy_under_its_temporary_name_comes, a_copy_that_is_gone_is_missing_alone,
         a_copy_that_is_too_long_does_not_come, a_copy_that_is_too_short_takes_the_word_from_those_that_went_with_it,
         a_copy_that_no_drive_gave_is_not_hidden_by_its_neighbours, nothing_comes_that_was_not_counted,
         a_turn_that_is_denied_ends_a_copy, what_was_asked_for_can_be_let_go_of)
