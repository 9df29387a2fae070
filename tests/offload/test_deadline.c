/* SPDX-License-Identifier: ISC */
/* Which file may still be begun. Figures are computed by hand from files x file_s + bytes / rate. */
#include "offload/deadline.h"

#include "base/units.h"
#include "platform/clock.h"
#include "suite.h"

static const double MB = 1e6;

enum { FILES = 100 };

/* A card of 100 MB/s to a place that writes 50 and reads 50 out of one budget; files of 10 MB. */
struct stage {
    struct hr_card_file file;
    struct hr_transfer_item items[FILES];
    struct hr_foreseen foreseen;
    struct hr_deadline deadline;
};

static void set(struct stage *stage, double seconds, double margin)
{
    const struct hr_speed fast = {.bytes_per_s = 100 * MB}, slow = {.bytes_per_s = 50 * MB};
    struct hr_forecast_job *job = &stage->foreseen.job;
    *stage = (struct stage){.file = {.path = "DCIM/100NMERE/NMA_0001.DNG", .size_bytes = 10000000}};
    for (size_t i = 0; i < FILES; i++)
        stage->items[i] = (struct hr_transfer_item){.file = &stage->file, .copies = {{.state = HR_COPY_WANTED}}};
    job->card_count = job->place_count = 1;
    job->cards[0] = (struct hr_forecast_card){.files = FILES, .bytes = 1000 * MB, .read = fast};
    job->places[0] = (struct hr_forecast_place){
        .files = FILES, .bytes = 1000 * MB, .write = slow, .read_back = slow, .device = 1, .together = 1};
    stage->foreseen.forecast.verified_s = 40;
    stage->foreseen.verified.high_s = 40 * margin;
    hr__deadline_init(&stage->deadline, hr__clock_now_ns() + (int64_t)(seconds * HR_NS_PER_S), stage->items,
                      &stage->foreseen);
}

static size_t begin_all(struct stage *stage)
{
    size_t begun = 0;
    while (begun < FILES && hr__deadline_may_begin(&stage->deadline, begun))
        begun++;
    return begun;
}

/* A file takes 0.4 s of the place, and a tenth more as long as the run has shown nothing. */
START_TEST(begins_as_many_as_are_verified_in_time)
{
    struct stage stage;
    set(&stage, 20, 1);
    size_t begun = begin_all(&stage);
    ck_assert_uint_ge(begun, 44);
    ck_assert_uint_le(begun, 45);
    ck_assert(hr__deadline_is_shut(&stage.deadline));
    hr__deadline_finish(&stage.deadline);
}
END_TEST

START_TEST(begins_fewer_at_the_upper_bound)
{
    struct stage stage;
    set(&stage, 20, 1.25);
    size_t begun = begin_all(&stage);
    ck_assert_uint_ge(begun, 39);
    ck_assert_uint_le(begun, 40);
    hr__deadline_finish(&stage.deadline);
}
END_TEST

/* Each way has its own budget: a file takes 0.22 s, and three are read back when all is written, 0.66 s. */
START_TEST(leaves_time_for_what_is_read_back_behind_the_last_write)
{
    struct stage stage;
    set(&stage, 20, 1);
    hr__deadline_finish(&stage.deadline);
    stage.foreseen.job.places[0].together = 2;
    hr__deadline_init(&stage.deadline, hr__clock_now_ns() + 20 * HR_NS_PER_S, stage.items, &stage.foreseen);
    size_t begun = begin_all(&stage);
    ck_assert_uint_ge(begun, 86);
    ck_assert_uint_le(begun, 87);
    hr__deadline_finish(&stage.deadline);
}
END_TEST

START_TEST(stays_shut_once_it_is)
{
    struct stage stage;
    struct hr_transfer_progress done = {.sinks[0] = {.written = {1000000000, FILES}, .proven = {1000000000, FILES}}};
    const struct hr_learn nothing = {0};
    set(&stage, 2, 1);
    ck_assert_uint_lt(begin_all(&stage), 6);
    done.bytes_of_card[0] = done.sinks[0].read_back_bytes = 1000000000;
    hr__deadline_note(&stage.deadline, &done, &nothing);
    ck_assert(!hr__deadline_may_begin(&stage.deadline, 50));
    hr__deadline_finish(&stage.deadline);
}
END_TEST

