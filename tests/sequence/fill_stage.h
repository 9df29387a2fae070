/* SPDX-License-Identifier: ISC */
/* Frames and sequences made by hand: what hr_delivered_create and hr_grouping_create would find. Kick-off of the cup
 * final at Northmere is 2026-05-23 14:30:00 on the cameras' clocks. */
#ifndef HR_TESTS_FILL_STAGE_H
#define HR_TESTS_FILL_STAGE_H

#include <headrace/sequence.h>

enum { STAGE_FRAMES = 12000, STAGE_FILES = 40000, STAGE_PLACES = 4, STAGE_SEQUENCES = 64, STAGE_BODIES = 4 };

#define STAGE_KICK_OFF_NS 1779546600000000000LL /* date -u -d '2026-05-23 14:30' +%s */
#define STAGE_BAG "20260523-151200_NMERE_A"

struct stage {
    struct hr_delivered delivered;
    struct hr_grouping grouping;
    struct hr_frame frames[STAGE_FRAMES];
    struct hr_delivered_file files[STAGE_FILES];
    struct hr_delivered_place places[STAGE_PLACES];
    struct hr_sequence sequences[STAGE_SEQUENCES];
    struct hr_body bodies[STAGE_BODIES];
    const char *job, *bag; /* of the frames to come */
    bool writes_files;     /* else they stand already */
};

/* On the heap, for it is large. Serials of bodies are "A-4711", "B-4712" and so on, by number. */
struct stage *stage_create(const char *job);
void stage_destroy(struct stage *stage);
uint32_t stage_place(struct stage *stage, const char *path);
/* A frame STEM at `ms` after kick-off, its files STEM.EXTENSION for each letter of `kinds` (r: DNG, j: JPG), in each
 * place of the bits `places`. */
uint32_t stage_frame(struct stage *stage, const char *stem, int64_t ms, const char *kinds, unsigned places);
/* `count` such frames NMx_NNNN of `body` (x: its letter) from `number` on, 50 ms apart, as a sequence of one burst. */
struct hr_sequence *stage_sequence(struct stage *stage, uint32_t body, unsigned number, size_t count, int64_t ms,
                                   const char *kinds, unsigned places);
/* Puts the frames of the last sequence into order by time, and those of `from` with them. */
void stage_merge(struct stage *stage, uint32_t into, uint32_t from);

#endif
