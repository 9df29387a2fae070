/* SPDX-License-Identifier: ISC */
/* Reports as JSON and CSV, byte for byte: programs read them, so a key that changes is a promise broken. Names hold
 * what only escaping makes safe. */
#include "base/units.h"
#include "cli/log_report.h"
#include "cli/offload_report.h"
#include "cli/verify_report.h"
#include "suite.h"

struct written {
    struct cli_output out;
    struct json_writer json;
};

static void begin(struct written *written)
{
    cli_output_init(&written->out, NULL, false);
    json_start(&written->json, &written->out, false);
}

static void expect(struct written *written, const char *text)
{
    ck_assert_str_eq(written->out.text.bytes, text);
    ck_assert(cli_output_finish(&written->out));
}

static const char *const warnings[] = {"Place /mnt/ssd is \"slow\"."};

static const struct hr_plan_card plan_card = {.path = "/media/A\n",
                                              .name = "A",
                                              .identity = "uuid:1",
                                              .job = "Cup final",
                                              .files = 7,
                                              .frames = 3,
                                              .bytes = 700,
                                              .files_known = 2,
                                              .files_to_copy = 5,
                                              .bytes_to_copy = 500,
                                              .links = 1,
                                              .specials = 2,
                                              .unreadable = 4};
static const struct hr_plan_place plan_place = {.path = "/mnt/ssd",
                                                .drive = "sdb",
                                                .drive_number = 1,
                                                .fs_type = "ext4",
                                                .free_bytes = 9000,
                                                .files_to_copy = 5,
                                                .bytes_to_copy = 500,
                                                .resumed_files = 1};
static const struct hr_offload_plan plan = {.cards = &plan_card,
                                            .card_count = 1,
                                            .places = &plan_place,
                                            .place_count = 1,
                                            .warnings = warnings,
                                            .warning_count = 1,
                                            .files_to_copy = 5,
                                            .bytes_to_copy = 500,
                                            .digest_bytes_per_s = 411.6e6};

START_TEST(tells_a_plan)
{
    struct written written;
    begin(&written);
    offload_json_plan(&written.json, &plan);
    expect(&written,
           "{\"schema\":1,\"document\":\"plan\",\"refusals\":[],"
           "\"warnings\":[\"Place /mnt/ssd is "
           "\\\"slow\\\".\"],\"files_to_copy\":5,\"bytes_to_copy\":500,\"digest_bytes_per_s\":411600000,\"forecast\":null,"
           "\"cards\":[{\"path\":\"/media/A%0A\",\"name\":\"A\",\"identity\":\"uuid:1\",\"job\":\"Cup final\","
           "\"files\":7,\"frames\":3,\"bytes\":700,\"files_known\":2,\"files_to_copy\":5,"
           "\"bytes_to_copy\":500,\"links\":1,\"specials\":2,\"unreadable\":4}],"
           "\"places\":[{\"path\":\"/mnt/ssd\",\"drive\":\"sdb\",\"drive_number\":1,\"fs_type\":\"ext4\","
           "\"is_in_memory\":false,\"free_bytes\":9000,\"files_to_copy\":5,\"bytes_to_copy\":500,"
           "\"resumed_files\":1}]}\n");
}
END_TEST

static char sentence[] = "NOT SAFE to format: 1 of 7 files on one drive only.";
static char drive_name[] = "/mnt/ssd", drive_disks[] = "serial:1\nserial:2", memory_name[] = "/tmp", no_disks[] = "";
static char short_path[] = "DCIM/a%\377.JPG";

static struct hr_safety safety_of(struct hr_safety_drive drives[2], char **short_file)
{
    *short_file = short_path;
    drives[0] = (struct hr_safety_drive){.name = drive_name,
                                         .disks = drive_disks,
                                         .files = 6,
                                         .not_from_medium = 1,
                                         .last_proven_ns = 1778944324 * HR_NS_PER_S,
                                         .is_connected = true,
                                         .counts = true};
    drives[1] = (struct hr_safety_drive){.name = memory_name, .disks = no_disks};
    return (struct hr_safety){.sentence = sentence,
                              .files = 7,
                              .frames = 3,
                              .bytes = 700,
                              .on_two_or_more = 5,
                              .on_one = 1,
                              .on_none = 1,
                              .not_carried = 2,
                              .drives = drives,
                              .drive_count = 2,
                              .short_files = short_file,
                              .short_file_count = 1};
}

