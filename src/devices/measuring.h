/* SPDX-License-Identifier: ISC */
/* One measurement under way, and the parts it is made of. */
#ifndef HR_DEVICES_MEASURING_H
#define HR_DEVICES_MEASURING_H

#include <headrace/devices.h>

#include "devices/measure_windows.h"
#include "platform/folder.h"
#include "platform/volume.h"

/* As the engine writes, reads back beside writing, and reads back alone. */
enum { HR_MEASURE_WRITE_BYTES = 1 << 20, HR_MEASURE_READ_BYTES = 4 << 20 };

struct hr_measuring {
    const struct hr_measure_options *options;
    const struct hr_cancel *cancel;
    struct hr_measurement *out;
    struct hr_volume volume;
    unsigned char *written, *read; /* of these sizes, aligned; the first is filled with what cannot be compressed */
    struct hr_folder scratch;      /* a drive's; closed on a card */
    uint64_t budget_bytes;         /* that may still be written */
    double seconds;                /* for each direction */
};

int64_t hr__measuring_until(double seconds);
/* Time is up, or the caller cancels. */
bool hr__measuring_is_over(const struct hr_measuring *measuring, int64_t until_ns);
/* Can memory be made to forget what was read, so that it may be read again? */
bool hr__measuring_forgets(const struct hr_measuring *measuring);
/* Tells the caller of the last window. */
void hr__measuring_tell(const struct hr_measuring *measuring, enum hr_direction direction,
                        const struct hr_windows *windows);
/* What the windows give, into the result. HR_NOMEM where some are lost. */
HR_MUST_USE enum hr_status hr__measuring_take(struct hr_measuring *measuring, enum hr_direction direction,
                                              const struct hr_windows *windows, bool from_memory,
                                              struct hr_fault *fault);

/* Reads existing files of a card. */
HR_MUST_USE enum hr_status hr__measure_card(struct hr_measuring *measuring, struct hr_fault *fault);
/* Writes and reads back files of its own below the measured path. */
HR_MUST_USE enum hr_status hr__measure_drive(struct hr_measuring *measuring, struct hr_fault *fault);

/* Writes small files and reads them back batch by batch, as the engine does, but one at a time. The caller finishes the windows, which
 * are zeroed before, in any case. */
HR_MUST_USE enum hr_status hr__measure_small(struct hr_windows *written, struct hr_windows *read_back,
                                             struct hr_measuring *measuring, struct hr_fault *fault);
/* What reading `written_bytes` of the first stream while writing another moves, in what either moves alone. */
HR_MUST_USE enum hr_status hr__measure_together(struct hr_measuring *measuring, uint64_t written_bytes,
                                                struct hr_fault *fault);

#endif
