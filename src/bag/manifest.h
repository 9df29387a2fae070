/* SPDX-License-Identifier: ISC */
/* The lines of manifest-ALGORITHM.txt and tagmanifest-ALGORITHM.txt (RFC 8493 section 2.1.3): a digest in hex, white
 * space, a path in which LF, CR and % stand as %0A, %0D and %25. Before version 1.0 the % stood as it is. Pure: no
 * file is touched here. */
#ifndef HR_BAG_MANIFEST_H
#define HR_BAG_MANIFEST_H

#include <headrace/digest.h>

#include "base/text.h"

void hr__manifest_append_path(struct hr_text *out, const char *path);
void hr__manifest_append_line(struct hr_text *out, const struct hr_digest *digest, const char *path);

/* Undoes the encoding in place. False when, in 1.0, some % is not one that the standard makes: it then stands as it is.
 */
bool hr__manifest_decode_path(char *path, bool is_v1);

struct hr_manifest_line {
    char *hex;
    char *path;        /* decoded, without a leading "./" */
    bool has_asterisk; /* "*path", as the checksum tools write binary files */
    bool has_dot;      /* "./path" */
    bool has_stray_percent;
};

enum hr_manifest_step { HR_MANIFEST_END, HR_MANIFEST_LINE, HR_MANIFEST_MALFORMED };

/* Takes the next line that is not empty off the text at *at (NUL-terminated and modified; *at moves on). The line's
 * strings point into it. Lines end in LF, CR or both. `kind` HR_DIGEST_NONE: any hex digits will do. */
enum hr_manifest_step hr__manifest_next(struct hr_manifest_line *line, char **at, enum hr_digest_kind kind, bool is_v1);

#endif
