/* SPDX-License-Identifier: ISC */
/* The folder a drive is measured in. It has one name, so that what a killed measurement left is known and goes. */
#ifndef HR_DEVICES_MEASURE_SCRATCH_H
#define HR_DEVICES_MEASURE_SCRATCH_H

#include "platform/folder.h"

/* An empty one below `root`. HR_BUSY while another measures there; what else making a folder says. */
HR_MUST_USE enum hr_status hr__scratch_open(struct hr_folder *scratch, const struct hr_folder *root,
                                            struct hr_fault *fault);
/* Removes it with all files in it, and closes. Nothing to do when it is not open. */
enum hr_status hr__scratch_remove(struct hr_folder *scratch, const struct hr_folder *root, struct hr_fault *fault);

#endif
