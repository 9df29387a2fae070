/* SPDX-License-Identifier: ISC */
/* One way through an archive, entry after entry, from the first.
 *
 * Taken are tar, zip and ISO 9660 as they stand, not compressed as a whole: libarchive does not look at the check sum
 * of a gzip stream (3.6.2), and a file proven in two places would then be a damaged one. A zip must have its central
 * directory and a tar its end, or what is missing at the end would not be missed.
 *
 * Names are bytes. libarchive would convert those it knows the encoding of to the locale's, which loses them where that
 * is "C" (zip, Joliet: no name at all) and composes them (NFC) where it is UTF-8. So the locale of the calling thread
 * is set for the moment: "C" for a tar, whose names then come as they stand; UTF-8 for the others, where names are
 * bytes unless the archive itself says that they are Unicode, and those alone come composed. */
#ifndef HR_CARD_ARCHIVE_PASS_H
#define HR_CARD_ARCHIVE_PASS_H

#include <headrace/card.h>

struct archive_entry;
struct hr_archive_pass;

/* Is what stands at the card's path an archive we read, and which? Sets the card's `archive` and `is_tar`.
 * HR_UNSUPPORTED when it is none. */
HR_MUST_USE enum hr_status hr__archive_recognise(struct hr_card *card, struct hr_fault *fault);

/* Reads `ahead_bytes` (a multiple of 4096) at a time, `past_cache` what memory does not hold from before. HR_DIFFERS
 * when the archive is no longer the one recognised. On HR_OK the caller owns *out (hr__archive_pass_close, which takes
 * NULL).
 */
HR_MUST_USE enum hr_status hr__archive_pass_open(struct hr_archive_pass **out, const struct hr_card *card,
                                                 size_t ahead_bytes, bool past_cache, const struct hr_cancel *cancel,
                                                 struct hr_fault *fault);
void hr__archive_pass_close(struct hr_archive_pass *pass);

struct hr_archive_item {
    struct archive_entry *entry; /* valid until the next one; NULL at the end */
    const char *name;            /* NULL when the archive gives none that can be told */
    bool is_doubtful;            /* the archive contradicts itself about it */
};
/* HR_MALFORMED, HR_GONE, HR_IO, HR_CANCELLED, HR_NOMEM. */
HR_MUST_USE enum hr_status hr__archive_pass_next(struct hr_archive_item *item, struct hr_archive_pass *pass,
                                                 struct hr_fault *fault);
/* Content of the entry, until *got < size. HR_DIFFERS: damaged, or not what the archive says of it. */
HR_MUST_USE enum hr_status hr__archive_pass_read(size_t *got, struct hr_archive_pass *pass, void *into, size_t size,
                                                 struct hr_fault *fault);
/* What memory holds of the archive is forgotten, so that what follows comes from the card. */
void hr__archive_pass_drop_cache(const struct hr_archive_pass *pass);
/* HR_DIFFERS when the archive is no longer the one recognised: it was written to while it was read. */
HR_MUST_USE enum hr_status hr__archive_pass_check(const struct hr_archive_pass *pass, struct hr_fault *fault);
/* No later entry can be reached: the end, or damage that hides all that follows. */
bool hr__archive_pass_is_dead(const struct hr_archive_pass *pass);
/* Without write bits of its own an image's files say nothing about protection. */
bool hr__archive_pass_is_image(const struct hr_archive_pass *pass);

#endif
