/* SPDX-License-Identifier: ISC */
#include "platform/mount.h"

#include <stdlib.h>
#include <string.h>
#include <sys/sysmacros.h>

#include "base/checked.h"
#include "base/fault.h"
#include "base/path.h"
#include "platform/folder.h"
#include "platform/volume.h"

enum { MOUNTINFO_CEILING = 16 << 20 };

enum hr_status hr__mounts_load(char **text, const struct hr_system_roots *roots, struct hr_fault *fault)
{
    struct hr_folder folder = HR_FOLDER_CLOSED;
    size_t size;
    char *path = hr__path_join(roots->proc, "self");
    enum hr_status status = path ? hr__folder_open(&folder, path, fault) : hr__fault_nomem(fault, "the mounts");
    if (status == HR_OK)
        status = hr__file_load(text, &size, &folder, "mountinfo", MOUNTINFO_CEILING, "mountinfo", fault);
    hr__folder_close(&folder);
    free(path);
    return status;
}

/* The next field of `*rest`, cut off at its blank; NULL at the end of the line. */
static char *take_field(char **rest)
{
    char *field = *rest;
    if (!field || !*field)
        return NULL;
    char *blank = strchr(field, ' ');
    *rest = blank ? blank + 1 : NULL;
    if (blank)
        *blank = '\0';
    return field;
}

static bool is_octal(char digit)
{
    return digit >= '0' && digit <= '7';
}

/* Blank, tab, line feed and backslash stand as \040 and so on. */
static char *undo_escapes(char *field)
{
    char *to = field;
    for (const char *from = field; *from; to++) {
        if (from[0] == '\\' && is_octal(from[1]) && is_octal(from[2]) && is_octal(from[3])) {
            *to = (char)((from[1] - '0') * 64 + (from[2] - '0') * 8 + (from[3] - '0'));
            from += 4;
        } else {
            *to = *from++;
        }
    }
    *to = '\0';
    return field;
}

static bool parse_number(unsigned *out, const char *text)
{
    uint64_t value;
    if (!hr__parse_u64(&value, text, UINT32_MAX))
        return false;
    *out = (unsigned)value;
    return true;
}

static bool parse_device(struct hr_mount *out, char *device)
{
    char *minor = device ? strchr(device, ':') : NULL;
    if (!minor)
        return false;
    *minor++ = '\0';
    return parse_number(&out->major, device) && parse_number(&out->minor, minor);
}

/* proc_pid_mountinfo(5): ID PARENT MAJOR:MINOR ROOT MOUNT-POINT OPTIONS [TAG]... - TYPE SOURCE SUPER-OPTIONS */
bool hr__mount_parse(struct hr_mount *out, char *line)
{
    char *rest = line;
    *out = (struct hr_mount){0};
    take_field(&rest);
    take_field(&rest);
    if (!parse_device(out, take_field(&rest)))
        return false;
    take_field(&rest);
    char *mount_point = take_field(&rest);
    for (const char *tag = take_field(&rest); tag && strcmp(tag, "-") != 0;)
        tag = take_field(&rest);
    char *fs_type = take_field(&rest), *source = take_field(&rest);
    if (!source)
        return false;
    out->mount_point = undo_escapes(mount_point);
    out->fs_type = undo_escapes(fs_type);
    out->source = undo_escapes(source);
    return true;
}

/* How well a mount answers for a path: the path is below it, its device is the path's, then the length of its mount
 * point; 0 not at all. A filesystem of many devices (btrfs) gives its files another device than the mount's. */
static size_t rank(const struct hr_mount *mount, const char *path, uint64_t device)
{
    enum { SAME_DEVICE = 1 << 20 };
    bool is_same = makedev(mount->major, mount->minor) == device;
    if (!hr__path_contains(mount->mount_point, path))
        return is_same;
    return 1 + strlen(mount->mount_point) + (is_same ? SAME_DEVICE : 0);
}

bool hr__mount_next(struct hr_mount *out, char **rest)
{
    bool found = false;
    while (!found && *rest && **rest) {
        char *line = *rest, *end = strchr(line, '\n');
        *rest = end ? end + 1 : NULL;
        if (end)
            *end = '\0';
        found = hr__mount_parse(out, line);
    }
    return found;
}

bool hr__mount_find(struct hr_mount *out, char *mountinfo, const char *path, uint64_t device)
{
    size_t best = 0;
    for (struct hr_mount mount; hr__mount_next(&mount, &mountinfo);) {
        size_t found = rank(&mount, path, device);
        /* Of two mounts on one point the later hides the earlier. */
        if (found && found >= best) {
            best = found;
            *out = mount;
        }
    }
    if (best > 0 && !hr__path_contains(out->mount_point, path))
        out->mount_point = NULL;
    return best > 0;
}
