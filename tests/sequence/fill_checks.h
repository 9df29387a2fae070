/* SPDX-License-Identifier: ISC */
/* Filling a scratch folder, and what stands there afterwards. Names are below the scratch folder. */
#ifndef HR_TESTS_FILL_CHECKS_H
#define HR_TESTS_FILL_CHECKS_H

#include <sys/types.h>

#include "../platform/platform_fixture.h"
#include "fill_stage.h"

#define JOB "Cup final"
#define SEQUENCES JOB "/sequences/"
#define DATA JOB "/" STAGE_BAG "/data/DCIM/100NMERE/"

/* A stage whose only place is the scratch folder. */
struct stage *begin(struct scratch *scratch);
void end(struct scratch *scratch, struct stage *stage);

struct hr_filled *fill(const struct stage *stage, enum hr_fill way);
void fill_and_forget(const struct stage *stage, enum hr_fill way);

bool stands(const struct scratch *scratch, const char *name);
ino_t inode_of(const struct scratch *scratch, const char *name);
size_t entries_in(const struct scratch *scratch, const char *name);
/* The caller frees. */
char *content_of(const struct scratch *scratch, const char *name);
void expect_content(const struct scratch *scratch, const char *name, const char *expected);

#endif
