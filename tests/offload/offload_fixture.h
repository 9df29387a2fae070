/* SPDX-License-Identifier: ISC */
/* A scratch folder with a card, two places and a ledger, for whole offloads over folders on one disk. */
#ifndef HR_TESTS_OFFLOAD_FIXTURE_H
#define HR_TESTS_OFFLOAD_FIXTURE_H

#include <headrace/headrace.h>

struct ground {
    char root[200];
    char card[256], places[2][256], ledger[256];
    struct hr_offload_options options;
    const char *card_list[2], *place_list[2];
};

void ground_begin(struct ground *ground);
void ground_end(struct ground *ground);
/* Makes or replaces a file below the root; `modified_s` is its time. */
void ground_write(const struct ground *ground, const char *path, const char *content, long modified_s);
/* Prepares; the test fails when that fails. */
struct hr_offload *ground_prepare(struct ground *ground);
/* Prepares and runs to the end. */
struct hr_offload *ground_run(struct ground *ground);
/* Does some refusal of the plan begin so? */
bool ground_is_refused(struct ground *ground, const char *part);
/* Files below `path` whose name is `name`, or all when NULL. */
size_t ground_count(const struct ground *ground, const char *path, const char *name);
/* The first file called `name` below `path`, in a static buffer; NULL when there is none. */
const char *ground_find(const struct ground *ground, const char *path, const char *name);

#endif
