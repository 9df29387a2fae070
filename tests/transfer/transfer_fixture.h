/* SPDX-License-Identifier: ISC */
/* A card and places in a scratch folder, and a job over them. */
#ifndef HR_TESTS_TRANSFER_FIXTURE_H
#define HR_TESTS_TRANSFER_FIXTURE_H

#include <headrace/transfer.h>

struct fixture {
    char scratch[256];
    struct hr_card *card;
    struct hr_inventory *inventory;
    struct hr_transfer_job job;
    struct hr_transfer_card job_card;
    struct hr_transfer_sink sinks[HR_PLACES_MAX];
    char data[HR_PLACES_MAX][300], aside[HR_PLACES_MAX][300];
    size_t settled, complaints;
    size_t cards_started, cards_free, cards_settled; /* calls of the observer */
    struct hr_fault first_complaint;
    struct hr_transfer_progress last;
};

/* `path` below the scratch folder, in a buffer good until the fourth next call. */
const char *fixture_path(const struct fixture *fixture, const char *path);
void fixture_write(const struct fixture *fixture, const char *path, size_t size, unsigned seed);
/* True when the two files hold the same bytes. */
bool fixture_same(const struct fixture *fixture, const char *a, const char *b);
bool fixture_exists(const struct fixture *fixture, const char *path);
/* Number of files below `path` whose name ends in ".part". */
size_t fixture_parts(const struct fixture *fixture, const char *path);

void fixture_begin(struct fixture *fixture);
/* Opens card/ and makes `places` sinks p0, p1 ... each wanting every file. */
void fixture_job(struct fixture *fixture, size_t places);
enum hr_status fixture_run(struct fixture *fixture, const struct hr_cancel *cancel);
void fixture_end(struct fixture *fixture);
/* Index of the item with this path. */
size_t fixture_item(const struct fixture *fixture, const char *path);

#endif
