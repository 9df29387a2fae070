/* SPDX-License-Identifier: ISC */
/* What is said of sequences, on a match made by hand: two bodies, three plays, half-time, a buffer that filled. */
#include "base/units.h"
#include "cli/offload_sequences.h"
#include "cli/sequences_report.h"
#include "cli/sequences_svg.h"
#include "suite.h"

#include <expat.h>
#include <stdlib.h>
#include <string.h>

#include <headrace/name.h>

enum { FRAMES = 20, SINGLE = 17, UNKNOWN = 18, NOT_READ = 19 };

/* 2026-05-16 14:30:00 on the camera's clock: date -u -d 2026-05-16T14:30:00 +%s */
static const int64_t kick_off_ns = 1778941800 * HR_NS_PER_S;

struct match {
    struct hr_frame frames[FRAMES];
    struct hr_delivered_file files[FRAMES + 2];
    struct hr_delivered_place place;
    uint32_t in_order[FRAMES];
    struct hr_body bodies[2];
    struct hr_burst bursts[4];
    struct hr_sequence sequences[3];
    struct hr_clock_change change;
    uint32_t singles[1], unknown[2];
    struct hr_filled_sequence filled_sequences[3];
    struct hr_filled_place filled_places[1];
    struct hr_fault fault;
    char *names[2];
    struct hr_delivered delivered;
    struct hr_grouping grouping;
    struct hr_filled filled;
    struct sequences_found found;
};

static char text_of_a[] = "A", text_of_b[] = "B", empty[] = "";
static char index_path[] = "/mnt/ssd/Cup final/sequences/sequences.csv";
static char folders[3][64] = {"/mnt/ssd/Cup final/sequences/20260516-143000_A_10f",
                              "/mnt/ssd/Cup final/sequences/20260516-143001_B_4f",
                              "/mnt/ssd/Cup final/sequences/20260516-144700_A_3f"};

static void add_frames(struct match *match, size_t from, size_t count, int64_t at_ms, int64_t step_ms)
{
    static char keys[FRAMES][64], paths[FRAMES][128];
    for (size_t i = from; i < from + count; i++) {
        snprintf(keys[i], sizeof keys[i], "DCIM/100NMERE/NMA_%04zu", i + 1);
        snprintf(paths[i], sizeof paths[i], "/mnt/ssd/Cup final/b/data/%s.JPG", keys[i]);
        match->files[i] = (struct hr_delivered_file){.path = paths[i], .on_card = keys[i], .kind = HR_KIND_JPEG};
        match->frames[i] =
            (struct hr_frame){.key = keys[i],
                              .job = "Cup final",
                              .serial = "",
                              .model = "",
                              .has_time = true,
                              .local_ns = kick_off_ns + (at_ms + (int64_t)(i - from) * step_ms) * 1000000,
                              .first_file = i,
                              .file_count = 1};
        match->in_order[i] = (uint32_t)i;
    }
}

static void group(struct match *match)
{
    /* Body A: eight frames at 10/s, full after six, then two more; body B at the same time; half-time; A again. */
    match->bursts[0] = (struct hr_burst){.first = 0,
                                         .last = 7,
                                         .cadence_per_s = 10,
                                         .has_stall = true,
                                         .stall = {.frame = 6,
                                                   .drain_cadence_per_s = 4.96,
                                                   .drain_bytes_per_s = 12345678,
                                                   .seconds_full = 0.4,
                                                   .frames_lost = 2.4,
                                                   .confidence = 0.875}};
    match->bursts[1] = (struct hr_burst){.first = 8, .last = 9, .cadence_per_s = 7.5};
    match->bursts[2] = (struct hr_burst){.first = 0, .last = 3, .cadence_per_s = 20};
    match->bursts[3] = (struct hr_burst){.first = 0, .last = 2};
    match->sequences[0] = (struct hr_sequence){.body = 0,
                                               .start_local_ns = kick_off_ns,
                                               .length_ns = 1800000000,
                                               .frames = match->in_order,
                                               .frame_count = 10,
                                               .bursts = match->bursts,
                                               .burst_count = 2};
    match->sequences[1] = (struct hr_sequence){.body = 1,
                                               .start_local_ns = kick_off_ns + HR_NS_PER_S,
                                               .length_ns = 150000000,
                                               .frames = match->in_order + 10,
                                               .frame_count = 4,
                                               .bursts = match->bursts + 2,
                                               .burst_count = 1};
    match->sequences[2] = (struct hr_sequence){.body = 0,
                                               .start_local_ns = kick_off_ns + 1020 * HR_NS_PER_S,
                                               .length_ns = 64 * HR_NS_PER_S,
                                               .frames = match->in_order + 14,
                                               .frame_count = 3,
                                               .bursts = match->bursts + 3,
                                               .burst_count = 1};
    match->grouping = (struct hr_grouping){.bodies = match->bodies,
                                           .body_count = 2,
                                           .sequences = match->sequences,
                                           .sequence_count = 3,
                                           .singles = match->singles,
                                           .single_count = 1,
                                           .unknown = match->unknown,
                                           .unknown_count = 2,
                                           .clock_changes = &match->change,
                                           .clock_change_count = 1};
}

