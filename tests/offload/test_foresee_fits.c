/* SPDX-License-Identifier: ISC */
/* What is verified by a moment, of cards of four files that are read at 10 MB a second, a file a second, to a place
 * that takes no time beside that. */
#include <stdlib.h>
#include <string.h>

#include "offload/offload_state.h"
#include "suite.h"

static const double MB = 1e6;

enum { FILES = 4 };

struct stage {
    struct hr_offload offload;
    struct given_card {
        struct hr_inventory inventory;
        struct hr_card_file files[FILES];
        struct hr_card_frame frames[FILES];
        uint32_t order[FILES];
        uint8_t in_places[FILES];
    } cards[2];
};

/* Each file a frame of its own, taken from the last to the first. */
static void give_card(struct stage *stage, size_t index)
{
    static const char *const paths[2][FILES] = {{"A1.JPG", "A2.JPG", "A3.JPG", "A4.JPG"},
                                                {"B1.JPG", "B2.JPG", "B3.JPG", "B4.JPG"}};
    struct given_card *card = &stage->cards[index];
    for (uint32_t i = 0; i < FILES; i++) {
        card->files[i] = (struct hr_card_file){.path = paths[index][i],
                                               .size_bytes = 10000000,
                                               .modified_ns = 100 * (int64_t)index + i,
                                               .frame = i,
                                               .kind = HR_KIND_JPEG};
        card->frames[i] = (struct hr_card_frame){.first_file = i, .file_count = 1};
        card->order[i] = FILES - 1 - i;
    }
    card->inventory =
        (struct hr_inventory){.files = card->files, .file_count = FILES, .frames = card->frames, .frame_count = FILES};
    stage->offload.cards[index] = (struct hr_offload_card){
        .inventory = &card->inventory, .order = card->order, .in_places = card->in_places, .link = (unsigned)index};
    stage->offload.foreseen.job.cards[index] =
        (struct hr_forecast_card){.files = FILES,
                                  .bytes = FILES * 10 * MB,
                                  .read = {.bytes_per_s = 10 * MB, .is_measured = true},
                                  .link = (unsigned)index + 1};
}

static struct stage *set(size_t cards, size_t at_once)
{
    struct stage *stage = calloc(1, sizeof *stage);
    ck_assert_ptr_nonnull(stage);
    for (size_t i = 0; i < cards; i++)
        give_card(stage, i);
    stage->offload.card_count = stage->offload.foreseen.job.card_count = cards;
    stage->offload.cards_at_once = at_once;
    stage->offload.options.place_count = 1;
    stage->offload.plan.files_to_copy = cards * FILES;
    stage->offload.foreseen.forecast.verified_s = stage->offload.foreseen.verified.high_s = 1;
    return stage;
}

static struct hr_fits fits(struct stage *stage, double seconds)
{
    struct hr_fits fits;
    ck_assert_int_eq(hr_offload_fits(&fits, &stage->offload, seconds, NULL), HR_OK);
    return fits;
}

START_TEST(takes_the_first_of_the_order_and_names_the_last_of_them)
{
    struct stage *stage = set(1, 1);
    struct hr_fits two = fits(stage, 2.5), none = fits(stage, 0.5), all = fits(stage, 60);
    ck_assert_uint_eq(two.files, 2);
    ck_assert_uint_eq(two.frames, 2);
    ck_assert_uint_eq(two.bytes, 20000000);
    ck_assert_str_eq(two.last_path, "A3.JPG");
    ck_assert_int_eq(two.last_modified_ns, 2);
    ck_assert_uint_eq(none.files, 0);
    ck_assert_ptr_null(none.last_path);
    ck_assert_str_eq(all.last_path, "A1.JPG");
    free(stage);
}
END_TEST

START_TEST(passes_over_what_stands_in_every_place)
{
    struct stage *stage = set(1, 1);
    stage->cards[0].in_places[3] = 1;
    stage->offload.plan.files_to_copy = 3;
    ck_assert_str_eq(fits(stage, 1.5).last_path, "A3.JPG");
    memset(stage->cards[0].in_places, 1, FILES);
    stage->offload.plan.files_to_copy = 0;
    ck_assert_uint_eq(fits(stage, 60).files, 0);
    free(stage);
}
END_TEST

