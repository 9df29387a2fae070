/* SPDX-License-Identifier: ISC */
#include "fill_stage.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <headrace/card.h>

static void must(bool holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "stage: %s\n", what);
    abort();
}

struct stage *stage_create(const char *job)
{
    static const char *const serials[STAGE_BODIES] = {"A-4711", "B-4712", "C-4713", "D-4714"};
    struct stage *stage = calloc(1, sizeof *stage);
    must(stage != NULL, "no memory");
    stage->job = job;
    stage->bag = STAGE_BAG;
    stage->writes_files = true;
    for (size_t i = 0; i < STAGE_BODIES; i++)
        stage->bodies[i] = (struct hr_body){.serial = serials[i], .model = "NM-1", .resolution_ns = 10000000};
    stage->delivered = (struct hr_delivered){.frames = stage->frames, .files = stage->files, .places = stage->places};
    stage->grouping = (struct hr_grouping){.bodies = stage->bodies, .sequences = stage->sequences};
    return stage;
}

void stage_destroy(struct stage *stage)
{
    for (size_t i = 0; i < stage->delivered.file_count; i++) {
        free((char *)stage->files[i].path);
        free((char *)stage->files[i].on_card);
    }
    for (size_t i = 0; i < stage->delivered.place_count; i++)
        free((char *)stage->places[i].path);
    for (size_t i = 0; i < stage->grouping.sequence_count; i++) {
        free(stage->sequences[i].frames);
        free(stage->sequences[i].bursts);
    }
    free(stage);
}

uint32_t stage_place(struct stage *stage, const char *path)
{
    must(stage->delivered.place_count < STAGE_PLACES, "too many places");
    stage->places[stage->delivered.place_count] = (struct hr_delivered_place){.path = strdup(path)};
    return (uint32_t)stage->delivered.place_count++;
}

/* The content of a file is its name on the card. */
static void write_file(const char *path, const char *content)
{
    char folder[1024];
    snprintf(folder, sizeof folder, "%s", path);
    for (char *slash = folder + 1; (slash = strchr(slash, '/')); slash++) {
        *slash = '\0';
        mkdir(folder, 0777);
        *slash = '/';
    }
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
    must(file >= 0 && write(file, content, strlen(content)) == (ssize_t)strlen(content), path);
    close(file);
}

static void add_file(struct stage *stage, const char *stem, char kind, uint32_t place, bool is_copy)
{
    char path[1024], on_card[256];
    must(stage->delivered.file_count < STAGE_FILES, "too many files");
    snprintf(on_card, sizeof on_card, "DCIM/100NMERE/%s.%s", stem, kind == 'r' ? "DNG" : "JPG");
    if (*stage->job)
        snprintf(path, sizeof path, "%s/%s/%s/data/%s", stage->places[place].path, stage->job, stage->bag, on_card);
    else
        snprintf(path, sizeof path, "%s/%s", stage->places[place].path, on_card);
    if (stage->writes_files)
        write_file(path, on_card);
    struct stat facts = {0};
    if (stat(path, &facts) != 0)
        facts.st_size = (off_t)strlen(on_card);
    stage->files[stage->delivered.file_count++] =
        (struct hr_delivered_file){.path = strdup(path),
                                   .on_card = strdup(on_card),
                                   .place = place,
                                   .kind = kind == 'r' ? HR_KIND_RAW : HR_KIND_JPEG,
                                   .is_copy = is_copy,
                                   .size_bytes = (uint64_t)facts.st_size};
}

uint32_t stage_frame(struct stage *stage, const char *stem, int64_t ms, const char *kinds, unsigned places)
{
    must(stage->delivered.frame_count < STAGE_FRAMES, "too many frames");
    struct hr_frame *frame = &stage->frames[stage->delivered.frame_count];
    *frame = (struct hr_frame){.key = "",
                               .job = stage->job,
                               .serial = "",
                               .model = "NM-1",
                               .has_time = true,
                               .local_ns = STAGE_KICK_OFF_NS + ms * 1000000,
                               .first_file = stage->delivered.file_count};
    for (const char *kind = kinds; *kind; kind++) {
        bool is_copy = false;
        for (uint32_t place = 0; place < STAGE_PLACES; place++)
            if (places & 1U << place) {
                add_file(stage, stem, *kind, place, is_copy);
                is_copy = true;
            }
    }
    frame->file_count = stage->delivered.file_count - frame->first_file;
    return (uint32_t)stage->delivered.frame_count++;
}

struct hr_sequence *stage_sequence(struct stage *stage, uint32_t body, unsigned number, size_t count, int64_t ms,
                                   const char *kinds, unsigned places)
{
    must(stage->grouping.sequence_count < STAGE_SEQUENCES && body < STAGE_BODIES, "too many sequences");
    struct hr_sequence *sequence = &stage->sequences[stage->grouping.sequence_count++];
    *sequence = (struct hr_sequence){.body = body,
                                     .start_local_ns = STAGE_KICK_OFF_NS + ms * 1000000,
                                     .frames = calloc(count, sizeof *sequence->frames),
                                     .frame_count = count,
                                     .bursts = calloc(1, sizeof *sequence->bursts),
                                     .burst_count = 1};
    for (size_t i = 0; i < count; i++) {
        char stem[32];
        snprintf(stem, sizeof stem, "NM%c_%04u", (char)('A' + body), number + (unsigned)i);
        sequence->frames[i] = stage_frame(stage, stem, ms + 50 * (int64_t)i, kinds, places);
    }
    sequence->bursts[0] = (struct hr_burst){.last = (uint32_t)count - 1, .cadence_per_s = 20};
    if (stage->grouping.body_count <= body)
        stage->grouping.body_count = body + 1;
    return sequence;
}

static const struct stage *sorted_stage;

static int by_time(const void *a, const void *b)
{
    int64_t first = sorted_stage->frames[*(const uint32_t *)a].local_ns;
    int64_t second = sorted_stage->frames[*(const uint32_t *)b].local_ns;
    return (first > second) - (first < second);
}

void stage_merge(struct stage *stage, uint32_t into, uint32_t from)
{
    struct hr_sequence *one = &stage->sequences[into], *other = &stage->sequences[from];
    must(from + 1 == stage->grouping.sequence_count, "only the last goes into another");
    size_t count = one->frame_count + other->frame_count;
    one->frames = realloc(one->frames, count * sizeof *one->frames);
    must(one->frames != NULL, "no memory");
    memcpy(one->frames + one->frame_count, other->frames, other->frame_count * sizeof *one->frames);
    one->frame_count = count;
    one->bursts[0].last = (uint32_t)count - 1;
    sorted_stage = stage;
    qsort(one->frames, count, sizeof *one->frames, by_time);
    free(other->frames);
    free(other->bursts);
    stage->grouping.sequence_count--;
}