static void fill(struct match *match)
{
    for (uint32_t i = 0; i < 3; i++)
        match->filled_sequences[i] =
            (struct hr_filled_sequence){.sequence = i, .name = strrchr(folders[i], '/') + 1, .path = folders[i]};
    match->filled_sequences[0].files_new = 10;
    match->filled_sequences[1].files_there = 4;
    match->filled_sequences[2].files_new = 2;
    match->filled_places[0] =
        (struct hr_filled_place){.fill = HR_FILL_LINK, .sentence = empty, .index_path = index_path};
    match->filled = (struct hr_filled){.sequences = match->filled_sequences,
                                       .sequence_count = 3,
                                       .places = match->filled_places,
                                       .place_count = 1,
                                       .body_names = match->names,
                                       .body_count = 2,
                                       .all_done = true};
}

static void make(struct match *match)
{
    *match = (struct match){.place = {.path = "/mnt/ssd"}, .names = {text_of_a, text_of_b}};
    add_frames(match, 0, 8, 0, 100);
    add_frames(match, 8, 2, 1600, 200);
    add_frames(match, 10, 4, 1000, 50);
    add_frames(match, 14, 3, 1020000, 32000);
    add_frames(match, SINGLE, 1, 1200000, 0);
    add_frames(match, UNKNOWN, 2, 0, 0);
    match->frames[UNKNOWN].has_time = match->frames[NOT_READ].has_time = false;
    match->frames[NOT_READ].trouble = "cut short";
    match->frames[SINGLE].has_offset = true;
    match->frames[SINGLE].offset_minutes = 60;
    match->singles[0] = SINGLE;
    match->unknown[0] = UNKNOWN;
    match->unknown[1] = NOT_READ;
    match->bodies[0] =
        (struct hr_body){.serial = "NM-A-0417", .model = "", .frame_count = 14, .resolution_ns = 10000000};
    match->bodies[1] = (struct hr_body){.serial = "", .model = "Second <body>", .frame_count = 4};
    match->change =
        (struct hr_clock_change){.body = 0, .frame = 14, .jump_ns = 3600 * HR_NS_PER_S, .is_summer_time = true};
    match->delivered = (struct hr_delivered){.frames = match->frames,
                                             .frame_count = FRAMES,
                                             .files = match->files,
                                             .file_count = FRAMES,
                                             .places = &match->place,
                                             .place_count = 1};
    group(match);
    fill(match);
    match->found = (struct sequences_found){&match->delivered, &match->grouping, &match->filled};
}

static void expect(struct cli_output *out, const char *text)
{
    ck_assert_str_eq(out->text.bytes, text);
    ck_assert(cli_output_finish(out));
}

static size_t count_of(const struct hr_text *text, const char *wanted)
{
    size_t count = 0;
    for (const char *at = text->bytes; (at = strstr(at, wanted)) != NULL; at++)
        count++;
    return count;
}

