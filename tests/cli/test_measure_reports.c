/* SPDX-License-Identifier: ISC */
/* What the command says of measurements; all figures are made up. */
#include "cli/measure_report.h"
#include "suite.h"

#include <expat.h>
#include <string.h>

static char path_a[] = "/media/A", path_ssd[] = "/mnt/ssd", path_slow[] = "/mnt/<old> & slow", device[] = "serial:N-1",
            name[] = "sdb";

static struct hr_measured measured(double mb_per_s, double slowest_mb_per_s, double file_ms)
{
    return (struct hr_measured){.speed = {.bytes_per_s = mb_per_s * 1e6, .file_s = file_ms / 1e3, .is_measured = true},
                                .slowest_second_bytes_per_s = slowest_mb_per_s * 1e6,
                                .spread = 0.034,
                                .bytes = 1200000000,
                                .seconds = 3.5};
}

static struct hr_measurement a_card(void)
{
    return (struct hr_measurement){.path = path_a,
                                   .device = device,
                                   .device_name = name,
                                   .link = {.name = "USB 5 Gb/s", .ceiling_bytes_per_s = 500e6},
                                   .directions = {[HR_DIRECTION_READ] = measured(312, 300, 0.4)}};
}

static struct hr_measurement a_drive(void)
{
    struct hr_measurement drive = {
        .path = path_ssd,
        .device = device,
        .device_name = name,
        .directions =
            {[HR_DIRECTION_WRITE] = measured(410, 95, 0.25), [HR_DIRECTION_READ_BACK] = measured(480, 0, 0.1)},
        .together = 1.06};
    drive.directions[HR_DIRECTION_WRITE].speed.fast_bytes = 42e9;
    drive.directions[HR_DIRECTION_WRITE].speed.slow_bytes_per_s = 98e6;
    return drive;
}

static void expect(struct cli_output *out, const char *text)
{
    ck_assert_str_eq(out->text.bytes, text);
    ck_assert(cli_output_finish(out));
}

START_TEST(says_of_a_card_how_fast_it_is_read)
{
    struct hr_measurement card = a_card();
    const struct measure_row row = {&card, true};
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    measure_text(&out, &row, false);
    expect(&out, "card /media/A, USB 5 Gb/s\n"
                 "  read       312 MB/s   slowest second 300 MB/s   spread 3 %   62 % of the link's 500 MB/s\n"
                 "  a file     0.40 ms on top of its bytes\n");
    cli_output_init(&out, NULL, false);
    measure_text(&out, &row, true);
    expect(&out, "card /media/A, USB 5 Gb/s\n"
                 "  read       312 MB/s\n");
}
END_TEST

START_TEST(says_of_a_drive_both_ways_and_where_its_cache_ends)
{
    struct hr_measurement drive = a_drive();
    const struct measure_row row = {&drive, false};
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    measure_text(&out, &row, false);
    expect(&out, "drive /mnt/ssd\n"
                 "  write      410 MB/s   slowest second 95 MB/s   spread 3 %\n"
                 "  read back  480 MB/s   spread 3 %\n"
                 "  sustained  after 42.00 GB it goes on at 98 MB/s\n"
                 "  a file     0.25 ms on top of its bytes to write, 0.10 ms to read back\n"
                 "  together   1.06 of what either does alone, reading and writing at once\n");
}
END_TEST

START_TEST(takes_the_answer_of_memory_for_no_speed)
{
    struct hr_measurement card = a_card();
    const struct measure_row row = {&card, true};
    struct cli_output out;
    card.directions[HR_DIRECTION_READ] = measured(2300, 2200, 0);
    card.directions[HR_DIRECTION_READ].is_cache = true;
    ck_assert_uint_eq(measure_copy_from(&row).bytes, 0);
    cli_output_init(&out, NULL, false);
    measure_text(&out, &row, true);
    expect(&out, "card /media/A, USB 5 Gb/s\n"
                 "  read       memory answered, at 2300 MB/s: this is no speed of the card\n");
    struct json_writer json;
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    json_open(&json, NULL, '{');
    measure_json(&json, &row);
    json_close(&json);
    json_end(&json);
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\"read_MB_s\":null"));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\"MB_s\":2300.000,\"is_cache\":true"));
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(tells_programs_all_of_it)
{
    struct hr_measurement drive = a_drive();
    const struct measure_row row = {&drive, false};
    struct json_writer json;
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    json_open(&json, NULL, '{');
    measure_json(&json, &row);
    json_close(&json);
    json_end(&json);
    expect(&out,
           "{\"device\":\"serial:N-1\",\"device_name\":\"sdb\",\"is_card\":false,\"link\":null,\"link_MB_s\":null,"
           "\"read_MB_s\":480.000,\"write_MB_s\":410.000,\"read_back_MB_s\":480.000,\"file_cost_ms\":0.3500,"
           "\"fast_cache_bytes\":42000000000,\"sustained_MB_s\":98.000,\"together\":1.060,\"directions\":["
           "{\"direction\":\"write\",\"MB_s\":410.000,\"is_cache\":false,\"file_cost_ms\":0.2500,"
           "\"slowest_second_MB_s\":95.000,\"spread\":0.0340,\"share_of_link\":null,\"bytes\":1200000000,"
           "\"seconds\":3.500},"
           "{\"direction\":\"read back\",\"MB_s\":480.000,\"is_cache\":false,\"file_cost_ms\":0.1000,"
           "\"slowest_second_MB_s\":null,\"spread\":0.0340,\"share_of_link\":null,\"bytes\":1200000000,"
           "\"seconds\":3.500}]}\n");
}
END_TEST

