/* SPDX-License-Identifier: ISC */
/* What would be faster. Figures are computed by hand, ceilings by hr_link_ceiling; a device that its link holds up is
 * taken to go at 0.6 of a faster one's ceiling, the prior of <headrace/forecast.h>. */
#include <stdlib.h>

#include "offload/foresee.h"
#include "suite.h"

static const double MB = 1e6;

static struct hr_link usb(double mbit_per_s)
{
    return (struct hr_link){
        .kind = HR_LINK_USB, .ceiling_bytes_per_s = hr_link_ceiling(HR_LINK_USB, mbit_per_s, 1), .name = "USB"};
}

/* A card of 1,000 MB at 45 MB/s behind 480 Mb/s, to two SATA drives of 400 MB/s each way. */
static struct hr_offload *an_offload(void)
{
    struct hr_offload *offload = calloc(1, sizeof *offload);
    ck_assert_ptr_nonnull(offload);
    struct hr_forecast_job *job = &offload->foreseen.job;
    const struct hr_speed fast = {.bytes_per_s = 400 * MB};
    offload->plan_cards[0].path = "/media/A";
    offload->cards[0].timed.link = usb(480);
    job->cards[0] =
        (struct hr_forecast_card){.files = 100, .bytes = 1000 * MB, .read = {.bytes_per_s = 45 * MB}, .link = 1};
    job->links[0] = (struct hr_forecast_link){1, usb(480).ceiling_bytes_per_s, 0};
    job->card_count = job->link_count = 1;
    for (unsigned i = 0; i < 2; i++) {
        offload->plan_places[i].path = i ? "/mnt/backup" : "/mnt/ssd";
        offload->places[i].timed.link = (struct hr_link){.kind = HR_LINK_SATA, .ceiling_bytes_per_s = 600 * MB};
        job->places[i] = (struct hr_forecast_place){
            .files = 100, .bytes = 1000 * MB, .write = fast, .read_back = fast, .device = i + 1, .together = 2};
    }
    job->place_count = 2;
    return offload;
}

static void foresee(struct hr_offload *offload)
{
    hr_forecast_make(&offload->foreseen.forecast, &offload->foreseen.job);
    hr__foresee_changes(offload);
}

static void expect(const struct hr_offload *offload, size_t index, const char *text, double seconds)
{
    ck_assert_uint_lt(index, offload->foreseen.change_count);
    ck_assert_str_eq(offload->foreseen.changes[index].text, text);
    ck_assert_double_eq_tol(offload->foreseen.changes[index].verified_s, seconds, 0.001);
}

/* Frees it. */
static void expect_no_change(struct hr_offload *offload)
{
    foresee(offload);
    ck_assert_uint_eq(offload->foreseen.change_count, 0);
    free(offload);
}

START_TEST(a_card_that_its_link_holds_up_goes_faster_on_another_port)
{
    struct hr_offload *offload = an_offload();
    foresee(offload);
    ck_assert_uint_eq(offload->foreseen.change_count, 2);
    expect(offload, 0, "/media/A on a port of 5 Gb/s", 1000 / 300.0);
    expect(offload, 1, "/media/A on a port of 10 Gb/s", 2.5); /* the drives hold it up then */
    free(offload);
}
END_TEST

START_TEST(a_card_that_is_slower_than_its_link_goes_no_faster_on_another)
{
    struct hr_offload *offload = an_offload();
    offload->foreseen.job.cards[0].read.bytes_per_s = 20 * MB;
    expect_no_change(offload);
}
END_TEST

START_TEST(nothing_goes_faster_than_on_the_port_it_is_on)
{
    struct hr_offload *offload = an_offload();
    offload->cards[0].timed.link = usb(10000);
    offload->foreseen.job.links[0].bytes_per_s = usb(10000).ceiling_bytes_per_s;
    expect_no_change(offload);
}
END_TEST

/* 20 + 20 s for the one at 50 MB/s in all, 22.2 s for the card. */
START_TEST(a_place_that_holds_all_up_can_follow_later)
{
    struct hr_offload *offload = an_offload();
    struct hr_forecast_place *slow = &offload->foreseen.job.places[1];
    slow->write.bytes_per_s = slow->read_back.bytes_per_s = 50 * MB;
    slow->together = 1;
    foresee(offload);
    ck_assert_uint_eq(offload->foreseen.change_count, 1);
    expect(offload, 0, "without the place /mnt/backup", 1000 / 45.0);
    free(offload);
    offload = an_offload();
    offload->foreseen.job.place_count = 1;
    slow = &offload->foreseen.job.places[0];
    slow->write.bytes_per_s = slow->read_back.bytes_per_s = 20 * MB;
    expect_no_change(offload); /* the only one */
}
END_TEST

