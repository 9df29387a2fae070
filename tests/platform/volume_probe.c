/* SPDX-License-Identifier: ISC */
/* Asks the platform about real volumes, for volumes_test.sh.
 *     volume_probe describe PATH     one "key value" a line
 *     volume_probe apart PATH PATH   do they stand on different disks? "yes", "no" or "unknown"
 *     volume_probe try FOLDER        one "call status" a line */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "platform/apart.h"
#include "platform/folder.h"

static struct hr_volume volume_of(const char *path)
{
    struct hr_volume volume;
    struct hr_fault fault = {0};
    if (hr__volume_of(&volume, path, &hr__system_roots, &fault) != HR_OK) {
        fprintf(stderr, "%s\n", fault.text);
        exit(1);
    }
    return volume;
}

static void describe(const char *path)
{
    struct hr_volume volume = volume_of(path);
    printf("mount_point %s\nsource %s\nfs_type %s\nlabel %s\nidentity %s\n", volume.mount_point, volume.source,
           volume.fs_type, volume.label, volume.identity);
    printf("free_files %" PRIu64 "\nread_only %d\nfolds_case %d\n", volume.free_files, volume.is_read_only,
           volume.folds_case);
    for (size_t i = 0; i < volume.disk_count; i++)
        printf("disk %s\n", volume.disks[i].identity);
    printf("cache_dropped %d\n", hr__volume_drop_device_cache(&volume));
    hr__volume_finish(&volume);
}

static void apart(const char *a, const char *b)
{
    static const char *const words[] = {[HR_APART_UNKNOWN] = "unknown", [HR_APART_NO] = "no", [HR_APART_YES] = "yes"};
    struct hr_volume first = volume_of(a), second = volume_of(b);
    puts(words[hr__volume_apart(&first, &second)]);
    hr__volume_finish(&first);
    hr__volume_finish(&second);
}

static void say(const char *call, enum hr_status status)
{
    printf("%s %s\n", call, hr_status_name(status));
}

static void make(const struct hr_folder *folder, const char *name)
{
    struct hr_file file;
    say("create", hr__file_open(&file, folder, name, HR_FILE_CREATE, true, name, NULL));
    say("close", hr__file_close(&file, NULL));
}

static void try_calls(const char *path)
{
    struct hr_folder folder;
    say("open", hr__folder_open(&folder, path, NULL));
    make(&folder, "A.part");
    make(&folder, "B");
    say("create", hr__file_open(&(struct hr_file){0}, &folder, "B", HR_FILE_CREATE, false, "B", NULL));
    say("rename", hr__folder_rename(&folder, "A.part", "B", NULL));
    say("rename", hr__folder_rename(&folder, "A.part", "C", NULL));
    say("sync_folder", hr__folder_sync(&folder, "", NULL));
    say("sync_volume", hr__folder_sync_volume(&folder, NULL));
    say("lock", hr__folder_lock(&folder, NULL));
    hr__folder_close(&folder);
}

int main(int argument_count, char **arguments)
{
    if (argument_count == 3 && strcmp(arguments[1], "describe") == 0)
        describe(arguments[2]);
    else if (argument_count == 4 && strcmp(arguments[1], "apart") == 0)
        apart(arguments[2], arguments[3]);
    else if (argument_count == 3 && strcmp(arguments[1], "try") == 0)
        try_calls(arguments[2]);
    else
        return 2;
    return 0;
}
