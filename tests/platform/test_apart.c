/* SPDX-License-Identifier: ISC */
/* What may be counted as two drives. Pure: nothing here asks the system. */
#include "platform/apart.h"

#include <stdio.h>
#include <string.h>

#include "suite.h"

START_TEST(calls_disks_different_only_when_they_are_shown_to_be)
{
    static const struct {
        const char *a, *b;
        enum hr_apart apart;
    } rows[] = {
        {"serial:1", "serial:2", HR_APART_YES},
        {"serial:1", "serial:1", HR_APART_NO},
        {"serial:1", "serial:11", HR_APART_YES},
        {"serial:1\nserial:2", "serial:2\nserial:3", HR_APART_NO},
        {"serial:1\nserial:2", "serial:3\nserial:4", HR_APART_YES},
        {"file:/a", "network:server:/pictures", HR_APART_YES},
        {"unknown", "serial:1", HR_APART_UNKNOWN},
        {"unknown", "network:server:/pictures", HR_APART_UNKNOWN},
        {"unknown", "unknown", HR_APART_UNKNOWN},
        {"", "", HR_APART_NO},
        {"", "serial:1", HR_APART_YES},
        {"", "unknown", HR_APART_YES},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_msg(hr__disks_apart(rows[i].a, rows[i].b) == rows[i].apart, "%s, %s", rows[i].a, rows[i].b);
        ck_assert_msg(hr__disks_apart(rows[i].b, rows[i].a) == rows[i].apart, "%s, %s", rows[i].b, rows[i].a);
    }
}
END_TEST

static struct hr_volume volume_on(uint64_t device, const char *name, const char *identity)
{
    struct hr_volume volume = {.device = device, .disk_count = 1, .disks_are_known = *identity != '\0'};
    snprintf(volume.disks[0].name, sizeof volume.disks[0].name, "%s", name);
    snprintf(volume.disks[0].identity, sizeof volume.disks[0].identity, "%s", identity);
    return volume;
}

START_TEST(tells_apart_what_is_mounted_now)
{
    const struct hr_volume overlay = {.device = 1}, zfs = {.device = 2}, memory = {.device = 3, .is_in_memory = true},
                           shm = {.device = 4, .is_in_memory = true};
    const struct hr_volume ssd = volume_on(5, "sda", "serial:1"), backup = volume_on(6, "sdb", "serial:2"),
                           moved = volume_on(7, "sdc", "serial:2"), nameless = volume_on(8, "sdd", ""),
                           other_half = volume_on(9, "sdd", "");
    ck_assert_int_eq(hr__volume_apart(&ssd, &backup), HR_APART_YES);
    ck_assert_int_eq(hr__volume_apart(&backup, &moved), HR_APART_NO);
    ck_assert_int_eq(hr__volume_apart(&overlay, &overlay), HR_APART_NO);
    ck_assert_int_eq(hr__volume_apart(&overlay, &zfs), HR_APART_UNKNOWN);
    ck_assert_int_eq(hr__volume_apart(&overlay, &ssd), HR_APART_UNKNOWN);
    ck_assert_int_eq(hr__volume_apart(&nameless, &ssd), HR_APART_UNKNOWN);
    ck_assert_int_eq(hr__volume_apart(&nameless, &other_half), HR_APART_NO);
    ck_assert_int_eq(hr__volume_apart(&memory, &shm), HR_APART_NO);
    ck_assert_int_eq(hr__volume_apart(&memory, &ssd), HR_APART_YES);
}
END_TEST

START_TEST(keeps_the_disks_of_a_volume_as_sorted_lines)
{
    struct hr_volume volume = {.disks_are_known = true, .disk_count = 3};
    static const char *const identities[] = {"serial:9", "file:/a b", "serial:1"};
    for (size_t i = 0; i < 3; i++)
        snprintf(volume.disks[i].identity, sizeof volume.disks[i].identity, "%s", identities[i]);
    char *text = hr__disks_text(&volume);
    ck_assert_str_eq(text, "file:/a b\nserial:1\nserial:9");
    free(text);
    volume.disks_are_known = false;
    text = hr__disks_text(&volume);
    ck_assert_str_eq(text, "unknown");
    free(text);
    volume.is_in_memory = true;
    text = hr__disks_text(&volume);
    ck_assert_str_eq(text, "");
    free(text);
}
END_TEST

START_TEST(takes_two_slots_of_a_reader_for_one_link)
{
    struct hr_volume slot = volume_on(5, "sda", "serial:1"), other = volume_on(6, "sdb", "serial:2"),
                     far = volume_on(7, "sdc", "serial:3"), plain = volume_on(8, "nvme0n1", "serial:4");
    strcpy(slot.disks[0].link, "/usb2/2-1");
    strcpy(other.disks[0].link, "/usb2/2-1");
    strcpy(far.disks[0].link, "/usb2/2-2");
    ck_assert(hr__volume_shares_link(&slot, &other));
    ck_assert(!hr__volume_shares_link(&slot, &far));
    ck_assert(!hr__volume_shares_link(&plain, &far));
    ck_assert(hr__volume_shares_link(&plain, &plain));
}
END_TEST

HR_SUITE("platform/apart", takes_two_slots_of_a_reader_for_one_link,
         calls_disks_different_only_when_they_are_shown_to_be, tells_apart_what_is_mounted_now,
         keeps_the_disks_of_a_volume_as_sorted_lines)