/* 400 MB begun, 300 read, 200 written, 50 read back: 200 to write, 350 to read back, 11 s and a tenth. */
START_TEST(what_is_left_is_read_back_as_well)
{
    struct stage stage;
    struct hr_transfer_progress done = {.sinks[0] = {.written = {200000000, 20}, .proven = {50000000, 5}}};
    set(&stage, 100, 1);
    for (size_t i = 0; i < 40; i++)
        ck_assert(hr__deadline_may_begin(&stage.deadline, i));
    done.bytes_of_card[0] = 300000000;
    done.sinks[0].read_back_bytes = 50000000;
    stage.deadline.job.overhead_s = stage.deadline.job.last_bytes = 0;
    ck_assert_double_eq_tol(hr__deadline_left(&stage.deadline.job, &done), 12.1, 1e-9);
    hr__deadline_finish(&stage.deadline);
}
END_TEST

/* 400 files of 0.1 MB begun and in the page cache, two hundred of them synced, a hundred read back: 20 MB to write and
 * 30 to read back, 1 s. */
START_TEST(small_files_are_written_when_they_are_durable)
{
    struct stage stage;
    struct hr_transfer_progress done = {.sinks[0] = {.written = {40000000, 400},
                                                     .durable = {20000000, 200},
                                                     .proven = {10000000, 100},
                                                     .read_back_bytes = 10000000}};
    set(&stage, 100, 1);
    struct hr_forecast_job begun = stage.foreseen.job;
    begun.cards[0].files = begun.places[0].files = 400;
    begun.cards[0].bytes = begun.places[0].bytes = 40 * MB;
    done.bytes_of_card[0] = 40000000;
    ck_assert_double_eq_tol(hr__deadline_left(&begun, &done), 1, 1e-9);
    hr__deadline_finish(&stage.deadline);
}
END_TEST

/* 60 MB written, 20 of them synced 0.5 s ago: at 50 MB/s the drive did 25 since, of which it read back 10. */
START_TEST(what_a_sync_under_way_has_sent_is_written)
{
    const struct hr_last_sync sync = {.durable_bytes = 20000000, .read_back_bytes = 5000000};
    const struct hr_sink_progress done = {
        .written = {60000000, 600}, .durable = {20000000, 200}, .read_back_bytes = 15000000};
    ck_assert_double_eq_tol(hr__deadline_sent_since(&done, &sync, 0.5, 50 * MB), 15 * MB, 1e-3);
    ck_assert_double_eq_tol(hr__deadline_sent_since(&done, &sync, 0.1, 50 * MB), 0, 1e-3);
    ck_assert_double_eq_tol(hr__deadline_sent_since(&done, &sync, 9, 50 * MB), 40 * MB, 1e-3);
}
END_TEST

/* Foreseen 0.4 s a file, shown 0.8 (and 3 % on top), in a run that was foreseen to be twice as long at the most. */
START_TEST(believes_what_the_run_shows)
{
    struct stage stage;
    const struct hr_transfer_progress nothing = {0};
    struct hr_learn learnt = {.budgets[0] = {.write_bytes = 50 * MB, .read_bytes = 50 * MB, .seconds = 4}};
    set(&stage, 20, 3);
    hr__deadline_note(&stage.deadline, &nothing, &learnt);
    size_t begun = begin_all(&stage);
    ck_assert_uint_ge(begun, 23);
    ck_assert_uint_le(begun, 24);
    hr__deadline_finish(&stage.deadline);
}
END_TEST

/* Read twice a file takes 0.2 s of the card, which is slower here than both drives; of what is begun all is read when
 * twice its bytes are. */
START_TEST(counts_every_reading_of_the_card)
{
    struct stage stage;
    struct hr_transfer_progress done = {.sinks[0] = {.written = {400000000, 40}, .read_back_bytes = 400000000}};
    set(&stage, 100, 1);
    stage.deadline.job.cards[0].readings = 2;
    stage.deadline.job.places[0].write.bytes_per_s = stage.deadline.job.places[0].read_back.bytes_per_s = 500 * MB;
    for (size_t i = 0; i < 40; i++)
        ck_assert(hr__deadline_may_begin(&stage.deadline, i));
    stage.deadline.job.overhead_s = stage.deadline.job.last_bytes = 0;
    done.bytes_of_card[0] = 400000000;
    ck_assert_double_eq_tol(hr__deadline_left(&stage.deadline.job, &done), 4.4, 1e-9);
    done.bytes_of_card[0] = 800000000;
    ck_assert_double_eq_tol(hr__deadline_left(&stage.deadline.job, &done), 0, 1e-9);
    hr__deadline_finish(&stage.deadline);
}
END_TEST

HR_SUITE("offload/deadline", counts_every_reading_of_the_card, begins_as_many_as_are_verified_in_time,
         begins_fewer_at_the_upper_bound, leaves_time_for_what_is_read_back_behind_the_last_write,
         stays_shut_once_it_is, what_is_left_is_read_back_as_well, small_files_are_written_when_they_are_durable,
         what_a_sync_under_way_has_sent_is_written, believes_what_the_run_shows)
