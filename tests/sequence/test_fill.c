/* SPDX-License-Identifier: ISC */
#include <headrace/sequence.h>

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "fill_checks.h"
#include "suite.h"

/* ---- A first run ---- */

START_TEST(links_frames_in_order_with_raw_and_picture_under_one_number)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 9998, 3, 12345, "rj", 1);
    struct hr_filled *filled = fill(stage, HR_FILL_DEFAULT);
    ck_assert_uint_eq(filled->sequence_count, 1);
    ck_assert_str_eq(filled->sequences[0].path, scratch_path(&scratch, SEQUENCES "20260523-143012_A_3f"));
    ck_assert_uint_eq(filled->sequences[0].files_new, 6);
    ck_assert_uint_eq(filled->sequences[0].files_failed, 0);
    ck_assert_ptr_null(filled->sequences[0].fault);
    ck_assert_int_eq(filled->places[0].fill, HR_FILL_LINK);
    ck_assert_str_eq(filled->places[0].sentence, "");
    ck_assert_str_eq(filled->places[0].index_path, scratch_path(&scratch, SEQUENCES "sequences.csv"));
    ck_assert_str_eq(filled->body_names[0], "A");
    ck_assert(filled->all_done);
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143012_A_3f"), 6);
    ck_assert_uint_eq(inode_of(&scratch, SEQUENCES "20260523-143012_A_3f/0001_NMA_9998.DNG"),
                      inode_of(&scratch, DATA "NMA_9998.DNG"));
    ck_assert_uint_eq(inode_of(&scratch, SEQUENCES "20260523-143012_A_3f/0001_NMA_9998.JPG"),
                      inode_of(&scratch, DATA "NMA_9998.JPG"));
    ck_assert_uint_eq(inode_of(&scratch, SEQUENCES "20260523-143012_A_3f/0003_NMA_10000.JPG"),
                      inode_of(&scratch, DATA "NMA_10000.JPG"));
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(bodies_are_lettered_by_first_frame_or_called_as_asked)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    stage_sequence(stage, 1, 1, 2, 1000, "j", 1);
    const struct hr_body_name names[] = {{"B-4712", "far goal"}};
    const struct hr_fill_options options = {.fill = HR_FILL_LINK, .body_names = names, .body_name_count = 1};
    struct hr_filled *filled = NULL;
    ck_assert_int_eq(hr_sequences_fill(&filled, &stage->delivered, &stage->grouping, &options, NULL, NULL), HR_OK);
    ck_assert_str_eq(filled->body_names[0], "A");
    ck_assert_str_eq(filled->body_names[1], "far goal");
    ck_assert(stands(&scratch, SEQUENCES "20260523-143001_far goal_2f/0002_NMB_0002.JPG"));
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_name_that_is_none_for_a_folder_is_refused_before_anything_is_made)
{
    static const char *const names[] = {"", ".", "..", "a/b", "a\nb", ".a"};
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const struct hr_body_name name = {"A-4711", names[i]};
        const struct hr_fill_options options = {.body_names = &name, .body_name_count = 1};
        struct hr_filled *filled = NULL;
        ck_assert_int_eq(hr_sequences_fill(&filled, &stage->delivered, &stage->grouping, &options, NULL, NULL),
                         HR_INVALID);
        ck_assert_ptr_null(filled);
    }
    ck_assert(!stands(&scratch, JOB "/sequences"));
    end(&scratch, stage);
}
END_TEST

START_TEST(sequences_of_one_name_are_told_apart_by_number)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    stage_sequence(stage, 0, 11, 2, 500, "j", 1);
    stage_sequence(stage, 0, 21, 2, 900, "j", 1);
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_A_2f/0001_NMA_0001.JPG"));
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_A_2f-2/0001_NMA_0011.JPG"));
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_A_2f-3/0001_NMA_0021.JPG"));
    end(&scratch, stage);
}
END_TEST

START_TEST(more_than_9999_frames_get_five_digits)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage->writes_files = false;
    stage_sequence(stage, 0, 1, 10000, 0, "j", 1);
    fill_and_forget(stage, HR_FILL_LIST);
    char *files = content_of(&scratch, SEQUENCES "files.csv");
    ck_assert_ptr_nonnull(strstr(files, "\n20260523-143000_A_10000f,1,00001_NMA_0001.JPG,"));
    ck_assert_ptr_nonnull(strstr(files, "\n20260523-143000_A_10000f,10000,10000_NMA_10000.JPG,"));
    free(files);
    end(&scratch, stage);
}
END_TEST