/* A card of raws has no small file; of a drive one way may be told and the other not. */
START_TEST(says_no_cost_of_a_file_where_it_could_not_be_told)
{
    struct hr_measurement card = a_card(), drive = a_drive();
    const struct measure_table table = {.rows = {{&card, true}, {&drive, false}}, .count = 2};
    struct json_writer json;
    struct cli_output out;
    card.directions[HR_DIRECTION_READ] = measured(312, 300, 0);
    drive.directions[HR_DIRECTION_WRITE].speed.file_s = 0;
    cli_output_init(&out, NULL, false);
    measure_text(&out, &table.rows[0], false);
    ck_assert_ptr_null(strstr(out.text.bytes, "a file"));
    measure_text(&out, &table.rows[1], false);
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\n  a file     0.10 ms on top of its bytes to read back\n"));
    measure_text_compare(&out, &table);
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "         -  card /media/A\n"));
    ck_assert(cli_output_finish(&out));
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    json_open(&json, NULL, '{');
    measure_json(&json, &table.rows[0]);
    json_close(&json);
    json_end(&json);
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\"read_back_MB_s\":null,\"file_cost_ms\":null,"));
    ck_assert_ptr_nonnull(strstr(out.text.bytes, "\"is_cache\":false,\"file_cost_ms\":null,"));
    ck_assert(cli_output_finish(&out));
}
END_TEST

START_TEST(puts_paths_side_by_side_by_what_they_sustain)
{
    struct hr_measurement card = a_card(), drive = a_drive();
    const struct measure_table table = {.rows = {{&card, true}, {&drive, false}}, .count = 2};
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    measure_text_compare(&out, &table);
    expect(&out, "   copy from                     copy to                       a file\n"
                 "   sustained slowest second      sustained slowest second\n"
                 "    312 MB/s       300 MB/s              -              -   0.40 ms  card /media/A\n"
                 "    480 MB/s              -        98 MB/s        95 MB/s   0.35 ms  drive /mnt/ssd\n");
}
END_TEST

static void count_element(void *data, const XML_Char *element, const XML_Char **attributes)
{
    int *bars = data;
    for (size_t i = 0; attributes[i]; i += 2)
        *bars += strcmp(element, "rect") == 0 && strcmp(attributes[i], "class") == 0;
}

START_TEST(draws_a_bar_a_direction)
{
    struct hr_measurement card = a_card(), drive = a_drive(), slow = a_drive();
    slow.path = path_slow;
    slow.directions[HR_DIRECTION_WRITE] = (struct hr_measured){0};
    const struct measure_table table = {.rows = {{&card, true}, {&drive, false}, {&slow, false}}, .count = 3};
    struct hr_text out;
    int bars = 0;
    hr__text_init(&out, 1 << 20);
    measure_svg(&out, &table);
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, &bars);
    XML_SetStartElementHandler(parser, count_element);
    ck_assert_int_eq(XML_Parse(parser, out.bytes, (int)out.size, 1), XML_STATUS_OK);
    XML_ParserFree(parser);
    ck_assert_int_eq(bars, 4);
    ck_assert_ptr_nonnull(strstr(out.bytes, "Fastest to copy from: /mnt/ssd, 480 MB/s"));
    ck_assert_ptr_nonnull(strstr(out.bytes, ">drive /mnt/&lt;old&gt; &amp; slow<"));
    ck_assert_ptr_nonnull(strstr(out.bytes, ">not measured<"));
    ck_assert_ptr_nonnull(strstr(out.bytes, ">slowest second 300 MB/s<"));
    hr__text_finish(&out);
}
END_TEST

START_TEST(shows_in_one_line_what_is_going_on)
{
    const struct measure_view view = {path_ssd, HR_DIRECTION_READ_BACK, 480e6, 1200000000};
    const struct progress_style style = {.columns = 80};
    struct hr_text out;
    hr__text_init(&out, 1000);
    measure_draw(&out, &view, &style);
    ck_assert_str_eq(out.bytes, "480 MB/s   read back   1.20 GB   /mnt/ssd\n");
    hr__text_finish(&out);
}
END_TEST

HR_SUITE("cli/measure_reports", says_of_a_card_how_fast_it_is_read, says_of_a_drive_both_ways_and_where_its_cache_ends,
         takes_the_answer_of_memory_for_no_speed, tells_programs_all_of_it,
         says_no_cost_of_a_file_where_it_could_not_be_told, puts_paths_side_by_side_by_what_they_sustain,
         draws_a_bar_a_direction, shows_in_one_line_what_is_going_on)
