/* SPDX-License-Identifier: ISC */
/* What the calls of faulty_volume share. Each file fills in its part of FUSE's table of them. */
#ifndef HR_TESTS_FAULTY_CALLS_H
#define HR_TESTS_FAULTY_CALLS_H

#define FUSE_USE_VERSION 314

#include <errno.h>
#include <fuse3/fuse.h>

#include "faulty_state.h"

struct faulty_volume {
    int source; /* descriptor of the folder that is shown */
    struct faulty_state *state;
};

static inline struct faulty_volume *faulty_here(void)
{
    return fuse_get_context()->private_data;
}

/* FUSE's path as one from the source. */
static inline const char *faulty_below(const char *path)
{
    return path[1] ? path + 1 : ".";
}

/* A system call's result as FUSE wants it. */
static inline int faulty_answer(int result)
{
    return result < 0 ? -errno : result;
}

/* For calls that only fail or go through: 0, or the error they must give. */
int faulty_meet(enum faulty_call call, const char *path);

void faulty_fill_names(struct fuse_operations *operations);
void faulty_fill_files(struct fuse_operations *operations);

#endif