START_TEST(each_place_has_the_frames_that_stand_there)
{
    struct scratch scratch;
    scratch_begin(&scratch);
    struct stage *stage = stage_create(JOB);
    stage_place(stage, scratch_path(&scratch, "ssd"));
    stage_place(stage, scratch_path(&scratch, "disk"));
    struct hr_sequence *sequence = stage_sequence(stage, 0, 1, 3, 0, "rj", 3);
    sequence->frame_count = 3;
    stage->frames[1].file_count = 0;                            /* its files are elsewhere ... */
    uint32_t lone = stage_frame(stage, "NMA_0002", 50, "j", 1); /* ... on the first place alone */
    sequence->frames[1] = lone;
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_uint_eq(filled->place_count, 2);
    ck_assert_str_eq(filled->places[0].sentence, "");
    ck_assert_str_eq(filled->places[1].sentence, "1 frame is not on this drive and is left out here");
    ck_assert_uint_eq(entries_in(&scratch, "ssd/" SEQUENCES "20260523-143000_A_3f"), 5);
    ck_assert_uint_eq(entries_in(&scratch, "disk/" SEQUENCES "20260523-143000_A_2f"), 4);
    ck_assert_uint_eq(inode_of(&scratch, "disk/" SEQUENCES "20260523-143000_A_2f/0002_NMA_0003.JPG"),
                      inode_of(&scratch, "disk/" DATA "NMA_0003.JPG"));
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(each_job_has_its_own_folder_and_index)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    stage->job = "Training";
    stage->bag = "20260522-180000_NMERE_A";
    stage_sequence(stage, 0, 21, 2, 5000, "j", 1);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_uint_eq(filled->place_count, 2);
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_A_2f/0002_NMA_0002.JPG"));
    ck_assert(stands(&scratch, "Training/sequences/20260523-143005_A_2f/0001_NMA_0021.JPG"));
    ck_assert_str_eq(filled->places[1].index_path, scratch_path(&scratch, "Training/sequences/sequences.csv"));
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(frames_outside_of_bags_have_their_sequences_in_the_place_itself)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage->job = "";
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert_uint_eq(inode_of(&scratch, "sequences/20260523-143000_A_2f/0001_NMA_0001.JPG"),
                      inode_of(&scratch, "DCIM/100NMERE/NMA_0001.JPG"));
    end(&scratch, stage);
}
END_TEST

