/* SPDX-License-Identifier: ISC */
/* Several reads at once: a device that is asked for one thing at a time is idle for the way there and back of each. */
#ifndef HR_PLATFORM_ASYNC_READ_H
#define HR_PLATFORM_ASYNC_READ_H

#include "platform/file.h"

enum { HR_ASYNC_READS_MAX = 16 };

/* For one thread. */
struct hr_async_reads {
    unsigned long context; /* 0: none yet */
    bool has_none;         /* the system has none to give: each read is done before send returns */
    struct iocb *requests; /* by number; kept until answered: a memory checker looks them up by an answer */
    struct hr_async_read {
        const struct hr_file *file;
        void *into;
        uint64_t offset;
        size_t size, got;
        bool is_under_way;
    } reads[HR_ASYNC_READS_MAX];
    size_t asked[HR_ASYNC_READS_MAX], asked_count; /* numbers, not sent yet */
};
void hr__async_reads_open(struct hr_async_reads *reads);
/* Waits for what is under way. */
void hr__async_reads_close(struct hr_async_reads *reads);

/* Asks for `size` bytes from `offset` of `file`, which was opened direct, under a number that is not under way. Until
 * it is waited for the file stays open where it is and `into` is the device's. */
void hr__async_read_ask(struct hr_async_reads *reads, size_t number, const struct hr_file *file, void *into,
                        uint64_t offset, size_t size);
/* What was asked for goes to the device, in one go. */
void hr__async_reads_send(struct hr_async_reads *reads);
/* Of what was sent, how many bytes came; 0 also when it failed: who wants to know why reads again, as hr__file_read_at
 * does. */
size_t hr__async_read_wait(struct hr_async_reads *reads, size_t number);

#endif
