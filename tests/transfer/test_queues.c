/* SPDX-License-Identifier: ISC */
/* The pool, the queues and the outbox between the threads of a run. */
#include <string.h>

#include "platform/clock.h"
#include "suite.h"
#include "transfer/block_pool.h"
#include "transfer/event_queue.h"
#include "transfer/outbox.h"

START_TEST(gives_a_block_back_when_its_last_user_lets_go)
{
    struct hr_block_pool pool;
    ck_assert_int_eq(hr__block_pool_init(&pool, 2, NULL), HR_OK);
    struct hr_block *block = hr__block_pool_take(&pool);
    hr__block_pool_share(block, 2);
    hr__block_pool_release(&pool, block);
    hr__block_pool_release(&pool, block);
    ck_assert_uint_eq(hr__block_pool_free_count(&pool), 1);
    hr__block_pool_release(&pool, block);
    ck_assert_uint_eq(hr__block_pool_free_count(&pool), 2);
    ck_assert_uint_eq((uintptr_t)block->bytes % 4096, 0);
    hr__block_pool_finish(&pool);
}
END_TEST

struct pusher {
    struct hr_piece_queue *queue;
    uint32_t count;
};

/* More than the queue holds, in handfuls of 64. */
static void push_many(void *context)
{
    struct pusher *pusher = context;
    struct hr_outbox outbox = {.queue = pusher->queue};
    for (uint32_t i = 0; i < pusher->count; i++)
        hr__outbox_add(&outbox, &(struct hr_piece){.item = i, .size = 3});
    hr__outbox_deliver(&outbox);
    hr__piece_queue_close(pusher->queue);
}

START_TEST(hands_every_piece_over_in_order_through_a_queue_that_is_often_full)
{
    static struct hr_piece_queue queue;
    struct pusher pusher = {&queue, 5 * HR_PIECE_QUEUE_SIZE + 7};
    struct hr_thread thread = {0};
    struct hr_piece piece;
    uint32_t expected = 0;
    hr__piece_queue_init(&queue);
    ck_assert_int_eq(hr__thread_start(&thread, "pusher", push_many, &pusher, NULL), HR_OK);
    while (hr__piece_queue_pop(&queue, &piece))
        ck_assert_uint_eq(piece.item, expected++);
    ck_assert_uint_eq(expected, pusher.count);
    ck_assert_uint_eq(hr__piece_queue_bytes(&queue), 0);
    hr__thread_join(&thread);
    hr__piece_queue_finish(&queue);
}
END_TEST

START_TEST(counts_the_bytes_that_wait)
{
    static struct hr_piece_queue queue;
    const struct hr_piece pieces[] = {{.size = 100}, {.size = 23}};
    struct hr_piece piece;
    hr__piece_queue_init(&queue);
    hr__piece_queue_push(&queue, pieces, 2);
    ck_assert_uint_eq(hr__piece_queue_bytes(&queue), 123);
    ck_assert(hr__piece_queue_pop(&queue, &piece));
    ck_assert_uint_eq(hr__piece_queue_bytes(&queue), 23);
    hr__piece_queue_finish(&queue);
}
END_TEST

START_TEST(tells_what_was_posted_in_order_with_its_fault)
{
    struct hr_event_queue queue;
    struct hr_fault fault = {.status = HR_IO, .text = "why"};
    bool ended = true;
    hr__event_queue_init(&queue);
    hr__event_thread_starts(&queue);
    hr__event_post(&queue, &(struct hr_event){.kind = HR_POSTED_READ, .item = 1}, NULL);
    hr__event_post(&queue, &(struct hr_event){.kind = HR_POSTED_FAILED, .item = 2}, &fault);
    struct hr_event *events = hr__event_take_all(&ended, &queue, hr__clock_now_ns());
    ck_assert(!ended && events->item == 1 && events->next->item == 2 && !events->next->next);
    ck_assert_str_eq(events->next->fault->text, "why");
    hr__event_free(events->next);
    hr__event_free(events);
    hr__event_post(&queue, &(struct hr_event){.kind = HR_POSTED_READ, .item = 3}, NULL);
    hr__event_thread_ends(&queue);
    events = hr__event_take_all(&ended, &queue, INT64_MAX / 2);
    ck_assert(ended && events && events->item == 3);
    hr__event_free(events);
    hr__event_queue_finish(&queue);
}
END_TEST

HR_SUITE("transfer/queues", gives_a_block_back_when_its_last_user_lets_go,
         hands_every_piece_over_in_order_through_a_queue_that_is_often_full, counts_the_bytes_that_wait,
         tells_what_was_posted_in_order_with_its_fault)
