/* SPDX-License-Identifier: ISC */
#include "offload/known.h"

#include <stdlib.h>

#include "base/fault.h"

enum hr_status hr__known_init(struct hr_known *known, size_t file_count, struct hr_fault *fault)
{
    *known = (struct hr_known){.file_count = file_count};
    known->proven = calloc(file_count + 1, sizeof *known->proven);
    known->cached = calloc(file_count + 1, sizeof *known->cached);
    known->contents = calloc(file_count + 1, sizeof *known->contents);
    if (!known->proven || !known->cached || !known->contents)
        return hr__fault_nomem(fault, "what is known of the card's files");
    return HR_OK;
}

void hr__known_finish(struct hr_known *known)
{
    free(known->proven);
    free(known->cached);
    free(known->contents);
    hr__drives_finish(&known->drives);
}

void hr__known_forget(struct hr_known *known, size_t file, size_t drive)
{
    uint64_t bit = UINT64_C(1) << drive;
    if (known->proven[file] & bit)
        known->drives.drives[drive].files--;
    known->proven[file] &= ~bit;
    known->cached[file] &= ~bit;
}

static void forget_all(struct hr_known *known, size_t file)
{
    for (size_t drive = 0; drive < known->drives.count; drive++)
        hr__known_forget(known, file, drive);
}

bool hr__known_note(struct hr_known *known, size_t file, size_t drive, const struct hr_digest *xxh128,
                    enum hr_proof proof, int64_t proven_at_ns)
{
    bool has_copies = known->proven[file] || known->cached[file];
    bool is_other = has_copies && !hr_digest_equal(&known->contents[file], xxh128);
    struct hr_safety_drive *on = &known->drives.drives[drive];
    bool is_medium = hr_proof_is_medium(proof);
    uint64_t *bits = is_medium ? &known->proven[file] : &known->cached[file], bit = UINT64_C(1) << drive;
    if (is_other)
        forget_all(known, file);
    known->contents[file] = *xxh128;
    if (!(*bits & bit)) {
        *bits |= bit;
        if (is_medium)
            on->files++;
    }
    if (proven_at_ns > on->last_proven_ns)
        on->last_proven_ns = proven_at_ns;
    return !is_other;
}
