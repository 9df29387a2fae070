/* SPDX-License-Identifier: ISC */
/* The parts of offload that are arithmetic: drives, verdict, names, throughput rows. */
#include <string.h>

#include "base/units.h"
#include "offload/drives.h"
#include "offload/known.h"
#include "offload/preflight_names.h"
#include "offload/throughput.h"
#include "suite.h"

START_TEST(numbers_deliveries_on_the_same_disks_alike)
{
    struct hr_drives drives = {0};
    size_t a, b, c, d;
    ck_assert(!hr__drives_number(&a, &drives, "serial:1", "/mnt/ssd", NULL));
    ck_assert(!hr__drives_number(&b, &drives, "serial:2\nserial:3", "/mnt/raid", NULL));
    ck_assert(!hr__drives_number(&c, &drives, "serial:1", "/mnt/part", NULL));
    ck_assert(!hr__drives_number(&d, &drives, "serial:3", "/mnt/half", NULL));
    ck_assert_uint_eq(a, 0);
    ck_assert_uint_eq(b, 1);
    ck_assert_uint_eq(c, a);
    ck_assert_uint_eq(d, 2);
    hr__drives_finish(&drives);
}
END_TEST

/* Bits name the rows of `disks`. The most that can be found among them by hand. */
START_TEST(counts_only_drives_that_are_shown_to_differ)
{
    static const char *const disks[] = {"serial:2\nserial:3", "serial:2", "serial:3", "unknown", "", "serial:4"};
    static const struct {
        unsigned bits;
        size_t different;
    } rows[] = {
        {0x00, 0},
        {0x01, 1},
        {0x03, 1} /* an array and one half of it */,
        {0x05, 1},
        {0x06, 2} /* both halves */,
        {0x07, 2},
        {0x08, 1} /* unknown alone */,
        {0x0A, 1} /* beside a disk */,
        {0x0E, 2},
        {0x10, 0} /* memory */,
        {0x18, 1},
        {0x12, 1},
        {0x21, 2},
        {0x26, 3},
        {0x3F, 3},
    };
    struct hr_drives drives = {0};
    for (size_t i = 0, number; i < sizeof disks / sizeof *disks; i++)
        ck_assert(!hr__drives_number(&number, &drives, disks[i], "drive", NULL));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_msg(hr__drives_different(drives.drives, drives.count, rows[i].bits) == rows[i].different, "%#x",
                      rows[i].bits);
    hr__drives_finish(&drives);
}
END_TEST

START_TEST(never_counts_memory_as_a_drive)
{
    struct hr_drives drives = {0};
    size_t a, b;
    ck_assert(!hr__drives_number(&a, &drives, "", "/dev/shm", NULL));
    ck_assert(!hr__drives_number(&b, &drives, "", "/run", NULL));
    ck_assert_uint_eq(a, b);
    ck_assert(!drives.drives[0].counts);
    hr__drives_finish(&drives);
}
END_TEST

/* Two files; `bits` says on which of four drives each stands: 0 a disk, 1 a disk, 2 memory, 3 disks nobody knows. */
static const struct hr_digest content = {.kind = HR_DIGEST_XXH128, .size = 16};

static void judge(char *sentence, bool *is_safe, unsigned first, unsigned second, enum hr_proof proof,
                  size_t skip_count)
{
    struct hr_card_file files[2] = {{.path = "DCIM/a"}, {.path = "DCIM/b"}};
    struct hr_card_skip skip = {.path = "DCIM/bad", .reason = HR_SKIP_UNREADABLE, .status = HR_IO};
    struct hr_inventory inventory = {.files = files, .file_count = 2, .skips = &skip, .skip_count = skip_count};
    struct hr_known known;
    struct hr_safety *safety;
    static const char *const disks[] = {"serial:1", "serial:2", "", "unknown"};
    unsigned bits[2] = {first, second};
    ck_assert(!hr__known_init(&known, 2, NULL));
    for (size_t i = 0, number; i < 4; i++)
        ck_assert(!hr__drives_number(&number, &known.drives, disks[i], "drive", NULL));
    for (size_t file = 0; file < 2; file++)
        for (size_t drive = 0; drive < 4; drive++)
            if (bits[file] & (1u << drive))
                ck_assert(hr__known_note(&known, file, drive, &content, proof, 1));
    ck_assert(!hr__known_judge(&safety, &known, &inventory, NULL));
    strcpy(sentence, safety->sentence);
    *is_safe = safety->is_safe;
    hr_safety_destroy(safety);
    hr__known_finish(&known);
}

