/* SPDX-License-Identifier: ISC */
/* No two copies that are asked for at a time have a byte of memory in common. */
#include "transfer/fetch_ahead.h"

#include <stdlib.h>

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
    for (size_t i = 0; i < ring->count && size > 0; i++)
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
            size_t size = rand() % 3 ? border * (1 + (size_t)rand() % (rand() % 2 ? sizes_max : 20)) : 0;
            if (ring.count == 0 || rand() % 2)
                ck_assert(take(&ring, size) || ring.count > 0);
            else
                let_go(&ring);
        }
    }
}
END_TEST

/* A large copy, which needs no memory, between small ones that fill the ring to the last byte. */
START_TEST(a_large_copy_in_a_full_ring_frees_nothing)
{
    enum { HALF = HR_FETCH_AHEAD_BYTES / 2 };
    struct ring ring = {0};
    ck_assert(take(&ring, HALF));
    ck_assert(take(&ring, HALF));
    let_go(&ring);
    while (take(&ring, HALF))
        ;
    (void)take(&ring, 0);
    ck_assert(!take(&ring, HALF));
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

HR_SUITE("transfer/fetch_ahead", gives_nothing_that_is_taken, a_large_copy_in_a_full_ring_frees_nothing,
         the_whole_ring_can_be_had)
