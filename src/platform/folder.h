/* SPDX-License-Identifier: ISC */
/* Folders by descriptor: everything below one is reached from it, component by component, never through a symbolic
 * link and never through "..", so a path from a card or a manifest cannot leave the folder it is joined to.
 *
 * hr__folder_open, then any calls with paths relative to it, then hr__folder_close. Threads may share an open folder.
 */
#ifndef HR_PLATFORM_FOLDER_H
#define HR_PLATFORM_FOLDER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

#include "platform/file.h"

struct hr_folder {
    int descriptor; /* -1: not open */
    char *path;     /* as given, owned; for faults */
};
#define HR_FOLDER_CLOSED ((struct hr_folder){.descriptor = -1})

/* `path` is the user's: links in it are followed. HR_NOT_FOUND, HR_DENIED, HR_INVALID (not a folder), HR_GONE,
 * HR_NOMEM. */
HR_MUST_USE enum hr_status hr__folder_open(struct hr_folder *folder, const char *path, struct hr_fault *fault);
/* A folder below `parent`; no link is followed. "" is `parent` itself. */
HR_MUST_USE enum hr_status hr__folder_open_below(struct hr_folder *folder, const struct hr_folder *parent,
                                                 const char *path, struct hr_fault *fault);
void hr__folder_close(struct hr_folder *folder);

/* Makes every missing component of `path` below `folder`, mode 0777 less umask. HR_OK when it stands already. */
HR_MUST_USE enum hr_status hr__folder_make(const struct hr_folder *folder, const char *path, struct hr_fault *fault);
/* Makes the one last component; HR_EXISTS when it stands. */
HR_MUST_USE enum hr_status hr__folder_make_new(const struct hr_folder *folder, const char *path,
                                               struct hr_fault *fault);
/* As mkdir -p on a user's path; links are followed. */
HR_MUST_USE enum hr_status hr__folder_make_path(const char *path, struct hr_fault *fault);

/* Facts of `path` itself, a link is not followed. HR_NOT_FOUND when nothing stands there. */
HR_MUST_USE enum hr_status hr__folder_facts(struct hr_file_facts *out, const struct hr_folder *folder, const char *path,
                                            struct hr_fault *fault);
/* Renames within `folder` without replacing: HR_EXISTS when `to` stands. Where the filesystem has no such rename
 * (FUSE exFAT) a check goes before a plain one: safe while nobody else writes there, and no worse than that. On POSIX
 * alone it is a second name and the removal of the first: a crash between them leaves both. */
HR_MUST_USE enum hr_status hr__folder_rename(const struct hr_folder *folder, const char *from, const char *to,
                                             struct hr_fault *fault);
/* The same, but what stands at `to`, a file of ours, gives way at once: a reader meets the old one or the new one
 * whole. */
HR_MUST_USE enum hr_status hr__folder_replace(const struct hr_folder *folder, const char *from, const char *to,
                                              struct hr_fault *fault);
/* A small file of ours at `path` becomes this content at once and durably, whatever stood there: by way of `.NAME.part`
 * beside it, which a run that died may have left and a failed one takes away. */
HR_MUST_USE enum hr_status hr__folder_put(const struct hr_folder *folder, const char *path, const void *bytes,
                                          size_t size, struct hr_fault *fault);
/* A second name for the file `from`; a link there is not followed. HR_EXISTS when `to` stands, HR_UNSUPPORTED when it
 * would stand on another filesystem, HR_DENIED too where there are no hard links: hr__folder_has_links tells. */
HR_MUST_USE enum hr_status hr__folder_link(const struct hr_folder *folder, const char *from, const char *to,
                                           struct hr_fault *fault);
/* Does the filesystem of folder `path` give files a second name? Tried on an empty file made there for it, by one
 * run at a time (hr__folder_lock). What the try itself is refused is the status. */
HR_MUST_USE enum hr_status hr__folder_has_links(bool *out, const struct hr_folder *folder, const char *path,
                                                struct hr_fault *fault);
/* Removes a file or, where it is one, an empty folder. */
enum hr_status hr__folder_remove(const struct hr_folder *folder, const char *path, struct hr_fault *fault);
/* The file at `path` durable under this name: it, because FAT keeps a file's size and place with its name and writes
 * them with the file, and its folder. */
HR_MUST_USE enum hr_status hr__folder_sync_name(const struct hr_folder *folder, const char *path,
                                                struct hr_fault *fault);
/* The entries of folder `path` ("" for itself) durable. */
HR_MUST_USE enum hr_status hr__folder_sync(const struct hr_folder *folder, const char *path, struct hr_fault *fault);
/* The same of folder `path`, of each above it and of `folder`: also the names that lead there are durable then, which a
 * folder's own sync does not promise of its name. `since`: a folder for which this was done just before, or what
 * stands in it, NULL when for none; what led there is not synced again. */
HR_MUST_USE enum hr_status hr__folder_sync_way(const struct hr_folder *folder, const char *path, const char *since,
                                               struct hr_fault *fault);
/* Can this system sync a volume as one? If not, each file and folder must be synced by itself. */
bool hr__folder_can_sync_volume(void);
/* Everything on the folder's volume durable. The kernel reports a lost write here once per open descriptor: open the
 * folder before the first write, and take one failure for all that was written since the last success. HR_UNSUPPORTED,
 * and nothing in the fault, where the system has no such call: sync each file and folder instead. */
HR_MUST_USE enum hr_status hr__folder_sync_volume(const struct hr_folder *folder, struct hr_fault *fault);

enum hr_entry_kind { HR_ENTRY_FILE, HR_ENTRY_FOLDER, HR_ENTRY_LINK, HR_ENTRY_OTHER };

struct hr_entry {
    char *name;
    enum hr_entry_kind kind;
    enum hr_status status; /* not HR_OK when its facts could not be read; facts are then zero */
    struct hr_file_facts facts;
};

/* The entries of folder `path`, "." and ".." left out, sorted by bytes. At most `ceiling`: HR_TOO_LARGE past it.
 * The caller frees with hr__entries_free. */
HR_MUST_USE enum hr_status hr__folder_list(struct hr_entry **out, size_t *count, const struct hr_folder *folder,
                                           const char *path, size_t ceiling, struct hr_fault *fault);
void hr__entries_free(struct hr_entry *entries, size_t count);

/* Absolute path with links resolved, as the system sees it; the caller frees. */
HR_MUST_USE enum hr_status hr__path_resolve(char **out, const char *path, struct hr_fault *fault);

/* May this user make files in the folder at `path`, as far as owner and mode tell? HR_DENIED, HR_NOT_FOUND, or what
 * else looking says. */
HR_MUST_USE enum hr_status hr__folder_may_fill(const char *path);

/* The lock of one run on a folder: made with the folder's own descriptor, gone with the process. HR_BUSY when another
 * holds it. */
HR_MUST_USE enum hr_status hr__folder_lock(const struct hr_folder *folder, struct hr_fault *fault);

#endif
