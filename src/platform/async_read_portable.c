/* SPDX-License-Identifier: ISC */
#include "platform/async_read.h"

void hr__async_reads_open(struct hr_async_reads *reads)
{
    *reads = (struct hr_async_reads){0};
}

void hr__async_reads_close(struct hr_async_reads *reads)
{
    (void)reads;
}

void hr__async_read_ask(struct hr_async_reads *reads, size_t number, const struct hr_file *file, void *into,
                        uint64_t offset, size_t size)
{
    struct hr_async_read *read = &reads->reads[number];
    if (hr__file_read_at(&read->got, file, into, size, offset, NULL) != HR_OK)
        read->got = 0;
}

void hr__async_reads_send(struct hr_async_reads *reads)
{
    (void)reads;
}

size_t hr__async_read_wait(struct hr_async_reads *reads, size_t number)
{
    return reads->reads[number].got;
}
