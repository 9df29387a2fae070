/* SPDX-License-Identifier: ISC */
#include "transfer_fixture.h"

#include <check.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

const char *fixture_path(const struct fixture *fixture, const char *path)
{
    static char buffers[4][1024];
    static unsigned next;
    char *buffer = buffers[next++ % 4];
    snprintf(buffer, sizeof buffers[0], "%s/%s", fixture->scratch, path);
    return buffer;
}

static void make_folders(char *path)
{
    for (char *slash = path + 1; (slash = strchr(slash, '/')); *slash++ = '/') {
        *slash = '\0';
        mkdir(path, 0777);
    }
}

void fixture_write(const struct fixture *fixture, const char *path, size_t size, unsigned seed)
{
    char full[1024];
    snprintf(full, sizeof full, "%s", fixture_path(fixture, path));
    make_folders(full);
    FILE *file = fopen(full, "wb");
    ck_assert_ptr_nonnull(file);
    unsigned state = seed * 2654435761u + 1;
    for (size_t i = 0; i < size; i++) {
        state = state * 1664525u + 1013904223u;
        putc((int)(state >> 24), file);
    }
    ck_assert_int_eq(fclose(file), 0);
}

bool fixture_same(const struct fixture *fixture, const char *a, const char *b)
{
    FILE *left = fopen(fixture_path(fixture, a), "rb"), *right = fopen(fixture_path(fixture, b), "rb");
    bool same = left && right;
    for (int byte = 0; same && byte != EOF;) {
        byte = getc(left);
        same = byte == getc(right);
    }
    if (left)
        fclose(left);
    if (right)
        fclose(right);
    return same;
}

bool fixture_exists(const struct fixture *fixture, const char *path)
{
    return access(fixture_path(fixture, path), F_OK) == 0;
}

static size_t part_count;

static int count_part(const char *path, const struct stat *facts, int type, struct FTW *walk)
{
    (void)facts;
    (void)walk;
    size_t length = strlen(path);
    part_count += type == FTW_F && length > 5 && !strcmp(path + length - 5, ".part");
    return 0;
}

size_t fixture_parts(const struct fixture *fixture, const char *path)
{
    part_count = 0;
    nftw(fixture_path(fixture, path), count_part, 16, FTW_PHYS);
    return part_count;
}

void fixture_begin(struct fixture *fixture)
{
    const char *folder = getenv("TMPDIR");
    memset(fixture, 0, sizeof *fixture);
    snprintf(fixture->scratch, sizeof fixture->scratch, "%s/headrace-transfer-XXXXXX", folder ? folder : "/var/tmp");
    ck_assert_ptr_nonnull(mkdtemp(fixture->scratch));
}

void fixture_job(struct fixture *fixture, size_t places)
{
    struct hr_fault fault = {0};
    ck_assert_msg(!hr_card_open(&fixture->card, fixture_path(fixture, "card"), &fault), "%s", fault.text);
    ck_assert_msg(!hr_inventory_create(&fixture->inventory, fixture->card, NULL, &fault), "%s", fault.text);
    struct hr_transfer_job *job = &fixture->job;
    fixture->job_card =
        (struct hr_transfer_card){.card = fixture->card, .item_count = fixture->inventory->file_count};
    *job = (struct hr_transfer_job){.cards = &fixture->job_card,
                                    .card_count = 1,
                                    .item_count = fixture->inventory->file_count,
                                    .sinks = fixture->sinks,
                                    .sink_count = places,
                                    .make_sha256 = true};
    job->items = calloc(job->item_count + 1, sizeof *job->items);
    for (size_t i = 0; i < job->item_count; i++) {
        job->items[i].file = &fixture->inventory->files[i];
        for (size_t p = 0; p < places; p++)
            job->items[i].copies[p].state = HR_COPY_WANTED;
    }
    for (size_t p = 0; p < places; p++) {
        char path[1024];
        snprintf(fixture->data[p], sizeof fixture->data[p], "%s/p%zu/bag/data", fixture->scratch, p);
        snprintf(fixture->aside[p], sizeof fixture->aside[p], "%s/p%zu/bag.aside", fixture->scratch, p);
        snprintf(path, sizeof path, "%s/", fixture->data[p]);
        make_folders(path);
        fixture->sinks[p] = (struct hr_transfer_sink){0};
        fixture->job_card.landings[p] =
            (struct hr_transfer_landing){.data_path = fixture->data[p], .aside_path = fixture->aside[p]};
    }
}

static void card_started(void *context, size_t card)
{
    ((struct fixture *)context)->cards_started += card == 0;
}

static void card_free(void *context, size_t card)
{
    struct fixture *fixture = context;
    fixture->cards_free += card == 0 && fixture->cards_settled == 0;
}

static void card_settled(void *context, size_t card)
{
    ((struct fixture *)context)->cards_settled += card == 0;
}

static void settled(void *context, size_t item, size_t sink)
{
    struct fixture *fixture = context;
    const struct hr_transfer_item *it = &fixture->job.items[item];
    fixture->settled++;
    if (it->copies[sink].state == HR_COPY_PROVEN)
        ck_assert(it->xxh128.kind == HR_DIGEST_XXH128 &&
                  (!fixture->job.make_sha256 || it->sha256.kind == HR_DIGEST_SHA256));
}

static void complain(void *context, size_t item, size_t sink, const struct hr_fault *fault)
{
    struct fixture *fixture = context;
    (void)item;
    (void)sink;
    if (fixture->complaints++ == 0)
        fixture->first_complaint = *fault;
}

static void progress(void *context, const struct hr_transfer_progress *now)
{
    ((struct fixture *)context)->last = *now;
}

enum hr_status fixture_run(struct fixture *fixture, const struct hr_cancel *cancel)
{
    struct hr_transfer_observer observer = {.context = fixture,
                                            .card_started = card_started,
                                            .card_free = card_free,
                                            .card_settled = card_settled,
                                            .copy_settled = settled,
                                            .complain = complain,
                                            .progress = progress};
    struct hr_fault fault = {0};
    return hr_transfer_run(&fixture->job, &observer, cancel, &fault);
}

static int remove_entry(const char *path, const struct stat *facts, int type, struct FTW *walk)
{
    (void)facts;
    (void)type;
    (void)walk;
    return remove(path);
}

void fixture_end(struct fixture *fixture)
{
    free(fixture->job.items);
    hr_inventory_destroy(fixture->inventory);
    hr_card_close(fixture->card);
    nftw(fixture->scratch, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

size_t fixture_item(const struct fixture *fixture, const char *path)
{
    for (size_t i = 0; i < fixture->job.item_count; i++)
        if (!strcmp(fixture->job.items[i].file->path, path))
            return i;
    ck_abort_msg("no item %s", path);
    return 0;
}
