/* SPDX-License-Identifier: ISC */
/* files.csv: one row a proven file, the journal while the bag is being made and the log in it afterwards.
 *
 * A row counts when it is whole: one line, all fields there and right. What a crash tore is dropped, and the file
 * itself is found again under data/. */
#ifndef HR_BAG_JOURNAL_H
#define HR_BAG_JOURNAL_H

#include <headrace/bag.h>

#include "base/text.h"
#include "platform/folder.h"

extern const char hr__journal_header[]; /* with its LF */

struct hr_journal {
    char *text;               /* owned; the rows' paths point into it */
    struct hr_bag_file *rows; /* sorted by path bytes, each path once (the row proven last) */
    size_t count, capacity;
    bool is_damaged; /* some line was dropped, or the last has no end */
};

/* False for a row that cannot stand in the file: no XXH128 digest, an unknown proof, a path that leaves the bag. */
bool hr__journal_row_is_fit(const struct hr_bag_file *row);
void hr__journal_append_row(struct hr_text *out, const struct hr_bag_file *row);

/* Takes `text` over (malloc, NUL-terminated, `size` bytes), also when it fails. HR_NOMEM alone fails. */
HR_MUST_USE enum hr_status hr__journal_parse(struct hr_journal *out, char *text, size_t size);
/* Reads `name` in `folder`; on HR_OK the caller releases *out. HR_NOT_FOUND, HR_TOO_LARGE and what reading says. */
HR_MUST_USE enum hr_status hr__journal_load(struct hr_journal *out, const struct hr_folder *folder, const char *name,
                                            struct hr_fault *fault);
void hr__journal_finish(struct hr_journal *journal);
const struct hr_bag_file *hr__journal_find(const struct hr_journal *journal, const char *path);
/* Makes the open file hold these rows and nothing else, durably. */
HR_MUST_USE enum hr_status hr__journal_rewrite(const struct hr_journal *journal, const struct hr_file *file,
                                               struct hr_fault *fault);

#endif