START_TEST(says_safe_only_when_every_file_is_proven_on_two_drives)
{
    static const struct {
        unsigned first, second;
        enum hr_proof proof;
        size_t skips;
        bool is_safe;
        const char *sentence;
    } rows[] = {
        {3, 3, HR_PROOF_DIRECT, 0, true, "SAFE to format: all 2 files stand proven on 2 drives."},
        {3, 3, HR_PROOF_EVICTED, 0, true, "SAFE to format: all 2 files stand proven on 2 drives."},
        {3, 1, HR_PROOF_DIRECT, 0, false, "NOT SAFE to format: 1 of 2 files on one drive only."},
        {3, 0, HR_PROOF_DIRECT, 0, false, "NOT SAFE to format: 1 of 2 files without a proven copy."},
        {1, 1, HR_PROOF_DIRECT, 0, false, "NOT SAFE to format: all 2 files on one drive only."},
        {5, 5, HR_PROOF_DIRECT, 0, false, "NOT SAFE to format: all 2 files on one drive only."},
        {9, 9, HR_PROOF_DIRECT, 0, false,
         "NOT SAFE to format: all 2 files on one drive only. A drive that does "
         "not show its disks counts as one with any other."},
        {8, 11, HR_PROOF_DIRECT, 0, false,
         "NOT SAFE to format: 1 of 2 files on one drive only. A drive that does not show its disks counts as one with "
         "any other."},
        {11, 11, HR_PROOF_DIRECT, 0, true, "SAFE to format: all 2 files stand proven on 2 drives."},
        {3, 3, HR_PROOF_DIRECT, 1, false, "NOT SAFE to format: 1 entry on the card could not be read."},
        {3, 3, HR_PROOF_CACHE, 0, false,
         "NOT SAFE to format: all 2 files without a proven copy. Copies on a drive that could not show they were read "
         "back from the "
         "medium do not count."},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char sentence[1024];
        bool is_safe;
        judge(sentence, &is_safe, rows[i].first, rows[i].second, rows[i].proof, rows[i].skips);
        ck_assert_str_eq(sentence, rows[i].sentence);
        ck_assert_int_eq(is_safe, rows[i].is_safe);
    }
}
END_TEST

START_TEST(speaks_of_one_file_as_one)
{
    struct hr_card_file file = {.path = "DCIM/a"};
    struct hr_inventory inventory = {.files = &file, .file_count = 1};
    static const char *const sentences[] = {"NOT SAFE to format: its only file is without a proven copy.",
                                            "NOT SAFE to format: its only file is on one drive only.",
                                            "SAFE to format: its only file stands proven on 2 drives."};
    for (size_t drives = 0; drives < 3; drives++) {
        static const char *const disks[] = {"serial:1", "serial:2"};
        struct hr_known known;
        struct hr_safety *safety;
        ck_assert(!hr__known_init(&known, 1, NULL));
        for (size_t i = 0, number; i < drives; i++) {
            ck_assert(!hr__drives_number(&number, &known.drives, disks[i], "drive", NULL));
            ck_assert(hr__known_note(&known, 0, number, &content, HR_PROOF_DIRECT, 1));
        }
        ck_assert(!hr__known_judge(&safety, &known, &inventory, NULL));
        ck_assert_str_eq(safety->sentence, sentences[drives]);
        hr_safety_destroy(safety);
        hr__known_finish(&known);
    }
}
END_TEST

#define FIFTY "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"
#define FIFTY_LONG                                                                                                     \
    "\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9"     \
    "\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9"                                                                       \
    "\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9"     \
    "\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9"

/* A volume of bytes takes 255 of any; one of UTF-16 takes 255 units, but not every character. */
START_TEST(knows_which_names_a_volume_can_hold)
{
    static const struct {
        const char *path;
        bool by_bytes, by_utf16;
    } rows[] = {
        {"DCIM/100NMERE/NMA_0001.JPG", true, true},
        {"DCIM/M\u00fcller.jpg", true, true},
        {"DCIM/two\nlines", true, false},
        {"DCIM/back\\slash", true, false},
        {"what?/a.jpg", true, false},
        {"DCIM/\377.jpg", true, false},
        {"DCIM/a.", true, false},
        {"dot./a.jpg", true, false},
        {"DCIM/a ", true, true},
        {FIFTY FIFTY FIFTY FIFTY FIFTY "x.jpg", true, true},
        {FIFTY FIFTY FIFTY FIFTY FIFTY "xx.jpg", false, false},
        {FIFTY "/" FIFTY FIFTY FIFTY FIFTY FIFTY "xx.jpg", false, false},
        {FIFTY_LONG FIFTY_LONG FIFTY_LONG, false, true},                      /* 300 bytes, 150 units */
        {FIFTY FIFTY FIFTY FIFTY FIFTY "x\U0001F3D1\U0001F3D1", false, true}, /* 251 units and two pairs */
        {FIFTY FIFTY FIFTY FIFTY FIFTY "xx\U0001F3D1\U0001F3D1", false, false},
    };
    struct hr_volume by_bytes = {.max_name_bytes = 255};
    struct hr_volume by_utf16 = {.max_name_bytes = 255, .names_must_be_utf8 = true};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_msg(hr__name_fits(&by_bytes, rows[i].path) == rows[i].by_bytes, "row %zu by bytes", i);
        ck_assert_msg(hr__name_fits(&by_utf16, rows[i].path) == rows[i].by_utf16, "row %zu by UTF-16", i);
    }
}
END_TEST

