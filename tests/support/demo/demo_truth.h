/* SPDX-License-Identifier: ISC */
/* The ground truth: CSV (RFC 4180 with LF), one row a frame or clip. Columns are explained by `demo_card --help`. */
#ifndef DEMO_TRUTH_H
#define DEMO_TRUTH_H

#include <stdio.h>

#include "demo_plan.h"

FILE *demo_truth_open(const char *path);
/* `files`: paths joined by ';'. `is_protected`: as the volume shows it. */
void demo_truth_add(FILE *truth, const struct demo_frame *frame, const char *files, bool is_protected);
void demo_truth_close(FILE *truth, const char *path);

#endif
