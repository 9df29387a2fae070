/* SPDX-License-Identifier: ISC */
#include "platform/terminal.h"

#include <signal.h>
#include <stdatomic.h>
#include <stddef.h>

#include <headrace/cancel.h>

static const int caught_signals[] = {SIGINT, SIGTERM, SIGHUP};
enum { CAUGHT_COUNT = sizeof caught_signals / sizeof *caught_signals };

/* A signal belongs to the process, not to a job: the one place where state is the process's too. */
static struct {
    _Atomic(struct hr_cancel *) cancel;
    atomic_int first;
    struct sigaction before[CAUGHT_COUNT], pipe_before;
} interrupt;

_Static_assert(ATOMIC_POINTER_LOCK_FREE == 2 && ATOMIC_INT_LOCK_FREE == 2, "the handler reads and writes them");

static void handle(int signal_number)
{
    int none = 0;
    bool is_first = atomic_compare_exchange_strong(&interrupt.first, &none, signal_number);
    if (is_first)
        hr_cancel_request(atomic_load(&interrupt.cancel));
    else if (signal_number == SIGINT)
        hr__interrupt_die(SIGINT);
}

static void catch_all(void)
{
    struct sigaction action = {.sa_handler = handle, .sa_flags = SA_RESTART};
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < CAUGHT_COUNT; i++) {
        sigaction(caught_signals[i], NULL, &interrupt.before[i]);
        /* What the caller ignores (nohup) stays ignored. */
        if (interrupt.before[i].sa_handler != SIG_IGN)
            sigaction(caught_signals[i], &action, NULL);
    }
    const struct sigaction ignore = {.sa_handler = SIG_IGN};
    sigaction(SIGPIPE, &ignore, &interrupt.pipe_before);
}

static void let_go(void)
{
    for (size_t i = 0; i < CAUGHT_COUNT; i++)
        sigaction(caught_signals[i], &interrupt.before[i], NULL);
    sigaction(SIGPIPE, &interrupt.pipe_before, NULL);
}

void hr__interrupt_catch(struct hr_cancel *cancel)
{
    bool was_catching = atomic_load(&interrupt.cancel) != NULL;
    if (cancel) {
        atomic_store(&interrupt.first, 0);
        atomic_store(&interrupt.cancel, cancel);
        if (!was_catching)
            catch_all();
    } else if (was_catching) {
        let_go();
        atomic_store(&interrupt.cancel, NULL);
    }
}

int hr__interrupt_caught(void)
{
    return atomic_load(&interrupt.first);
}

void hr__interrupt_die(int signal_number)
{
    sigset_t only;
    sigemptyset(&only);
    sigaddset(&only, signal_number);
    signal(signal_number, SIG_DFL);
    raise(signal_number);
    pthread_sigmask(SIG_UNBLOCK, &only, NULL);
}
