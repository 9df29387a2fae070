/* SPDX-License-Identifier: ISC */
/* Several processes in one ledger, and processes that die in it. */
#include "ledger_fixture.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "suite.h"

static struct fixture fixture;

static void wait_for_byte(int from)
{
    char byte;
    ck_assert_int_eq(read(from, &byte, 1), 1);
}

static bool add_copies(struct hr_ledger *ledger, int64_t bag, unsigned first, unsigned count)
{
    bool is_fine = true;
    for (unsigned i = first; i < first + count && is_fine; i++) {
        char path[32];
        struct hr_ledger_file file = frame(path, i, i);
        struct hr_ledger_copy copy = {.bag = bag, .proof = HR_PROOF_DIRECT, .proven_at_ns = 1};
        is_fine = hr_ledger_add_copy(ledger, &file, &copy, NULL) == HR_OK;
    }
    return is_fine;
}

static _Noreturn void fill_a_share(unsigned number, int start)
{
    char byte;
    struct hr_ledger *ledger = NULL;
    if (read(start, &byte, 1) != 0 || hr_ledger_open(&ledger, fixture.path, NULL) != HR_OK)
        _exit(1);
    bool is_fine = add_copies(ledger, fixture_add_bag(ledger, "volume 1"), number * 50, 50);
    hr_ledger_close(ledger);
    _exit(is_fine ? 0 : 2);
}

START_TEST(is_made_and_filled_by_several_processes_at_once)
{
    enum { PROCESSES = 6 };
    fixture_init(&fixture);
    int start[2];
    pid_t children[PROCESSES];
    ck_assert_int_eq(pipe(start), 0);
    for (unsigned i = 0; i < PROCESSES; i++) {
        children[i] = fork();
        ck_assert_int_ge(children[i], 0);
        if (children[i] == 0) {
            close(start[1]);
            fill_a_share(i, start[0]);
        }
    }
    close(start[0]);
    close(start[1]);
    for (unsigned i = 0; i < PROCESSES; i++) {
        int result = -1;
        ck_assert_int_eq(waitpid(children[i], &result, 0), children[i]);
        ck_assert_int_eq(result, 0);
    }
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM copy"), PROCESSES * 50);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM bag"), 1);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT journal_mode = 'wal' FROM pragma_journal_mode"), 1);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT integrity_check = 'ok' FROM pragma_integrity_check"), 1);
    fixture_finish(&fixture);
}
END_TEST

START_TEST(is_read_while_another_writes_and_says_who_is_busy)
{
    fixture_init(&fixture);
    struct hr_ledger *writer = fixture_open(&fixture), *other = fixture_open(&fixture);
    int64_t bag = fixture_add_bag(writer, "volume 1");
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 1);
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr_ledger_begin(writer, NULL), HR_OK);
    fixture_add_copy(writer, &file, bag, 1);
    ck_assert_int_eq(find_copies(other, &file).status, HR_NOT_FOUND);
    ck_assert_int_eq(hr_ledger_begin(other, &fault), HR_BUSY);
    ck_assert_ptr_nonnull(strstr(fault.text, "in use by another program"));
    ck_assert_int_eq(hr_ledger_commit(writer, NULL), HR_OK);
    ck_assert_int_eq(find_copies(other, &file).status, HR_OK);
    ck_assert_int_eq(hr_ledger_begin(other, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_commit(other, NULL), HR_OK);
    hr_ledger_close(other);
    hr_ledger_close(writer);
    fixture_finish(&fixture);
}
END_TEST

/* Groups of ten until it is killed; a byte after each commit. */
static _Noreturn void commit_groups(int committed)
{
    struct hr_ledger *ledger = NULL;
    if (hr_ledger_open(&ledger, fixture.path, NULL) != HR_OK)
        _exit(1);
    int64_t bag = fixture_add_bag(ledger, "volume 1");
    for (unsigned i = 0;; i += 10)
        if (hr_ledger_begin(ledger, NULL) != HR_OK || !add_copies(ledger, bag, i, 10) ||
            hr_ledger_commit(ledger, NULL) != HR_OK || write(committed, "c", 1) != 1)
            _exit(2);
}

/* Kills a process that commits after at least `groups` of them; returns how many it told of. */
static unsigned kill_after(unsigned groups)
{
    int committed[2];
    ck_assert_int_eq(pipe(committed), 0);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        close(committed[0]);
        commit_groups(committed[1]);
    }
    close(committed[1]);
    for (unsigned i = 0; i < groups; i++)
        wait_for_byte(committed[0]);
    ck_assert_int_eq(kill(child, SIGKILL), 0);
    int result = 0;
    ck_assert_int_eq(waitpid(child, &result, 0), child);
    ck_assert(WIFSIGNALED(result));
    char byte;
    for (; read(committed[0], &byte, 1) == 1; groups++)
        ;
    close(committed[0]);
    return groups;
}

START_TEST(holds_every_committed_group_after_a_kill)
{
    for (unsigned round = 0; round < 5; round++) {
        fixture_init(&fixture);
        unsigned told = kill_after(7 + 5 * round);
        struct hr_ledger *ledger = fixture_open(&fixture);
        for (unsigned i = 0; i < told * 10; i++) {
            char path[32];
            struct hr_ledger_file file = frame(path, i, i);
            ck_assert_uint_eq(find_copies(ledger, &file).count, 1);
        }
        hr_ledger_close(ledger);
        int64_t found = fixture_number(&fixture, "SELECT count(*) FROM copy");
        ck_assert_int_ge(found, told * 10);
        ck_assert_int_eq(found % 10, 0);
        fixture_finish(&fixture);
    }
}
END_TEST

START_TEST(is_still_a_ledger_when_its_log_is_lost)
{
    fixture_init(&fixture);
    struct hr_ledger *ledger = fixture_open(&fixture);
    ck_assert(add_copies(ledger, fixture_add_bag(ledger, "volume 1"), 90000, 5));
    hr_ledger_close(ledger);
    kill_after(3);
    ck_assert_int_eq(unlink(fixture.log), 0);
    ledger = fixture_open(&fixture);
    char path[32];
    struct hr_ledger_file file = frame(path, 90003, 90003);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_OK);
    ck_assert(add_copies(ledger, fixture_add_bag(ledger, "volume 1"), 0, 5));
    hr_ledger_close(ledger);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT integrity_check = 'ok' FROM pragma_integrity_check"), 1);
    fixture_finish(&fixture);
}
END_TEST

HR_SUITE_TIMED("ledger/sharing", 120, is_made_and_filled_by_several_processes_at_once,
               is_read_while_another_writes_and_says_who_is_busy, holds_every_committed_group_after_a_kill,
               is_still_a_ledger_when_its_log_is_lost)
