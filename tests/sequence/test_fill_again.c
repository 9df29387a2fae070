/* SPDX-License-Identifier: ISC */
/* Runs after the first one: the second half, a second card, a run that died. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "fill_checks.h"
#include "suite.h"

#define FIRST SEQUENCES "20260523-143000_A_3f"

/* A first half: one play of body A. */
static struct stage *begin_with_first_half(struct scratch *scratch, enum hr_fill way)
{
    struct stage *stage = begin(scratch);
    stage_sequence(stage, 0, 1, 3, 0, "j", 1);
    fill_and_forget(stage, way);
    return stage;
}

START_TEST(only_what_is_new_is_made)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_COPY);
    ino_t before = inode_of(&scratch, FIRST "/0001_NMA_0001.JPG");
    stage_sequence(stage, 0, 101, 2, 3600000, "j", 1);
    struct hr_filled *filled = fill(stage, HR_FILL_COPY);
    ck_assert_uint_eq(filled->sequence_count, 2);
    ck_assert_uint_eq(filled->sequences[0].files_there, 3);
    ck_assert_uint_eq(filled->sequences[0].files_new, 0);
    ck_assert_str_eq(filled->sequences[0].path, scratch_path(&scratch, FIRST));
    ck_assert_uint_eq(filled->sequences[1].files_new, 2);
    ck_assert_uint_eq(inode_of(&scratch, FIRST "/0001_NMA_0001.JPG"), before);
    ck_assert_uint_eq(entries_in(&scratch, JOB "/sequences"), 4);
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(the_same_run_again_changes_nothing)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    char *sequences = content_of(&scratch, SEQUENCES "sequences.csv"),
         *files = content_of(&scratch, SEQUENCES "files.csv");
    fill_and_forget(stage, HR_FILL_LINK);
    expect_content(&scratch, SEQUENCES "sequences.csv", sequences);
    expect_content(&scratch, SEQUENCES "files.csv", files);
    free(sequences);
    free(files);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_frame_thrown_out_of_a_folder_stays_out)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    ck_assert_int_eq(unlink(scratch_path(&scratch, FIRST "/0002_NMA_0002.JPG")), 0);
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert_uint_eq(entries_in(&scratch, FIRST), 2);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_folder_that_is_gone_is_made_again_by_its_name)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    char elsewhere[1024];
    snprintf(elsewhere, sizeof elsewhere, "%s", scratch_path(&scratch, "taken away"));
    ck_assert_int_eq(rename(scratch_path(&scratch, FIRST), elsewhere), 0);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_uint_eq(filled->sequences[0].files_new, 3);
    ck_assert_uint_eq(entries_in(&scratch, FIRST), 3);
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(frames_after_the_last_go_on_with_its_numbers)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    stage_sequence(stage, 0, 4, 2, 150, "j", 1);
    stage_merge(stage, 0, 1);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_uint_eq(filled->sequence_count, 1);
    ck_assert_uint_eq(filled->sequences[0].files_there, 3);
    ck_assert_uint_eq(filled->sequences[0].files_new, 2);
    ck_assert(stands(&scratch, FIRST "/0004_NMA_0004.JPG"));
    ck_assert(stands(&scratch, FIRST "/0005_NMA_0005.JPG"));
    char *index = content_of(&scratch, SEQUENCES "sequences.csv");
    ck_assert_ptr_nonnull(strstr(index, "\n20260523-143000_A_3f,A,A-4711,NM-1,2026-05-23 14:30:00.000,0.200,5,5,1,"));
    free(index);
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(frames_before_or_between_get_a_folder_of_their_own)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    stage_sequence(stage, 0, 51, 2, 75, "j", 1); /* between 2 and 3, and after 3 */
    stage_merge(stage, 0, 1);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_uint_eq(filled->sequence_count, 2);
    ck_assert_uint_eq(entries_in(&scratch, FIRST), 3);
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143000_A_2f"), 2);
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_A_2f/0001_NMA_0051.JPG"));
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(numbers_never_outgrow_their_digits)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage->writes_files = false;
    stage_sequence(stage, 0, 1, 9999, 0, "j", 1);
    fill_and_forget(stage, HR_FILL_LIST);
    stage_sequence(stage, 0, 10000, 1, 500000, "j", 1);
    stage_merge(stage, 0, 1);
    fill_and_forget(stage, HR_FILL_LIST);
    char *index = content_of(&scratch, SEQUENCES "sequences.csv");
    ck_assert_ptr_nonnull(strstr(index, "\n20260523-143000_A_9999f,"));
    ck_assert_ptr_nonnull(strstr(index, "\n20260523-143820_A_1f,"));
    free(index);
    end(&scratch, stage);
}
END_TEST

