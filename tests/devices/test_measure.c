/* SPDX-License-Identifier: ISC */
/* Measuring in plain folders: what it leaves, what stops it, what the ledger is told. Rates are put to the test on
 * devices that are limited, by cli/measure. */
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <headrace/devices.h>
#include <headrace/ledger.h>

#include "suite.h"

enum { PATH_SIZE = 512 };

static char folder[PATH_SIZE], scratch[PATH_SIZE + 32];
static struct hr_fault fault;
static struct hr_measurement *measurement;

static void start(void)
{
    const char *temporary = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/measureXXXXXX", temporary && *temporary ? temporary : "/var/tmp");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(scratch, sizeof scratch, "%s/.headrace-measure", folder);
    hr_fault_clear(&fault);
    measurement = NULL;
}

static int remove_one(const char *path, const struct stat *stat, int type, struct FTW *place)
{
    (void)stat, (void)type, (void)place;
    return remove(path);
}

static void stop(void)
{
    hr_measurement_destroy(measurement);
    ck_assert_int_eq(nftw(folder, remove_one, 16, FTW_DEPTH | FTW_PHYS), 0);
}

static const char *below(const char *name)
{
    static char path[2 * PATH_SIZE];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void write_file(const char *name, size_t size)
{
    FILE *file = fopen(below(name), "wb");
    ck_assert_ptr_nonnull(file);
    for (size_t i = 0; i < size; i++)
        fputc((int)(i * 31 % 251), file);
    ck_assert_int_eq(fclose(file), 0);
}

static bool is_gone(const char *path)
{
    struct stat facts;
    return lstat(path, &facts) != 0;
}

static const struct hr_measure_options quick = {.seconds_max = 0.2, .bytes_max = 48 << 20};

START_TEST(measures_a_drive_and_leaves_nothing)
{
    start();
    ck_assert_msg(hr_measure(&measurement, folder, &quick, NULL, &fault) == HR_OK, "%s", fault.text);
    ck_assert(is_gone(scratch));
    ck_assert_uint_eq(measurement->directions[HR_DIRECTION_READ].bytes, 0);
    const enum hr_direction written[] = {HR_DIRECTION_WRITE, HR_DIRECTION_READ_BACK};
    for (size_t i = 0; i < 2; i++) {
        const struct hr_measured *measured = &measurement->directions[written[i]];
        ck_assert_double_ge(measured->speed.file_s, 0);
    }
    char *resolved = realpath(folder, NULL);
    ck_assert_str_eq(measurement->path, resolved);
    free(resolved);
    stop();
}
END_TEST

START_TEST(removes_what_a_killed_measurement_left)
{
    start();
    ck_assert_int_eq(mkdir(scratch, 0777), 0);
    write_file(".headrace-measure/stream-0", 100);
    write_file(".headrace-measure/small-7", 100);
    ck_assert_int_eq(hr_measure(&measurement, folder, &quick, NULL, &fault), HR_OK);
    ck_assert(is_gone(scratch));
    stop();
}
END_TEST

START_TEST(lets_one_measure_at_a_time)
{
    start();
    ck_assert_int_eq(mkdir(scratch, 0777), 0);
    write_file(".headrace-measure/stream-0", 100);
    int other = open(scratch, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    ck_assert_int_ge(other, 0);
    ck_assert_int_eq(flock(other, LOCK_EX | LOCK_NB), 0);
    ck_assert_int_eq(hr_measure(&measurement, folder, &quick, NULL, &fault), HR_BUSY);
    ck_assert(!is_gone(below(".headrace-measure/stream-0")));
    close(other);
    stop();
}
END_TEST

START_TEST(follows_no_link_out_of_the_folder)
{
    start();
    ck_assert_int_eq(mkdir(below("elsewhere"), 0777), 0);
    write_file("elsewhere/picture.JPG", 100);
    ck_assert_int_eq(symlink("elsewhere", scratch), 0);
    ck_assert_int_ne(hr_measure(&measurement, folder, &quick, NULL, &fault), HR_OK);
    ck_assert(!is_gone(below("elsewhere/picture.JPG")));
    stop();
}
END_TEST

static void cancel_at_once(void *context, enum hr_direction direction, double bytes_per_s, uint64_t bytes)
{
    ck_assert_int_lt(direction, HR_DIRECTION_COUNT);
    ck_assert_double_gt(bytes_per_s, 0);
    ck_assert_uint_gt(bytes, 0);
    hr_cancel_request(context);
}

START_TEST(leaves_nothing_when_it_is_cancelled)
{
    start();
    struct hr_cancel *cancel = hr_cancel_create();
    const struct hr_measure_options endless = {.seconds_max = 60, .context = cancel, .progress = cancel_at_once};
    ck_assert_int_eq(hr_measure(&measurement, folder, &endless, cancel, &fault), HR_CANCELLED);
    ck_assert(is_gone(scratch));
    ck_assert_ptr_null(measurement);
    hr_cancel_destroy(cancel);
    stop();
}
END_TEST

START_TEST(reads_a_card_and_writes_nothing_to_it)
{
    start();
    ck_assert_int_eq(mkdir(below("DCIM"), 0777), 0);
    ck_assert(hr_path_has_dcim(folder));
    write_file("DCIM/A__0001.RAW", 3000000);
    write_file("DCIM/A__0001.JPG", 60000);
    write_file("DCIM/EMPTY.XMP", 0);
    sync();
    ck_assert_int_eq(chmod(below("DCIM"), 0555), 0);
    struct hr_measure_options options = quick;
    options.is_card = true;
    ck_assert_msg(hr_measure(&measurement, folder, &options, NULL, &fault) == HR_OK, "%s", fault.text);
    ck_assert(is_gone(scratch));
    ck_assert_uint_gt(measurement->directions[HR_DIRECTION_READ].bytes, 0);
    ck_assert_uint_eq(measurement->directions[HR_DIRECTION_WRITE].bytes, 0);
    ck_assert_uint_eq(measurement->directions[HR_DIRECTION_READ_BACK].bytes, 0);
    ck_assert_int_eq(chmod(below("DCIM"), 0777), 0);
    stop();
}
END_TEST

START_TEST(says_that_there_is_nothing_to_read)
{
    start();
    ck_assert(!hr_path_has_dcim(folder));
    write_file("DCIM", 10);
    ck_assert(!hr_path_has_dcim(folder));
    ck_assert_int_eq(remove(below("DCIM")), 0);
    write_file("EMPTY.JPG", 0);
    struct hr_measure_options options = quick;
    options.is_card = true;
    ck_assert_int_eq(hr_measure(&measurement, folder, &options, NULL, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "no file to read"));
    stop();
}
END_TEST

static bool note_speed(void *context, const struct hr_ledger_speed *speed)
{
    char *text = context;
    size_t used = strlen(text);
    snprintf(text + used, 256 - used, "%s %s %s %g %g %g;", speed->link, speed->direction, speed->source,
             speed->bytes_per_s, speed->file_s, speed->together);
    return true;
}

static const char *told_of(const char *device)
{
    static char text[256];
    struct hr_ledger *ledger = NULL;
    *text = '\0';
    if (hr_ledger_open_read_only(&ledger, below("ledger.db"), NULL) != HR_OK)
        return text;
    for (int i = 0; i < HR_DIRECTION_COUNT; i++)
        ck_assert_int_eq(
            hr_ledger_speeds(ledger, device, NULL, hr_direction_name((enum hr_direction)i), 9, note_speed, text, NULL),
            HR_OK);
    hr_ledger_close(ledger);
    return text;
}

START_TEST(tells_the_ledger_what_was_measured_but_for_memory)
{
    start();
    char device[] = "serial:N-1";
    struct hr_measurement made = {
        .device = device,
        .link = {.identity = "usb 2-1"},
        .directions = {[HR_DIRECTION_WRITE] = {.speed = {3e8, 0.001, 0, 0, true}, .bytes = 9},
                       [HR_DIRECTION_READ_BACK] = {.speed = {9e9, 0, 0, 0, true}, .bytes = 9, .is_cache = true}},
        .together = 1.5};
    ck_assert_int_eq(hr_measurement_note(&made, below("ledger.db"), NULL), HR_OK);
    ck_assert_str_eq(told_of(device), "usb 2-1 write measure 3e+08 0.001 1.5;");
    stop();
}
END_TEST

START_TEST(tells_the_ledger_nothing_of_memory)
{
    start();
    char memory[] = "";
    struct hr_measurement made = {.device = memory,
                                  .directions = {[HR_DIRECTION_WRITE] = {.speed = {.bytes_per_s = 3e8}, .bytes = 9}}};
    ck_assert_int_eq(hr_measurement_note(&made, below("ledger.db"), NULL), HR_OK);
    ck_assert_str_eq(told_of(memory), "");
    stop();
}
END_TEST

HR_SUITE_TIMED("devices/measure", 60, measures_a_drive_and_leaves_nothing, removes_what_a_killed_measurement_left,
               lets_one_measure_at_a_time, follows_no_link_out_of_the_folder, leaves_nothing_when_it_is_cancelled,
               reads_a_card_and_writes_nothing_to_it, says_that_there_is_nothing_to_read,
               tells_the_ledger_what_was_measured_but_for_memory, tells_the_ledger_nothing_of_memory)
