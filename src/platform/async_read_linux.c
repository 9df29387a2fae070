/* SPDX-License-Identifier: ISC */
/* Linux native AIO, io_submit(2): all that one thread needs for a few reads, and allowed where io_uring is
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

void hr__async_read_ask(struct hr_async_reads *reads, size_t number, const struct hr_file *file, void *into,
                        uint64_t offset, size_t size)
{
    reads->reads[number] = (struct hr_async_read){.file = file, .into = into, .offset = offset, .size = size};
    reads->asked[reads->asked_count++] = number;
}

/* How many of those that were asked for the system took. */
static size_t submit(struct hr_async_reads *reads)
{
    struct iocb *requests[HR_ASYNC_READS_MAX];
    if (!has_context(reads))
        return 0;
    for (size_t i = 0; i < reads->asked_count; i++) {
        const struct hr_async_read *read = &reads->reads[reads->asked[i]];
        requests[i] = &reads->requests[reads->asked[i]];
        *requests[i] = (struct iocb){.aio_lio_opcode = IOCB_CMD_PREAD,
                                     .aio_fildes = (uint32_t)read->file->descriptor,
                                     .aio_buf = (uint64_t)(uintptr_t)read->into,
                                     .aio_nbytes = read->size,
                                     .aio_offset = (int64_t)read->offset,
                                     .aio_data = reads->asked[i]};
    }
    long taken = syscall(SYS_io_submit, reads->context, (long)reads->asked_count, requests);
    return taken > 0 ? (size_t)taken : 0;
}

void hr__async_reads_send(struct hr_async_reads *reads)
{
    size_t taken = reads->asked_count ? submit(reads) : 0;
    for (size_t i = 0; i < reads->asked_count; i++) {
        struct hr_async_read *read = &reads->reads[reads->asked[i]];
        read->is_under_way = i < taken;
        if (i >= taken && hr__file_read_at(&read->got, read->file, read->into, read->size, read->offset, NULL) != HR_OK)
            read->got = 0;
    }
    reads->asked_count = 0;
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
