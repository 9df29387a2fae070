/* SPDX-License-Identifier: ISC */
/* Calls about names, folders and facts. */
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include "faulty_calls.h"

int faulty_meet(enum faulty_call call, const char *path)
{
    int error;
    const struct faulty_event event = {.call = call, .path = faulty_below(path)};
    faulty_state_meet(&error, faulty_here()->state, &event);
    return -error;
}

static int get_facts(const char *path, struct stat *facts, struct fuse_file_info *info)
{
    int error = faulty_meet(FAULTY_STAT, path);
    (void)info;
    return error ? error
                 : faulty_answer(fstatat(faulty_here()->source, faulty_below(path), facts, AT_SYMLINK_NOFOLLOW));
}

static int read_link(const char *path, char *target, size_t size)
{
    int error = faulty_meet(FAULTY_STAT, path);
    ssize_t length = error ? 0 : readlinkat(faulty_here()->source, faulty_below(path), target, size - 1);
    if (length >= 0)
        target[length] = '\0';
    return error ? error : faulty_answer(length < 0 ? -1 : 0);
}

static int list(const char *path, void *buffer, fuse_fill_dir_t fill, off_t offset, struct fuse_file_info *info,
                enum fuse_readdir_flags flags)
{
    int error = faulty_meet(FAULTY_LIST, path);
    (void)offset, (void)info, (void)flags;
    if (error)
        return error;
    int descriptor = openat(faulty_here()->source, faulty_below(path), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *folder = descriptor < 0 ? NULL : fdopendir(descriptor);
    if (!folder)
        return -errno;
    for (struct dirent *entry; (entry = readdir(folder));)
        fill(buffer, entry->d_name, &(struct stat){.st_ino = entry->d_ino, .st_mode = (mode_t)DTTOIF(entry->d_type)}, 0,
             0);
    closedir(folder);
    return 0;
}

static int make_folder(const char *path, mode_t mode)
{
    int error = faulty_meet(FAULTY_MKDIR, path);
    return error ? error : faulty_answer(mkdirat(faulty_here()->source, faulty_below(path), mode));
}

static int remove_file(const char *path)
{
    int error = faulty_meet(FAULTY_REMOVE, path);
    return error ? error : faulty_answer(unlinkat(faulty_here()->source, faulty_below(path), 0));
}

static int remove_folder(const char *path)
{
    int error = faulty_meet(FAULTY_REMOVE, path);
    return error ? error : faulty_answer(unlinkat(faulty_here()->source, faulty_below(path), AT_REMOVEDIR));
}

static int rename_entry(const char *from, const char *to, unsigned flags)
{
    int error = faulty_meet(FAULTY_RENAME, from);
    return error ? error
                 : faulty_answer(renameat2(faulty_here()->source, faulty_below(from), faulty_here()->source,
                                           faulty_below(to), flags));
}

static int set_mode(const char *path, mode_t mode, struct fuse_file_info *info)
{
    int error = faulty_meet(FAULTY_STAMP, path);
    (void)info;
    return error ? error : faulty_answer(fchmodat(faulty_here()->source, faulty_below(path), mode, 0));
}

static int set_times(const char *path, const struct timespec times[2], struct fuse_file_info *info)
{
    int error = faulty_meet(FAULTY_STAMP, path);
    (void)info;
    return error ? error
                 : faulty_answer(utimensat(faulty_here()->source, faulty_below(path), times, AT_SYMLINK_NOFOLLOW));
}

static int sync_folder(const char *path, int data_only, struct fuse_file_info *info)
{
    (void)data_only, (void)info;
    return faulty_meet(FAULTY_SYNC, path);
}

static int tell_room(const char *path, struct statvfs *facts)
{
    int error = faulty_meet(FAULTY_STAT, path);
    return error ? error : faulty_answer(fstatvfs(faulty_here()->source, facts));
}

void faulty_fill_names(struct fuse_operations *operations)
{
    operations->getattr = get_facts;
    operations->readlink = read_link;
    operations->readdir = list;
    operations->mkdir = make_folder;
    operations->unlink = remove_file;
    operations->rmdir = remove_folder;
    operations->rename = rename_entry;
    operations->chmod = set_mode;
    operations->utimens = set_times;
    operations->fsyncdir = sync_folder;
    operations->statfs = tell_room;
}
