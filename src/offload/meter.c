/* SPDX-License-Identifier: ISC */
#include "offload/meter.h"

#include <math.h>

#include "base/median.h"
#include "base/units.h"
#include "offload/time_left.h"

static const int64_t mark_every_ns = HR_NS_PER_S / 2;
/* What is shown as a rate covers a few seconds. Time left rests on the middle of windows: long enough to hold a batch
 * and its sync, enough of them that one in which a drive stalled is left out. */
enum { SHOWN_MARKS = 6, WINDOW_MARKS = 8, WINDOWS = (HR_METER_MARKS - 1) / WINDOW_MARKS };
/* Reading back alone was seen when it went on for so long. */
static const int64_t telling_ns = 2 * HR_NS_PER_S;
/* An end that is seen elsewhere is believed within so long, or so much of the time that has passed. */
static const double settling_s = 5, settling_share = 0.25;
/* Before this nothing is promised. */
static const int64_t first_estimate_ns = 2 * HR_NS_PER_S;
/* More than a day is no estimate but a place that stands still for a moment. */
static const double longest_estimate_s = 24 * 3600;

static const struct hr_meter_mark *mark_at(const struct hr_meter *meter, size_t index)
{
    return &meter->marks[(meter->first + index) % HR_METER_MARKS];
}

void hr__meter_mark(struct hr_meter *meter, const struct hr_meter_mark *mark)
{
    if (meter->count > 0 && mark->at_ns - mark_at(meter, meter->count - 1)->at_ns < mark_every_ns)
        return;
    if (meter->count == HR_METER_MARKS) {
        meter->first = (meter->first + 1) % HR_METER_MARKS;
        meter->count--;
    }
    meter->marks[(meter->first + meter->count) % HR_METER_MARKS] = *mark;
    meter->count++;
}

static double rate(uint64_t from, uint64_t to, int64_t ns)
{
    return ns > 0 && to > from ? (double)(to - from) * 1e9 / (double)ns : 0;
}

/* Rates between two marks, into the fields of a progress. */
static void set_rates(struct hr_offload_progress *progress, const struct hr_meter_mark *from,
                      const struct hr_meter_mark *to)
{
    int64_t ns = to->at_ns - from->at_ns;
    progress->read_bytes_per_s = rate(from->read_bytes, to->read_bytes, ns);
    for (size_t i = 0; i < progress->place_count; i++) {
        struct hr_offload_place_progress *place = &progress->places[i];
        place->write_bytes_per_s = rate(from->written_bytes[i], to->written_bytes[i], ns);
        place->read_back_bytes_per_s = rate(from->read_back_bytes[i], to->read_back_bytes[i], ns);
    }
}

enum counter { READ, WRITTEN, READ_BACK };

static uint64_t counter_of(const struct hr_meter_mark *mark, enum counter counter, size_t place)
{
    switch (counter) {
    case READ:
        return mark->read_bytes;
    case WRITTEN:
        return mark->written_bytes[place];
    case READ_BACK:
        break;
    }
    return mark->read_back_bytes[place];
}

static double rate_between(const struct hr_meter *meter, size_t from, size_t to, enum counter counter, size_t place)
{
    const struct hr_meter_mark *a = mark_at(meter, from), *b = mark_at(meter, to);
    return rate(counter_of(a, counter, place), counter_of(b, counter, place), b->at_ns - a->at_ns);
}

/* The mean of the middle half of the windows: a stall does not move it, and a drive that slows down moves it bit by
 * bit, where a median would jump. */
static double middle_rate(const struct hr_meter *meter, enum counter counter, size_t place)
{
    double rates[WINDOWS], sum = 0;
    size_t count = 0;
    for (size_t to = meter->count - 1; to >= WINDOW_MARKS && count < WINDOWS; to -= WINDOW_MARKS)
        rates[count++] = rate_between(meter, to - WINDOW_MARKS, to, counter, place);
    if (count == 0)
        return rate_between(meter, 0, meter->count - 1, counter, place);
    hr__sort_values(rates, count);
    size_t cut = count / 4;
    for (size_t i = cut; i < count - cut; i++)
        sum += rates[i];
    return sum / (double)(count - 2 * cut);
}

/* While it read back at all, or while it did and wrote nothing; 0 where that was not for long. */
static double busy_read_back_rate(const struct hr_meter *meter, size_t place, bool alone)
{
    uint64_t bytes = 0;
    int64_t ns = 0;
    for (size_t i = 1; i < meter->count; i++) {
        const struct hr_meter_mark *from = mark_at(meter, i - 1), *to = mark_at(meter, i);
        uint64_t moved = to->read_back_bytes[place] - from->read_back_bytes[place];
        bool wrote = to->written_bytes[place] > from->written_bytes[place];
        if (moved == 0 || (alone && wrote))
            continue;
        bytes += moved;
        ns += to->at_ns - from->at_ns;
    }
    return ns >= telling_ns ? rate(0, bytes, ns) : 0;
}

static struct hr_seen_rates seen_rates(const struct hr_meter *meter, size_t place_count)
{
    struct hr_seen_rates seen = {.read = middle_rate(meter, READ, 0)};
    for (size_t i = 0; i < place_count; i++) {
        seen.places[i].write = middle_rate(meter, WRITTEN, i);
        seen.places[i].read_back = middle_rate(meter, READ_BACK, i);
        seen.places[i].busy_read_back = busy_read_back_rate(meter, i, false);
        seen.places[i].alone_read_back = busy_read_back_rate(meter, i, true);
    }
    return seen;
}

/* The end moves towards where it is seen to be, at first fast. */
static void move_end(struct hr_meter *meter, int64_t now_ns, const struct hr_forecast_range *left)
{
    double now_s = (double)now_ns / 1e9, since_s = (double)(now_ns - meter->estimated_ns) / 1e9;
    double end_s = now_s + (left->low_s + left->high_s) / 2, width_s = (left->high_s - left->low_s) / 2;
    double share = meter->end_s > 0 ? 1 - exp(-since_s / fmin(settling_s, settling_share * now_s)) : 1;
    meter->end_s += share * (end_s - meter->end_s);
    meter->width_s += share * (width_s - meter->width_s);
    meter->estimated_ns = now_ns;
}

static int64_t nanoseconds(double seconds)
{
    return (int64_t)(fmax(0, seconds) * 1e9);
}

static void set_time_left(struct hr_offload_progress *progress, struct hr_meter *meter,
                          const struct hr_forecast_job *expected)
{
    struct hr_seen_rates seen = {0};
    struct hr_forecast_range left;
    if (progress->elapsed_ns >= first_estimate_ns && meter->count > 1)
        seen = seen_rates(meter, progress->place_count);
    if (!hr__time_left(&left, progress, &seen, expected) || left.high_s > longest_estimate_s)
        return;
    move_end(meter, progress->elapsed_ns, &left);
    double left_s = meter->end_s - (double)progress->elapsed_ns / 1e9;
    progress->left_low_ns = nanoseconds(left_s - meter->width_s);
    progress->left_high_ns = nanoseconds(left_s + meter->width_s);
}

void hr__meter_estimate(struct hr_offload_progress *progress, struct hr_meter *meter,
                        const struct hr_forecast_job *expected)
{
    progress->left_low_ns = progress->left_high_ns = -1;
    set_time_left(progress, meter, expected);
    if (meter->count < 2)
        return;
    size_t shown_from = meter->count > SHOWN_MARKS ? meter->count - 1 - SHOWN_MARKS : 0;
    set_rates(progress, mark_at(meter, shown_from), mark_at(meter, meter->count - 1));
}