START_TEST(shows_a_line_a_sequence_and_the_pause)
{
    struct match match;
    struct cli_output out;
    make(&match);
    cli_output_init(&out, NULL, false);
    sequences_text(&out, &match.found, false);
    expect(&out, "20 frames: 3 sequences, 1 single, 2 not grouped\n"
                 "body A: 14 frames, serial NM-A-0417\n"
                 "body B: 4 frames, Second <body>\n"
                 "buffer full in 1 sequence: about 2 frames lost\n"
                 "\n"
                 "Cup final, 2026-05-16\n"
                 "  time      body  frames     length cadence\n"
                 "  14:30:00  A         10      1.8 s    10/s  ########  full after 6, then 5/s\n"
                 "  14:30:01  B          4      0.1 s    20/s  ###\n"
                 "  -- pause --  16 min 58 s\n"
                 "  14:47:00  A          3 1 min 04 s       -  ##\n"
                 "\n"
                 "not grouped: 2 frames\n"
                 "  DCIM/100NMERE/NMA_0019: its time is not known\n"
                 "  DCIM/100NMERE/NMA_0020: cut short\n"
                 "the clock of body A went forward by 1 h 00 min before DCIM/100NMERE/NMA_0015: summer time?\n"
                 "in /mnt/ssd/Cup final/sequences: 2 new folders (link), 1 there before\n");
}
END_TEST

START_TEST(marks_the_busiest_and_a_full_buffer)
{
    struct match match;
    struct cli_output out;
    make(&match);
    cli_output_init(&out, NULL, true);
    sequences_text(&out, &match.found, true);
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "A     \033[1m    10\033[0m      1.8 s    10/s  \033[1m"
                                                 "\u2588\u2588\u2588\u2588\u2588\u2588\u2588\u2588"
                                                 "\033[0m  \033[1;31mfull after 6, then 5/s\033[0m\n"));
    /* 4 of 10 frames are 26 of 64 eighths. */
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "B          4      0.1 s    20/s  \u2588\u2588\u2588\u258e\n"));
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(says_in_a_line_what_was_found_and_what_failed)
{
    struct match match;
    struct cli_output out;
    make(&match);
    match.fault = (struct hr_fault){.status = HR_FULL, .text = "no room left for 20260516-144700_A_3f"};
    match.filled_sequences[2].fault = &match.fault;
    cli_output_init(&out, NULL, false);
    sequences_text_line(&out, &match.found);
    expect(&out, "20 frames: 3 sequences, 1 single, 2 not grouped\n"
                 "FAILED: no room left for 20260516-144700_A_3f\n");
}
END_TEST

