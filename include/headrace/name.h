/* SPDX-License-Identifier: ISC */
/* Names on cards are bytes. Wherever one is shown, or written into text (JSON, CSV, faults), it goes through one
 * reversible rule: the bytes of `%`, of control characters (0x00-0x1F, 0x7F, U+0080-U+009F) and all that are not part
 * of well-formed UTF-8 (RFC 3629) become %XX with upper-case hex digits; all else stands as it is. Percent-decoding
 * gives the bytes back. */
#ifndef HEADRACE_NAME_H
#define HEADRACE_NAME_H

#include <stddef.h>

#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Writes the escaped form of the `size` bytes at `name` into `out`, cut at an escape or character border so that with
 * its NUL it fits `out_size` (> 0). Returns the length the whole form has, as snprintf does. At most 3 * size. */
HR_API size_t hr_escape_name(char *out, size_t out_size, const char *name, size_t size);

/* The way back: returns the number of bytes, never more than strlen(text), written to `out` (at least that large, not
 * NUL-terminated). HR_MALFORMED where a `%` is not followed by two hex digits. `out` may be `text` itself. */
HR_API HR_MUST_USE enum hr_status hr_unescape_name(char *out, size_t *out_size, const char *text);

#ifdef __cplusplus
}
#endif
#endif
