/* SPDX-License-Identifier: ISC */
/* What POSIX alone tells of a volume, and that nothing is claimed besides. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>

#include "platform/apart.h"
#include "platform_fixture.h"
#include "suite.h"

static struct hr_volume volume_of(const char *path)
{
    struct hr_volume volume;
    struct hr_fault fault = {0};
    ck_assert_msg(hr__volume_of(&volume, path, &hr__system_roots, &fault) == HR_OK, "%s", fault.text);
    return volume;
}

START_TEST(tells_limits_and_device_and_claims_no_more)
{
    struct scratch scratch;
    struct stat facts;
    struct statvfs limits;
    char identity[64];
    scratch_begin(&scratch);
    struct hr_volume volume = volume_of(scratch.path);
    ck_assert_int_eq(stat(scratch.path, &facts), 0);
    ck_assert_int_eq(statvfs(scratch.path, &limits), 0);
    ck_assert_uint_eq(volume.device, facts.st_dev);
    ck_assert_uint_eq(volume.total_bytes, (uint64_t)limits.f_blocks * limits.f_frsize);
    ck_assert_uint_eq(volume.max_name_bytes, limits.f_namemax);
    snprintf(identity, sizeof identity, "size:unknown-%" PRIu64, (uint64_t)limits.f_blocks);
    ck_assert_str_eq(volume.identity, identity);
    ck_assert(volume.identity_is_weak);
    ck_assert_str_eq(volume.fs_type, "unknown");
    ck_assert_str_eq(volume.label, "");
    ck_assert_uint_eq(volume.disk_count, 0);
    ck_assert(!volume.disks_are_known && !volume.is_in_memory && !volume.is_network && !volume.is_fuse);
    ck_assert(!hr__volume_drop_device_cache(&volume));
    hr__volume_finish(&volume);
    scratch_end(&scratch);
}
END_TEST

START_TEST(tells_no_two_volumes_apart)
{
    struct hr_volume proc = volume_of("/proc"), root = volume_of("/"), etc = volume_of("/etc");
    ck_assert_int_eq(hr__volume_apart(&proc, &root), HR_APART_UNKNOWN);
    ck_assert_int_eq(hr__volume_apart(&root, &etc), HR_APART_NO);
    hr__volume_finish(&proc);
    hr__volume_finish(&root);
    hr__volume_finish(&etc);
}
END_TEST

START_TEST(says_so_where_it_cannot_do_what_is_asked)
{
    struct scratch scratch;
    struct hr_file file;
    struct hr_fault fault = {0};
    struct hr_fetch_count count;
    uint64_t bytes;
    scratch_begin(&scratch);
    scratch_write_text(&scratch, "a", "x");
    ck_assert_int_eq(hr__file_open(&file, &scratch.folder, "a", HR_FILE_READ, true, "a", NULL), HR_OK);
    ck_assert(!file.direct);
    ck_assert_int_eq(hr__file_resident_bytes(&bytes, &file, 1, &fault), HR_UNSUPPORTED);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    ck_assert(!hr__folder_can_sync_volume());
    ck_assert_int_eq(hr__folder_sync_volume(&scratch.folder, &fault), HR_UNSUPPORTED);
    ck_assert_int_eq(fault.status, HR_OK);
    hr__fetch_count_open(&count);
    ck_assert(!hr__fetch_count_read(&bytes, &count));
    hr__fetch_count_close(&count);
    scratch_end(&scratch);
}
END_TEST

HR_SUITE("platform/volume_portable", tells_limits_and_device_and_claims_no_more, tells_no_two_volumes_apart,
         says_so_where_it_cannot_do_what_is_asked)
