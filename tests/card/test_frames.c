/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "card_fixture.h"
#include "suite.h"

/* Files as "PATH@SECONDS", blanks between; what comes of them as slot_order writes it. */
struct card_case {
    const char *files, *order;
    size_t camera_frames;
};

static void make_files(const struct slot *slot, const char *files)
{
    char path[256], full[300];
    long long s;
    for (int used; sscanf(files, " %255[^@]@%lld%n", path, &s, &used) == 2; files += used) {
        snprintf(full, sizeof full, "card/%s", path);
        slot_text(slot, full, "x");
        slot_stamp(slot, full, s, 0);
    }
}

static void expect_cases(const struct card_case *cases, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct slot slot;
        slot_begin(&slot);
        make_files(&slot, cases[i].files);
        slot_insert(&slot, "card");
        ck_assert_str_eq(slot_order(&slot, NULL), cases[i].order);
        ck_assert_msg(slot.inventory->camera_frame_count == cases[i].camera_frames, "%s: %zu frames of a camera",
                      cases[i].files, slot.inventory->camera_frame_count);
        slot_end(&slot);
    }
}
#define EXPECT(...)                                                                                                    \
    expect_cases((const struct card_case[]){__VA_ARGS__},                                                              \
                 sizeof((const struct card_case[]){__VA_ARGS__}) / sizeof(struct card_case))

/* DCF (CIPA DC-009): files of one folder that share their number are one object, such as a picture and its sound. */
START_TEST(keeps_the_files_of_one_press_together)
{
    EXPECT({"N1.TXT@9 N1.MP4@8 N1.WAV@7 N1.XMP@6 N1.HIF@5 N1.JPG@4 N1.DNG@3",
            "N1.DNG|N1.JPG|N1.HIF|N1.XMP|N1.WAV|N1.MP4|N1.TXT", 1},
           {"N1.JPG@1 N2.JPG@1 N1.DNG@1 N2.DNG@1", "N1.DNG|N1.JPG||N2.DNG|N2.JPG", 2},
           {"N1.dng@1 N1.JPG@1 N1.xMp@1", "N1.dng|N1.JPG|N1.xMp", 1}, {"N1.JPG@1 N1.jpg@1", "N1.JPG|N1.jpg", 1},
           {"N1.JPG@1 N1.JPG.xmp@1 N1.DNG.XMP@1 N1.WAV@1", "N1.JPG|N1.DNG.XMP|N1.JPG.xmp|N1.WAV", 1},
           {"N1.XMP@1 N1.TXT@1", "N1.XMP|N1.TXT", 0}, {"N1.WAV@1", "N1.WAV", 0});
}
END_TEST

START_TEST(keeps_apart_what_only_looks_alike)
{
    EXPECT({"N1.JPG@1 n1.JPG@1", "N1.JPG||n1.JPG", 2},
           {"100A/N0001.JPG@1 101A/N0001.DNG@1", "100A/N0001.JPG||101A/N0001.DNG", 2},
           {"N0001.JPG@1 N00010.JPG@2 N0001-1.JPG@3 N000.JPG@4", "N0001.JPG||N00010.JPG||N0001-1.JPG||N000.JPG", 4},
           {"N1.A.JPG@1 N1.B.JPG@2 N1.JPG@3", "N1.A.JPG||N1.B.JPG||N1.JPG", 3},
           {"notes.txt@1 notes.doc@2 notes@3", "notes.txt||notes.doc||notes", 0}, {".JPG@1 .DNG@2", ".JPG||.DNG", 0},
           {"DCIM.JPG@1 DCIM.JPG.d/N1.JPG@2", "DCIM.JPG||DCIM.JPG.d/N1.JPG", 2});
}
END_TEST

START_TEST(orders_frames_by_the_time_of_the_file_written_first)
{
    EXPECT({"N0003.JPG@1 N0001.JPG@2 N0002.JPG@3", "N0003.JPG||N0001.JPG||N0002.JPG", 3},
           /* the JPEG of the first frame was written after the second, its sidecar a day later */
           {"N0001.DNG@10 N0001.JPG@13 N0001.XMP@86400 N0002.DNG@11 N0002.JPG@14",
            "N0001.DNG|N0001.JPG|N0001.XMP||N0002.DNG|N0002.JPG", 2},
           {"N0001.DNG@13 N0001.JPG@10 N0002.DNG@11", "N0001.DNG|N0001.JPG||N0002.DNG", 2},
           {"N0002.JPG@-1 N0001.JPG@0 N0003.JPG@-2000000000", "N0003.JPG||N0002.JPG||N0001.JPG", 3},
           {"MISC/a.txt@2 100A/N0001.JPG@1 100A/N0002.JPG@3", "100A/N0001.JPG||MISC/a.txt||100A/N0002.JPG", 2});
}
END_TEST

