/* SPDX-License-Identifier: ISC */
/* Tag files of "Label: value" lines (RFC 8493 sections 2.1.1 and 2.2.2): bagit.txt and bag-info.txt. Pure. */
#ifndef HR_BAG_TAG_FILE_H
#define HR_BAG_TAG_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

struct hr_tag {
    const char *label, *value; /* value without white space at its ends; continued lines joined by one space */
};
struct hr_tags {
    char *text; /* owned; the tags point into it */
    struct hr_tag *tags;
    size_t count, capacity;
    size_t malformed_lines; /* neither "Label: value" nor a continuation */
};

/* HR_NOMEM; nothing else fails. `text` needs no NUL. Finish takes a zeroed one. */
HR_MUST_USE enum hr_status hr__tags_parse(struct hr_tags *out, const char *text, size_t size);
void hr__tags_finish(struct hr_tags *tags);
/* The first with this label, letters of either case; NULL when there is none. *count (may be NULL): how many there are.
 */
const char *hr__tags_find(const struct hr_tags *tags, const char *label, size_t *count);

/* True for a value that comes back as it was: no control character, no white space at its ends. */
bool hr__tag_value_is_fit(const char *value);
void hr__tag_append(struct hr_text *out, const char *label, const char *value);

/* bagit.txt. */
struct hr_declaration {
    unsigned major, minor;
    char encoding[32];
    const char *complaint; /* what rule it breaks, NULL: none */
};
extern const char hr__declaration_text[]; /* ours */
/* HR_NOMEM alone fails. */
HR_MUST_USE enum hr_status hr__declaration_parse(struct hr_declaration *out, const char *text, size_t size);
/* Where the complaint is NULL: are the rules of 1.0 those that hold? */
bool hr__declaration_is_v1(const struct hr_declaration *declaration);
bool hr__declaration_is_known(const struct hr_declaration *declaration);

#endif