START_TEST(the_raw_that_came_later_takes_the_number_of_its_picture)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 3, 0, "jr", 1);
    stage->frames[1].file_count = 1;
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert_uint_eq(entries_in(&scratch, FIRST), 5);
    stage->frames[1].file_count = 2;
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert(stands(&scratch, FIRST "/0002_NMA_0002.DNG"));
    ck_assert_uint_eq(entries_in(&scratch, FIRST), 6);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_body_keeps_its_letter_when_another_turns_out_to_be_first)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    /* The other body's card comes in, with earlier frames: now it is the first of the grouping. */
    stage->bodies[1] = stage->bodies[0];
    stage->bodies[0] = stage->bodies[2];
    stage->sequences[0].body = 1;
    stage_sequence(stage, 0, 7001, 2, -60000, "j", 1);
    stage->grouping.body_count = 2;
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_str_eq(filled->body_names[0], "B");
    ck_assert_str_eq(filled->body_names[1], "A");
    ck_assert(stands(&scratch, SEQUENCES "20260523-142900_B_2f"));
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_body_without_serial_is_known_by_its_files)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage->bodies[0].serial = stage->bodies[1].serial = "";
    stage_sequence(stage, 1, 1, 2, 0, "j", 1);
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_B_2f"));
    stage_sequence(stage, 1, 101, 2, 60000, "j", 1);
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert(stands(&scratch, SEQUENCES "20260523-143100_B_2f"));
    end(&scratch, stage);
}
END_TEST

START_TEST(rows_of_what_was_not_asked_for_this_time_stay)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    struct stage *second = stage_create(JOB);
    stage_place(second, scratch.path);
    second->bag = "20260523-163000_NMERE_A";
    stage_sequence(second, 0, 101, 2, 3600000, "j", 1);
    fill_and_forget(second, HR_FILL_LINK);
    char *index = content_of(&scratch, SEQUENCES "sequences.csv"), *files = content_of(&scratch, SEQUENCES "files.csv");
    ck_assert_ptr_nonnull(strstr(index,
                                 "\n20260523-143000_A_3f,A,A-4711,NM-1,2026-05-23 14:30:00.000,0.100,3,3,1,20.00,,,,\n"
                                 "20260523-153000_A_2f,A,"));
    ck_assert_ptr_nonnull(strstr(files, "\n20260523-143000_A_3f,3,0003_NMA_0003.JPG,"));
    free(index);
    free(files);
    stage_destroy(second);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_lost_index_is_made_anew_over_the_same_folders)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    ck_assert_int_eq(unlink(scratch_path(&scratch, SEQUENCES "files.csv")), 0);
    ck_assert_int_eq(unlink(scratch_path(&scratch, SEQUENCES "sequences.csv")), 0);
    ck_assert_int_eq(unlink(scratch_path(&scratch, FIRST "/0003_NMA_0003.JPG")), 0);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_str_eq(filled->sequences[0].path, scratch_path(&scratch, FIRST));
    ck_assert_uint_eq(filled->sequences[0].files_there, 2);
    ck_assert_uint_eq(filled->sequences[0].files_new, 1);
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_spreadsheet_may_end_lines_otherwise)
{
    struct scratch scratch;
    struct stage *stage = begin_with_first_half(&scratch, HR_FILL_LINK);
    char *index = content_of(&scratch, SEQUENCES "sequences.csv"), *line = index;
    char changed[4096] = "";
    for (char *end_of_line; (end_of_line = strchr(line, '\n')); line = end_of_line + 1) {
        strncat(changed, line, (size_t)(end_of_line - line));
        strncat(changed, "\r\n", 3);
    }
    scratch_write_text(&scratch, SEQUENCES "sequences.csv", changed);
    fill_and_forget(stage, HR_FILL_LINK);
    expect_content(&scratch, SEQUENCES "sequences.csv", index);
    free(index);
    end(&scratch, stage);
}
END_TEST

START_TEST(no_row_leads_out_of_the_folder)
{
    static const char header[] = "sequence,number,name,path,time,filled\n";
    static const char *const rows[] = {
        "../..,1,0001_x,data/x,,\n",
        "..,1,0001_x,data/x,,\n",
        "a,1,../x,data/x,,\n",
        "a,1,b%2Fx,data/x,,\n",
        "a,1,,data/x,,\n",
        "a,1x,n,p,,\n",
        "a,-1,n,p,,\n",
        "a,4294967296,n,p,,\n",
        "a,1,n%00,p,,\n",
        "a,1,n,p,\n",
        "a,1,\"n,p,,\n",
    };
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[256];
        snprintf(text, sizeof text, "%s%s", header, rows[i]);
        scratch_write_text(&scratch, SEQUENCES "files.csv", text);
        struct hr_filled *filled = fill(stage, HR_FILL_LINK);
        ck_assert_msg(filled->sequences[0].fault && filled->sequences[0].fault->status == HR_MALFORMED, "%s", rows[i]);
        expect_content(&scratch, SEQUENCES "files.csv", text);
        hr_filled_destroy(filled);
    }
    end(&scratch, stage);
}
END_TEST

HR_SUITE("sequence/fill_again", only_what_is_new_is_made, the_same_run_again_changes_nothing,
         a_frame_thrown_out_of_a_folder_stays_out, a_folder_that_is_gone_is_made_again_by_its_name,
         frames_after_the_last_go_on_with_its_numbers, frames_before_or_between_get_a_folder_of_their_own,
         numbers_never_outgrow_their_digits, the_raw_that_came_later_takes_the_number_of_its_picture,
         a_body_keeps_its_letter_when_another_turns_out_to_be_first, a_body_without_serial_is_known_by_its_files,
         rows_of_what_was_not_asked_for_this_time_stay, a_lost_index_is_made_anew_over_the_same_folders,
         a_spreadsheet_may_end_lines_otherwise, no_row_leads_out_of_the_folder)
