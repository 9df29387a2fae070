/* SPDX-License-Identifier: ISC */
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <headrace/cancel.h>

#include "platform/terminal.h"
#include "suite.h"

/* The near end of a pseudo-terminal. */
static FILE *open_terminal(void)
{
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    ck_assert_int_ge(master, 0);
    ck_assert_int_eq(grantpt(master), 0);
    ck_assert_int_eq(unlockpt(master), 0);
    FILE *terminal = fopen(ptsname(master), "r+");
    ck_assert_ptr_nonnull(terminal);
    return terminal;
}

START_TEST(asks_the_terminal_for_its_size)
{
    FILE *terminal = open_terminal(), *file = tmpfile();
    const struct winsize size = {.ws_col = 132, .ws_row = 50};
    int columns, rows;
    ck_assert_int_eq(ioctl(fileno(terminal), TIOCSWINSZ, &size), 0);
    hr__terminal_size(&columns, &rows, terminal);
    ck_assert_int_eq(columns, 132);
    ck_assert_int_eq(rows, 50);
    hr__terminal_size(&columns, &rows, file);
    ck_assert_int_eq(columns, 80);
    ck_assert_int_eq(rows, 24);
    fclose(file);
    fclose(terminal);
}
END_TEST

static void set(const char *name, const char *value)
{
    if (value)
        setenv(name, value, 1);
    else
        unsetenv(name);
}

START_TEST(colours_as_the_environment_says)
{
    /* no-color.org; the CLICOLOR variables in the order CMake asks them. */
    static const struct {
        const char *no_color, *force, *clicolor, *term;
        bool on_terminal, on_file, moves;
    } rows[] = {
        {NULL, NULL, NULL, "xterm", true, false, true},  {"1", NULL, NULL, "xterm", false, false, true},
        {"", NULL, NULL, "xterm", true, false, true},    {"1", "1", NULL, "xterm", false, false, true},
        {NULL, "1", "0", "xterm", true, true, true},     {NULL, "0", NULL, "xterm", true, false, true},
        {NULL, NULL, "0", "xterm", false, false, true},  {NULL, NULL, "1", "xterm", true, false, true},
        {NULL, NULL, NULL, "dumb", false, false, false}, {NULL, "1", NULL, "dumb", true, true, false},
    };
    FILE *terminal = open_terminal(), *file = tmpfile();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        set("NO_COLOR", rows[i].no_color);
        set("CLICOLOR_FORCE", rows[i].force);
        set("CLICOLOR", rows[i].clicolor);
        set("TERM", rows[i].term);
        ck_assert_msg(hr__terminal_has_colour(terminal) == rows[i].on_terminal, "row %zu on a terminal", i);
        ck_assert_msg(hr__terminal_has_colour(file) == rows[i].on_file, "row %zu on a file", i);
        ck_assert_msg(hr__terminal_can_move(terminal) == rows[i].moves, "row %zu", i);
        ck_assert(!hr__terminal_can_move(file));
    }
    fclose(file);
    fclose(terminal);
}
END_TEST

START_TEST(asks_the_job_to_stop_at_the_first_signal)
{
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < sizeof signals / sizeof *signals; i++) {
        struct hr_cancel *cancel = hr_cancel_create();
        hr__interrupt_catch(cancel);
        ck_assert_int_eq(hr__interrupt_caught(), 0);
        ck_assert(!hr_cancel_requested(cancel));
        raise(signals[i]);
        ck_assert(hr_cancel_requested(cancel));
        ck_assert_int_eq(hr__interrupt_caught(), signals[i]);
        raise(SIGTERM);
        raise(SIGPIPE);
        ck_assert_int_eq(hr__interrupt_caught(), signals[i]);
        hr__interrupt_catch(NULL);
        hr_cancel_destroy(cancel);
    }
}
END_TEST

/* The signal a child died of, 0 when it ended by itself. */
static int death_of(void (*body)(struct hr_cancel *cancel))
{
    pid_t child = fork();
    if (child == 0) {
        /* Check's own handlers are inherited. */
        signal(SIGINT, SIG_DFL);
        signal(SIGTERM, SIG_DFL);
        struct hr_cancel *cancel = hr_cancel_create();
        body(cancel);
        _exit(0);
    }
    int status = 0;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    return WIFSIGNALED(status) ? WTERMSIG(status) : 0;
}

static void interrupt_once(struct hr_cancel *cancel)
{
    hr__interrupt_catch(cancel);
    raise(SIGINT);
}

static void interrupt_twice(struct hr_cancel *cancel)
{
    interrupt_once(cancel);
    raise(SIGINT);
}

static void interrupt_after_letting_go(struct hr_cancel *cancel)
{
    hr__interrupt_catch(cancel);
    hr__interrupt_catch(NULL);
    raise(SIGTERM);
}

static void stop_then_die(struct hr_cancel *cancel)
{
    hr__interrupt_catch(cancel);
    raise(SIGTERM);
    hr__interrupt_die(hr__interrupt_caught());
}

static void hang_up_when_ignored(struct hr_cancel *cancel)
{
    signal(SIGHUP, SIG_IGN);
    hr__interrupt_catch(cancel);
    raise(SIGHUP);
    if (hr_cancel_requested(cancel))
        raise(SIGKILL);
}

START_TEST(dies_of_the_second_interrupt_and_of_what_it_was_told_to)
{
    ck_assert_int_eq(death_of(interrupt_once), 0);
    ck_assert_int_eq(death_of(interrupt_twice), SIGINT);
    ck_assert_int_eq(death_of(interrupt_after_letting_go), SIGTERM);
    ck_assert_int_eq(death_of(stop_then_die), SIGTERM);
    ck_assert_int_eq(death_of(hang_up_when_ignored), 0);
}
END_TEST

/* C.UTF-8 stands in every glibc of Debian. */
START_TEST(knows_a_locale_whose_text_is_utf_8)
{
    unsetenv("LC_ALL");
    unsetenv("LC_CTYPE");
    unsetenv("LANG");
    ck_assert(!hr__terminal_takes_utf8());
    setenv("LANG", "C.UTF-8", 1);
    ck_assert(hr__terminal_takes_utf8());
    setenv("LC_CTYPE", "C", 1);
    ck_assert(!hr__terminal_takes_utf8());
    setenv("LC_ALL", "C.UTF-8", 1);
    ck_assert(hr__terminal_takes_utf8());
    setenv("LC_ALL", "no_SUCH.UTF-8", 1);
    ck_assert(!hr__terminal_takes_utf8());
}
END_TEST

HR_SUITE("platform/terminal", knows_a_locale_whose_text_is_utf_8, asks_the_terminal_for_its_size,
         colours_as_the_environment_says, asks_the_job_to_stop_at_the_first_signal,
         dies_of_the_second_interrupt_and_of_what_it_was_told_to)