START_TEST(names_the_first_failures_and_counts_the_rest)
{
    enum { MANY = 26 };
    struct match match;
    struct cli_output out;
    struct hr_filled_sequence many[MANY];
    struct hr_fault faults[MANY];
    make(&match);
    /* Each cause twice running: it is told once. */
    for (size_t i = 0; i < MANY; i++) {
        snprintf(faults[i].text, sizeof faults[i].text, "no room left for %zu", i / 2);
        many[i] = (struct hr_filled_sequence){.name = empty, .path = empty, .fault = &faults[i]};
    }
    match.filled.sequences = many;
    match.filled.sequence_count = MANY;
    cli_output_init(&out, NULL, false);
    sequences_text_line(&out, &match.found);
    struct hr_text text = out.text;
    ck_assert_uint_eq(count_of(&text, "FAILED: no room left for "), 10);
    ck_assert_uint_eq(count_of(&text, "FAILED: no room left for 9\n  and 6 more failed\n"), 1);
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(sums_up_below_an_offload)
{
    static char sentence[] = "this drive has no links";
    struct match match;
    struct cli_output out;
    make(&match);
    match.filled_places[0].fill = HR_FILL_LIST;
    match.filled_places[0].sentence = sentence;
    cli_output_init(&out, NULL, false);
    sequences_text_summary(&out, &match.found);
    expect(&out, "20 frames: 3 sequences, 1 single, 2 not grouped\n"
                 "buffer full in 1 sequence: about 2 frames lost\n"
                 "in /mnt/ssd/Cup final/sequences: the index alone; this drive has no links\n");
    cli_output_init(&out, NULL, false);
    match.filled_places[0].index_path = empty;
    match.filled_places[0].sentence = sentence;
    sequences_text_summary(&out, &match.found);
    ck_assert_uint_eq(count_of(&out.text, "\nin /mnt/ssd: this drive has no links\n"), 1);
    ck_assert(cli_output_finish(&out));
    /* What failed is told once. */
    match.fault = (struct hr_fault){.status = HR_UNSUPPORTED, .text = "this drive has no links"};
    match.filled_sequences[0].fault = match.filled_sequences[1].fault = &match.fault;
    cli_output_init(&out, NULL, false);
    sequences_text_summary(&out, &match.found);
    ck_assert_uint_eq(count_of(&out.text, "this drive has no links"), 1);
    ck_assert_uint_eq(count_of(&out.text, "\nFAILED: this drive has no links\n"), 1);
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(begins_a_heading_where_job_or_day_change)
{
    struct match match;
    struct cli_output out;
    make(&match);
    match.frames[14].job = "2026-05-17";
    match.sequences[2].start_local_ns += 86400 * HR_NS_PER_S;
    cli_output_init(&out, NULL, false);
    sequences_text(&out, &match.found, false);
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\n\nCup final, 2026-05-16\n  time "));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\n\n2026-05-17\n  time "));
    ck_assert_ptr_null(strstr(out.text.bytes, "pause"));
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(writes_every_sequence_as_json)
{
    struct match match;
    struct cli_output out;
    struct json_writer json;
    make(&match);
    /* Only the second sequence, that the whole document stays in sight. */
    match.grouping.sequences++;
    match.grouping.sequence_count = 1;
    match.filled_sequences[1].sequence = 0;
    match.filled.sequences++;
    match.filled.sequence_count = 1;
    match.frames[10].has_offset = true;
    match.frames[10].offset_minutes = 60;
    /* The first frame has a raw file too, and a copy of it. */
    match.files[FRAMES] = (struct hr_delivered_file){.path = "/mnt/ssd/a\n.DNG"};
    match.files[FRAMES + 1] = (struct hr_delivered_file){.path = "/mnt/backup/a.DNG", .is_copy = true};
    match.frames[10].first_file = FRAMES;
    match.frames[10].file_count = 2;
    match.sequences[1].frame_count = 2;
    match.bursts[2].last = 1;
    match.bursts[2].cadence_per_s = 19.966;
    match.grouping.unknown_count = 1;
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    sequences_json(&json, &match.found);
    expect(
        &out,
        "{\"schema\":1,\"document\":\"sequences\",\"all_done\":true,\"sequences\":[{\"id\":\"20260516-143001_B_4f\","
        "\"body\":\"B\","
        "\"start\":\"2026-05-16T14:30:01.000+01:00\",\"seconds\":0.150,\"frames\":["
        "{\"key\":\"DCIM/100NMERE/NMA_0011\",\"time\":\"2026-05-16T14:30:01.000+01:00\",\"files\":[\"/mnt/ssd/"
        "a%0A.DNG\"]},"
        "{\"key\":\"DCIM/100NMERE/NMA_0012\",\"time\":\"2026-05-16T14:30:01.050\","
        "\"files\":[\"/mnt/ssd/Cup final/b/data/DCIM/100NMERE/NMA_0012.JPG\"]}],"
        "\"bursts\":[{\"first\":0,\"last\":1,\"cadence\":19.97,\"stall\":null}],"
        "\"folder\":\"/mnt/ssd/Cup final/sequences/20260516-143001_B_4f\"}],"
        "\"singles\":[{\"key\":\"DCIM/100NMERE/NMA_0018\","
        "\"files\":[\"/mnt/ssd/Cup final/b/data/DCIM/100NMERE/NMA_0018.JPG\"]}],"
        "\"unknown\":[{\"key\":\"DCIM/100NMERE/NMA_0019\","
        "\"files\":[\"/mnt/ssd/Cup final/b/data/DCIM/100NMERE/NMA_0019.JPG\"],\"trouble\":\"\"}],"
        "\"bodies\":[{\"name\":\"A\",\"serial\":\"NM-A-0417\",\"model\":\"\",\"frames\":14,\"resolution_ns\":10000000},"
        "{\"name\":\"B\",\"serial\":\"\",\"model\":\"Second <body>\",\"frames\":4,\"resolution_ns\":0}],"
        "\"clock_changes\":[{\"body\":\"A\",\"key\":\"DCIM/100NMERE/NMA_0015\",\"jump_ns\":3600000000000,"
        "\"is_summer_time\":true}],"
        "\"places\":[{\"path\":\"/mnt/ssd\",\"fill\":\"link\",\"folder\":\"/mnt/ssd/Cup final/sequences\","
        "\"folders_new\":0,\"folders_there\":1,"
        "\"index\":\"/mnt/ssd/Cup final/sequences/sequences.csv\",\"text\":\"\"}],\"failures\":[]}\n");
}
END_TEST

START_TEST(writes_a_stall_and_what_is_not_known_as_json)
{
    struct match match;
    struct cli_output out;
    struct json_writer json;
    make(&match);
    match.filled_sequences[2].path = empty;
    match.fault = (struct hr_fault){.status = HR_FULL, .text = "no room left"};
    match.filled_sequences[2].fault = &match.fault;
    match.filled.all_done = false;
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    sequences_json(&json, &match.found);
    static const char *const wanted[] = {
        "\"bursts\":[{\"first\":0,\"last\":7,\"cadence\":10.00,\"stall\":{\"frame\":6,\"drain_cadence\":4.96,"
        "\"drain_MB_s\":12.3,\"seconds_full\":0.400,\"frames_lost\":2.4,\"confidence\":0.875}},"
        "{\"first\":8,\"last\":9,\"cadence\":7.50,\"stall\":null}]",
        "\"bursts\":[{\"first\":0,\"last\":2,\"cadence\":null,\"stall\":null}],\"folder\":null}",
        "\"trouble\":\"cut short\"",
        "\"all_done\":false",
        "\"failures\":[{\"place\":\"/mnt/ssd\",\"id\":\"20260516-144700_A_3f\",\"status\":\"full\",",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        ck_assert_msg(strstr(out.text.bytes, wanted[i]) != NULL, "%s", wanted[i]);
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(counts_as_json_below_an_offload)
{
    struct match match;
    struct cli_output out;
    struct json_writer json;
    make(&match);
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    json_open(&json, NULL, '{');
    sequences_json_summary(&json, &match.found);
    json_close(&json);
    expect(&out, "{\"all_done\":true,\"frames\":20,\"sequences\":3,\"singles\":1,\"unknown\":2,\"stalled\":1,"
                 "\"places\":[{\"path\":\"/mnt/ssd\",\"fill\":\"link\",\"folder\":\"/mnt/ssd/Cup final/sequences\","
                 "\"folders_new\":2,\"folders_there\":1,"
                 "\"index\":\"/mnt/ssd/Cup final/sequences/sequences.csv\",\"text\":\"\"}],\"failures\":[]}");
}
END_TEST

START_TEST(tells_of_an_offload_what_became_of_its_sequences)
{
    struct match match;
    struct cli_output out;
    struct json_writer json;
    make(&match);
    const struct offload_sequences none = {0},
                                   full = {.has_run = true, .status = HR_FULL, .fault = {.text = "no room left"}},
                                   well = {.has_run = true, .found = match.found};
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    json_open(&json, NULL, '{');
    offload_sequences_member(&json, &none);
    json_close(&json);
    json_end(&json);
    json_open(&json, NULL, '{');
    offload_sequences_member(&json, &full);
    json_close(&json);
    json_end(&json);
    offload_sequences_event(&json, &none);
    offload_sequences_event(&json, &full);
    expect(&out, "{\"sequences\":null}\n"
                 "{\"sequences\":{\"status\":\"full\",\"text\":\"no room left\"}}\n"
                 "{\"schema\":1,\"event\":\"sequences\",\"status\":\"full\",\"text\":\"no room left\"}\n");
    ck_assert(!offload_sequences_failed(&none));
    ck_assert(offload_sequences_failed(&full));
    ck_assert(!offload_sequences_failed(&well));
    match.filled.all_done = false;
    ck_assert(offload_sequences_failed(&well));
}
END_TEST

/* ---- the picture ---- */

static void draw(struct hr_text *out, const struct match *match)
{
    hr__text_init(out, 1 << 20);
    sequences_svg(out, &match->found);
    ck_assert(!out->broken);
    XML_Parser parser = XML_ParserCreate(NULL);
    enum XML_Status status = XML_Parse(parser, out->bytes, (int)out->size, 1);
    ck_assert_msg(status == XML_STATUS_OK, "%s at line %lu", XML_ErrorString(XML_GetErrorCode(parser)),
                  XML_GetCurrentLineNumber(parser));
    XML_ParserFree(parser);
}

START_TEST(draws_a_lane_a_body_and_marks_stalls)
{
    struct match match;
    struct hr_text out;
    make(&match);
    draw(&out, &match);
    static const char *const wanted[] = {">20 frames in 3 sequences<",
                                         ">1 single; buffer full in 1 sequence, about 2 frames lost<",
                                         ">Cup final, 2026-05-16<",
                                         ">A<",
                                         ">B<",
                                         ">20/s<",
                                         ">14:30<",
                                         ">14:48<",
                                         ">pause 16 min 58 s<",
                                         ">10<"};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        ck_assert_msg(strstr(out.bytes, wanted[i]) != NULL, "%s", wanted[i]);
    /* One of each stands in the legend. */
    ck_assert_uint_eq(count_of(&out, "class=\"held\""), 3 + 1);
    ck_assert_uint_eq(count_of(&out, "class=\"full\""), 1 + 1);
    ck_assert_uint_eq(count_of(&out, "class=\"mark\""), 1 + 1);
    ck_assert_uint_eq(count_of(&out, "class=\"unsure\""), 1);
    hr__text_finish(&out);
}
END_TEST

START_TEST(draws_the_same_match_in_the_same_bytes)
{
    struct match match;
    struct hr_text first, second;
    make(&match);
    draw(&first, &match);
    draw(&second, &match);
    ck_assert_str_eq(first.bytes, second.bytes);
    hr__text_finish(&first);
    hr__text_finish(&second);
}
END_TEST

START_TEST(begins_a_panel_after_a_night)
{
    struct match match;
    struct hr_text out;
    make(&match);
    match.sequences[2].start_local_ns += 86400 * HR_NS_PER_S;
    match.frames[14].job = "2026-05-17";
    draw(&out, &match);
    ck_assert_ptr_nonnull(strstr(out.bytes, ">Cup final, 2026-05-16<"));
    ck_assert_ptr_nonnull(strstr(out.bytes, ">2026-05-17<"));
    ck_assert_ptr_null(strstr(out.bytes, "pause 1"));
    ck_assert_uint_eq(count_of(&out, ">A<"), 2);
    ck_assert_uint_eq(count_of(&out, ">B<"), 1);
    hr__text_finish(&out);
}
END_TEST

START_TEST(stays_well_formed_whatever_job_and_body_are_called)
{
    static char odd[] = "<&\"']]>\001\377\303\244";
    struct match match;
    struct hr_text out;
    make(&match);
    match.names[0] = odd;
    match.frames[0].job = odd;
    draw(&out, &match);
    ck_assert_ptr_nonnull(strstr(out.bytes, ">&lt;&amp;\"']]&gt;%01%FF\303\244, 2026-05-16<"));
    hr__text_finish(&out);
}
END_TEST

START_TEST(labels_stand_apart)
{
    struct match match;
    struct hr_text out;
    make(&match);
    /* B's play in A's lane: a second apart, a pixel or two. */
    match.sequences[1].body = 0;
    draw(&out, &match);
    ck_assert_ptr_nonnull(strstr(out.bytes, ">10<"));
    ck_assert_ptr_null(strstr(out.bytes, ">4<"));
    hr__text_finish(&out);
}
END_TEST

HR_SUITE("cli/sequences", shows_a_line_a_sequence_and_the_pause, marks_the_busiest_and_a_full_buffer,
         says_in_a_line_what_was_found_and_what_failed, names_the_first_failures_and_counts_the_rest,
         sums_up_below_an_offload, begins_a_heading_where_job_or_day_change, writes_every_sequence_as_json,
         writes_a_stall_and_what_is_not_known_as_json, counts_as_json_below_an_offload,
         tells_of_an_offload_what_became_of_its_sequences, draws_a_lane_a_body_and_marks_stalls,
         draws_the_same_match_in_the_same_bytes, begins_a_panel_after_a_night,
         stays_well_formed_whatever_job_and_body_are_called, labels_stand_apart)
