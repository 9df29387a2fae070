/* SPDX-License-Identifier: ISC */
/* What is known of each file of a card: the drives that hold a proven copy of it. */
#ifndef HR_OFFLOAD_KNOWN_H
#define HR_OFFLOAD_KNOWN_H

#include <headrace/ledger.h>
#include <headrace/offload.h>

#include "offload/drives.h"

struct hr_known {
    uint64_t *proven; /* by file: bits of the drives with a copy read back from the medium */
    uint64_t *cached; /* by file: bits of those with a copy that memory may have answered for */
    struct hr_digest *contents; /* by file: the XXH128 of all these copies */
    size_t file_count;
    struct hr_drives drives;
};

HR_MUST_USE enum hr_status hr__known_init(struct hr_known *known, size_t file_count, struct hr_fault *fault);
void hr__known_finish(struct hr_known *known);
/* Copies that differ must not count together: those of another content that were noted before are forgotten, and false
 * comes back. A card that gives other bytes when it is read for the second drive has not been copied twice. */
bool hr__known_note(struct hr_known *known, size_t file, size_t drive, const struct hr_digest *xxh128,
                    enum hr_proof proof, int64_t proven_at_ns);
/* Whatever is known of the file on this drive is not to be counted on any more. */
void hr__known_forget(struct hr_known *known, size_t file, size_t drive);

/* A place as a look-up needs it: which copies stand in it? */
struct hr_known_place {
    const char *volume;         /* its place_identity */
    const char *mount_point;    /* now */
    const char *path_on_volume; /* no '/' at either end; "" is the volume's root */
};

struct hr_look_up {
    struct hr_ledger *ledger;
    const struct hr_card *card;
    const struct hr_inventory *inventory;
    const struct hr_known_place *places; /* may be none */
    size_t place_count;
    uint8_t *in_places; /* by file: bits of the places that hold a copy; may be NULL when there are none */
    const struct hr_look_observer *look; /* may be NULL */
    const struct hr_cancel *cancel;
};

/* Asks the ledger for every file of the card. A copy on a connected drive counts only while its file stands there in
 * its size. A file whose identity disagrees with what is known in one point is read from the card, and its digest
 * decides. HR_CANCELLED, HR_GONE, or what the ledger says. */
HR_MUST_USE enum hr_status hr__known_look_up(struct hr_known *known, const struct hr_look_up *look_up,
                                             struct hr_fault *fault);

/* The verdict. `fault` tells HR_NOMEM only. */
HR_MUST_USE enum hr_status hr__known_judge(struct hr_safety **out, struct hr_known *known,
                                           const struct hr_inventory *inventory, struct hr_fault *fault);

#endif
