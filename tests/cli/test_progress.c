/* SPDX-License-Identifier: ISC */
#include "base/units.h"
#include "cli/progress.h"
#include "suite.h"

#include <stdlib.h>
#include <string.h>

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

#define CURSOR_UP_2 "\033[2A\r"
#define PICTURE(a, b) "\033[?7l" a "\033[K\n" b "\033[K\n\033[J\033[?7h"

START_TEST(redraws_in_place_five_times_a_second)
{
    struct screen screen;
    begin(&screen, PROGRESS_BAR);
    ck_assert(show(&screen, 0, "one\ntwo\n"));
    ck_assert(!show(&screen, 199, "not yet\n"));
    ck_assert(show(&screen, 200, "three\nfour\n"));
    end(&screen, PICTURE("one", "two") CURSOR_UP_2 PICTURE("three", "four") CURSOR_UP_2 "\033[J");
}
END_TEST

START_TEST(keeps_a_note_above_the_picture)
{
    struct screen screen;
    begin(&screen, PROGRESS_BAR);
    progress_note(&screen.progress, "first %d", 1);
    show(&screen, 0, "one\ntwo\n");
    progress_note(&screen.progress, "second");
    end(&screen,
        "first 1\n" PICTURE("one", "two") CURSOR_UP_2 "\033[Jsecond\n" PICTURE("one", "two") CURSOR_UP_2 "\033[J");
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

HR_SUITE("cli/progress", redraws_in_place_five_times_a_second, keeps_a_note_above_the_picture,
         draws_no_more_lines_than_the_screen_has, writes_a_line_every_five_seconds_for_a_log,
         shows_nothing_by_itself_off_a_terminal)
