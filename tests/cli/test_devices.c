/* SPDX-License-Identifier: ISC */
/* What is plugged in, as a person and as a program reads it. */
#include <stdio.h>
#include <string.h>

#include <headrace/ledger.h>

#include "cli/devices_report.h"
#include "suite.h"

static char name[] = "sdb", identity[] = "serial:NM-0417", model[] = "Reader\033[2J", mounts[] = "/media/A\n/media/a b",
            no_mounts[] = "", slow[] = "Runs at USB 480 Mb/s, can do USB 5 Gb/s: cable, port or hub.";
static char *warnings[] = {slow};

static const struct hr_device card = {
    .name = name,
    .identity = identity,
    .model = model,
    .mount_points = mounts,
    .size_bytes = 128000000000,
    .is_removable = true,
    .link = {.kind = HR_LINK_USB,
             .mbit_per_s = 480,
             .lanes = 1,
             .ceiling_bytes_per_s = 53248000,
             .name = "USB 480 Mb/s",
             .identity = "pci0000:00/0000:00:14.0/usb1/1-3"},
    .ceiling_bytes_per_s = 53248000,
    .card_class = "V90",
    .class_bytes_per_s = 90e6,
    .warnings = warnings,
    .warning_count = 1,
};
static const struct devices_speeds unmeasured = {.bytes_per_s = {0}},
                                   measured = {
                                       .bytes_per_s = {[HR_DIRECTION_READ] = 41e6, [HR_DIRECTION_READ_BACK] = 4e6}};

static void expect_text(const struct hr_device *device, const struct devices_speeds *speeds, bool is_quiet,
                        const char *wanted)
{
    struct cli_output out;
    cli_output_init(&out, NULL, false);
    devices_text(&out, device, speeds, is_quiet);
    ck_assert_str_eq(out.text.bytes, wanted);
    ck_assert(cli_output_finish(&out));
}

START_TEST(says_the_rate_and_the_place_first_then_what_it_is_then_what_slows_it)
{
    expect_text(&card, &measured, false,
                "sdb       53 MB/s at most     /media/A, /media/a b\n"
                "          USB 480 Mb/s, 128.0 GB, class V90, Reader%1B[2J\n"
                "          measured 41 MB/s read, 4.0 MB/s read back\n"
                "  ! Runs at USB 480 Mb/s, can do USB 5 Gb/s: cable, port or hub.\n");
    expect_text(&card, &unmeasured, false,
                "sdb       53 MB/s at most     /media/A, /media/a b\n"
                "          USB 480 Mb/s, 128.0 GB, class V90, Reader%1B[2J\n"
                "  ! Runs at USB 480 Mb/s, can do USB 5 Gb/s: cable, port or hub.\n");
    expect_text(&card, &measured, true,
                "sdb       53 MB/s at most     /media/A, /media/a b\n"
                "  ! Runs at USB 480 Mb/s, can do USB 5 Gb/s: cable, port or hub.\n");
}
END_TEST

START_TEST(says_when_nothing_is_mounted_inserted_or_known)
{
    char many[] = "/1\n/2\n/3\n/4";
    struct hr_device device = {
        .name = name, .model = no_mounts, .mount_points = no_mounts, .link = {.name = "unknown link"}};
    expect_text(&device, &unmeasured, true, "sdb       limit unknown       no card in it\n");
    device.size_bytes = 61441;
    expect_text(&device, &unmeasured, false,
                "sdb       limit unknown       not mounted\n          unknown link, 61 kB\n");
    device.mount_points = many;
    expect_text(&device, &unmeasured, true, "sdb       limit unknown       /1, /2 and 2 more\n");
}
END_TEST

static void expect_json(const struct hr_device *device, const struct devices_speeds *speeds, const char *wanted)
{
    struct cli_output out;
    struct json_writer json;
    cli_output_init(&out, NULL, false);
    json_start(&json, &out, false);
    json_open(&json, NULL, '[');
    devices_json(&json, device, speeds);
    json_close(&json);
    json_end(&json);
    ck_assert_str_eq(out.text.bytes, wanted);
    ck_assert(cli_output_finish(&out));
}

