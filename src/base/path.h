/* SPDX-License-Identifier: ISC */
/* Paths as bytes with '/' between components; nothing here asks the system. */
#ifndef HR_BASE_PATH_H
#define HR_BASE_PATH_H

#include <stdbool.h>
#include <stddef.h>

/* "a" + "b/c" -> "a/b/c", no doubled slash; an empty side gives the other. Owned by the caller (free); NULL: no memory.
 */
char *hr__path_join(const char *folder, const char *name);
/* "FOLDER/.NAME.part", under which a file is made that is to stand at `path`; NULL when memory is out. */
char *hr__path_part(const char *path);
/* The last component; points into `path`. "" for a path that ends in '/'. */
const char *hr__path_last(const char *path);
/* Length of everything before the last '/', 0 when there is none. */
size_t hr__path_folder_length(const char *path);
/* True for a relative path that cannot leave the folder it is joined to: not empty, not absolute, no empty, "." or ".."
 * component, no NUL. */
bool hr__path_is_inside(const char *path);
/* True when absolute, normalised `inner` is `outer` or lies below it. */
bool hr__path_contains(const char *outer, const char *inner);

#endif
