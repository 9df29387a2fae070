/* SPDX-License-Identifier: ISC */
/* Linux native AIO, io_submit(2): all that one thread asks for a few small reads needs, and allowed where io_uring is
 * not. */
#include "platform/async_read.h"

#include <errno.h>
#include <linux/aio_abi.h>
#include <stdlib.h>
#include <sys/syscall.h>
#include <unistd.h>

void hr__async_reads_open(struct hr_async_reads *reads)
{
    *reads = (struct hr_async_reads){0};
}

/* Only when first asked for: to take a context back, the system waits for all processors (30 ms). */
static bool has_context(struct hr_async_reads *reads)
{
    aio_context_t context = 0;
    if (reads->context || reads->has_none)
        return reads->context != 0;
    reads->requests = calloc(HR_ASYNC_READS_MAX, sizeof *reads->requests);
    if (reads->requests && syscall(SYS_io_setup, HR_ASYNC_READS_MAX, &context) == 0)
        reads->context = context;
    reads->has_none = !reads->context;
    return reads->context != 0;
}

void hr__async_reads_close(struct hr_async_reads *reads)
{
    if (reads->context)
        (void)syscall(SYS_io_destroy, reads->context);
    reads->context = 0;
    free(reads->requests);
    reads->requests = NULL;
}

static bool submit(struct hr_async_reads *reads, size_t number, const struct hr_file *file, void *into, size_t size)
{
    if (!has_context(reads))
        return false;
    struct iocb *request = &reads->requests[number];
    *request = (struct iocb){.aio_lio_opcode = IOCB_CMD_PREAD,
                             .aio_fildes = (uint32_t)file->descriptor,
                             .aio_buf = (uint64_t)(uintptr_t)into,
                             .aio_nbytes = size,
                             .aio_data = number};
    return syscall(SYS_io_submit, reads->context, 1L, &request) == 1;
}

void hr__async_read_ask(struct hr_async_reads *reads, size_t number, const struct hr_file *file, void *into,
                        size_t size)
{
    struct hr_async_read *read = &reads->reads[number];
    read->is_under_way = submit(reads, number, file, into, size);
    if (!read->is_under_way && hr__file_read_at(&read->got, file, into, size, 0, NULL) != HR_OK)
        read->got = 0;
}

/* Nothing more can be learnt of what is under way: it ends, and counts as failed. */
static void give_up(struct hr_async_reads *reads)
{
    hr__async_reads_close(reads);
    reads->has_none = true;
    for (size_t i = 0; i < HR_ASYNC_READS_MAX; i++)
        if (reads->reads[i].is_under_way)
            reads->reads[i] = (struct hr_async_read){0};
}

static void take_some(struct hr_async_reads *reads)
{
    struct io_event events[HR_ASYNC_READS_MAX];
    long count = syscall(SYS_io_getevents, reads->context, 1L, (long)HR_ASYNC_READS_MAX, events, NULL);
    if (count < 0 && errno != EINTR)
        give_up(reads);
    for (long i = 0; i < count; i++)
        reads->reads[events[i].data] = (struct hr_async_read){.got = events[i].res > 0 ? (size_t)events[i].res : 0};
}

size_t hr__async_read_wait(struct hr_async_reads *reads, size_t number)
{
    while (reads->reads[number].is_under_way)
        take_some(reads);
    return reads->reads[number].got;
}
