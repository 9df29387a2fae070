/* SPDX-License-Identifier: ISC */
/* Cameras' buffers as they are remembered. Every value here is made up. */
#include "ledger_fixture.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "suite.h"

static struct fixture fixture;
static struct hr_ledger *ledger;

static void start(void)
{
    fixture_init(&fixture);
    ledger = fixture_open(&fixture);
}

static void stop(void)
{
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}

static void add(const char *body, const char *card, const char *files, int64_t shot_local_ns, double depth_frames)
{
    const struct hr_ledger_buffer buffer = {.body = body,
                                            .card = card,
                                            .files = files,
                                            .shot_local_ns = shot_local_ns,
                                            .depth_frames = depth_frames,
                                            .drain_per_s = 16};
    ck_assert_int_eq(hr_ledger_add_buffer(ledger, &buffer, NULL), HR_OK);
}

static bool note(void *context, const struct hr_ledger_buffer *buffer)
{
    char *text = context;
    size_t used = strlen(text);
    snprintf(text + used, 256 - used, "%s %s %s %g;", buffer->body, buffer->card, buffer->files, buffer->depth_frames);
    return true;
}

static const char *buffers(const char *body, size_t limit)
{
    static char text[256];
    *text = '\0';
    ck_assert_int_eq(hr_ledger_buffers(ledger, body, limit, note, text, NULL), HR_OK);
    return text;
}

START_TEST(tells_the_buffers_of_one_body_the_last_shot_first)
{
    start();
    add("A", "one", "raw", 200, 48);
    add("A", "two", "raw", 300, 47);
    add("B", "one", "raw", 900, 90);
    add("A", "one", "raw + jpeg", 100, 40);
    ck_assert_str_eq(buffers("A", SIZE_MAX), "A two raw 47;A one raw 48;A one raw + jpeg 40;");
    ck_assert_str_eq(buffers("A", 1), "A two raw 47;");
    ck_assert_str_eq(buffers(NULL, 1), "B one raw 90;");
    ck_assert_str_eq(buffers("", 9), "");
    stop();
}
END_TEST

START_TEST(keeps_one_a_body_card_and_kinds_the_later_holds)
{
    start();
    add("A", "one", "raw", 300, 48);
    add("A", "one", "raw", 200, 50);
    ck_assert_str_eq(buffers(NULL, 9), "A one raw 50;");
    stop();
}
END_TEST

static bool compare(void *context, const struct hr_ledger_buffer *buffer)
{
    const struct hr_ledger_buffer *wanted = context;
    ck_assert_str_eq(buffer->body, wanted->body);
    ck_assert_str_eq(buffer->card, wanted->card);
    ck_assert_str_eq(buffer->files, wanted->files);
    ck_assert_int_eq(buffer->shot_local_ns, wanted->shot_local_ns);
    ck_assert(buffer->depth_frames == wanted->depth_frames && buffer->drain_per_s == wanted->drain_per_s &&
              buffer->drain_bytes_per_s == wanted->drain_bytes_per_s);
    return false;
}

START_TEST(gives_a_buffer_back_to_the_last_bit)
{
    start();
    struct hr_ledger_buffer buffer = {.body = "NM\n\xff",
                                      .card = "\"one\"",
                                      .files = "",
                                      .shot_local_ns = INT64_MIN,
                                      .depth_frames = 143.0 / 3,
                                      .drain_per_s = 1e-300,
                                      .drain_bytes_per_s = 6e9 / 7};
    ck_assert_int_eq(hr_ledger_add_buffer(ledger, &buffer, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_buffers(ledger, buffer.body, 9, compare, &buffer, NULL), HR_OK);
    stop();
}
END_TEST

START_TEST(notes_no_figure_that_is_none)
{
    static const double wrong[] = {-1, NAN, INFINITY};
    start();
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        const struct hr_ledger_buffer buffer = {.body = "A", .card = "one", .files = "raw", .depth_frames = wrong[i]};
        ck_assert_int_eq(hr_ledger_add_buffer(ledger, &buffer, NULL), HR_INVALID);
    }
    ck_assert_str_eq(buffers(NULL, 9), "");
    stop();
}
END_TEST

HR_SUITE("ledger/buffers", tells_the_buffers_of_one_body_the_last_shot_first,
         keeps_one_a_body_card_and_kinds_the_later_holds, gives_a_buffer_back_to_the_last_bit,
         notes_no_figure_that_is_none)
