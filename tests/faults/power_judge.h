/* SPDX-License-Identifier: ISC */
/* What stands in a place, judged by the bytes of the card it came from. Paths are relative to the working folder. */
#ifndef HR_TESTS_POWER_JUDGE_H
#define HR_TESTS_POWER_JUDGE_H

#include <stdbool.h>
#include <stddef.h>

enum { JUDGED_FILES_MAX = 256, JUDGED_TEXT = 1024 };

struct judged_file {
    char *path; /* on the card */
    unsigned char *bytes;
    size_t size;
    size_t in_bags, in_sequences; /* how often it stands right, under a final name */
};

struct judged {
    struct judged_file files[JUDGED_FILES_MAX];
    size_t file_count, right_count; /* the latter: of files that stand right in a bag */
    char wrong[JUDGED_TEXT];        /* the first final name with other bytes, "" */
    char lying[JUDGED_TEXT];        /* the first thing that a run left lying about, "" */
};

/* There is one card and one judge in a program. */
struct judged *judge_card(const char *card);
/* Looks at the place as it stands now. */
void judge_look(struct judged *judged, const char *place);

/* The copies the ledger calls proven: how many; the first that does not stand, "" when all do. */
size_t judge_memory(char gone[JUDGED_TEXT], const char *ledger);
bool judge_ledger_is_sound(const char *ledger);

/* Takes away all that is in the folder. */
void judge_empty(const char *folder);

#endif
