/* SPDX-License-Identifier: ISC */
/* sample_archives FOLDER: what the archive writers of these tests make when they are not told to lie, as
 * FOLDER/sample.tar, .zip and .iso; for outside programs to read, and for a fuzzer to begin with. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "archive_writer.h"

static const char first[] = "the first frame of the final at Northmere", last[7001] = "the last frame";

static void save(struct archive_writer *archive, const char *folder, const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(archive->bytes, 1, archive->size, file) != archive->size || fclose(file) != 0)
        exit(EXIT_FAILURE);
    archive_writer_finish(archive);
}

static void save_tar(const char *folder)
{
    struct archive_writer tar = {0};
    tar_add(&tar, &(struct tar_member){.name = "DCIM/", .type = '5', .mode = 0755});
    tar_add(&tar, &(struct tar_member){.name = "DCIM/N0001.JPG",
                                       .mode = 0444,
                                       .modified_s = 1779030244,
                                       .body = first,
                                       .body_size = sizeof first});
    tar_add(&tar, &(struct tar_member){.name = "DCIM/N0002.JPG", .modified_s = 1779030244, .body = ""});
    tar_add(&tar, &(struct tar_member){.name = "x",
                                       .pax = "23 path=DCIM/N0003.JPG\n20 mtime=1779030244\n",
                                       .body = last,
                                       .body_size = sizeof last});
    tar_add(&tar, &(struct tar_member){.name = "DCIM/link", .type = '2', .link = "N0001.JPG"});
    tar_end(&tar);
    save(&tar, folder, "sample.tar");
}

static void save_zip(const char *folder)
{
    struct archive_writer zip = {0};
    zip_add(&zip, &(struct zip_member){.name = "DCIM/", .attributes = 0x10, .body = ""});
    zip_add(&zip,
            &(struct zip_member){.name = "DCIM/N0001.JPG", .attributes = 1, .body = first, .body_size = sizeof first});
    zip_add(&zip, &(struct zip_member){.name = "DCIM/N0002.JPG", .body = ""});
    zip_add(&zip, &(struct zip_member){.name = "DCIM/N0003.JPG",
                                       .system = 3,
                                       .attributes = 0100644u << 16,
                                       .body = last,
                                       .body_size = sizeof last});
    zip_end(&zip, 0);
    save(&zip, folder, "sample.zip");
}

static void save_iso(const char *folder)
{
    static const struct iso_member members[] = {
        {.name = "DCIM", .folder = -1, .is_folder = true},
        {.name = "N0001.JPG;1", .folder = 0, .body = first, .body_size = sizeof first},
        {.name = "N0002.JPG;1", .folder = 0},
        {.name = "N0003.JPG;1", .folder = 0, .body = last, .body_size = sizeof last}};
    struct archive_writer iso = {0};
    iso_build(&iso, members, sizeof members / sizeof *members, 0);
    save(&iso, folder, "sample.iso");
}

int main(int count, char **arguments)
{
    if (count != 2)
        return EXIT_FAILURE;
    save_tar(arguments[1]);
    save_zip(arguments[1]);
    save_iso(arguments[1]);
    return EXIT_SUCCESS;
}
