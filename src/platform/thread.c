/* SPDX-License-Identifier: ISC */
#include "platform/thread.h"

#include <assert.h>
#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <time.h>

#include "base/fault.h"
#include "base/units.h"
#include "platform/system.h"

/* Joining, locks and signals fail only when misused. */
static void must(int error)
{
    assert(error == 0);
    (void)error;
}

struct start {
    const char *name;
    void (*body)(void *);
    void *argument;
};

static void *run(void *memory)
{
    struct start start = *(struct start *)memory;
    free(memory);
    hr__variant_name_thread(start.name);
    start.body(start.argument);
    return NULL;
}

/* A new thread inherits the mask: signals stay with the caller's thread, whose handler asks the cancel. */
static int create_masked(pthread_t *handle, struct start *start)
{
    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    int error = pthread_create(handle, NULL, run, start);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return error;
}

enum hr_status hr__thread_start(struct hr_thread *thread, const char *name, void (*body)(void *), void *argument,
                                struct hr_fault *fault)
{
    *thread = (struct hr_thread){.started = false};
    struct start *start = malloc(sizeof *start);
    if (!start)
        return hr__fault_nomem(fault, "a thread");
    *start = (struct start){.name = name, .body = body, .argument = argument};
    int error = create_masked(&thread->handle, start);
    if (error) {
        free(start);
        return hr__fault_set(fault, HR_NOMEM, error, "cannot start the thread %s", name);
    }
    thread->started = true;
    return HR_OK;
}

void hr__thread_join(struct hr_thread *thread)
{
    if (thread->started)
        must(pthread_join(thread->handle, NULL));
    thread->started = false;
}

void hr__lock_init(struct hr_lock *lock)
{
    must(pthread_mutex_init(&lock->mutex, NULL));
}

void hr__lock_finish(struct hr_lock *lock)
{
    must(pthread_mutex_destroy(&lock->mutex));
}

void hr__lock_take(struct hr_lock *lock)
{
    must(pthread_mutex_lock(&lock->mutex));
}

void hr__lock_drop(struct hr_lock *lock)
{
    must(pthread_mutex_unlock(&lock->mutex));
}

void hr__signal_init(struct hr_signal *signal)
{
    pthread_condattr_t attributes;
    must(pthread_condattr_init(&attributes));
    must(pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC));
    must(pthread_cond_init(&signal->condition, &attributes));
    pthread_condattr_destroy(&attributes);
}

void hr__signal_finish(struct hr_signal *signal)
{
    must(pthread_cond_destroy(&signal->condition));
}

void hr__signal_wait(struct hr_signal *signal, struct hr_lock *lock)
{
    must(pthread_cond_wait(&signal->condition, &lock->mutex));
}

bool hr__signal_wait_until(struct hr_signal *signal, struct hr_lock *lock, int64_t until_ns)
{
    int64_t positive = until_ns > 0 ? until_ns : 0;
    const struct timespec until = {.tv_sec = (time_t)(positive / HR_NS_PER_S),
                                   .tv_nsec = (long)(positive % HR_NS_PER_S)};
    int error = pthread_cond_timedwait(&signal->condition, &lock->mutex, &until);
    assert(error == 0 || error == ETIMEDOUT);
    return error == 0;
}

void hr__signal_all(struct hr_signal *signal)
{
    must(pthread_cond_broadcast(&signal->condition));
}
