/* SPDX-License-Identifier: ISC */
/* Is a drive here without the volume that copies were made on? */
#include "offload/mounted.h"

#include "suite.h"

static struct hr_mounted mounted[] = {
    {"/mnt/ssd", "uuid:aaaa", "disk:1"},
    {"/mnt/stick", "size:exfat-1000:/mnt/stick", "disk:2"},
    {"/mnt/old", "fsid:77", "disk:3"},
};
static const struct hr_mounted_list list = {mounted, sizeof mounted / sizeof *mounted, 3, true};

START_TEST(finds_a_volume_wherever_it_is_mounted)
{
    ck_assert_str_eq(hr__mounted_find(&list, "uuid:aaaa"), "/mnt/ssd");
    ck_assert_ptr_null(hr__mounted_find(&list, "uuid:bbbb"));
}
END_TEST

START_TEST(a_drive_that_was_formatted_holds_another_volume)
{
    ck_assert(hr__mounted_has_another(&list, "uuid:bbbb", "disk:1"));
    ck_assert(!hr__mounted_has_another(&list, "uuid:aaaa", "disk:1"));
    ck_assert(!hr__mounted_has_another(&list, "uuid:bbbb", "disk:4"));
    ck_assert(!hr__mounted_has_another(&list, "uuid:bbbb", "unknown"));
}
END_TEST

START_TEST(what_cannot_be_told_from_it_may_be_it)
{
    ck_assert(!hr__mounted_has_another(&list, "uuid:bbbb", "disk:3"));
    ck_assert(!hr__mounted_has_another(&list, "size:exfat-1000:/media/stick", "disk:2"));
    ck_assert(hr__mounted_has_another(&list, "size:exfat-2000:/media/stick", "disk:2"));
    ck_assert(hr__mounted_has_another(&list, "size:exfat-100:/media/stick", "disk:2"));
}
END_TEST

HR_SUITE("offload/mounted", finds_a_volume_wherever_it_is_mounted, a_drive_that_was_formatted_holds_another_volume,
         what_cannot_be_told_from_it_may_be_it)
