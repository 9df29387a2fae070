/* SPDX-License-Identifier: ISC */
#include "offload/time_left.h"

#include <math.h>

#include "base/units.h"

/* What is expected weighs as much as what was seen for so long, (n0 expected + n seen) / (n0 + n); a guess weighs less.
 */
static const double measured_weight_s = 10, guessed_weight_s = 3;
/* The range: so much either way of what rests on rates that were seen, and so much of what does not. No source: by
 * play with scripted drives. */
static const double seen_width = 0.08, unseen_width = 0.3;

/* Of the place, in bytes. A place that failed has nothing left. */
struct left {
    double to_write, to_read_back;
};

static double between(uint64_t done, uint64_t total)
{
    return done < total ? (double)(total - done) : 0;
}

static struct left left_of(const struct hr_offload_place_progress *place)
{
    if (place->activity == HR_SINK_FAILED || place->proven_bytes >= place->total_bytes)
        return (struct left){0};
    return (struct left){between(place->written_bytes, place->total_bytes),
                         between(place->read_back_bytes, place->total_bytes)};
}

/* NAN: by a rate that was not seen. */
static double seconds_at(double bytes, double bytes_per_s)
{
    if (bytes <= 0)
        return 0;
    return bytes_per_s > 0 ? bytes / bytes_per_s : NAN;
}

static double longer(double a, double b)
{
    return isnan(a) || isnan(b) ? NAN : fmax(a, b);
}

/* Until all is written everywhere: cards wait for the slowest place, and it may wait for them. */
static double seen_copying_s(const struct hr_offload_progress *progress, const struct hr_seen_rates *seen)
{
    double seconds = seconds_at(between(progress->read_bytes, progress->total_bytes), seen->read);
    for (size_t i = 0; i < progress->place_count; i++) {
        struct left left = left_of(&progress->places[i]);
        seconds = longer(seconds, seconds_at(left.to_write, seen->places[i].write));
    }
    return seconds;
}

/* A place that is not read beside its writing without loss has one budget for both. */
static double likely_alone_rate(const struct hr_offload_place_progress *place, const struct hr_seen_rates *seen,
                                size_t i)
{
    if (place->reads_beside && seen->places[i].busy_read_back > 0)
        return seen->places[i].busy_read_back;
    return seen->places[i].write + seen->places[i].read_back;
}

/* Seconds, and how wide the range of them is to each side. */
struct guess {
    double seconds, width_s;
};

static struct guess seen_place(const struct hr_offload_progress *progress, const struct hr_seen_rates *seen,
                               const struct hr_forecast_job *expected, size_t i, double copying_s)
{
    double alone = seen->places[i].alone_read_back, width = seen_width;
    double unread = left_of(&progress->places[i]).to_read_back;
    if (copying_s > 0) /* else 0 times a rate that may be none */
        unread -= seen->places[i].read_back * copying_s;
    if (alone <= 0 && expected)
        alone = expected->places[i].read_back.bytes_per_s;
    if (alone <= 0) {
        alone = likely_alone_rate(&progress->places[i], seen, i);
        width = unseen_width;
    }
    double after_s = seconds_at(unread, alone);
    return (struct guess){copying_s + after_s, seen_width * copying_s + width * after_s};
}

static struct guess by_what_is_seen(const struct hr_offload_progress *progress, const struct hr_seen_rates *seen,
                                    const struct hr_forecast_job *expected)
{
    double copying_s = seen_copying_s(progress, seen);
    struct guess guess = {copying_s, seen_width * copying_s};
    for (size_t i = 0; i < progress->place_count; i++) {
        struct guess place = seen_place(progress, seen, expected, i, copying_s);
        guess.seconds = longer(guess.seconds, place.seconds);
        guess.width_s = longer(guess.width_s, place.width_s);
    }
    return guess;
}

/* The job that is still to be done, of the one that was expected. */
static struct hr_forecast_job still_to_do(const struct hr_offload_progress *progress,
                                          const struct hr_forecast_job *expected)
{
    struct hr_forecast_job job = *expected;
    double unread = between(progress->read_bytes, progress->total_bytes) / fmax(1, (double)progress->total_bytes);
    for (size_t i = 0; i < job.card_count; i++) {
        job.cards[i].files *= unread;
        job.cards[i].bytes *= unread;
    }
    for (size_t i = 0; i < job.place_count && i < progress->place_count; i++) {
        struct hr_forecast_place *place = &job.places[i];
        struct left left = left_of(&progress->places[i]);
        double files_a_byte = (place->files + place->unread_files) / fmax(1, place->bytes + place->unread_bytes);
        place->bytes = left.to_write;
        place->unread_bytes = fmax(0, left.to_read_back - left.to_write);
        place->files = files_a_byte * place->bytes;
        place->unread_files = files_a_byte * place->unread_bytes;
        place->write.fast_bytes = fmax(0, place->write.fast_bytes - (double)progress->places[i].written_bytes);
    }
    job.overhead_s = 0; /* most of it has passed */
    job.scale = 0;      /* it is of whole runs: here what lies in the page cache counts as written */
    return job;
}

static struct guess by_what_was_expected(const struct hr_offload_progress *progress,
                                         const struct hr_forecast_job *expected, enum hr_forecast_basis *basis)
{
    struct hr_forecast_job job = still_to_do(progress, expected);
    struct hr_forecast forecast;
    hr_forecast_make(&forecast, &job);
    *basis = forecast.basis;
    struct hr_forecast_range range = hr_forecast_range(forecast.verified_s, NULL, 0, forecast.basis);
    return (struct guess){forecast.verified_s, range.high_s - forecast.verified_s};
}

bool hr__time_left(struct hr_forecast_range *out, const struct hr_offload_progress *progress,
                   const struct hr_seen_rates *seen, const struct hr_forecast_job *expected)
{
    struct guess guess = by_what_is_seen(progress, seen, expected);
    if (expected) {
        enum hr_forecast_basis basis;
        struct guess before = by_what_was_expected(progress, expected, &basis);
        double n0 = basis == HR_BASIS_CEILINGS ? guessed_weight_s : measured_weight_s;
        double n = isnan(guess.seconds) ? 0 : (double)progress->elapsed_ns / HR_NS_PER_S;
        double share = n0 / (n0 + n);
        guess.seconds = n > 0 ? share * before.seconds + (1 - share) * guess.seconds : before.seconds;
        guess.width_s = n > 0 ? share * before.width_s + (1 - share) * guess.width_s : before.width_s;
    }
    if (isnan(guess.seconds))
        return false;
    *out = (struct hr_forecast_range){fmax(0, guess.seconds - guess.width_s), guess.seconds + guess.width_s};
    return true;
}
