/* SPDX-License-Identifier: ISC */
/* Proving what a run appended to its journal, before manifests are made of it: a digest written wrong would stand in
 * files.csv and in the manifest alike and accuse a picture that is right. */
#ifndef HR_BAG_JOURNAL_PROOF_H
#define HR_BAG_JOURNAL_PROOF_H

#include "bag/bag_state.h"

/* From now on what is appended counts; what stands there already was read and judged by the resuming. */
HR_MUST_USE enum hr_status hr__journal_proof_begin(struct hr_bag *bag, struct hr_fault *fault);
/* Appends to the journal. After a failure nobody can say what it holds, and it is not proven. */
HR_MUST_USE enum hr_status hr__journal_proof_append(struct hr_bag *bag, const void *bytes, size_t size,
                                                    struct hr_fault *fault);
/* Syncs the journal and reads it back. HR_DIFFERS when it does not hold what was appended: it is removed then, so that
 * the next run proves every file anew. */
HR_MUST_USE enum hr_status hr__journal_prove(struct hr_bag *bag, struct hr_fault *fault);

#endif
