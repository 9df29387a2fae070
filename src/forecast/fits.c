/* SPDX-License-Identifier: ISC */
#include <assert.h>

#include <headrace/forecast.h>

static struct hr_forecast_job without_files(const struct hr_forecast_job *job)
{
    struct hr_forecast_job empty = *job;
    for (size_t i = 0; i < empty.card_count; i++)
        empty.cards[i].files = empty.cards[i].bytes = 0;
    for (size_t i = 0; i < empty.place_count; i++)
        empty.places[i].files = empty.places[i].bytes = 0;
    return empty;
}

static void add_file(struct hr_forecast_job *job, size_t card, double bytes)
{
    assert(card < job->card_count);
    job->cards[card].files++;
    job->cards[card].bytes += bytes;
    for (size_t i = 0; i < job->place_count; i++) {
        job->places[i].files++;
        job->places[i].bytes += bytes;
    }
    job->last_bytes = bytes;
}

/* Each beginning is looked at: none takes less time than a shorter one but for what its last file adds, so that no file
 * may be passed over. */
size_t hr_forecast_fits(const struct hr_forecast_job *job, const uint64_t *bytes, const uint8_t *card_of, size_t count,
                        double seconds, double factor)
{
    struct hr_forecast_job begun = without_files(job);
    struct hr_forecast forecast;
    for (size_t i = 0; i < count; i++) {
        add_file(&begun, card_of[i], (double)bytes[i]);
        hr_forecast_make(&forecast, &begun);
        if (forecast.verified_s * factor > seconds)
            return i;
    }
    return count;
}
