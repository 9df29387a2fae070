/* SPDX-License-Identifier: ISC */
/* The file the ledger is: made, found again, damaged, not ours, too new, on volumes that cannot. */
#include "ledger_fixture.h"

#include <sched.h>
#include <stdio.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <sqlite3.h>

#include "suite.h"

static struct fixture fixture;
static struct hr_fault fault;

static enum hr_status open_status(void)
{
    struct hr_ledger *ledger = NULL;
    hr_fault_clear(&fault);
    enum hr_status status = hr_ledger_open(&ledger, fixture.path, &fault);
    ck_assert_int_eq(ledger != NULL, status == HR_OK);
    hr_ledger_close(ledger);
    return status;
}

static enum hr_status read_only_status(void)
{
    struct hr_ledger *ledger = NULL;
    hr_fault_clear(&fault);
    enum hr_status status = hr_ledger_open_read_only(&ledger, fixture.path, &fault);
    ck_assert_int_eq(ledger != NULL, status == HR_OK);
    hr_ledger_close(ledger);
    return status;
}

/* A closed ledger with 200 frames in it. */
static void fill(void)
{
    struct hr_ledger *ledger = fixture_open(&fixture);
    int64_t bag = fixture_add_bag(ledger, "volume 1");
    ck_assert_int_eq(hr_ledger_begin(ledger, NULL), HR_OK);
    for (unsigned i = 0; i < 200; i++) {
        char path[32];
        struct hr_ledger_file file = frame(path, i, i);
        fixture_add_copy(ledger, &file, bag, i);
    }
    ck_assert_int_eq(hr_ledger_commit(ledger, NULL), HR_OK);
    hr_ledger_close(ledger);
}

static void write_file(const char *path, const void *bytes, size_t size)
{
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, size, file), size);
    ck_assert_int_eq(fclose(file), 0);
}

static unsigned char *read_file(size_t *size, const char *path)
{
    FILE *file = fopen(path, "rb");
    ck_assert_ptr_nonnull(file);
    enum { CEILING = 1 << 20 };
    unsigned char *bytes = malloc(CEILING);
    ck_assert_ptr_nonnull(bytes);
    *size = fread(bytes, 1, CEILING, file);
    ck_assert_int_eq(fclose(file), 0);
    return bytes;
}

static void assert_unchanged(const void *bytes, size_t size)
{
    size_t now_size;
    unsigned char *now = read_file(&now_size, fixture.path);
    ck_assert_uint_eq(now_size, size);
    ck_assert_mem_eq(now, bytes, size);
    free(now);
}

static void make_state_folder(void)
{
    char folder[FIXTURE_PATH_SIZE + 8];
    snprintf(folder, sizeof folder, "%s/state", fixture.folder);
    ck_assert_int_eq(mkdir(folder, 0700), 0);
}

