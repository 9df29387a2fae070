/* SPDX-License-Identifier: ISC */
#include "base/units.h"
#include "cli/progress_look.h"
#include "platform/terminal.h"
#include "suite.h"

#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <headrace/cancel.h>

/* What went to a stream that is no terminal: 80 columns, 24 rows. */
struct screen {
    FILE *stream;
    char *bytes;
    size_t size;
    struct progress progress;
};

static void begin(struct screen *screen, int mode)
{
    *screen = (struct screen){0};
    screen->stream = open_memstream(&screen->bytes, &screen->size);
    ck_assert_ptr_nonnull(screen->stream);
    progress_init(&screen->progress, mode, false, screen->stream);
}

static bool show(struct screen *screen, int64_t at_ms, const char *frame)
{
    bool is_due = progress_is_due(&screen->progress, at_ms * 1000000);
    if (is_due) {
        hr__text_append(&screen->progress.frame, frame);
        progress_show(&screen->progress);
    }
    return is_due;
}

static void end(struct screen *screen, const char *expected)
{
    progress_finish(&screen->progress);
    fclose(screen->stream);
    ck_assert_str_eq(screen->bytes, expected);
    free(screen->bytes);
}

/* Two lines, and back to the first: whatever the terminal makes of the lines below, that one is found again. */
#define PICTURE(a, b) "\r\033[?7l\033[K" a "\n\033[K" b "\n\033[J\033[?7h\033[2A"
#define GONE "\r\033[J"

START_TEST(redraws_in_place_five_times_a_second)
{
    struct screen screen;
    begin(&screen, PROGRESS_BAR);
    ck_assert(show(&screen, 0, "one\ntwo\n"));
    ck_assert(!show(&screen, 199, "not yet\n"));
    ck_assert(show(&screen, 200, "three\nfour\n"));
    end(&screen, PICTURE("one", "two") PICTURE("three", "four") GONE);
}
END_TEST

START_TEST(keeps_a_note_above_the_picture)
{
    struct screen screen;
    begin(&screen, PROGRESS_BAR);
    progress_note(&screen.progress, "first %d", 1);
    show(&screen, 0, "one\ntwo\n");
    progress_note(&screen.progress, "second");
    end(&screen, "first 1\n" PICTURE("one", "two") GONE "second\n" PICTURE("one", "two") GONE);
}
END_TEST

START_TEST(draws_no_more_lines_than_the_screen_has)
{
    struct screen screen;
    char many[200] = "";
    begin(&screen, PROGRESS_BAR);
    for (int i = 0; i < 40; i++)
        strcat(many, "x\n");
    show(&screen, 0, many);
    ck_assert_int_eq(screen.progress.lines_drawn, 23);
    progress_finish(&screen.progress);
    fclose(screen.stream);
    free(screen.bytes);
}
END_TEST

/* A terminal of that size, and the program's end of it. */
static FILE *open_terminal(int *keyboard)
{
    *keyboard = posix_openpt(O_RDWR | O_NOCTTY);
    ck_assert_int_ge(*keyboard, 0);
    ck_assert_int_eq(grantpt(*keyboard), 0);
    ck_assert_int_eq(unlockpt(*keyboard), 0);
    FILE *terminal = fopen(ptsname(*keyboard), "r+");
    ck_assert_ptr_nonnull(terminal);
    return terminal;
}

static void resize(int keyboard, unsigned short columns, unsigned short rows)
{
    const struct winsize size = {.ws_col = columns, .ws_row = rows};
    ck_assert_int_eq(ioctl(keyboard, TIOCSWINSZ, &size), 0);
}

START_TEST(draws_each_picture_for_the_terminal_as_it_is_then)
{
    static const struct {
        unsigned short columns, rows;
        int drawn_for, lines;
    } sizes[] = {{200, 50, 200, 3}, {90, 50, 90, 3}, {80, 24, 80, 3}, {40, 3, 40, 2}, {20, 24, 40, 3}, {0, 0, 80, 3}};
    int keyboard;
    struct screen screen = {.stream = open_terminal(&keyboard)};
    resize(keyboard, 132, 50);
    progress_init(&screen.progress, PROGRESS_BAR, false, screen.stream);
    for (int i = 0; i < (int)(sizeof sizes / sizeof *sizes); i++) {
        resize(keyboard, sizes[i].columns, sizes[i].rows);
        ck_assert(show(&screen, i * 200, "one\ntwo\nthree\n"));
        ck_assert_int_eq(screen.progress.style.columns, sizes[i].drawn_for);
        ck_assert_int_eq(screen.progress.lines_drawn, sizes[i].lines);
    }
    progress_finish(&screen.progress);
    fclose(screen.stream);
    close(keyboard);
}
END_TEST

