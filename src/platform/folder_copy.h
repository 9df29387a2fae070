/* SPDX-License-Identifier: ISC */
#ifndef HR_PLATFORM_FOLDER_COPY_H
#define HR_PLATFORM_FOLDER_COPY_H

#include "platform/folder.h"

enum hr_copying { HR_COPY_BYTES, HR_COPY_SHARES_BLOCKS /* reflink: no room until one of the two is changed */ };

/* A copy of the file `from` at `to`, both below `folder`, durable but for its name, with the time of the original.
 * HR_EXISTS when `to` stands; HR_DIFFERS when `from` has another size than `size_bytes` or changes meanwhile;
 * HR_UNSUPPORTED where the filesystem shares no blocks; HR_FULL and the like. A failed copy is taken away. */
HR_MUST_USE enum hr_status hr__folder_copy(const struct hr_folder *folder, const char *from, const char *to,
                                           uint64_t size_bytes, enum hr_copying how, struct hr_fault *fault);

#endif