#define SAFETY                                                                                                         \
    "\"is_safe\":false,\"sentence\":\"NOT SAFE to format: 1 of 7 files on one drive only.\",\"files\":7,\"frames\":3," \
    "\"bytes\":700,\"on_two_or_more\":5,\"on_one\":1,\"on_none\":1,\"not_carried\":2,\"drives\":["                     \
    "{\"name\":\"/mnt/ssd\",\"disks\":[\"serial:1\",\"serial:2\"],\"files\":6,\"not_from_medium\":1,"                  \
    "\"last_proven\":\"2026-05-16T15:12:04Z\",\"is_connected\":true,\"counts\":true},"                                 \
    "{\"name\":\"/tmp\",\"disks\":[],\"files\":0,\"not_from_medium\":0,\"last_proven\":null,\"is_connected\":false,"   \
    "\"counts\":false}],\"short_files\":[\"DCIM/a%25%FF.JPG\"]"

START_TEST(tells_why_a_card_is_safe_or_not)
{
    struct written written;
    struct hr_safety_drive drives[2];
    char *short_file;
    const struct hr_safety safety = safety_of(drives, &short_file);
    begin(&written);
    json_open(&written.json, NULL, '{');
    safety_json_members(&written.json, &safety);
    json_close(&written.json);
    expect(&written, "{" SAFETY "}");
}
END_TEST

START_TEST(tells_a_result_with_everything_of_each_place)
{
    struct written written;
    struct hr_safety_drive drives[2];
    char *short_file;
    const struct hr_safety safety = safety_of(drives, &short_file);
    struct hr_result_card card = {.path = "/media/A\n", .name = "A", .safety = &safety, .was_pulled = true};
    card.places[0] = (struct hr_result_place){.path = "/mnt/ssd",
                                              .bag_path = "/mnt/ssd/Cup final/20260516-151204_A",
                                              .status = HR_FULL,
                                              .text = "no room left",
                                              .policy = "direct, at once",
                                              .files_proven = 3,
                                              .files_failed = 1,
                                              .files_missing = 2,
                                              .bytes_proven = 300,
                                              .proofs = {0, 1, 0, 2}};
    const struct hr_offload_result result = {
        .cards = &card, .card_count = 1, .place_count = 1, .elapsed_ns = 5, .copied_ns = 4, .run = 12};
    begin(&written);
    offload_json_result(&written.json, &plan, &result, true, NULL);
    expect(&written, "{\"schema\":1,\"event\":\"result\",\"run\":12,\"all_done\":false,\"all_safe\":false,"
                     "\"was_interrupted\":true,\"stopped_at_deadline\":false,\"elapsed_ns\":5,\"copied_ns\":4,\"warnings\":[\"Place /mnt/ssd is \\\"slow\\\".\"],"
                     "\"cards\":[{\"path\":\"/media/A%0A\",\"name\":\"A\",\"was_pulled\":true," SAFETY
                     ",\"places\":[{\"path\":\"/mnt/ssd\",\"bag\":\"/mnt/ssd/Cup final/20260516-151204_A\","
                     "\"status\":\"full\",\"text\":\"no room left\",\"policy\":\"direct, at once\",\"files_proven\":3,"
                     "\"files_failed\":1,\"files_missing\":2,\"bytes_proven\":300,"
                     "\"proofs\":{\"cache\":1,\"evicted\":0,\"direct\":2}}]}]}\n");
}
END_TEST

START_TEST(tells_each_event_with_what_applies_to_it)
{
    const struct hr_digest digest = {
        .kind = HR_DIGEST_XXH128, .size = 16, .bytes = {0x00, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88, 0x99}};
    static const struct {
        struct hr_offload_event event;
        const char *line;
    } rows[] = {
        {{.kind = HR_EVENT_CARD_STARTED, .elapsed_ns = 7, .card = 0, .place = SIZE_MAX, .path = "", .text = ""},
         "{\"schema\":1,\"event\":\"card_started\",\"elapsed_ns\":7,\"card\":\"/media/A%0A\"}\n"},
        {{.kind = HR_EVENT_FILE_FAILED,
          .elapsed_ns = 7,
          .card = 0,
          .place = SIZE_MAX,
          .path = "DCIM/a\n",
          .text = "device error"},
         "{\"schema\":1,\"event\":\"file_failed\",\"elapsed_ns\":7,\"card\":\"/media/A%0A\",\"path\":\"DCIM/a%0A\","
         "\"text\":\"device error\"}\n"},
        {{.kind = HR_EVENT_PLACE_FAILED, .elapsed_ns = 7, .card = 0, .place = 0, .path = "", .text = "gone"},
         "{\"schema\":1,\"event\":\"place_failed\",\"elapsed_ns\":7,\"card\":\"/media/A%0A\",\"place\":\"/mnt/ssd\","
         "\"text\":\"gone\"}\n"},
        {{.kind = HR_EVENT_NOTE, .elapsed_ns = 7, .card = SIZE_MAX, .place = SIZE_MAX, .path = "", .text = "a note"},
         "{\"schema\":1,\"event\":\"note\",\"elapsed_ns\":7,\"text\":\"a note\"}\n"},
        {{.kind = HR_EVENT_CARD_FREE, .elapsed_ns = 7, .card = 0, .place = SIZE_MAX, .path = "", .text = ""},
         "{\"schema\":1,\"event\":\"card_free\",\"elapsed_ns\":7,\"card\":\"/media/A%0A\"}\n"},
        {{.kind = HR_EVENT_CARD_FINISHED, .elapsed_ns = 7, .card = 0, .place = SIZE_MAX, .path = "", .text = ""},
         "{\"schema\":1,\"event\":\"card_finished\",\"elapsed_ns\":7,\"card\":\"/media/A%0A\"}\n"},
    };
    struct written written;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        begin(&written);
        offload_json_event(&written.json, &plan, &rows[i].event);
        expect(&written, rows[i].line);
    }
    const struct hr_offload_event proven = {.kind = HR_EVENT_FILE_PROVEN,
                                            .elapsed_ns = 7,
                                            .path = "DCIM/b.JPG",
                                            .size_bytes = 61441,
                                            .proof = HR_PROOF_EVICTED,
                                            .xxh128 = &digest,
                                            .text = ""};
    begin(&written);
    offload_json_event(&written.json, &plan, &proven);
    expect(&written, "{\"schema\":1,\"event\":\"file_proven\",\"elapsed_ns\":7,\"card\":\"/media/A%0A\","
                     "\"place\":\"/mnt/ssd\",\"path\":\"DCIM/b.JPG\",\"size_bytes\":61441,\"proof\":\"evicted\","
                     "\"xxh128\":\"00112233445566778899000000000000\"}\n");
}
END_TEST

