/* SPDX-License-Identifier: ISC */
/* A ledger in a folder of its own, and entries from the final at Northmere to put into it. */
#ifndef HR_TESTS_LEDGER_FIXTURE_H
#define HR_TESTS_LEDGER_FIXTURE_H

#include <headrace/ledger.h>

enum { FIXTURE_PATH_SIZE = 512 };

struct fixture {
    char folder[FIXTURE_PATH_SIZE];
    char path[FIXTURE_PATH_SIZE]; /* of the ledger: folder/state/ledger.db */
    char log[FIXTURE_PATH_SIZE];  /* of its write-ahead log */
};
void fixture_init(struct fixture *fixture);
void fixture_finish(struct fixture *fixture);

/* Open and make, or the test has failed. */
struct hr_ledger *fixture_open(const struct fixture *fixture);
int64_t fixture_add_bag(struct hr_ledger *ledger, const char *volume);
void fixture_add_copy(struct hr_ledger *ledger, const struct hr_ledger_file *file, int64_t bag, int64_t proven_at_ns);

/* The `number`-th frame of body A; its digests follow from `content`. */
struct hr_ledger_file frame(char path[32], unsigned number, unsigned content);

/* What a look-up told. */
struct told {
    enum hr_status status;
    size_t count;
    int64_t bags[8], proven_at_ns[8];
    enum hr_proof proof; /* of the last, as the path */
    char path[64];
    struct hr_ledger_file digests;
};
struct told find_copies(struct hr_ledger *ledger, const struct hr_ledger_file *file);
struct told find_content(struct hr_ledger *ledger, const struct hr_ledger_file *file);
struct told find_namesakes(struct hr_ledger *ledger, const struct hr_ledger_file *file);

/* Runs SQL on the file behind the ledger's back. */
void fixture_sql(const struct fixture *fixture, const char *sql);
int64_t fixture_number(const struct fixture *fixture, const char *sql);

#endif