START_TEST(a_card_is_never_written_to)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage->job = "";
    stage->places[0].is_card = true;
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    for (enum hr_fill way = HR_FILL_DEFAULT; way < HR_FILL_COUNT; way++) {
        struct hr_filled *filled = fill(stage, way);
        ck_assert_int_eq(filled->places[0].fill, HR_FILL_LIST);
        ck_assert_str_eq(filled->places[0].index_path, "");
        ck_assert_str_eq(filled->places[0].sentence, "this is a camera's card: nothing is ever written to it");
        ck_assert_str_eq(filled->sequences[0].path, "");
        hr_filled_destroy(filled);
    }
    ck_assert_uint_eq(entries_in(&scratch, ""), 1);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_copy_is_a_file_of_its_own_with_the_time_of_the_first)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    struct hr_file_facts from, to;
    struct hr_file file;
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    ck_assert_int_eq(
        hr__file_open(&file, &scratch.folder, DATA "NMA_0001.JPG", HR_FILE_APPEND, false, "NMA_0001.JPG", NULL), HR_OK);
    ck_assert_int_eq(hr__file_set_modified(&file, 1000000123456789000, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    fill_and_forget(stage, HR_FILL_COPY);
    ck_assert_int_eq(hr__folder_facts(&from, &scratch.folder, DATA "NMA_0001.JPG", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_facts(&to, &scratch.folder, SEQUENCES "20260523-143000_A_2f/0001_NMA_0001.JPG", NULL),
                     HR_OK);
    ck_assert_uint_ne(from.inode, to.inode);
    ck_assert_int_eq(from.modified_ns, to.modified_ns);
    expect_content(&scratch, SEQUENCES "20260523-143000_A_2f/0001_NMA_0001.JPG", "DCIM/100NMERE/NMA_0001.JPG");
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143000_A_2f"), 2);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_list_makes_no_folder)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    struct hr_filled *filled = fill(stage, HR_FILL_LIST);
    ck_assert_str_eq(filled->sequences[0].path, "");
    ck_assert_str_eq(filled->places[0].sentence, "");
    ck_assert_uint_eq(entries_in(&scratch, JOB "/sequences"), 2);
    hr_filled_destroy(filled);
    fill_and_forget(stage, HR_FILL_LINK);
    ck_assert(stands(&scratch, SEQUENCES "20260523-143000_A_2f/0002_NMA_0002.JPG"));
    end(&scratch, stage);
}
END_TEST

/* ---- The index ---- */

START_TEST(the_index_says_all_of_a_sequence)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    struct hr_sequence *sequence = stage_sequence(stage, 0, 1, 4, 12345, "rj", 1);
    sequence->bursts[0].has_stall = true;
    sequence->bursts[0].stall = (struct hr_stall){
        .frame = 2, .drain_cadence_per_s = 7.125, .seconds_full = 3.25, .frames_lost = 41.8, .confidence = 0.9};
    stage_sequence(stage, 1, 1, 2, 60000, "j", 1)->bursts[0].cadence_per_s = 0;
    fill_and_forget(stage, HR_FILL_LIST);
    expect_content(&scratch, SEQUENCES "sequences.csv",
                   "sequence,body,serial,model,start,seconds,frames,files,bursts,cadence_per_s,stall_frame,drain_per_s,"
                   "seconds_full,frames_lost\n"
                   "20260523-143012_A_4f,A,A-4711,NM-1,2026-05-23 14:30:12.345,0.150,4,8,1,20.00,3,7.12,3.2,42\n"
                   "20260523-143100_B_2f,B,B-4712,NM-1,2026-05-23 14:31:00.000,0.050,2,2,1,,,,,\n");
    char *files = content_of(&scratch, SEQUENCES "files.csv");
    ck_assert_ptr_nonnull(strstr(files, "sequence,number,name,path,time,filled\n"
                                        "20260523-143012_A_4f,1,0001_NMA_0001.DNG," STAGE_BAG
                                        "/data/DCIM/100NMERE/NMA_0001.DNG,2026-05-23 14:30:12.345,\n"));
    ck_assert_ptr_nonnull(strstr(files, "\n20260523-143100_B_2f,2,0002_NMB_0002.JPG,"));
    free(files);
    end(&scratch, stage);
}
END_TEST

START_TEST(an_index_that_is_not_ours_is_left_alone)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    scratch_write_text(&scratch, SEQUENCES "sequences.csv", "my own notes\n");
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert(!filled->all_done);
    ck_assert_int_eq(filled->sequences[0].fault->status, HR_MALFORMED);
    ck_assert_ptr_nonnull(strstr(filled->places[0].sentence, "sequences.csv"));
    ck_assert_str_eq(filled->places[0].index_path, "");
    expect_content(&scratch, SEQUENCES "sequences.csv", "my own notes\n");
    ck_assert_uint_eq(entries_in(&scratch, JOB "/sequences"), 1);
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

/* ---- What goes wrong ---- */

START_TEST(a_file_that_vanished_stands_on_its_sequence_and_the_rest_goes_on)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 3, 0, "j", 1);
    stage_sequence(stage, 0, 11, 2, 9000, "j", 1);
    ck_assert_int_eq(unlink(scratch_path(&scratch, DATA "NMA_0002.JPG")), 0);
    scratch_write_text(&scratch, DATA "NMA_0003.JPG", "grown since");
    for (enum hr_fill way = HR_FILL_LINK; way <= HR_FILL_COPY; way += HR_FILL_COPY - HR_FILL_LINK) {
        struct hr_filled *filled = fill(stage, way);
        ck_assert(!filled->all_done);
        ck_assert_int_eq(filled->sequences[0].fault->status, HR_NOT_FOUND);
        ck_assert_uint_eq(filled->sequences[0].files_failed, 2);
        ck_assert_uint_eq(filled->sequences[0].files_new + filled->sequences[0].files_there, 1);
        ck_assert_ptr_null(filled->sequences[1].fault);
        ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143009_A_2f"), 2);
        hr_filled_destroy(filled);
    }
    end(&scratch, stage);
}
END_TEST

START_TEST(what_stands_under_a_name_is_not_replaced)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    scratch_write_text(&scratch, SEQUENCES "20260523-143000_A_2f/0001_NMA_0001.JPG", "somebody's");
    fill_and_forget(stage, HR_FILL_LINK);
    expect_content(&scratch, SEQUENCES "20260523-143000_A_2f/0001_NMA_0001.JPG", "somebody's");
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143000_A_2f"), 1);
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143000_A_2f-2"), 2);
    scratch_write_text(&scratch, SEQUENCES "20260523-143009_A_2f", "a file");
    stage_sequence(stage, 0, 11, 2, 9000, "j", 1);
    fill_and_forget(stage, HR_FILL_COPY);
    expect_content(&scratch, SEQUENCES "20260523-143009_A_2f", "a file");
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143009_A_2f-2"), 2);
    end(&scratch, stage);
}
END_TEST

