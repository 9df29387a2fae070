/* SPDX-License-Identifier: ISC */
/* Reading from several files at once: a device that is asked for one thing at a time is idle for the way there and back
 * of each. */
#ifndef HR_PLATFORM_ASYNC_READ_H
#define HR_PLATFORM_ASYNC_READ_H

#include "platform/file.h"

enum { HR_ASYNC_READS_MAX = 16 };

/* For one thread. */
struct hr_async_reads {
    unsigned long context; /* 0: none yet */
    bool has_none;         /* the system has none to give: each read is done when it is asked for */
    struct iocb *requests; /* by number */
    struct hr_async_read {
        bool is_under_way;
        size_t got;
    } reads[HR_ASYNC_READS_MAX];
};
void hr__async_reads_open(struct hr_async_reads *reads);
/* Waits for what is under way. */
void hr__async_reads_close(struct hr_async_reads *reads);

/* Asks for `size` bytes from the beginning of `file`, which was opened direct, under a number that is not under way.
 * Until it is waited for the file stays open and `into` is the device's. */
void hr__async_read_ask(struct hr_async_reads *reads, size_t number, const struct hr_file *file, void *into,
                        size_t size);
/* How many bytes came; 0 also when it failed: who wants to know why reads again, as hr__file_read_at does. */
size_t hr__async_read_wait(struct hr_async_reads *reads, size_t number);

#endif