START_TEST(writes_a_row_a_second_and_one_for_what_is_left)
{
    struct hr_throughput throughput = {0};
    struct hr_throughput_row row;
    struct hr_text line;
    struct hr_transfer_progress now = {
        .elapsed_ns = HR_NS_PER_S / 2, .pool_blocks = 32, .free_blocks = 8, .sink_count = 1};
    ck_assert(!hr__throughput_row(&row, &throughput, &now));
    now.elapsed_ns = HR_NS_PER_S;
    now.digested.bytes = 4000;
    now.sinks[0].written.bytes = 3000;
    now.sinks[0].read_back_bytes = 1000;
    now.sinks[0].queued_bytes = 16 << 20;
    now.bytes_of_card[0] = 2000;
    now.bytes_of_card[1] = 5000;
    ck_assert(hr__throughput_row(&row, &throughput, &now));
    hr__text_init(&line, 1000);
    hr__throughput_line(&line, &row, 1);
    ck_assert_str_eq(line.bytes, "1,5000,4000,75,3000,1000,50");
    hr__text_clear(&line);
    hr__throughput_line(&line, &row, 0);
    ck_assert_str_eq(line.bytes, "1,2000,4000,75,3000,1000,50");
    hr__text_finish(&line);
    now.elapsed_ns += HR_NS_PER_S / 4;
    now.bytes_of_card[1] = 6000;
    ck_assert(!hr__throughput_row(&row, &throughput, &now));
    now.is_last = true;
    ck_assert(hr__throughput_row(&row, &throughput, &now));
    ck_assert_uint_eq(row.second, 2);
    ck_assert_uint_eq(row.bytes_of_card[1], 1000);
}
END_TEST

/* Three drives, two readings of the card: the one that was proven last counts, alone or with others of its content. */
START_TEST(never_counts_copies_of_two_contents_together)
{
    static const char *const disks[] = {"serial:1", "serial:2", "serial:3"};
    const struct hr_digest other = {.kind = HR_DIGEST_XXH128, .size = 16, .bytes = {1}};
    struct hr_known known;
    ck_assert(!hr__known_init(&known, 1, NULL));
    for (size_t i = 0, number; i < 3; i++)
        ck_assert(!hr__drives_number(&number, &known.drives, disks[i], "drive", NULL));
    ck_assert(hr__known_note(&known, 0, 0, &content, HR_PROOF_DIRECT, 1));
    ck_assert(hr__known_note(&known, 0, 1, &content, HR_PROOF_CACHE, 1));
    ck_assert(!hr__known_note(&known, 0, 2, &other, HR_PROOF_DIRECT, 1));
    ck_assert_uint_eq(known.proven[0], 4);
    ck_assert_uint_eq(known.cached[0], 0);
    ck_assert_uint_eq(known.drives.drives[0].files, 0);
    ck_assert(hr__known_note(&known, 0, 0, &other, HR_PROOF_DIRECT, 1));
    ck_assert_uint_eq(known.proven[0], 5);
    for (size_t i = 0; i < 3; i++)
        hr__known_forget(&known, 0, i);
    ck_assert(
        hr__known_note(&known, 0, 1, &content, HR_PROOF_DIRECT, 1)); /* of what was forgotten nothing is compared */
    hr__known_finish(&known);
}
END_TEST

HR_SUITE("offload/arithmetic", numbers_deliveries_on_the_same_disks_alike, counts_only_drives_that_are_shown_to_differ,
         never_counts_memory_as_a_drive, says_safe_only_when_every_file_is_proven_on_two_drives,
         never_counts_copies_of_two_contents_together, speaks_of_one_file_as_one,
         writes_a_row_a_second_and_one_for_what_is_left, knows_which_names_a_volume_can_hold)