START_TEST(tells_progress_and_that_no_time_is_known_yet)
{
    struct written written;
    struct hr_offload_progress progress = {.elapsed_ns = 9,
                                           .cards_under_way = 1,
                                           .cards_done = 1,
                                           .read_bytes = 100,
                                           .total_bytes = 500,
                                           .frames_done = 1,
                                           .frames_total = 3,
                                           .files_done = 2,
                                           .files_total = 5,
                                           .failures = 1,
                                           .left_low_ns = -1,
                                           .left_high_ns = 3,
                                           .place_count = 1};
    progress.places[0] = (struct hr_offload_place_progress){.activity = HR_SINK_READING_BACK,
                                                            .written_bytes = 90,
                                                            .read_back_bytes = 80,
                                                            .proven_bytes = 70,
                                                            .total_bytes = 500,
                                                            .write_bytes_per_s = 1.6,
                                                            .read_back_bytes_per_s = 2.4};
    begin(&written);
    offload_json_progress(&written.json, &plan, &progress);
    expect(&written, "{\"schema\":1,\"event\":\"progress\",\"elapsed_ns\":9,\"card\":\"/media/A%0A\","
                     "\"cards_under_way\":1,\"cards_done\":1,\"read_bytes\":100,\"total_bytes\":500,\"frames_done\":1,"
                     "\"frames_total\":3,\"files_done\":2,\"files_total\":5,\"failures\":1,\"left_low_ns\":null,"
                     "\"left_high_ns\":3,\"places\":[{\"path\":\"/mnt/ssd\",\"activity\":\"reading_back\","
                     "\"written_bytes\":90,\"read_back_bytes\":80,\"proven_bytes\":70,\"total_bytes\":500,"
                     "\"write_bytes_per_s\":2,\"read_back_bytes_per_s\":2}]}\n");
}
END_TEST

START_TEST(tells_of_each_bag_what_was_found)
{
    char path[] = "/mnt/ssd/x", identity[] = "uuid:1", name[] = "A", job[] = "Cup final", file[] = "data/a\n",
         text[] = "its sha256 is another";
    struct hr_bag_problem problem = {.kind = HR_BAG_FILE_DIFFERS, .path = file, .text = text};
    const struct hr_bag_report report = {.verdict = HR_BAG_INVALID,
                                         .path = path,
                                         .card_identity = identity,
                                         .card_name = name,
                                         .job = job,
                                         .is_ours = true,
                                         .payload_files = 3,
                                         .payload_bytes = 300,
                                         .proof_count = 2,
                                         .from_medium = true,
                                         .elapsed_ns = 5,
                                         .problems = &problem,
                                         .problem_count = 1};
    struct written written;
    begin(&written);
    verify_json_begin(&written.json);
    verify_json_bag(&written.json, &report);
    verify_json_unchecked(&written.json, "/mnt/backup\n", HR_GONE, &(struct hr_fault){.text = "it is gone"});
    verify_json_end(&written.json, false);
    expect(&written,
           "{\"schema\":1,\"document\":\"verify\",\"bags\":[{\"path\":\"/mnt/ssd/x\",\"verdict\":\"invalid\","
           "\"is_ours\":true,\"card\":\"uuid:1\",\"card_name\":\"A\",\"job\":\"Cup final\",\"files\":3,\"bytes\":300,"
           "\"files_proven\":2,\"from_medium\":true,\"elapsed_ns\":5,\"problems\":[{\"kind\":\"differs\","
           "\"path\":\"data/a%0A\",\"text\":\"its sha256 is another\"}]},{\"path\":\"/mnt/backup%0A\","
           "\"status\":\"gone\",\"sentence\":\"it is gone\"}],\"all_valid\":false}\n");
}
END_TEST