START_TEST(writes_a_line_every_five_seconds_for_a_log)
{
    struct screen screen;
    begin(&screen, PROGRESS_LINES);
    ck_assert(show(&screen, 0, "one"));
    ck_assert(!show(&screen, 4999, "not yet"));
    ck_assert(show(&screen, 5000, "two"));
    progress_restart(&screen.progress);
    ck_assert(show(&screen, 0, "three"));
    end(&screen, "one\ntwo\nthree\n");
}
END_TEST

START_TEST(shows_nothing_by_itself_off_a_terminal)
{
    struct screen screen;
    begin(&screen, 0);
    ck_assert_int_eq(screen.progress.mode, PROGRESS_NONE);
    ck_assert(!show(&screen, 0, "one"));
    progress_remark(&screen.progress, "looking at ", "A");
    end(&screen, "");
}
END_TEST

START_TEST(shows_a_reading_as_a_picture_or_as_lines)
{
    const struct reading_view view = {
        .what = "bag 1 of 1: ", .name = "x", .why = "", .bytes_done = 1, .bytes_total = 2, .files_total = 1};
    struct screen screen;
    begin(&screen, PROGRESS_LINES);
    progress_reading(&screen.progress, &view);
    progress_reading(&screen.progress, &view);
    end(&screen, "50% of bag 1 of 1: x, 0 of 1 file, 1 B of 2 B, 0 MB/s\n");
    begin(&screen, PROGRESS_BAR);
    progress_reading(&screen.progress, &view);
    ck_assert_int_eq(screen.progress.lines_drawn, 3);
    progress_finish(&screen.progress);
    fclose(screen.stream);
    free(screen.bytes);
}
END_TEST

START_TEST(shows_at_once_that_another_card_or_purpose_is_looked_at)
{
    static const char *const cards[] = {"A", "B"};
    struct screen screen;
    begin(&screen, PROGRESS_LINES);
    struct look_shown shown = {.progress = &screen.progress};
    struct hr_look_progress look = {.card = cards[0], .purpose = HR_LOOK_RATINGS, .files_done = 1, .files_total = 2};
    look_show(&shown, &look);
    look_show(&shown, &look); /* not due */
    look.purpose = HR_LOOK_CONTENT;
    look_show(&shown, &look);
    look.card = cards[1];
    look.bytes_done = 5;
    look.bytes_total = 20;
    look_show(&shown, &look);
    end(&screen, "50% of card A, 1 of 2 files\n50% of card A, 1 of 2 files\n"
                 "25% of card B, 1 of 2 files, 5 B of 20 B, 0 MB/s\n");
}
END_TEST

START_TEST(says_once_that_it_is_stopping)
{
    struct screen screen;
    struct hr_cancel *cancel = hr_cancel_create();
    hr__interrupt_catch(cancel);
    begin(&screen, PROGRESS_NONE);
    progress_note_stop(&screen.progress, "stopping; nothing was changed");
    raise(SIGTERM);
    progress_note_stop(&screen.progress, "stopping; nothing was changed");
    progress_note_stop(&screen.progress, "stopping; nothing was changed");
    end(&screen, "headrace: stopping; nothing was changed\n");
    hr__interrupt_catch(NULL);
    hr_cancel_destroy(cancel);
}
END_TEST

HR_SUITE("cli/progress", redraws_in_place_five_times_a_second, keeps_a_note_above_the_picture,
         draws_no_more_lines_than_the_screen_has, draws_each_picture_for_the_terminal_as_it_is_then,
         writes_a_line_every_five_seconds_for_a_log, shows_nothing_by_itself_off_a_terminal,
         shows_a_reading_as_a_picture_or_as_lines, shows_at_once_that_another_card_or_purpose_is_looked_at,
         says_once_that_it_is_stopping)