START_TEST(tells_programs_all_of_it)
{
    expect_json(&card, &measured,
                "[{\"name\":\"sdb\",\"identity\":\"serial:NM-0417\",\"model\":\"Reader%1B[2J\","
                "\"mount_points\":[\"/media/A\",\"/media/a b\"],\"size_bytes\":128000000000,\"is_removable\":true,"
                "\"is_rotational\":false,\"link\":{\"kind\":\"usb\",\"name\":\"USB 480 "
                "Mb/s\",\"mbit_per_s\":480.000,\"lanes\":1,"
                "\"ceiling_MB_s\":53.248,\"port\":\"pci0000:00/0000:00:14.0/usb1/1-3\"},\"ceiling_MB_s\":53.248,"
                "\"card_class\":\"V90\",\"class_MB_s\":90.000,"
                "\"measured\":{\"read_MB_s\":41.000,\"write_MB_s\":null,\"read_back_MB_s\":4.000},"
                "\"warnings\":[\"Runs at USB 480 Mb/s, can do USB 5 Gb/s: cable, port or hub.\"]}]\n");
}
END_TEST

START_TEST(tells_null_of_what_is_not_known)
{
    const struct hr_device device = {
        .name = name, .identity = no_mounts, .model = no_mounts, .mount_points = no_mounts};
    expect_json(&device, &unmeasured,
                "[{\"name\":\"sdb\",\"identity\":\"\",\"model\":\"\",\"mount_points\":[],\"size_bytes\":0,"
                "\"is_removable\":false,\"is_rotational\":false,\"link\":{\"kind\":\"unknown\",\"name\":\"\","
                "\"mbit_per_s\":null,\"lanes\":0,\"ceiling_MB_s\":null,\"port\":\"\"},\"ceiling_MB_s\":null,"
                "\"card_class\":\"\",\"class_MB_s\":null,\"measured\":{\"read_MB_s\":null,\"write_MB_s\":null,"
                "\"read_back_MB_s\":null},\"warnings\":[]}]\n");
}
END_TEST

static void add(struct hr_ledger *ledger, const char *link, const char *direction, int64_t at, double bytes_per_s)
{
    const struct hr_ledger_speed speed = {.device = identity,
                                          .link = link,
                                          .direction = direction,
                                          .source = "measure",
                                          .at_wall_ns = at,
                                          .bytes = 1000000,
                                          .bytes_per_s = bytes_per_s};
    ck_assert_int_eq(hr_ledger_add_speed(ledger, &speed, NULL), HR_OK);
}

START_TEST(finds_the_newest_speeds_through_the_link_it_hangs_on)
{
    struct hr_ledger *ledger = NULL;
    struct devices_speeds speeds;
    ck_assert_int_eq(hr_ledger_open(&ledger, ":memory:", NULL), HR_OK);
    add(ledger, card.link.identity, "read", 1, 30e6);
    add(ledger, card.link.identity, "read", 2, 41e6);
    add(ledger, "pci0000:00/0000:00:14.0/usb2/2-1", "read", 3, 412e6);
    add(ledger, card.link.identity, "read back", 2, 4e6);
    ck_assert_int_eq(devices_speeds_find(&speeds, ledger, &card, NULL), HR_OK);
    ck_assert_mem_eq(&speeds, &measured, sizeof speeds);
    hr_ledger_close(ledger);
    ck_assert_int_eq(devices_speeds_find(&speeds, NULL, &card, NULL), HR_OK);
    ck_assert_mem_eq(&speeds, &unmeasured, sizeof speeds);
}
END_TEST

HR_SUITE("cli/devices", says_the_rate_and_the_place_first_then_what_it_is_then_what_slows_it,
         says_when_nothing_is_mounted_inserted_or_known, tells_programs_all_of_it, tells_null_of_what_is_not_known,
         finds_the_newest_speeds_through_the_link_it_hangs_on)
