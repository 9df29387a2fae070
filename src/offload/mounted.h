/* SPDX-License-Identifier: ISC */
/* The volumes that are mounted here and now, of disks that are plugged in: a drive may be mounted elsewhere than when
 * something was delivered to it, or have been formatted since. */
#ifndef HR_OFFLOAD_MOUNTED_H
#define HR_OFFLOAD_MOUNTED_H

#include <stdbool.h>
#include <stddef.h>

#include <headrace/status.h>

struct hr_mounted {
    char *mount_point, *volume, *disks; /* owned; place_identity and hr__disks_text of its volume */
};

/* Zeroed: not looked for yet. */
struct hr_mounted_list {
    struct hr_mounted *mounted;
    size_t count, capacity;
    bool is_loaded;
};

/* Looks once; later calls do nothing. Where the system does not tell what is plugged in, the list stays empty.
 * HR_NOMEM. */
HR_MUST_USE enum hr_status hr__mounted_load(struct hr_mounted_list *list, struct hr_fault *fault);
void hr__mounted_finish(struct hr_mounted_list *list);

/* Where the volume is mounted; NULL: nowhere. */
const char *hr__mounted_find(const struct hr_mounted_list *list, const char *volume);
/* Identities of one form that differ; those of two forms may be of one volume, of which now more is known, or less. */
bool hr__mounted_is_another(const char *volume, const char *other);
/* Is another volume mounted that stands on one of these disks (hr__disks_text), and this one not there unmounted? */
bool hr__mounted_has_another(const struct hr_mounted_list *list, const char *volume, const char *disks);

#endif
