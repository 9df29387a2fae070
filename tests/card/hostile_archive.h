/* SPDX-License-Identifier: ISC */
/* What is done to each kind of archive: cut anywhere, any byte wrong, changed while it is read. */
#ifndef HR_TESTS_HOSTILE_ARCHIVE_H
#define HR_TESTS_HOSTILE_ARCHIVE_H

#include "archive_writer.h"

/* Three files, the second empty, the third several thousand bytes long. */
enum { HOSTILE_FILES = 3, HOSTILE_LAST_BYTES = 7001 };
struct hostile_file {
    const char *path;
    const char *body;
    size_t size;
};
extern const struct hostile_file hostile_files[HOSTILE_FILES];
#define HOSTILE_BODY(i) .body = hostile_files[i].body, .body_size = hostile_files[i].size

/* `archive` holds the three files, byte for byte. Cut to each length that `step` comes to, it may not pass: opening it,
 * walking it, a skip or reading tells, unless no more than `padding` bytes of its end are missing. */
void hostile_cut(const struct archive_writer *archive, const char *name, size_t step, size_t padding);

enum hostile_protection { HOSTILE_CONTENT_IS_PROTECTED, HOSTILE_CONTENT_IS_NOT_PROTECTED };
/* With one bit wrong of each `step`th byte from `from` on, all comes to an end: names lead nowhere, and a file gives as
 * many bytes as it says. Where a check sum protects content, a file that reads well under its own name gives its own
 * bytes. */
void hostile_flip(const struct archive_writer *archive, const char *name, size_t from, size_t step,
                  enum hostile_protection protection);
/* Written to, cut, removed or replaced after the walk, before or while it is read. */
void hostile_change(const struct archive_writer *archive, const char *name);

#endif
