/* SPDX-License-Identifier: ISC */
/* Threads, locks and signals between them, over POSIX threads. Starting can fail; locking cannot (assert). */
#ifndef HR_PLATFORM_THREAD_H
#define HR_PLATFORM_THREAD_H

#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>

#include <headrace/status.h>

struct hr_thread {
    pthread_t handle;
    bool started;
};
/* `name` (up to 15 characters) shows in debuggers. HR_NOMEM when the system gives no thread. All signals are blocked in
 * it. */
HR_MUST_USE enum hr_status hr__thread_start(struct hr_thread *thread, const char *name, void (*body)(void *),
                                            void *argument, struct hr_fault *fault);
/* Waits for its end; nothing to do when it was never started. */
void hr__thread_join(struct hr_thread *thread);

struct hr_lock {
    pthread_mutex_t mutex;
};
/* Of one that lasts as long as the program: neither init nor finish. */
#define HR_LOCK_READY {.mutex = PTHREAD_MUTEX_INITIALIZER}
void hr__lock_init(struct hr_lock *lock);
void hr__lock_finish(struct hr_lock *lock);
void hr__lock_take(struct hr_lock *lock);
void hr__lock_drop(struct hr_lock *lock);

/* Waits on the monotonic clock. */
struct hr_signal {
    pthread_cond_t condition;
};
void hr__signal_init(struct hr_signal *signal);
void hr__signal_finish(struct hr_signal *signal);
void hr__signal_wait(struct hr_signal *signal, struct hr_lock *lock);
/* False when `until_ns` (hr__clock_now_ns) passed first. */
bool hr__signal_wait_until(struct hr_signal *signal, struct hr_lock *lock, int64_t until_ns);
void hr__signal_all(struct hr_signal *signal);

#endif
