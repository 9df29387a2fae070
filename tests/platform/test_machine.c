/* SPDX-License-Identifier: ISC */
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/units.h"
#include "platform/clock.h"
#include "platform/machine.h"
#include "platform/thread.h"
#include "suite.h"

START_TEST(never_runs_backwards)
{
    int64_t last = hr__clock_now_ns();
    for (int i = 0; i < 1000; i++) {
        int64_t now = hr__clock_now_ns();
        ck_assert_int_ge(now, last);
        last = now;
    }
    hr__clock_sleep_ns(2000000);
    ck_assert_int_ge(hr__clock_now_ns(), last + 2000000);
    hr__clock_sleep_ns(-1);
    ck_assert_int_gt(hr__clock_wall_ns(), 1700000000LL * HR_NS_PER_S);
}
END_TEST

START_TEST(gives_local_civil_time)
{
    /* Seconds of POSIX.1-2017 section 4.16; the offset is that of TZ, whose sign is reversed (section 8.3). */
    static const struct {
        const char *zone;
        int64_t ns;
        struct hr_civil civil;
    } rows[] = {
        {"UTC0", 0, {1970, 1, 1, 0, 0, 0, 0}},
        {"UTC0", -1, {1969, 12, 31, 23, 59, 59, 0}},
        {"UTC0", 951782400 * HR_NS_PER_S, {2000, 2, 29, 0, 0, 0, 0}},
        {"XXX-2", 951782400 * HR_NS_PER_S, {2000, 2, 29, 2, 0, 0, 120}},
        {"XXX3:30", 951782400 * HR_NS_PER_S, {2000, 2, 28, 20, 30, 0, -210}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        setenv("TZ", rows[i].zone, 1);
        struct hr_civil civil = hr__clock_civil(rows[i].ns), wanted = rows[i].civil;
        ck_assert_int_eq(civil.year, wanted.year);
        ck_assert_int_eq(civil.month, wanted.month);
        ck_assert_int_eq(civil.day, wanted.day);
        ck_assert_int_eq(civil.hour, wanted.hour);
        ck_assert_int_eq(civil.minute, wanted.minute);
        ck_assert_int_eq(civil.second, wanted.second);
        ck_assert_int_eq(civil.offset_minutes, wanted.offset_minutes);
        ck_assert_int_eq(hr__clock_civil_utc(rows[i].ns + wanted.offset_minutes * 60 * HR_NS_PER_S).hour, wanted.hour);
    }
}
END_TEST

START_TEST(keeps_state_where_the_user_says)
{
    static const struct {
        const char *state, *home, *folder;
    } rows[] = {
        {"/s", "/h", "/s/headrace"},
        {"", "/h", "/h/.local/state/headrace"},
        {"relative", "/h", "/h/.local/state/headrace"},
        {NULL, "/h", "/h/.local/state/headrace"},
    };
    char *folder = NULL;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        unsetenv("XDG_STATE_HOME");
        if (rows[i].state)
            setenv("XDG_STATE_HOME", rows[i].state, 1);
        setenv("HOME", rows[i].home, 1);
        ck_assert_int_eq(hr__state_folder(&folder, NULL), HR_OK);
        ck_assert_str_eq(folder, rows[i].folder);
        free(folder);
    }
    unsetenv("HOME");
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__state_folder(&folder, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "HOME"));
}
END_TEST

START_TEST(knows_its_machine)
{
    ck_assert_uint_ge(hr__processor_count(), 1);
    char name[256], short_name[3];
    hr__host_name(name, sizeof name);
    hr__host_name(short_name, sizeof short_name);
    ck_assert_uint_gt(strlen(name), 0);
    ck_assert_uint_le(strlen(short_name), 2);
    ck_assert_int_eq(strncmp(name, short_name, strlen(short_name)), 0);
}
END_TEST

START_TEST(gives_memory_on_a_page_border)
{
    enum { SIZE = 32 << 20 };
    char *memory = hr__aligned_alloc(SIZE);
    ck_assert_uint_eq((uintptr_t)memory % 4096, 0);
    memset(memory, 1, SIZE);
    hr__aligned_free(memory);
    hr__aligned_free(NULL);
}
END_TEST

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

HR_SUITE("platform/machine", never_runs_backwards, gives_local_civil_time, keeps_state_where_the_user_says,
         knows_its_machine, gives_memory_on_a_page_border, counts_right_under_a_lock,
         stops_waiting_when_the_time_is_over, leaves_signals_to_the_thread_that_started_the_others)
