/* SPDX-License-Identifier: ISC */
#include "platform/thread.h"

#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

#include "platform/clock.h"
#include "suite.h"

struct counter {
    struct hr_lock lock;
    struct hr_signal changed;
    /* guarded by lock */
    int value;
};

static void add_thousand(void *memory)
{
    struct counter *counter = memory;
    for (int i = 0; i < 1000; i++) {
        hr__lock_take(&counter->lock);
        counter->value++;
        hr__signal_all(&counter->changed);
        hr__lock_drop(&counter->lock);
    }
}

static void counter_init(struct counter *counter)
{
    *counter = (struct counter){.value = 0};
    hr__lock_init(&counter->lock);
    hr__signal_init(&counter->changed);
}

static void counter_finish(struct counter *counter)
{
    hr__signal_finish(&counter->changed);
    hr__lock_finish(&counter->lock);
}

START_TEST(counts_right_under_a_lock)
{
    struct counter counter;
    struct hr_thread threads[4] = {0};
    counter_init(&counter);
    for (int i = 0; i < 3; i++)
        ck_assert_int_eq(hr__thread_start(&threads[i], "adder", add_thousand, &counter, NULL), HR_OK);
    hr__lock_take(&counter.lock);
    while (counter.value < 3000)
        hr__signal_wait(&counter.changed, &counter.lock);
    hr__lock_drop(&counter.lock);
    for (int i = 0; i < 4; i++)
        hr__thread_join(&threads[i]);
    ck_assert_int_eq(counter.value, 3000);
    counter_finish(&counter);
}
END_TEST

START_TEST(stops_waiting_when_the_time_is_over)
{
    struct counter counter;
    counter_init(&counter);
    hr__lock_take(&counter.lock);
    int64_t until = hr__clock_now_ns() + 5000000;
    while (hr__signal_wait_until(&counter.changed, &counter.lock, until))
        continue;
    ck_assert_int_ge(hr__clock_now_ns(), until);
    ck_assert(!hr__signal_wait_until(&counter.changed, &counter.lock, -1));
    hr__lock_drop(&counter.lock);
    counter_finish(&counter);
}
END_TEST

static void read_mask(void *memory)
{
    pthread_sigmask(SIG_SETMASK, NULL, memory);
}

START_TEST(leaves_signals_to_the_thread_that_started_the_others)
{
    sigset_t inside, outside;
    struct hr_thread thread;
    sigemptyset(&inside);
    ck_assert_int_eq(hr__thread_start(&thread, "mask", read_mask, &inside, NULL), HR_OK);
    hr__thread_join(&thread);
    pthread_sigmask(SIG_SETMASK, NULL, &outside);
    ck_assert_int_eq(sigismember(&inside, SIGINT), 1);
    ck_assert_int_eq(sigismember(&inside, SIGTERM), 1);
    ck_assert_int_eq(sigismember(&outside, SIGINT), 0);
}
END_TEST

static void read_name(void *memory)
{
    int descriptor = open("/proc/thread-self/comm", O_RDONLY | O_CLOEXEC);
    ssize_t size = descriptor >= 0 ? read(descriptor, memory, 31) : 0;
    ((char *)memory)[size > 0 ? size : 0] = '\0';
    if (descriptor >= 0)
        close(descriptor);
}

/* The name is for debuggers: a build or a system may have no word for it, and then it stays the program's. */
START_TEST(bears_a_name_of_its_own_and_leaves_the_callers)
{
    char before[32], inside[32], after[32];
    struct hr_thread thread;
    read_name(before);
    ck_assert_int_eq(hr__thread_start(&thread, "card feed", read_name, inside, NULL), HR_OK);
    hr__thread_join(&thread);
    read_name(after);
    ck_assert_str_eq(before, after);
    ck_assert_msg(!strcmp(inside, "card feed\n") || !strcmp(inside, before), "%s", inside);
}
END_TEST

HR_SUITE("platform/thread", counts_right_under_a_lock, stops_waiting_when_the_time_is_over,
         leaves_signals_to_the_thread_that_started_the_others, bears_a_name_of_its_own_and_leaves_the_callers)
