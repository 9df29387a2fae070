/* SPDX-License-Identifier: ISC */
/* A folder for one test, under $TMPDIR, else where the test runs. */
#ifndef HR_TESTS_PLATFORM_FIXTURE_H
#define HR_TESTS_PLATFORM_FIXTURE_H

#include "platform/folder.h"

struct scratch {
    char path[512];
    struct hr_folder folder;
};

void scratch_begin(struct scratch *scratch);
/* Takes it away with all that is in it. */
void scratch_end(struct scratch *scratch);

/* Makes the folders on the way to `name` and writes the file. */
void scratch_write(struct scratch *scratch, const char *name, const void *bytes, size_t size);
void scratch_write_text(struct scratch *scratch, const char *name, const char *text);
/* "SCRATCH/name", valid until the next call. */
const char *scratch_path(const struct scratch *scratch, const char *name);

#endif