START_TEST(makes_its_folders_and_knows_its_file_again)
{
    fixture_init(&fixture);
    fill();
    ck_assert_int_ne(access(fixture.log, F_OK), 0);
    ck_assert_int_eq(fixture_number(&fixture, "PRAGMA user_version"), 3);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT journal_mode = 'wal' FROM pragma_journal_mode"), 1);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT integrity_check = 'ok' FROM pragma_integrity_check"), 1);
    char path[32];
    struct hr_ledger_file file = frame(path, 150, 150);
    struct hr_ledger *ledger = fixture_open(&fixture);
    ck_assert_int_eq(find_copies(ledger, &file).proven_at_ns[0], 150);
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(keeps_the_users_own_below_the_state_folder)
{
    fixture_init(&fixture);
    char absolute[FIXTURE_PATH_SIZE + 64], here[FIXTURE_PATH_SIZE] = "";
    if (*fixture.folder != '/')
        ck_assert_ptr_nonnull(getcwd(here, sizeof here));
    snprintf(absolute, sizeof absolute, "%.300s/%.200s", here, fixture.folder);
    ck_assert_int_eq(setenv("XDG_STATE_HOME", absolute, 1), 0);
    struct hr_ledger *ledger = NULL;
    ck_assert_int_eq(hr_ledger_open_read_only(&ledger, NULL, NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr_ledger_open(&ledger, NULL, NULL), HR_OK);
    hr_ledger_close(ledger);
    snprintf(fixture.path, sizeof fixture.path, "%.400s/headrace/ledger.db", fixture.folder);
    ck_assert_int_eq(access(fixture.path, F_OK), 0);
    unsetenv("XDG_STATE_HOME");
    unsetenv("HOME");
    ck_assert_int_eq(hr_ledger_open(&ledger, NULL, NULL), HR_NOT_FOUND);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(takes_any_path)
{
    static const char *const names[] = {"a?mode=memory", "b#c", "100%25", "d\xFF\x80", "e f&immutable=1"};
    fixture_init(&fixture);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(fixture.path, sizeof fixture.path, "%.400s/%s", fixture.folder, names[i]);
        ck_assert_int_eq(open_status(), HR_OK);
        ck_assert_int_eq(access(fixture.path, F_OK), 0);
        ck_assert_int_eq(read_only_status(), HR_OK);
    }
    fixture_finish(&fixture);
}
END_TEST

START_TEST(makes_nothing_when_it_shall_only_read)
{
    fixture_init(&fixture);
    ck_assert_int_eq(read_only_status(), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "there is no ledger"));
    make_state_folder();
    ck_assert_int_eq(read_only_status(), HR_NOT_FOUND);
    ck_assert_int_ne(access(fixture.path, F_OK), 0);
    write_file(fixture.path, "", 0);
    ck_assert_int_eq(read_only_status(), HR_NOT_FOUND);
    assert_unchanged("", 0);

    ck_assert_int_eq(open_status(), HR_OK);
    struct hr_ledger *ledger = NULL;
    ck_assert_int_eq(hr_ledger_open_read_only(&ledger, fixture.path, NULL), HR_OK);
    struct hr_ledger_bag bag = {"c", "c", "j", "v", "d", "m", "p"};
    int64_t id = 0;
    ck_assert_int_eq(hr_ledger_add_bag(&id, ledger, &bag, NULL), HR_READ_ONLY);
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(leaves_what_is_no_ledger_as_it_is)
{
    static const size_t sizes[] = {2, 100, 512, 5000, 100000};
    fixture_init(&fixture);
    make_state_folder();
    static char garbage[100000];
    for (size_t i = 0; i < sizeof garbage; i++)
        garbage[i] = (char)(i * 31 + i / 256);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        write_file(fixture.path, garbage, sizes[i]);
        ck_assert_int_eq(open_status(), HR_MALFORMED);
        ck_assert_ptr_nonnull(strstr(fault.text, "headrace verify PLACE"));
        ck_assert_int_eq(read_only_status(), HR_MALFORMED);
        assert_unchanged(garbage, sizes[i]);
    }
    ck_assert_int_eq(unlink(fixture.path), 0);
    ck_assert_int_eq(mkdir(fixture.path, 0700), 0);
    ck_assert_int_ne(open_status(), HR_OK);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(leaves_databases_of_others_as_they_are)
{
    fixture_init(&fixture);
    make_state_folder();
    sqlite3 *database = NULL;
    ck_assert_int_eq(sqlite3_open(fixture.path, &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database, "CREATE TABLE players (name)", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
    size_t size;
    unsigned char *before = read_file(&size, fixture.path);
    ck_assert_int_eq(open_status(), HR_MALFORMED);
    ck_assert_int_eq(read_only_status(), HR_MALFORMED);
    assert_unchanged(before, size);
    free(before);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(refuses_a_ledger_of_a_newer_version)
{
    fixture_init(&fixture);
    fill();
    fixture_sql(&fixture, "PRAGMA user_version = 4");
    ck_assert_int_eq(open_status(), HR_UNSUPPORTED);
    ck_assert_ptr_nonnull(strstr(fault.text, "newer headrace"));
    ck_assert_int_eq(read_only_status(), HR_UNSUPPORTED);
    fixture_sql(&fixture, "PRAGMA user_version = 0");
    ck_assert_int_eq(open_status(), HR_MALFORMED);
    fixture_finish(&fixture);
}
END_TEST

static bool count_one(void *context, const struct hr_ledger_speed *speed)
{
    (void)speed;
    ++*(unsigned *)context;
    return true;
}

static unsigned count_speeds(struct hr_ledger *ledger)
{
    unsigned count = 0;
    ck_assert_int_eq(hr_ledger_speeds(ledger, "d", NULL, "read", 9, count_one, &count, NULL), HR_OK);
    return count;
}

/* What the version before left: the same tables but for those that came later. */
static void fill_as_the_first_version(void)
{
    fill();
    fixture_sql(&fixture, "DROP TABLE speed; DROP TABLE forecast; DROP TABLE buffer; PRAGMA user_version = 1");
}

static const struct hr_ledger_speed a_speed = {.device = "d", .direction = "read", .bytes_per_s = 1e8};

START_TEST(takes_a_ledger_of_the_first_version_over_in_place)
{
    fixture_init(&fixture);
    fill_as_the_first_version();
    struct hr_ledger *ledger = fixture_open(&fixture);
    ck_assert_int_eq(fixture_number(&fixture, "PRAGMA user_version"), 3);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy"), 200);
    ck_assert_uint_eq(count_speeds(ledger), 0);
    ck_assert_int_eq(hr_ledger_add_speed(ledger, &a_speed, NULL), HR_OK);
    ck_assert_uint_eq(count_speeds(ledger), 1);
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(takes_a_ledger_of_the_second_version_over_in_place)
{
    fixture_init(&fixture);
    fill();
    fixture_sql(&fixture, "DROP TABLE buffer; PRAGMA user_version = 2");
    const struct hr_ledger_buffer buffer = {.body = "b", .card = "c", .files = "raw", .drain_per_s = 16};
    struct hr_ledger *ledger = NULL;
    ck_assert_int_eq(hr_ledger_open_read_only(&ledger, fixture.path, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_buffers(ledger, NULL, 9, NULL, NULL, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_add_buffer(ledger, &buffer, NULL), HR_READ_ONLY);
    hr_ledger_close(ledger);
    ledger = fixture_open(&fixture);
    ck_assert_int_eq(fixture_number(&fixture, "PRAGMA user_version"), 3);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy"), 200);
    ck_assert_int_eq(hr_ledger_add_buffer(ledger, &buffer, NULL), HR_OK);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM buffer"), 1);
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(leaves_the_first_version_as_it_is_when_it_cannot_take_it_over)
{
    fixture_init(&fixture);
    fill_as_the_first_version();
    fixture_sql(&fixture, "CREATE TABLE forecast (in_the_way)");
    ck_assert_int_eq(open_status(), HR_MALFORMED);
    ck_assert_int_eq(fixture_number(&fixture, "PRAGMA user_version"), 1);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM sqlite_schema WHERE name = 'speed'"), 0);
    fixture_finish(&fixture);
}
END_TEST

static bool never_called(void *context, const struct hr_ledger_forecast *forecast)
{
    (void)context, (void)forecast;
    ck_abort_msg("there is no forecast");
    return false;
}

START_TEST(reads_the_first_version_without_changing_it)
{
    fixture_init(&fixture);
    fill_as_the_first_version();
    struct hr_ledger *ledger = NULL;
    ck_assert_int_eq(hr_ledger_open_read_only(&ledger, fixture.path, NULL), HR_OK);
    char path[32];
    struct hr_ledger_file file = frame(path, 150, 150);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_OK);
    ck_assert_uint_eq(count_speeds(ledger), 0);
    ck_assert_int_eq(hr_ledger_forecasts(ledger, NULL, 9, never_called, NULL, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_add_speed(ledger, &a_speed, NULL), HR_READ_ONLY);
    hr_ledger_close(ledger);
    ck_assert_int_eq(fixture_number(&fixture, "PRAGMA user_version"), 1);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(says_that_its_tables_are_damaged)
{
    fixture_init(&fixture);
    fill();
    fixture_sql(&fixture, "DROP TABLE copy");
    struct hr_ledger *ledger = fixture_open(&fixture);
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 1);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_MALFORMED);
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(says_that_a_digest_is_damaged)
{
    fixture_init(&fixture);
    fill();
    fixture_sql(&fixture, "UPDATE file SET xxh128 = x'00'");
    struct hr_ledger *ledger = fixture_open(&fixture);
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 1);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_MALFORMED);
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}
END_TEST

static void use_every_table(void)
{
    struct hr_ledger *ledger = NULL;
    if (hr_ledger_open(&ledger, fixture.path, NULL) != HR_OK)
        return;
    char path[32];
    for (unsigned i = 0; i < 200; i += 20) {
        struct hr_ledger_file file = frame(path, i, i);
        struct told told = find_copies(ledger, &file);
        ck_assert(told.status == HR_OK || told.status == HR_NOT_FOUND || told.status == HR_MALFORMED);
        find_content(ledger, &file);
        struct hr_ledger_copy copy = {.bag = 1, .proof = HR_PROOF_DIRECT};
        file.path = "new.JPG";
        enum hr_status status = hr_ledger_add_copy(ledger, &file, &copy, NULL);
        ck_assert(status == HR_OK || status == HR_NOT_FOUND || status == HR_MALFORMED);
    }
    hr_ledger_close(ledger);
}

START_TEST(outlives_any_damaged_page)
{
    fixture_init(&fixture);
    fill();
    size_t size;
    unsigned char *sound = read_file(&size, fixture.path), *damaged = malloc(size);
    ck_assert_ptr_nonnull(damaged);
    uint32_t random = 20240512;
    for (unsigned round = 0; round < 150; round++) {
        memcpy(damaged, sound, size);
        for (unsigned i = 0; i < 1 + round % 40; i++) {
            random = random * 1664525 + 1013904223;
            damaged[random % size] ^= (unsigned char)(1 + (random >> 24) % 255);
        }
        write_file(fixture.path, damaged, size);
        use_every_table();
        unlink(fixture.log);
    }
    memcpy(damaged, sound, size);
    damaged[3] ^= 0x20;
    write_file(fixture.path, damaged, size);
    ck_assert_int_eq(open_status(), HR_MALFORMED);
    memset(damaged + 4096, 0xA5, size - 4096);
    damaged[3] ^= 0x20;
    write_file(fixture.path, damaged, size);
    struct hr_ledger *ledger = fixture_open(&fixture);
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 1);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_MALFORMED);
    hr_ledger_close(ledger);
    free(sound);
    free(damaged);
    fixture_finish(&fixture);
}
END_TEST

/* ---- Filesystems that cannot ---- */

static sqlite3_vfs shim;
static sqlite3_io_methods shim_methods;

static int no_shared_memory(sqlite3_file *file, int page, int size, int extend, void volatile **out)
{
    (void)file, (void)page, (void)size, (void)extend;
    *out = NULL;
    return SQLITE_IOERR_SHMMAP;
}

static int open_without_shared_memory(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out_flags)
{
    sqlite3_vfs *real = vfs->pAppData;
    int code = real->xOpen(real, name, file, flags, out_flags);
    if (code == SQLITE_OK && (flags & SQLITE_OPEN_MAIN_DB)) {
        shim_methods = *file->pMethods;
        shim_methods.xShmMap = no_shared_memory;
        file->pMethods = &shim_methods;
    }
    return code;
}

static void lose_shared_memory(void)
{
    sqlite3_vfs *real = sqlite3_vfs_find(NULL);
    shim = *real;
    shim.zName = "no-shared-memory";
    shim.pAppData = real;
    shim.xOpen = open_without_shared_memory;
    ck_assert_int_eq(sqlite3_vfs_register(&shim, 1), SQLITE_OK);
}

START_TEST(does_without_shared_memory)
{
    fixture_init(&fixture);
    lose_shared_memory();
    fill();
    ck_assert_int_eq(fixture_number(&fixture, "SELECT journal_mode = 'delete' FROM pragma_journal_mode"), 1);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy"), 200);
    ck_assert_int_eq(read_only_status(), HR_OK);
    struct hr_ledger *first = fixture_open(&fixture), *second = fixture_open(&fixture);
    ck_assert_int_ne(fixture_add_bag(first, "volume 3"), fixture_add_bag(second, "volume 4"));
    hr_ledger_close(first);
    hr_ledger_close(second);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(follows_its_file_to_where_there_is_no_shared_memory)
{
    fixture_init(&fixture);
    fill();
    lose_shared_memory();
    ck_assert_int_eq(read_only_status(), HR_OK);
    ck_assert_int_eq(open_status(), HR_OK);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy"), 200);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(believes_no_file_that_waits_for_its_log)
{
    fixture_init(&fixture);
    fill();
    lose_shared_memory();
    write_file(fixture.log, "any", 3);
    ck_assert_int_eq(read_only_status(), HR_IO);
    ck_assert_int_eq(unlink(fixture.log), 0);
    ck_assert_int_eq(read_only_status(), HR_OK);
    fixture_finish(&fixture);
}
END_TEST

static void write_more_than_the_cache_holds_and_die(void)
{
    static const char much[] = "PRAGMA cache_size = 1; BEGIN; UPDATE copy SET proven_at_ns = 7;"
                               "CREATE TABLE much AS SELECT randomblob(1000) FROM copy, card, copy AS again LIMIT 2000";
    sqlite3 *database = NULL;
    if (sqlite3_open(fixture.path, &database) == SQLITE_OK)
        sqlite3_exec(database, much, NULL, NULL, NULL);
    _exit(0);
}

START_TEST(takes_back_what_a_run_that_was_killed_left_half_written)
{
    fixture_init(&fixture);
    lose_shared_memory();
    fill();
    char journal[FIXTURE_PATH_SIZE + 16];
    snprintf(journal, sizeof journal, "%s-journal", fixture.path);
    pid_t child = fork();
    if (child == 0)
        write_more_than_the_cache_holds_and_die();
    ck_assert_int_eq(waitpid(child, NULL, 0), child);
    ck_assert_int_eq(access(journal, F_OK), 0);
    ck_assert_int_eq(read_only_status(), HR_OK);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy WHERE proven_at_ns != 7"), 199);
    fixture_finish(&fixture);
}
END_TEST

/* A small volume in a mount namespace of this test's own; false, and said so, where the system forbids that. */
static bool mount_small_volume(const char *test)
{
    bool is_mounted = (unshare(CLONE_NEWNS) == 0 || unshare(CLONE_NEWUSER | CLONE_NEWNS) == 0) &&
                      mount("none", "/", NULL, MS_REC | MS_PRIVATE, NULL) == 0 &&
                      mount("ledger", fixture.folder, "tmpfs", 0, "size=2m") == 0;
    if (!is_mounted)
        printf("# SKIP ledger/file %s: no mount namespace\n", test);
    return is_mounted;
}

static void unmount_small_volume(void)
{
    ck_assert_int_eq(umount(fixture.folder), 0);
    fixture_finish(&fixture);
}

START_TEST(says_that_there_is_no_room_and_keeps_what_it_had)
{
    fixture_init(&fixture);
    if (!mount_small_volume("says_that_there_is_no_room_and_keeps_what_it_had")) {
        fixture_finish(&fixture);
        return;
    }
    fill();
    struct hr_ledger *ledger = fixture_open(&fixture);
    enum hr_status status = HR_OK;
    char path[32];
    unsigned kept = 200;
    for (; status == HR_OK && kept < 100000; kept++) {
        struct hr_ledger_file file = frame(path, kept, kept);
        struct hr_ledger_copy copy = {.bag = 1, .proof = HR_PROOF_DIRECT};
        status = hr_ledger_add_copy(ledger, &file, &copy, &fault);
    }
    ck_assert_int_eq(status, HR_FULL);
    ck_assert_ptr_nonnull(strstr(fault.text, "no room"));
    struct hr_ledger_file file = frame(path, 100, 100);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_OK);
    hr_ledger_close(ledger);
    ck_assert_int_eq(read_only_status(), HR_OK);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy"), kept - 1);
    unmount_small_volume();
}
END_TEST

START_TEST(reads_where_nothing_can_be_written)
{
    fixture_init(&fixture);
    if (!mount_small_volume("reads_where_nothing_can_be_written")) {
        fixture_finish(&fixture);
        return;
    }
    fill();
    ck_assert_int_eq(mount("ledger", fixture.folder, "tmpfs", MS_REMOUNT | MS_RDONLY, "size=2m"), 0);
    ck_assert_int_eq(open_status(), HR_READ_ONLY);
    struct hr_ledger *ledger = NULL;
    ck_assert_int_eq(hr_ledger_open_read_only(&ledger, fixture.path, &fault), HR_OK);
    char path[32];
    struct hr_ledger_file file = frame(path, 100, 100);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_OK);
    hr_ledger_close(ledger);
    char other[FIXTURE_PATH_SIZE];
    snprintf(other, sizeof other, "%.400s/new/ledger.db", fixture.folder);
    ck_assert_int_eq(hr_ledger_open(&ledger, other, NULL), HR_READ_ONLY);
    unmount_small_volume();
}
END_TEST

START_TEST(says_that_it_is_denied)
{
    fixture_init(&fixture);
    fill();
    char folder[FIXTURE_PATH_SIZE + 8];
    snprintf(folder, sizeof folder, "%s/state", fixture.folder);
    ck_assert_int_eq(chmod(folder, 0), 0);
    bool was_root = geteuid() == 0;
    if (was_root)
        ck_assert_int_eq(seteuid(65534), 0);
    ck_assert_int_eq(open_status(), HR_DENIED);
    ck_assert_int_eq(read_only_status(), HR_DENIED);
    if (was_root)
        ck_assert_int_eq(seteuid(0), 0);
    ck_assert_int_eq(chmod(folder, 0700), 0);
    fixture_finish(&fixture);
}
END_TEST

HR_SUITE_TIMED("ledger/file", 60, makes_its_folders_and_knows_its_file_again,
               keeps_the_users_own_below_the_state_folder, takes_any_path, makes_nothing_when_it_shall_only_read,
               leaves_what_is_no_ledger_as_it_is, leaves_databases_of_others_as_they_are,
               refuses_a_ledger_of_a_newer_version, takes_a_ledger_of_the_first_version_over_in_place,
               takes_a_ledger_of_the_second_version_over_in_place,
               leaves_the_first_version_as_it_is_when_it_cannot_take_it_over,
               reads_the_first_version_without_changing_it, says_that_its_tables_are_damaged,
               says_that_a_digest_is_damaged, outlives_any_damaged_page, does_without_shared_memory,
               follows_its_file_to_where_there_is_no_shared_memory, believes_no_file_that_waits_for_its_log,
               takes_back_what_a_run_that_was_killed_left_half_written,
               says_that_there_is_no_room_and_keeps_what_it_had, reads_where_nothing_can_be_written,
               says_that_it_is_denied)
