/* SPDX-License-Identifier: ISC */
/* How stalled bursts are put together, on bursts made by hand. */
#include "base/units.h"
#include "cli/buffer_groups.h"
#include "suite.h"

#include <math.h>
#include <string.h>

enum { USUAL_BURSTS = 4, BURSTS = 6, FRAMES = 3 * BURSTS };

struct made {
    struct hr_delivered_file files[2 * FRAMES];
    struct hr_frame frames[FRAMES];
    uint32_t in_order[BURSTS][3];
    struct hr_burst bursts[BURSTS];
    struct hr_sequence sequences[BURSTS];
    struct hr_body bodies[2];
    struct hr_delivered delivered;
    struct hr_grouping grouping;
};

/* Burst i, of three frames a second apart from `at_s` on, full at the second; `drain` 0: never full. */
static void set_burst(struct made *made, uint32_t i, uint32_t body, int64_t at_s, double drain)
{
    for (uint32_t k = 0; k < 3; k++) {
        made->in_order[i][k] = 3 * i + k;
        made->frames[3 * i + k].local_ns = (at_s + k) * HR_NS_PER_S;
    }
    made->bursts[i] = (struct hr_burst){
        .last = 2, .cadence_per_s = 40, .has_stall = drain > 0, .stall = {.frame = 1, .drain_cadence_per_s = drain}};
    made->sequences[i] = (struct hr_sequence){.body = body,
                                              .start_local_ns = at_s * HR_NS_PER_S,
                                              .frames = made->in_order[i],
                                              .frame_count = 3,
                                              .bursts = &made->bursts[i],
                                              .burst_count = 1};
}

static void set_file(struct made *made, uint32_t burst, uint32_t card, const char *path, const char *on_card)
{
    for (uint32_t k = 3 * burst; k < 3 * burst + 3; k++) {
        made->files[2 * k] = (struct hr_delivered_file){.path = path, .on_card = on_card, .kind = HR_KIND_JPEG};
        made->files[2 * k + 1] = (struct hr_delivered_file){.path = path, .on_card = on_card, .kind = HR_KIND_SIDECAR};
        made->frames[k].first_file = 2 * k;
        made->frames[k].file_count = 2;
        made->frames[k].card = card;
    }
}

static void make(struct made *made)
{
    *made = (struct made){.bodies = {{.serial = "NM-A", .model = ""}, {.serial = "", .model = "Field"}},
                          .delivered = {.frames = made->frames, .files = made->files},
                          .grouping = {.bodies = made->bodies, .body_count = 2, .sequences = made->sequences}};
    made->grouping.sequence_count = USUAL_BURSTS;
    set_burst(made, 0, 0, 100, 20);
    set_burst(made, 1, 0, 110, 0);
    set_burst(made, 2, 1, 115, 30);
    set_burst(made, 3, 0, 120, 16);
    set_file(made, 0, 0, "/ssd/Cup/one/data/DCIM/1.JPG", "DCIM/1.JPG");
    set_file(made, 1, 0, "/ssd/Cup/one/data/DCIM/1.JPG", "DCIM/1.JPG");
    set_file(made, 2, 0, "/ssd/Cup/one/data/DCIM/1.JPG", "DCIM/1.JPG");
    set_file(made, 3, 1, "/media/a\nb/DCIM/1.JPG", "DCIM/1.JPG");
}

START_TEST(groups_by_body_and_card_from_slow_to_fast)
{
    struct made made;
    struct buffer_groups groups;
    make(&made);
    ck_assert_int_eq(buffer_groups_make(&groups, &made.delivered, &made.grouping, NULL), HR_OK);
    ck_assert_uint_eq(groups.count, 3);
    ck_assert_str_eq(groups.items[0].label, "a%0Ab");
    ck_assert_str_eq(groups.items[1].label, "one");
    ck_assert_uint_eq(groups.items[2].body, 1);
    ck_assert_double_eq(groups.items[0].found.buffer.drain_per_s, 16);
    ck_assert_ptr_eq(buffer_groups_faster(&groups, &groups.items[0]), &groups.items[1]);
    ck_assert_ptr_null(buffer_groups_faster(&groups, &groups.items[1]));
    ck_assert_double_eq(buffer_frames_more(&groups.items[1], &groups.items[0], 30), 120);
    buffer_groups_finish(&groups);
}
END_TEST

/* The burst at 110 s was not full, but ended at 112: that is when body A was last busy before 120. */
START_TEST(counts_the_rest_from_whatever_burst_the_body_shot_before)
{
    struct made made;
    struct buffer_groups groups;
    make(&made);
    ck_assert_int_eq(buffer_groups_make(&groups, &made.delivered, &made.grouping, NULL), HR_OK);
    ck_assert_double_eq_tol(groups.items[0].stalls[0].rest_s, 8, 1e-9);
    ck_assert(isinf(groups.items[1].stalls[0].rest_s));
    ck_assert(isinf(groups.items[2].stalls[0].rest_s));
    ck_assert_int_eq(groups.items[0].last_local_ns, 121 * HR_NS_PER_S);
    buffer_groups_finish(&groups);
}
END_TEST

