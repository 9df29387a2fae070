/* SPDX-License-Identifier: ISC */
/* Which links a forecast hangs on which. Ways are as link_linux.c reads them: a device's own link first, then what it
 * is plugged into, hop by hop; ceilings by the formulas of <headrace/devices.h>. */
#include <stdio.h>

#include <headrace/devices.h>

#include "offload/foresee_hubs.h"
#include "suite.h"

enum { CARD = 1, OTHER = 2, PLACE = 18, HUBS = 30 };

static struct hr_forecast_job job;
static struct hr_link_way ways[4];
static size_t way_count;

static void begin(void)
{
    job = (struct hr_forecast_job){0};
    way_count = 0;
}

/* PORT and MBIT by turns, ended by NULL: hops of a way of USB. */
static void add(unsigned link, const char *const *ports, const double *mbit_per_s)
{
    struct hr_link_way *way = &ways[way_count++];
    *way = (struct hr_link_way){.link = link};
    for (size_t i = 0; ports[i]; i++) {
        struct hr_hop *hop = &way->way.hops[way->way.hop_count++];
        *hop = (struct hr_hop){
            .kind = mbit_per_s[i] > 0 ? HR_HOP_USB : HR_HOP_UNKNOWN, .mbit_per_s = mbit_per_s[i], .lanes = 1};
        snprintf(hop->port, sizeof hop->port, "%s", ports[i]);
    }
    bool is_known = false;
    for (size_t i = 0; i < job.link_count; i++)
        is_known |= job.links[i].link == link;
    if (!is_known)
        job.links[job.link_count++] = (struct hr_forecast_link){.link = link, .bytes_per_s = 1e9, 0};
}
#define ADD(link, mbit_per_s, ...) add(link, (const char *const[]){__VA_ARGS__, NULL}, mbit_per_s)

static const double all_fast[] = {10000, 10000, 10000, 10000};

static unsigned up_from(unsigned link)
{
    for (size_t i = 0; i < job.link_count; i++)
        if (job.links[i].link == link)
            return job.links[i].up;
    ck_abort_msg("no link %u", link);
}

static double carries(unsigned link)
{
    for (size_t i = 0; i < job.link_count; i++)
        if (job.links[i].link == link)
            return job.links[i].bytes_per_s;
    ck_abort_msg("no link %u", link);
}

static void expect_usb(unsigned link, double mbit_per_s)
{
    ck_assert_double_eq_tol(carries(link), hr_link_ceiling(HR_LINK_USB, mbit_per_s, 1), 1);
}

/* Two readers on a hub at 5 Gb/s, and a drive beside the hub: what they have in common then is the machine's port. */
START_TEST(two_readers_share_their_hub_and_all_share_the_port)
{
    begin();
    ADD(CARD, ((const double[]){5000, 5000, 10000}), "usb1/1-1/1-1.1", "usb1/1-1", "usb1");
    ADD(OTHER, ((const double[]){5000, 5000, 10000}), "usb1/1-1/1-1.2", "usb1/1-1", "usb1");
    ADD(PLACE, ((const double[]){10000, 10000}), "usb1/1-2", "usb1");
    hr__foresee_hubs(&job, ways, way_count, HUBS);
    ck_assert_uint_eq(job.link_count, 5);
    ck_assert_uint_eq(up_from(CARD), HUBS);
    ck_assert_uint_eq(up_from(OTHER), HUBS);
    ck_assert_uint_eq(up_from(HUBS), HUBS + 1);
    ck_assert_uint_eq(up_from(PLACE), HUBS + 1);
    ck_assert_uint_eq(up_from(HUBS + 1), 0);
    expect_usb(HUBS, 5000);
    expect_usb(HUBS + 1, 10000);
}
END_TEST

START_TEST(what_shares_nothing_hangs_on_nothing)
{
    begin();
    ADD(CARD, all_fast, "usb1/1-1", "usb1");
    ADD(PLACE, all_fast, "usb2/2-1", "usb2");
    hr__foresee_hubs(&job, ways, way_count, HUBS);
    ck_assert_uint_eq(job.link_count, 2);
    ck_assert_uint_eq(up_from(CARD) + up_from(PLACE), 0);
}
END_TEST

/* The slots of a reader are one link already, and what is behind them is theirs alone. */
START_TEST(the_slots_of_a_reader_need_no_hub)
{
    begin();
    ADD(CARD, all_fast, "usb1/1-1", "usb1");
    ADD(CARD, all_fast, "usb1/1-1", "usb1");
    hr__foresee_hubs(&job, ways, way_count, HUBS);
    ck_assert_uint_eq(job.link_count, 1);
}
END_TEST

START_TEST(hubs_behind_each_other_are_as_narrow_as_the_narrowest)
{
    begin();
    ADD(CARD, ((const double[]){10000, 10000, 480, 10000}), "a/b/c/d", "a/b/c", "a/b", "a");
    ADD(PLACE, ((const double[]){10000, 10000, 480, 10000}), "a/b/c/e", "a/b/c", "a/b", "a");
    hr__foresee_hubs(&job, ways, way_count, HUBS);
    ck_assert_uint_eq(job.link_count, 3);
    ck_assert_uint_eq(up_from(CARD), HUBS);
    ck_assert_uint_eq(up_from(PLACE), HUBS);
    expect_usb(HUBS, 480);
}
END_TEST

/* What the system does not tell of cannot be added up. */
START_TEST(a_hop_of_unknown_speed_is_passed_over)
{
    begin();
    ADD(CARD, ((const double[]){10000, 0, 5000}), "a/b/c", "a/b", "a");
    ADD(PLACE, ((const double[]){10000, 0, 5000}), "a/b/d", "a/b", "a");
    hr__foresee_hubs(&job, ways, way_count, HUBS);
    ck_assert_uint_eq(job.link_count, 3);
    ck_assert_uint_eq(up_from(PLACE), HUBS);
    expect_usb(HUBS, 5000);
}
END_TEST

START_TEST(a_job_full_of_links_takes_no_more)
{
    begin();
    ADD(CARD, all_fast, "a/b", "a");
    ADD(PLACE, all_fast, "a/c", "a");
    while (job.link_count < HR_FORECAST_LINKS_MAX)
        job.links[job.link_count++] = (struct hr_forecast_link){.link = 100};
    hr__foresee_hubs(&job, ways, way_count, HUBS);
    ck_assert_uint_eq(up_from(CARD) + up_from(PLACE), 0);
}
END_TEST

HR_SUITE("offload/foresee_hubs", two_readers_share_their_hub_and_all_share_the_port,
         what_shares_nothing_hangs_on_nothing, the_slots_of_a_reader_need_no_hub,
         hubs_behind_each_other_are_as_narrow_as_the_narrowest, a_hop_of_unknown_speed_is_passed_over,
         a_job_full_of_links_takes_no_more)
