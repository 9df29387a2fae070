/* SPDX-License-Identifier: ISC */
/* What a type of filesystem is known for: the one table of it. */
#ifndef HR_PLATFORM_FS_KIND_H
#define HR_PLATFORM_FS_KIND_H

#include <stdbool.h>
#include <stdint.h>

struct hr_fs_kind {
    const char *type;
    bool folds_case;
    bool names_must_be_utf8;
    bool is_in_memory;
    bool is_network;
    bool is_pool;            /* one filesystem over several devices, of which its mount names but one */
    bool has_own_cache;      /* beside the page cache, and what comes from it is counted as read */
    bool renames_whole;      /* as made by default: a power cut leaves a rename done or not begun */
    bool fsid_is_stable;     /* f_fsid comes from the volume's own UUID, not from the device number */
    uint64_t max_file_bytes; /* 0: unknown */
};

/* Never NULL: for an unknown type a row that claims nothing. "fuse.exfat" is looked up as "exfat". */
const struct hr_fs_kind *hr__fs_kind_of(const char *type);
bool hr__fs_is_fuse(const char *type);

#endif