/* The slow drive is behind 480 Mb/s; 300 MB/s each way then, one after the other. */
START_TEST(a_place_goes_faster_on_another_port_too)
{
    struct hr_offload *offload = an_offload();
    struct hr_forecast_place *slow = &offload->foreseen.job.places[1];
    offload->places[1].timed.link = usb(480);
    slow->write.bytes_per_s = slow->read_back.bytes_per_s = 40 * MB;
    slow->together = 1;
    slow->link = 2;
    offload->foreseen.job.links[1] = (struct hr_forecast_link){2, usb(480).ceiling_bytes_per_s, 0};
    offload->foreseen.job.link_count = 2;
    foresee(offload);
    ck_assert_uint_eq(offload->foreseen.change_count, 3);
    expect(offload, 0, "/mnt/backup on a port of 5 Gb/s", 1000 / 45.0);
    expect(offload, 2, "without the place /mnt/backup", 1000 / 45.0);
    free(offload);
}
END_TEST

/* Card and place behind one hub: 3,000 MB over 53.248 MB/s. On a faster port the card's 300 MB/s would be left. */
START_TEST(a_link_that_is_shared_is_what_a_port_changes)
{
    struct hr_offload *offload = an_offload();
    offload->foreseen.job.place_count = 1;
    offload->foreseen.job.places[0].link = 1;
    foresee(offload);
    ck_assert_int_eq(offload->foreseen.forecast.stages[0].kind, HR_LIMIT_LINK);
    ck_assert_uint_eq(offload->foreseen.change_count, 2);
    expect(offload, 0, "/media/A on a port of 5 Gb/s", 6); /* 3,000 MB over 500 MB/s */
    expect(offload, 1, "/media/A on a port of 10 Gb/s", 2.5);
    free(offload);
}
END_TEST

START_TEST(a_digest_that_holds_all_up_can_be_left_out)
{
    struct hr_offload *offload = an_offload();
    offload->foreseen.job.digest_bytes_per_s = 20 * MB;
    foresee(offload);
    ck_assert_uint_eq(offload->foreseen.change_count, 1);
    expect(offload, 0, "with --digest xxh128", 1000 / 45.0);
    free(offload);
}
END_TEST

START_TEST(where_nothing_is_to_be_done_nothing_is_faster)
{
    struct hr_offload *offload = calloc(1, sizeof *offload);
    ck_assert_ptr_nonnull(offload);
    expect_no_change(offload);
}
END_TEST

/* The card and both drives on a hub that carries 250 MB/s: 5,000 MB cross it. */
START_TEST(a_device_may_leave_a_hub)
{
    struct hr_offload *offload = an_offload();
    struct hr_forecast_job *job = &offload->foreseen.job;
    double hub = 250 * MB;
    offload->cards[0].timed.link = usb(10000);
    job->cards[0].read.bytes_per_s = 400 * MB;
    job->links[0] = (struct hr_forecast_link){1, usb(10000).ceiling_bytes_per_s, 40};
    for (unsigned i = 0; i < 2; i++) {
        job->places[i].link = 20 + i;
        job->links[job->link_count++] = (struct hr_forecast_link){20 + i, 600 * MB, 40};
    }
    job->links[job->link_count++] = (struct hr_forecast_link){40, hub, 0};
    foresee(offload);
    ck_assert_int_eq(offload->foreseen.forecast.stages[0].kind, HR_LIMIT_LINK);
    ck_assert_double_eq_tol(offload->foreseen.forecast.verified_s, 20,
                            0.001); /* 1,000 read, 2,000 written and read back */
    expect(offload, 0, "/media/A on a port of its own", 16);
    expect(offload, 1, "/mnt/ssd on a port of its own", 12);
    expect(offload, 2, "/mnt/backup on a port of its own", 12);
    ck_assert_uint_eq(offload->foreseen.change_count, 3);
    free(offload);
}
END_TEST

HR_SUITE("offload/foresee_changes", a_card_that_its_link_holds_up_goes_faster_on_another_port,
         a_card_that_is_slower_than_its_link_goes_no_faster_on_another, nothing_goes_faster_than_on_the_port_it_is_on,
         a_place_that_holds_all_up_can_follow_later, a_place_goes_faster_on_another_port_too,
         a_link_that_is_shared_is_what_a_port_changes, a_device_may_leave_a_hub,
         a_digest_that_holds_all_up_can_be_left_out, where_nothing_is_to_be_done_nothing_is_faster)