/* A frame of two files of which one must wait is not verified; what is no picture is no frame. */
START_TEST(counts_frames_of_which_all_is_verified)
{
    struct stage *stage = set(1, 1);
    struct given_card *card = &stage->cards[0];
    card->files[2].frame = 3;
    card->frames[2].file_count = 0;
    card->frames[3] = (struct hr_card_frame){.first_file = 2, .file_count = 2};
    ck_assert_uint_eq(fits(stage, 1.5).frames, 0);
    ck_assert_uint_eq(fits(stage, 2.5).frames, 1);
    card->files[1].kind = HR_KIND_OTHER;
    ck_assert_uint_eq(fits(stage, 3.5).files, 3);
    ck_assert_uint_eq(fits(stage, 3.5).frames, 1);
    free(stage);
}
END_TEST

START_TEST(cards_on_links_of_their_own_are_read_side_by_side)
{
    struct stage *stage = set(2, 2);
    struct hr_fits four = fits(stage, 2.5);
    ck_assert_uint_eq(four.files, 4);
    ck_assert_str_eq(four.last_path, "B3.JPG");
    free(stage);
}
END_TEST

START_TEST(cards_of_one_link_or_one_at_a_time_are_read_one_after_the_other)
{
    struct stage *one_link = set(2, 2), *one_by_one = set(2, 1);
    one_link->offload.cards[1].link = 0;
    one_link->offload.foreseen.job.cards[1].link = 1;
    ck_assert_uint_eq(fits(one_link, 5.5).files, 5);
    ck_assert_str_eq(fits(one_link, 5.5).last_path, "B4.JPG");
    ck_assert_str_eq(fits(one_by_one, 2.5).last_path, "A3.JPG");
    free(one_link);
    free(one_by_one);
}
END_TEST

START_TEST(a_wider_range_lets_less_fit)
{
    struct stage *stage = set(1, 1);
    stage->offload.foreseen.verified.high_s = 1.3;
    ck_assert_uint_eq(fits(stage, 2.5).files, 1);
    free(stage);
}
END_TEST

/* A's frames at 0, 4, 8.1 and 12 s are two sequences, read from the last to the first; B's last stands alone. */
START_TEST(tells_which_sequences_are_whole_by_then)
{
    static const int64_t times[2][FILES] = {{0, 4000, 8100, 12000}, {0, 1000, 2000, 90000}};
    static const size_t by_then[][3] = {{0, 0, 0}, {0, 1, 0}, {0, 2, 0}, {1, 2, 0}, {2, 2, 0}, {2, 2, 0}, {2, 2, 1}};
    struct stage *stage = set(2, 2);
    stage->offload.cards[1].link = 0;
    stage->offload.foreseen.job.cards[1].link = 1;
    for (size_t card = 0; card < 2; card++)
        for (size_t i = 0; i < FILES; i++)
            stage->cards[card].files[i].modified_ns = times[card][i] * 1000000;
    for (size_t files = 0; files < sizeof by_then / sizeof *by_then; files++) {
        struct hr_fits_sequence *found = NULL;
        size_t count;
        ck_assert_int_eq(hr_offload_fits_sequences(&found, &count, &stage->offload, (double)files + 0.5, NULL), HR_OK);
        ck_assert_uint_eq(count, 3);
        for (size_t i = 0; i < count; i++)
            ck_assert_uint_eq(found[i].frames_by_then, by_then[files][i]);
        ck_assert_uint_eq(found[1].card, 0);
        ck_assert_int_eq(found[1].start_ns, 8100000000);
        ck_assert_int_eq(found[1].end_ns, 12000000000);
        ck_assert_uint_eq(found[2].card, 1);
        ck_assert_uint_eq(found[2].frames, 3);
        free(found);
    }
    stage->cards[0].in_places[0] = 1; /* stands there already */
    struct hr_fits_sequence *known = NULL;
    size_t count;
    ck_assert_int_eq(hr_offload_fits_sequences(&known, &count, &stage->offload, 0.5, NULL), HR_OK);
    ck_assert_uint_eq(known[0].frames_by_then, 1);
    free(known);
    free(stage);
}
END_TEST

HR_SUITE("offload/foresee_fits", takes_the_first_of_the_order_and_names_the_last_of_them,
         passes_over_what_stands_in_every_place, counts_frames_of_which_all_is_verified,
         cards_on_links_of_their_own_are_read_side_by_side,
         cards_of_one_link_or_one_at_a_time_are_read_one_after_the_other, a_wider_range_lets_less_fit,
         tells_which_sequences_are_whole_by_then)
