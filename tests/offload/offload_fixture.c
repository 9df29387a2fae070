/* SPDX-License-Identifier: ISC */
#include "offload_fixture.h"

#include <check.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void ground_begin(struct ground *ground)
{
    const char *folder = getenv("TMPDIR");
    memset(ground, 0, sizeof *ground);
    snprintf(ground->root, sizeof ground->root, "%s/headrace-offload-XXXXXX", folder ? folder : "/var/tmp");
    ck_assert_ptr_nonnull(mkdtemp(ground->root));
    snprintf(ground->card, sizeof ground->card, "%s/card", ground->root);
    snprintf(ground->ledger, sizeof ground->ledger, "%s/ledger.db", ground->root);
    for (int i = 0; i < 2; i++) {
        snprintf(ground->places[i], sizeof ground->places[i], "%s/place%d", ground->root, i);
        mkdir(ground->places[i], 0777);
        ground->place_list[i] = ground->places[i];
    }
    mkdir(ground->card, 0777);
    ground->card_list[0] = ground->card;
    ground->options = (struct hr_offload_options){.cards = ground->card_list,
                                                  .card_count = 1,
                                                  .places = ground->place_list,
                                                  .place_count = 2,
                                                  .job = "Cup final",
                                                  .same_device = true,
                                                  .ledger_path = ground->ledger};
    ground_write(ground, "card/DCIM/100NMERE/NMA_0001.JPG", "first", 1778900000);
    ground_write(ground, "card/DCIM/100NMERE/NMA_0001.DNG", "first raw", 1778900000);
    ground_write(ground, "card/DCIM/100NMERE/NMA_0002.JPG", "second", 1778900010);
}

static int remove_entry(const char *path, const struct stat *facts, int type, struct FTW *walk)
{
    (void)facts;
    (void)type;
    (void)walk;
    return remove(path);
}

void ground_end(struct ground *ground)
{
    nftw(ground->root, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

void ground_write(const struct ground *ground, const char *path, const char *content, long modified_s)
{
    char full[1024];
    snprintf(full, sizeof full, "%s/%s", ground->root, path);
    for (char *slash = full + 1; (slash = strchr(slash, '/')); *slash++ = '/') {
        *slash = '\0';
        mkdir(full, 0777);
    }
    FILE *file = fopen(full, "wb");
    ck_assert_ptr_nonnull(file);
    fputs(content, file);
    fclose(file);
    const struct timespec times[2] = {{.tv_sec = modified_s}, {.tv_sec = modified_s}};
    utimensat(AT_FDCWD, full, times, 0);
}

struct hr_offload *ground_prepare(struct ground *ground)
{
    struct hr_offload *offload;
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_offload_prepare(&offload, &ground->options, NULL, &fault), "%s", fault.text);
    return offload;
}

struct hr_offload *ground_run(struct ground *ground)
{
    struct hr_offload *offload = ground_prepare(ground);
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_offload_run(offload, NULL, NULL, &fault), "%s", fault.text);
    return offload;
}

bool ground_is_refused(struct ground *ground, const char *part)
{
    struct hr_offload *offload = ground_prepare(ground);
    const struct hr_offload_plan *plan = hr_offload_plan(offload);
    bool found = false;
    for (size_t i = 0; i < plan->refusal_count; i++)
        found |= strstr(plan->refusals[i], part) != NULL;
    if (found)
        ck_assert_int_eq(hr_offload_run(offload, NULL, NULL, NULL), HR_REFUSED);
    hr_offload_destroy(offload);
    return found;
}

static const char *wanted_name;
static size_t found_count;
static char first_found[1024];

static int look(const char *path, const struct stat *facts, int type, struct FTW *walk)
{
    (void)facts;
    if (type == FTW_F && (!wanted_name || !strcmp(path + walk->base, wanted_name))) {
        if (found_count++ == 0)
            snprintf(first_found, sizeof first_found, "%s", path);
    }
    return 0;
}

size_t ground_count(const struct ground *ground, const char *path, const char *name)
{
    char full[1024];
    snprintf(full, sizeof full, "%s/%s", ground->root, path);
    wanted_name = name;
    found_count = 0;
    nftw(full, look, 16, FTW_PHYS);
    return found_count;
}

const char *ground_find(const struct ground *ground, const char *path, const char *name)
{
    return ground_count(ground, path, name) ? first_found : NULL;
}