/* FAT counts two seconds: 40 frames or more share a time. After number 9999 the camera opens the next folder (DCF), in
 * which numbers begin anew. */
START_TEST(orders_frames_of_one_time_by_folder_number_and_counter)
{
    EXPECT({"100A/N9999.JPG@2 101A/N0001.JPG@2 100A/N9998.JPG@2 101A/N0002.JPG@2",
            "100A/N9998.JPG||100A/N9999.JPG||101A/N0001.JPG||101A/N0002.JPG", 4},
           {"100ZZZZZ/A0002.JPG@2 101AAAAA/A0001.JPG@2", "100ZZZZZ/A0002.JPG||101AAAAA/A0001.JPG", 2},
           {"999A/N0002.JPG@2 100A/N0001.JPG@4", "999A/N0002.JPG||100A/N0001.JPG", 2},
           {"DCIM/100A/N0002.JPG@2 DCIM/100A/_B0001.JPG@2", "DCIM/100A/_B0001.JPG||DCIM/100A/N0002.JPG", 2},
           {"N0009.JPG@2 N0010.JPG@2 N0100.JPG@2 N0099.JPG@2", "N0009.JPG||N0010.JPG||N0099.JPG||N0100.JPG", 4},
           {"N10.JPG@2 N9.JPG@2 N.JPG@2", "N.JPG||N9.JPG||N10.JPG", 3},
           /* no more than four digits are the counter; what it leaves undecided the bytes of the name decide */
           {"B10001.JPG@2 A20001.JPG@2 A10002.JPG@2", "A20001.JPG||B10001.JPG||A10002.JPG", 3},
           {"9999.JPG@2 A/0001.JPG@2 1A/0001.JPG@2", "A/0001.JPG||9999.JPG||1A/0001.JPG", 3},
           /* within one folder a roll-over shows in the time alone */
           {"100A/N0001.JPG@4 100A/N9999.JPG@2", "100A/N9999.JPG||100A/N0001.JPG", 2});
}
END_TEST

START_TEST(gives_each_frame_a_run_of_files_and_each_file_its_frame)
{
    struct slot slot;
    slot_begin(&slot);
    make_files(&slot, "N1.JPG@3 N1.DNG@3 N2.JPG@1 N3.TXT@2 N4.WAV@4 N4.JPG@5");
    slot_insert(&slot, "card");
    const struct hr_inventory *inventory = slot.inventory;
    size_t next = 0;
    ck_assert_uint_eq(inventory->frame_count, 4);
    for (size_t f = 0; f < inventory->frame_count; f++) {
        ck_assert_uint_eq(inventory->frames[f].first_file, next);
        ck_assert_uint_gt(inventory->frames[f].file_count, 0);
        ck_assert_int_eq(inventory->frames[f].rating, 0);
        for (uint32_t i = 0; i < inventory->frames[f].file_count; i++)
            ck_assert_uint_eq(inventory->files[next++].frame, f);
    }
    ck_assert_uint_eq(next, inventory->file_count);
    slot_end(&slot);
}
END_TEST

/* The read-only attribute of FAT and exFAT, by which cameras protect, comes as missing write bits. */
START_TEST(protects_a_frame_when_one_of_its_files_is_read_only)
{
    static const struct {
        mode_t mode;
        bool is_protected;
    } cases[] = {{0444, true},  {0555, true},  {0400, true},  {0, true},
                 {0644, false}, {0464, false}, {0446, false}, {0755, false}};
    static const char *const files[] = {"N1.DNG", "N1.JPG"};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        for (int which = 0; which < 2; which++) {
            struct slot slot;
            char path[32];
            slot_begin(&slot);
            make_files(&slot, "N1.JPG@1 N1.DNG@1 N2.JPG@2");
            snprintf(path, sizeof path, "card/%s", files[which]);
            ck_assert_int_eq(chmod(slot_path(&slot, path), cases[i].mode), 0);
            slot_insert(&slot, "card");
            ck_assert_msg(slot_file(&slot, files[which])->is_protected == cases[i].is_protected, "mode %o",
                          cases[i].mode);
            ck_assert(!slot_file(&slot, files[!which])->is_protected);
            ck_assert(slot.inventory->frames[0].is_protected == cases[i].is_protected);
            ck_assert(!slot.inventory->frames[1].is_protected);
            slot_end(&slot);
        }
}
END_TEST

HR_SUITE("card/frames", keeps_the_files_of_one_press_together, keeps_apart_what_only_looks_alike,
         orders_frames_by_the_time_of_the_file_written_first, orders_frames_of_one_time_by_folder_number_and_counter,
         gives_each_frame_a_run_of_files_and_each_file_its_frame, protects_a_frame_when_one_of_its_files_is_read_only)
