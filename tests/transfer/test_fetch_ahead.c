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

static const size_t sizes[] = {1, 0, HR_BLOCK_BYTES, 61441, HR_BLOCK_BYTES + 1, 4096, 5 * HR_BLOCK_BYTES + 777, 30000};
enum { COPIES = sizeof sizes / sizeof *sizes, LARGE = 6 };

/* A place with copies under their final names, the n-th of bytes 'a' + n. */
struct ground {
    char scratch[64], data[80], names[COPIES][2];
    struct hr_card_file files[COPIES];
    struct hr_transfer_item items[COPIES];
    struct hr_transfer_card card;
    struct hr_transfer_job job;
    struct hr_engine engine;
    struct hr_place place;
    struct hr_folder folder; /* the copies' */
    struct hr_pending_copy copies[COPIES];
    struct hr_copy_list list;
    struct hr_read_back read_back;
    struct hr_fetch_ahead ahead;
    unsigned turns, turns_max;
};

static bool take_turn(void *context)
{
    struct ground *ground = context;
    return ground->turns++ < ground->turns_max;
}

static void make(struct ground *ground, size_t n)
{
    struct hr_file file;
    unsigned char *bytes = hr__aligned_alloc(sizes[n] + 1);
    snprintf(ground->names[n], sizeof ground->names[n], "%c", (char)('a' + n));
    memset(bytes, 'a' + (int)n, sizes[n]);
    ck_assert_int_eq(hr__file_open(&file, &ground->folder, ground->names[n], HR_FILE_CREATE, false, "", NULL), HR_OK);
    if (sizes[n] > 0)
        ck_assert_int_eq(hr__file_write_at(&file, bytes, sizes[n], 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__aligned_free(bytes);
    ground->files[n] = (struct hr_card_file){.path = ground->names[n], .size_bytes = sizes[n]};
    ground->items[n].file = &ground->files[n];
    ground->copies[n] = (struct hr_pending_copy){.item = (uint32_t)n, .is_adopted = true};
    hr__copy_list_push(&ground->list, &ground->copies[n], sizes[n]);
}

static void look_at_volume(struct ground *ground)
{
    struct hr_volume volume;
    ck_assert_int_eq(hr__volume_of(&volume, ground->scratch, &hr__system_roots, NULL), HR_OK);
    ground->place.is_counted = hr__volume_is_counted(&volume);
    hr__pace_init(&ground->place.pace, false, false);
    hr__volume_finish(&volume);
}

static void ground_begin(struct ground *ground)
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
    ck_assert_int_eq(hr__folder_open(&ground->place.root, ground->scratch, NULL), HR_OK);
    ck_assert_int_eq(hr__folder_open(&ground->folder, ground->data, NULL), HR_OK);
    look_at_volume(ground);
    for (size_t n = 0; n < COPIES; n++)
        make(ground, n);
    ground->read_back = (struct hr_read_back){.place = &ground->place, .take_turn = take_turn, .context = ground};
    ck_assert_int_eq(hr__read_back_init(&ground->read_back, NULL), HR_OK);
    ck_assert_int_eq(hr__fetch_ahead_init(&ground->ahead, &ground->read_back, &ground->list, NULL), HR_OK);
}

static void ground_end(struct ground *ground)
{
    hr__fetch_ahead_finish(&ground->ahead);
    hr__read_back_finish(&ground->read_back);
    for (size_t n = 0; n < COPIES; n++)
        ck_assert_int_eq(hr__folder_remove(&ground->folder, ground->names[n], NULL), HR_OK);
    hr__folder_close(&ground->folder);
    hr__folder_close(&ground->place.root);
    hr__lock_finish(&ground->place.lock);
    ck_assert_int_eq(rmdir(ground->data), 0);
    ck_assert_int_eq(rmdir(ground->scratch), 0);
}

/* Can anything be asked for ahead of this volume, by this build, here? */
static bool can_ask(struct ground *ground)
{
    struct hr_file file;
    if (!ground->place.is_counted || !hr__read_back_open_to_ask(&file, &ground->read_back, &ground->folder, "a"))
        return false;
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    return true;
}

static bool has_digest(const struct hr_digest *digest, size_t n)
{
    struct hr_hasher *hasher;
    unsigned char byte = (unsigned char)('a' + n);
    ck_assert_int_eq(hr_hasher_create(&hasher, HR_DIGEST_XXH128, NULL), HR_OK);
    for (size_t i = 0; i < sizes[n]; i++)
        hr_hasher_update(hasher, &byte, 1);
    struct hr_digest wanted = hr_hasher_finish(hasher);
    hr_hasher_destroy(hasher);
    return hr_digest_equal(&wanted, digest);
}

static bool take_first(struct ground *ground, struct hr_digest *digest)
{
    bool is_whole = hr__fetch_ahead_take(digest, &ground->ahead);
    (void)hr__copy_list_pop(&ground->list, ground->items);
    return is_whole;
}

/* Every copy but the empty one, for which no drive can be asked. */
static void take_all(struct ground *ground, bool can)
{
    for (size_t n = 0; n < COPIES; n++) {
        struct hr_digest digest;
        bool is_whole = take_first(ground, &digest);
        ck_assert_int_eq(is_whole, can && sizes[n] > 0);
        ck_assert(!is_whole || has_digest(&digest, n));
    }
}

START_TEST(copies_of_all_sizes_come_whole_and_in_their_order)
{
    struct ground ground;
    ground_begin(&ground);
    take_all(&ground, can_ask(&ground));
    ground_end(&ground);
}
END_TEST

/* With less under way, and stretch by stretch. */
START_TEST(copies_come_beside_writing)
{
    struct ground ground;
    ground_begin(&ground);
    atomic_store(&ground.place.is_writing, true);
    take_all(&ground, can_ask(&ground));
    ck_assert_uint_le(ground.ahead.under_way, HR_BLOCK_BYTES);
    ground_end(&ground);
}
END_TEST

/* One that grew or shrank since it was written is read the plain way, which says so; those behind it come. */
START_TEST(a_copy_of_another_size_does_not_come)
{
    struct ground ground;
    ground_begin(&ground);
    bool can = can_ask(&ground);
    ground.files[0].size_bytes++;
    ground.files[2].size_bytes--;
    ground.files[LARGE].size_bytes -= HR_BLOCK_BYTES;
    for (size_t n = 0; n < COPIES; n++) {
        struct hr_digest digest;
        bool is_right = ground.files[n].size_bytes == sizes[n] && sizes[n] > 0;
        ck_assert_int_eq(take_first(&ground, &digest), can && is_right);
    }
    ground_end(&ground);
}
END_TEST

START_TEST(a_turn_that_is_denied_ends_a_copy)
{
    struct ground ground;
    struct hr_digest digest;
    ground_begin(&ground);
    bool can = can_ask(&ground);
    ground.turns_max = 3; /* the fifth has two stretches */
    for (size_t n = 0; n < COPIES; n++)
        ck_assert_int_eq(take_first(&ground, &digest), can && sizes[n] > 0 && n != LARGE);
    ground_end(&ground);
}
END_TEST

START_TEST(what_was_asked_for_can_be_let_go_of)
{
    struct ground ground;
    struct hr_digest digest;
    ground_begin(&ground);
    bool can = can_ask(&ground);
    ck_assert_int_eq(take_first(&ground, &digest), can);
    ck_assert_int_eq(ground.ahead.under_way > 0, can);
    hr__fetch_ahead_drop(&ground.ahead);
    ck_assert_uint_eq(ground.ahead.under_way, 0);
    ck_assert_uint_eq(ground.ahead.copy_count, 0);
    ground_end(&ground);
}
END_TEST

HR_SUITE("transfer/fetch_ahead", gives_nothing_that_is_taken, the_whole_ring_can_be_had,
         copies_of_all_sizes_come_whole_and_in_their_order, copies_come_beside_writing,
         a_copy_of_another_size_does_not_come, a_turn_that_is_denied_ends_a_copy, what_was_asked_for_can_be_let_go_of)
