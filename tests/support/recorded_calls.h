/* SPDX-License-Identifier: ISC */
/* What a program does to the files below a folder, call by call, in one order; and its death at one of them.
 *
 *     RECORDED_BELOW=FOLDER RECORDED_TO=FILE LD_PRELOAD=recorded_calls.so PROGRAM...
 *     RECORDED_BELOW=FOLDER RECORDED_DIE_AT=N LD_PRELOAD=recorded_calls.so PROGRAM...
 *
 * The library stands between a program and libc, where syncfs can be seen, and what SQLite asks for as well. It takes
 * one call at a time, so that the order of what it notes is the order of what was done. FOLDER is an absolute path
 * without links. What is noted changes files, names or folders, or makes them durable:
 *
 *     make       a file that did not stand       PATH
 *     folder     mkdir                           PATH
 *     write      bytes, at an offset             PATH, or
 *     cut        the size set                    PATH
 *     sync       fsync, fdatasync                PATH of a file or folder
 *     syncfs                                     PATH of a folder of the volume
 *     rename     also over what stood            PATH to OTHER
 *     link       a second name                   PATH to OTHER
 *     remove     a name, or an empty folder      PATH
 *
 * with the paths as they were below FOLDER at that moment; of a file without a name any more nothing is noted, nor is
 * what failed. Not seen: what is written through a mapping (SQLite's index of its log, which it makes anew), times and
 * modes of files, and shared blocks.
 *
 * RECORDED_DIE_AT=N kills the program with SIGKILL where its N-th such call would come; of a write the first half is
 * done where N is odd. RECORDED_DEATH=FILE then has what it died at, as "write one/data/.NMA_0001.JPG.part".
 *
 * A recording is a row of records: the struct, PATH, OTHER, the bytes written. */
#ifndef HR_TESTS_RECORDED_CALLS_H
#define HR_TESTS_RECORDED_CALLS_H

#include <stdint.h>

enum recorded_kind {
    RECORDED_MAKE,
    RECORDED_FOLDER,
    RECORDED_WRITE,
    RECORDED_CUT,
    RECORDED_SYNC,
    RECORDED_SYNCFS,
    RECORDED_RENAME,
    RECORDED_LINK,
    RECORDED_REMOVE,
    RECORDED_KIND_COUNT
};

/* In the order of enum recorded_kind. */
#define RECORDED_KIND_NAMES "make", "folder", "write", "cut", "sync", "syncfs", "rename", "link", "remove"

struct recorded_call {
    uint32_t kind, path_size, other_size; /* of the paths without an end mark */
    uint32_t byte_count;
    uint64_t offset; /* of a write; of a cut the size */
};

#endif
