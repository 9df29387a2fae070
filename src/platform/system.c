/* SPDX-License-Identifier: ISC */
#include "platform/system.h"

#include <errno.h>

#include "base/fault.h"
#include "base/units.h"

enum hr_status hr__status_of_errno(int system_error)
{
    switch (system_error) {
    case 0:
        return HR_OK;
    case ENOMEM:
    case EMFILE:
    case ENFILE:
    case EAGAIN:
        return HR_NOMEM;
    case EINVAL:
    case ENOTDIR:
    case EBADF:
        return HR_INVALID;
    case ENOENT:
        return HR_NOT_FOUND;
    case EEXIST:
    case ENOTEMPTY:
        return HR_EXISTS;
    case EACCES:
    case EPERM:
        return HR_DENIED;
    case EROFS:
        return HR_READ_ONLY;
    case ENOSPC:
    case EDQUOT:
        return HR_FULL;
    case EFBIG:
    case EOVERFLOW:
    case ENAMETOOLONG:
        return HR_TOO_LARGE;
    case ENODEV:
    case ENXIO:
    case ENOTCONN:
    case ESTALE:
    case EHOSTDOWN:
    case ECONNABORTED:
        return HR_GONE;
    case EBUSY:
    case ETXTBSY:
        return HR_BUSY;
    case ELOOP:
    case EISDIR:
    case EXDEV:
    case ENOSYS:
    case ENOTTY:
    case EOPNOTSUPP:
        return HR_UNSUPPORTED;
    default:
        return HR_IO;
    }
}

enum hr_status hr__system_fault(struct hr_fault *fault, int system_error, const char *what, const char *path)
{
    return hr__fault_path(fault, hr__status_of_errno(system_error), system_error, what, path);
}

/* A volume may claim any time at all; those past the year 2262 become the last that fits. */
static int64_t ns_of_timespec(struct timespec time)
{
    if (time.tv_sec >= INT64_MAX / HR_NS_PER_S)
        return INT64_MAX;
    if (time.tv_sec <= INT64_MIN / HR_NS_PER_S)
        return INT64_MIN;
    return (int64_t)time.tv_sec * HR_NS_PER_S + time.tv_nsec;
}

struct hr_file_facts hr__facts_of_stat(const struct stat *stat)
{
    return (struct hr_file_facts){
        .size_bytes = stat->st_size > 0 ? (uint64_t)stat->st_size : 0,
        .device = (uint64_t)stat->st_dev,
        .inode = (uint64_t)stat->st_ino,
        .modified_ns = ns_of_timespec(stat->st_mtim),
        .permissions = stat->st_mode & 0777,
        .is_folder = S_ISDIR(stat->st_mode),
        .is_regular = S_ISREG(stat->st_mode),
        .is_link = S_ISLNK(stat->st_mode),
    };
}
