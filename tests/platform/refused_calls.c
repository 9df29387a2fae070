/* SPDX-License-Identifier: ISC */
#include "refused_calls.h"

#include <check.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <pthread.h>
#include <stdlib.h>
#include <sys/prctl.h>

struct run {
    const struct refusal *refusals;
    size_t count;
    void (*body)(void *);
    void *argument;
};

enum { PART = 5 };

/* For each refusal: is it this call, has its argument one of the bits? Little-endian: the low half comes first. */
static void write_part(struct sock_filter *part, const struct refusal *refusal)
{
    const unsigned call_at = offsetof(struct seccomp_data, nr);
    const unsigned argument_at = (unsigned)(offsetof(struct seccomp_data, args) + 8 * refusal->argument);
    const struct sock_filter filter[PART] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, call_at),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (unsigned)refusal->call, 0, 3),
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, argument_at),
        BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, refusal->bits, 0, 1),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | (unsigned)refusal->error),
    };
    for (size_t i = 0; i < PART; i++)
        part[i] = filter[i];
    if (!refusal->bits)
        part[3] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JA, 0, 0, 0);
}

static void *run(void *memory)
{
    const struct run *wanted = memory;
    struct sock_filter *filter = calloc(wanted->count * PART + 1, sizeof *filter);
    for (size_t i = 0; i < wanted->count; i++)
        write_part(&filter[i * PART], &wanted->refusals[i]);
    filter[wanted->count * PART] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
    const struct sock_fprog program = {.len = (unsigned short)(wanted->count * PART + 1), .filter = filter};
    ck_assert_int_eq(prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0), 0);
    ck_assert_int_eq(prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program), 0);
    free(filter);
    wanted->body(wanted->argument);
    return NULL;
}

void run_refused(const struct refusal *refusals, size_t count, void (*body)(void *), void *argument)
{
    struct run wanted = {.refusals = refusals, .count = count, .body = body, .argument = argument};
    pthread_t thread;
    ck_assert_int_eq(pthread_create(&thread, NULL, run, &wanted), 0);
    ck_assert_int_eq(pthread_join(thread, NULL), 0);
}
