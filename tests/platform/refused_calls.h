/* SPDX-License-Identifier: ISC */
/* System calls that fail on purpose. The kernel itself refuses them (seccomp(2)), to one thread alone, so whatever way
 * the code under test takes to a call is met, and nothing else in the program. */
#ifndef HR_TESTS_REFUSED_CALLS_H
#define HR_TESTS_REFUSED_CALLS_H

#include <stddef.h>
#include <sys/syscall.h>

struct refusal {
    long call;         /* SYS_... */
    int error;         /* what it gives */
    unsigned argument; /* with `bits`: only when the argument of this number has one of them */
    unsigned bits;     /* 0: always */
};

/* Runs `body` in a thread to which the calls are refused. */
void run_refused(const struct refusal *refusals, size_t count, void (*body)(void *), void *argument);

/* run_refused of a list written out. */
#define RUN_REFUSED(body, argument, ...)                                                                               \
    run_refused((const struct refusal[]){__VA_ARGS__},                                                                 \
                sizeof((const struct refusal[]){__VA_ARGS__}) / sizeof(struct refusal), body, argument)

#endif
