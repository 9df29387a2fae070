/* SPDX-License-Identifier: ISC */
#include "offload/meter.h"

#include "base/units.h"

static const int64_t mark_every_ns = HR_NS_PER_S / 2;
/* What is shown as a rate covers a few seconds; what time left is made of, the whole window. */
enum { SHOWN_MARKS = 6 };
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

/* While it read back at all: a place that has only just begun to is not slow. */
static double busy_read_back_rate(const struct hr_meter *meter, size_t place)
{
    uint64_t bytes = 0;
    int64_t ns = 0;
    for (size_t i = 1; i < meter->count; i++) {
        const struct hr_meter_mark *from = mark_at(meter, i - 1), *to = mark_at(meter, i);
        uint64_t moved = to->read_back_bytes[place] - from->read_back_bytes[place];
        bytes += moved;
        ns += moved > 0 ? to->at_ns - from->at_ns : 0;
    }
    return rate(0, bytes, ns);
}

static double seconds_for(uint64_t done, uint64_t total, double bytes_per_s)
{
    return done >= total ? 0 : (double)(total - done) / bytes_per_s;
}

static double larger(double a, double b)
{
    return a > b ? a : b;
}

/* A place that has read back next to nothing beside its writing shows how little it was let read, not how fast it is:
 * it is taken to read as it writes. */
static double reading_rate(const struct hr_offload_place_progress *place)
{
    const double telling_share = 0.05;
    double writing = place->write_bytes_per_s, reading = place->read_back_bytes_per_s;
    return reading > writing * telling_share ? reading : writing;
}

static bool place_seconds(double *beside, double *after, const struct hr_offload_place_progress *place)
{
    double writing = place->write_bytes_per_s, reading = reading_rate(place);
    *beside = *after = 0;
    if (place->activity == HR_SINK_FAILED || place->proven_bytes >= place->total_bytes)
        return true;
    if (reading <= 0 || (writing <= 0 && place->written_bytes < place->total_bytes))
        return false;
    double write_s = writing > 0 ? seconds_for(place->written_bytes, place->total_bytes, writing) : 0;
    double read_s = seconds_for(place->read_back_bytes, place->total_bytes, reading);
    *beside = larger(write_s, read_s);
    *after = write_s + read_s;
    return true;
}

static void set_time_left(struct hr_offload_progress *progress)
{
    double low = 0, high = 0;
    if (progress->read_bytes < progress->total_bytes) {
        if (progress->read_bytes_per_s <= 0)
            return;
        low = high = seconds_for(progress->read_bytes, progress->total_bytes, progress->read_bytes_per_s);
    }
    for (size_t i = 0; i < progress->place_count; i++) {
        double beside, after;
        if (!place_seconds(&beside, &after, &progress->places[i]))
            return;
        low = larger(low, beside);
        high = larger(high, after);
    }
    if (high > longest_estimate_s)
        return;
    progress->left_low_ns = (int64_t)(low * 1e9);
    progress->left_high_ns = (int64_t)(high * 1e9);
}

void hr__meter_estimate(struct hr_offload_progress *progress, const struct hr_meter *meter)
{
    progress->left_low_ns = progress->left_high_ns = -1;
    if (meter->count < 2)
        return;
    const struct hr_meter_mark *last = mark_at(meter, meter->count - 1);
    set_rates(progress, mark_at(meter, 0), last);
    for (size_t i = 0; i < progress->place_count; i++)
        progress->places[i].read_back_bytes_per_s = busy_read_back_rate(meter, i);
    if (progress->elapsed_ns >= first_estimate_ns)
        set_time_left(progress);
    size_t shown_from = meter->count > SHOWN_MARKS ? meter->count - 1 - SHOWN_MARKS : 0;
    set_rates(progress, mark_at(meter, shown_from), last);
}
