/* SPDX-License-Identifier: ISC */
/* Tag files of others may be encoded otherwise than in UTF-8; bagit.txt says how (RFC 8493 section 2.1.1). Pure. */
#ifndef HR_BAG_TAG_ENCODING_H
#define HR_BAG_TAG_ENCODING_H

#include "base/text.h"

/* Replaces *text (owned, malloc, NUL-terminated) by its UTF-8 form. UTF-8 and ASCII stay as they are but for a
 * byte-order mark; ISO-8859-1, UTF-16, UTF-16LE and UTF-16BE are converted. HR_UNSUPPORTED for any other encoding,
 * HR_MALFORMED for half a character, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__tag_text_to_utf8(char **text, size_t *size, const char *encoding);

#endif
