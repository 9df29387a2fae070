/* SPDX-License-Identifier: ISC */
/* Rows of comma-separated values as RFC 4180 has them, LF at the end of a row.
 *
 * Names are escaped (<headrace/name.h>) before they come here, so a row never holds a line break and a file of rows can
 * be read, cut and joined by line. A field is quoted when it holds a comma or a quote. */
#ifndef HR_BASE_CSV_H
#define HR_BASE_CSV_H

#include <stddef.h>

#include "base/text.h"

/* Appends one field, as it stands in a row, without a comma. */
void hr__csv_append_field(struct hr_text *out, const char *field);
/* Appends one row. No field may be NULL or hold LF, CR or NUL (assert). */
void hr__csv_append_row(struct hr_text *out, const char *const *fields, size_t field_count);

/* Splits one row in place (`row` without its LF, NUL-terminated, is modified). True when there are exactly
 * `field_count` fields and every quote is closed; fields[i] then point into `row`. */
bool hr__csv_split_row(char *row, char **fields, size_t field_count);

#endif
