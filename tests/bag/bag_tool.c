/* SPDX-License-Identifier: ISC */
/* Bags for the shell tests:
 *
 *     bag_tool begin PLACE SOURCE sha256|xxh128   the files of SOURCE into an unfinished bag; prints its path
 *     bag_tool finish PLACE                       resumes and finishes it
 *     bag_tool make PLACE SOURCE sha256|xxh128    both
 *     bag_tool give-up BAG TO [PATH]...           these leave for TO/NAME beside the bag; prints what did not
 *     bag_tool verify BAG                         prints verdict and problems; status 0 when valid, with or without
 *                                                 warnings */
#include <headrace/bag.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bag/bag_walk.h"
#include "base/path.h"
#include "platform/folder.h"

static const struct hr_bag_label label = {.job = "Cup final",
                                          .card_name = "BODY_A",
                                          .card_identity = "uuid:1B2C-3D4E",
                                          .description = "",
                                          .started_wall_ns = 1760000000000000000};

static void must(enum hr_status status, const struct hr_fault *fault)
{
    if (status == HR_OK)
        return;
    fprintf(stderr, "bag_tool: %s: %s\n", hr_status_name(status), fault->text);
    exit(1);
}

static struct hr_digest digest_of(enum hr_digest_kind kind, const char *bytes, size_t size)
{
    struct hr_hasher *hasher = NULL;
    struct hr_fault fault = {0};
    must(hr_hasher_create(&hasher, kind, &fault), &fault);
    hr_hasher_update(hasher, bytes, size);
    struct hr_digest digest = hr_hasher_finish(hasher);
    hr_hasher_destroy(hasher);
    return digest;
}

static void deliver(struct hr_bag *bag, const struct hr_folder *data, const char *path, const char *bytes, size_t size,
                    bool has_sha256)
{
    struct hr_fault fault = {0};
    struct hr_file file;
    char *folder = strndup(path, hr__path_folder_length(path));
    if (*folder)
        must(hr__folder_make(data, folder, &fault), &fault);
    must(hr__file_open(&file, data, path, HR_FILE_CREATE, false, path, &fault), &fault);
    must(hr__file_write_at(&file, bytes, size, 0, &fault), &fault);
    must(hr__file_close(&file, &fault), &fault);
    struct hr_bag_file row = {
        .path = path, .size_bytes = size, .xxh128 = digest_of(HR_DIGEST_XXH128, bytes, size), .proof = HR_PROOF_DIRECT};
    if (has_sha256)
        row.sha256 = digest_of(HR_DIGEST_SHA256, bytes, size);
    must(hr_bag_record(bag, &row, &fault), &fault);
    free(folder);
}

static void begin(const char *place, const char *source_path, bool has_sha256)
{
    struct hr_fault fault = {0};
    struct hr_bag *bag = NULL;
    struct hr_folder source, data;
    struct hr_walk walk;
    must(hr_bag_create(&bag, place, &label, &fault), &fault);
    must(hr__folder_open(&source, source_path, &fault), &fault);
    must(hr__folder_open(&data, hr_bag_data_path(bag), &fault), &fault);
    must(hr__bag_walk(&walk, &source, "", &fault), &fault);
    for (size_t i = 0; i < walk.count; i++) {
        char *bytes = NULL;
        size_t size = 0;
        must(hr__file_load(&bytes, &size, &source, walk.files[i].path, 1 << 30, walk.files[i].path, &fault), &fault);
        deliver(bag, &data, walk.files[i].path, bytes, size, has_sha256);
        free(bytes);
    }
    must(hr_bag_note_throughput(bag, "elapsed_s,bytes\n1,100", &fault), &fault);
    must(hr_bag_note_frame(bag, "path,time_ns\nDCIM/100NORTH/NM_A0001.JPG,1", &fault), &fault);
    printf("%s\n", hr_bag_path(bag));
    hr__bag_walk_finish(&walk);
    hr__folder_close(&data);
    hr__folder_close(&source);
    hr_bag_close(bag);
}

static void finish(const char *place)
{
    struct hr_fault fault = {0};
    struct hr_bag *bag = NULL;
    must(hr_bag_look(&bag, place, &label, &fault), &fault);
    must(hr_bag_resume(bag, &fault), &fault);
    enum hr_status status = hr_bag_finish(bag, &fault);
    hr_bag_close(bag);
    must(status, &fault);
}

static int verify(const char *path)
{
    struct hr_fault fault = {0};
    struct hr_bag_report *report = NULL;
    struct hr_bag_verify_options options = {0};
    must(hr_bag_verify(&report, path, &options, NULL, &fault), &fault);
    printf("%s\n", hr_bag_verdict_name(report->verdict));
    for (size_t i = 0; i < report->problem_count; i++)
        printf("%s: %s: %s\n", hr_bag_problem_name(report->problems[i].kind), report->problems[i].path,
               report->problems[i].text);
    int status = report->verdict > HR_BAG_VALID_WITH_WARNINGS;
    hr_bag_report_destroy(report);
    return status;
}

static int give_up(const char *bag, const char *to, char **paths, size_t count)
{
    struct hr_fault fault = {0};
    struct hr_bag_leaving *files = calloc(count + 1, sizeof *files);
    int status = files ? 0 : 1;
    for (size_t i = 0; i < count && files; i++)
        files[i] = (struct hr_bag_leaving){.path = paths[i], .to = hr__path_join(to, hr__path_last(paths[i]))};
    if (files)
        must(hr_bag_give_up(bag, files, count, NULL, NULL, &fault), &fault);
    for (size_t i = 0; i < count && files; i++) {
        if (files[i].status) {
            printf("%s: %s\n", files[i].path, hr_status_name(files[i].status));
            status = 1;
        }
        free((char *)files[i].to);
    }
    free(files);
    return status;
}

int main(int count, char **words)
{
    const char *verb = count > 2 ? words[1] : "";
    if (count == 5 && (!strcmp(verb, "begin") || !strcmp(verb, "make")))
        begin(words[2], words[3], !strcmp(words[4], "sha256"));
    if (!strcmp(verb, "make") || !strcmp(verb, "finish"))
        finish(words[2]);
    if (count > 3 && !strcmp(verb, "give-up"))
        return give_up(words[2], words[3], words + 4, (size_t)count - 4);
    return !strcmp(verb, "verify") ? verify(words[2]) : 0;
}