static void play(struct run_history *history)
{
    static const struct hr_ledger_run run = {.id = 12,
                                             .started_wall_ns = 1778944324 * HR_NS_PER_S,
                                             .elapsed_ns = -1,
                                             .job = "Cup final",
                                             .host = "field",
                                             .cards = "A\nB",
                                             .places = "/mnt/s,sd",
                                             .outcome = "",
                                             .files = 7,
                                             .bytes = 700,
                                             .failed_files = 1,
                                             .policies = "direct"};
    static const struct hr_ledger_sample samples[] = {
        {.at_ns = HR_NS_PER_S, .stage = "card", .device = "", .link = "", .bytes = 200},
        {.at_ns = HR_NS_PER_S, .stage = "write", .device = "", .link = "", .bytes = 100, .queue_fill_percent = 50},
    };
    history_init(history);
    history_take_run(history, &run);
    for (size_t i = 0; i < sizeof samples / sizeof *samples; i++)
        history_take_sample(history, &samples[i]);
    history_close(history);
}

START_TEST(tells_a_run_that_never_ended_with_its_samples)
{
    struct run_history history;
    struct written written;
    play(&history);
    begin(&written);
    json_open(&written.json, NULL, '{');
    log_json_details(&written.json, &history);
    json_close(&written.json);
    expect(&written,
           "{\"run\":12,\"started\":\"2026-05-16T15:12:04Z\",\"elapsed_ns\":null,\"job\":\"Cup final\","
           "\"host\":\"field\",\"cards\":[\"A\",\"B\"],\"places\":[\"/mnt/s,sd\"],\"files\":7,\"bytes\":700,"
           "\"failed_files\":1,\"mean_bytes_per_s\":0,\"outcome\":\"not ended\",\"policies\":[\"direct\"],\"stages\":["
           "{\"stage\":\"card\",\"place\":\"\",\"held_up_the_run\":false,\"bytes\":200,\"busy_ns\":1000000000,"
           "\"mean_bytes_per_s\":200,\"peak_bytes_per_s\":200,\"queue_percent\":0,"
           "\"samples\":[{\"from_ns\":0,\"to_ns\":1000000000,\"bytes\":200}]},"
           "{\"stage\":\"digest\",\"place\":\"\",\"held_up_the_run\":false,\"bytes\":0,\"busy_ns\":0,"
           "\"mean_bytes_per_s\":0,\"peak_bytes_per_s\":0,\"queue_percent\":0,\"samples\":[]},"
           "{\"stage\":\"write\",\"place\":\"/mnt/s,sd\",\"held_up_the_run\":false,\"bytes\":100,"
           "\"busy_ns\":1000000000,\"mean_bytes_per_s\":100,\"peak_bytes_per_s\":100,\"queue_percent\":50,"
           "\"samples\":[{\"from_ns\":0,\"to_ns\":1000000000,\"bytes\":100}]},"
           "{\"stage\":\"read back\",\"place\":\"/mnt/s,sd\",\"held_up_the_run\":false,\"bytes\":0,\"busy_ns\":0,"
           "\"mean_bytes_per_s\":0,\"peak_bytes_per_s\":0,\"queue_percent\":0,\"samples\":[]}]}");
    history_finish(&history);
}
END_TEST

START_TEST(writes_samples_as_csv_with_the_place_where_there_is_one)
{
    struct run_history history;
    struct cli_output out;
    play(&history);
    cli_output_init(&out, NULL, false);
    log_csv_samples(&out, &history);
    ck_assert_str_eq(out.text.bytes, "stage,place,from_ns,to_ns,bytes\n"
                                     "card,,0,1000000000,200\n"
                                     "write,1,0,1000000000,100\n");
    ck_assert(cli_output_finish(&out));
    history_finish(&history);
}
END_TEST

HR_SUITE("cli/json_reports", tells_a_plan, tells_why_a_card_is_safe_or_not,
         tells_a_result_with_everything_of_each_place, tells_each_event_with_what_applies_to_it,
         tells_progress_and_that_no_time_is_known_yet, tells_of_each_bag_what_was_found,
         tells_a_run_that_never_ended_with_its_samples, writes_samples_as_csv_with_the_place_where_there_is_one)