START_TEST(numbers_a_card_whose_files_were_moved)
{
    struct made made;
    struct buffer_groups groups;
    make(&made);
    set_file(&made, 3, 6, "/ssd/Cup/sequences/20260516-143000_A_3f/0001_1.JPG", "DCIM/1.JPG");
    ck_assert_int_eq(buffer_groups_make(&groups, &made.delivered, &made.grouping, NULL), HR_OK);
    ck_assert_str_eq(groups.items[0].label, "card 7");
    buffer_groups_finish(&groups);
}
END_TEST

START_TEST(tells_kinds_apart_but_not_by_sidecars)
{
    struct made made;
    struct buffer_groups groups;
    char files[BUFFER_FILES_SIZE];
    make(&made);
    set_file(&made, 3, 0, "/ssd/Cup/one/data/DCIM/1.JPG", "DCIM/1.JPG");
    ck_assert_int_eq(buffer_groups_make(&groups, &made.delivered, &made.grouping, NULL), HR_OK);
    ck_assert_uint_eq(groups.count, 2);
    ck_assert_str_eq(buffer_files_name(files, &groups.items[0]), "jpeg");
    buffer_groups_finish(&groups);
    for (size_t k = 9; k < 3 * USUAL_BURSTS; k++)
        made.files[2 * k + 1].kind = HR_KIND_RAW;
    ck_assert_int_eq(buffer_groups_make(&groups, &made.delivered, &made.grouping, NULL), HR_OK);
    ck_assert_uint_eq(groups.count, 3);
    ck_assert_str_eq(buffer_files_name(files, &groups.items[1]), "raw + jpeg");
    ck_assert_ptr_null(buffer_groups_faster(&groups, &groups.items[0]));
    buffer_groups_finish(&groups);
}
END_TEST

/* Six stalls of one body and card, by ISO. */
static void group_by_iso(struct buffer_groups *out, struct made *made, const uint32_t isos[BURSTS])
{
    make(made);
    made->grouping.sequence_count = BURSTS;
    for (uint32_t i = 0; i < BURSTS; i++) {
        set_burst(made, i, 0, 100 + 100 * i, isos[i] > 800 ? 15 : 18);
        set_file(made, i, 0, "/ssd/Cup/one/data/DCIM/1.JPG", "DCIM/1.JPG");
        for (uint32_t k = 0; k < 3; k++)
            made->frames[3 * i + k].iso = isos[i];
    }
    ck_assert_int_eq(buffer_groups_make(out, &made->delivered, &made->grouping, NULL), HR_OK);
}

START_TEST(tells_bands_of_iso_apart_where_each_has_enough)
{
    struct made made;
    struct buffer_groups groups;
    char files[BUFFER_FILES_SIZE];
    group_by_iso(&groups, &made, (const uint32_t[]){100, 6400, 800, 4000, 400, 12800});
    ck_assert_uint_eq(groups.count, 2);
    ck_assert_str_eq(buffer_files_name(files, &groups.items[0]), "jpeg, ISO to 800");
    ck_assert_str_eq(buffer_files_name(files, &groups.items[1]), "jpeg, ISO above 3200");
    ck_assert_uint_eq(groups.items[0].stall_count, 3);
    ck_assert_double_eq(groups.items[0].found.buffer.drain_per_s, 18);
    ck_assert_double_eq(groups.items[1].found.buffer.drain_per_s, 15);
    ck_assert_ptr_null(buffer_groups_faster(&groups, &groups.items[0]));
    buffer_groups_finish(&groups);
}
END_TEST

START_TEST(puts_bands_of_iso_together_where_one_has_too_few)
{
    static const uint32_t cases[][BURSTS] = {
        {100, 6400, 800, 4000, 400, 400}, {100, 0, 800, 4000, 400, 4000}, {100, 100, 100, 100, 100, 100}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct made made;
        struct buffer_groups groups;
        char files[BUFFER_FILES_SIZE];
        group_by_iso(&groups, &made, cases[i]);
        ck_assert_uint_eq(groups.count, 1);
        ck_assert_uint_eq(groups.items[0].stall_count, BURSTS);
        ck_assert_int_eq(groups.items[0].last_local_ns, (100 + 100 * 5 + 1) * HR_NS_PER_S);
        ck_assert_str_eq(buffer_files_name(files, &groups.items[0]), "jpeg");
        buffer_groups_finish(&groups);
    }
}
END_TEST

HR_SUITE("cli/buffer_groups", groups_by_body_and_card_from_slow_to_fast,
         counts_the_rest_from_whatever_burst_the_body_shot_before, numbers_a_card_whose_files_were_moved,
         tells_kinds_apart_but_not_by_sidecars, tells_bands_of_iso_apart_where_each_has_enough,
         puts_bands_of_iso_together_where_one_has_too_few)