START_TEST(no_link_leads_out_of_a_place)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    ck_assert_int_eq(unlink(scratch_path(&scratch, DATA "NMA_0001.JPG")), 0);
    ck_assert_int_eq(symlink("/etc/hostname", scratch_path(&scratch, DATA "NMA_0001.JPG")), 0);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_int_eq(filled->sequences[0].fault->status, HR_DIFFERS);
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143000_A_2f"), 1);
    hr_filled_destroy(filled);
    ck_assert_int_eq(symlink("/tmp", scratch_path(&scratch, "elsewhere")), 0);
    stage->job = "elsewhere";
    stage->writes_files = false;
    stage_sequence(stage, 0, 31, 2, 20000, "j", 1);
    filled = fill(stage, HR_FILL_LINK);
    ck_assert_uint_eq(filled->place_count, 2);
    ck_assert_int_eq(filled->sequences[1].fault->status, HR_UNSUPPORTED);
    hr_filled_destroy(filled);
    end(&scratch, stage);
}
END_TEST

START_TEST(another_run_in_the_same_folder_is_waited_for_by_nobody)
{
    struct scratch scratch;
    struct hr_folder folder;
    struct stage *stage = begin(&scratch);
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    fill_and_forget(stage, HR_FILL_LIST);
    ck_assert_int_eq(hr__folder_open_below(&folder, &scratch.folder, JOB "/sequences", NULL), HR_OK);
    ck_assert_int_eq(hr__folder_lock(&folder, NULL), HR_OK);
    struct hr_filled *filled = fill(stage, HR_FILL_LINK);
    ck_assert_int_eq(filled->sequences[0].fault->status, HR_BUSY);
    ck_assert_uint_eq(entries_in(&scratch, JOB "/sequences"), 2);
    hr_filled_destroy(filled);
    hr__folder_close(&folder);
    end(&scratch, stage);
}
END_TEST

START_TEST(a_request_to_stop_is_heard_and_the_next_run_goes_on)
{
    struct scratch scratch;
    struct stage *stage = begin(&scratch);
    struct hr_cancel *cancel = hr_cancel_create();
    const struct hr_fill_options options = {.fill = HR_FILL_COPY};
    struct hr_filled *filled = NULL;
    stage_sequence(stage, 0, 1, 2, 0, "j", 1);
    hr_cancel_request(cancel);
    ck_assert_int_eq(hr_sequences_fill(&filled, &stage->delivered, &stage->grouping, &options, cancel, NULL),
                     HR_CANCELLED);
    ck_assert_ptr_null(filled);
    fill_and_forget(stage, HR_FILL_COPY);
    ck_assert_uint_eq(entries_in(&scratch, SEQUENCES "20260523-143000_A_2f"), 2);
    hr_cancel_destroy(cancel);
    end(&scratch, stage);
}
END_TEST

START_TEST(every_way_has_a_name)
{
    static const char *const names[] = {"default", "link", "reflink", "copy", "move", "list"};
    for (enum hr_fill way = HR_FILL_DEFAULT; way < HR_FILL_COUNT; way++)
        ck_assert_str_eq(hr_fill_name(way), names[way]);
    ck_assert_ptr_null(hr_fill_name(HR_FILL_COUNT));
}
END_TEST

HR_SUITE("sequence/fill", links_frames_in_order_with_raw_and_picture_under_one_number,
         bodies_are_lettered_by_first_frame_or_called_as_asked,
         a_name_that_is_none_for_a_folder_is_refused_before_anything_is_made,
         sequences_of_one_name_are_told_apart_by_number, more_than_9999_frames_get_five_digits,
         each_place_has_the_frames_that_stand_there, each_job_has_its_own_folder_and_index,
         frames_outside_of_bags_have_their_sequences_in_the_place_itself, a_card_is_never_written_to,
         a_copy_is_a_file_of_its_own_with_the_time_of_the_first, a_list_makes_no_folder,
         the_index_says_all_of_a_sequence, an_index_that_is_not_ours_is_left_alone,
         a_file_that_vanished_stands_on_its_sequence_and_the_rest_goes_on, what_stands_under_a_name_is_not_replaced,
         no_link_leads_out_of_a_place, another_run_in_the_same_folder_is_waited_for_by_nobody,
         a_request_to_stop_is_heard_and_the_next_run_goes_on, every_way_has_a_name)
