/* SPDX-License-Identifier: ISC */
#include "offload/deadline.h"

#include <math.h>

#include "base/units.h"
#include "platform/clock.h"
#include "transfer/engine.h"

/* What the run itself has shown of a stage is off by no more than this; what it has shown of the other direction of the
 * device, or what was foreseen, by this at the least. */
static const double shown_margin = 1.03, inferred_margin = 1.1;

static struct hr_speed slowed(const struct hr_speed *speed, double margin)
{
    struct hr_speed out = *speed;
    out.bytes_per_s /= margin;
    out.file_s *= margin;
    out.slow_bytes_per_s /= margin;
    return out;
}

/* How much longer than by its speeds it may take, at the upper bound. */
static double upper_margin(const struct hr_foreseen *foreseen)
{
    double middle = foreseen->forecast.verified_s;
    return middle > 0 ? fmax(1, foreseen->job.scale) * foreseen->verified.high_s / middle : 1;
}

static double margin_of(bool is_learnt, bool was_seen, double upper)
{
    return was_seen ? shown_margin : is_learnt ? inferred_margin : fmax(inferred_margin, upper);
}

static void set_speeds_locked(struct hr_deadline *deadline, const struct hr_learn *learn)
{
    const struct hr_forecast_job *foreseen = &deadline->foreseen->job;
    double upper = upper_margin(deadline->foreseen);
    for (size_t i = 0; i < foreseen->card_count; i++) {
        struct hr_speed read;
        bool is_learnt = hr__learn_card(&read, learn, foreseen, i);
        deadline->job.cards[i].read = slowed(&read, margin_of(is_learnt, is_learnt, upper));
    }
    for (size_t i = 0; i < foreseen->place_count; i++) {
        struct hr_learnt_place learnt = hr__learn_place(learn, foreseen, i);
        struct hr_forecast_place *place = &deadline->job.places[i];
        place->write = slowed(&learnt.write, margin_of(learnt.has_write, learnt.was_written_to, upper));
        place->read_back = slowed(&learnt.read_back, margin_of(learnt.has_read_back, learnt.was_read_back_from, upper));
    }
}

void hr__deadline_init(struct hr_deadline *deadline, int64_t at_ns, const struct hr_transfer_item *items,
                       const struct hr_foreseen *foreseen)
{
    *deadline = (struct hr_deadline){.at_ns = at_ns, .items = items, .foreseen = foreseen, .job = foreseen->job};
    hr__lock_init(&deadline->lock);
    for (size_t i = 0; i < foreseen->job.card_count; i++)
        deadline->job.cards[i].files = deadline->job.cards[i].bytes = 0;
    for (size_t i = 0; i < foreseen->job.place_count; i++)
        deadline->job.places[i].files = deadline->job.places[i].bytes = 0;
    deadline->job.scale = 0; /* the margins stand for it */
    const struct hr_learn nothing = {0};
    set_speeds_locked(deadline, &nothing);
}

void hr__deadline_finish(struct hr_deadline *deadline)
{
    hr__lock_finish(&deadline->lock);
}

/* ---- What is left ---- */

static double less(double all, uint64_t done)
{
    return all > (double)done ? all - (double)done : 0;
}

/* Files of a card are taken to be of one size here: what is read of each is not told. */
static void set_card_left(struct hr_forecast_card *card, uint64_t read_bytes)
{
    double readings = fmax(1, card->readings), bytes = less(readings * card->bytes, read_bytes) / readings;
    card->files = card->bytes > 0 ? card->files * bytes / card->bytes : 0;
    card->bytes = bytes;
}

/* What was written of small files may lie in the page cache until a sync: until then it is as good as not written. How
 * many files were read back follows from the bytes: what is proven is told later, when names are durable. */
static void set_place_left(struct hr_forecast_place *place, const struct hr_sink_progress *done)
{
    bool is_small = place->bytes < place->files * HR_DIRECT_FROM_BYTES;
    struct hr_stage_count written = is_small ? done->durable : done->written;
    place->files = less(place->files, written.files);
    place->bytes = less(place->bytes, written.bytes);
    place->unread_bytes = less((double)written.bytes, done->read_back_bytes);
    place->unread_files = written.bytes ? (double)written.files * place->unread_bytes / (double)written.bytes : 0;
}

double hr__deadline_sent_since(const struct hr_sink_progress *done, const struct hr_last_sync *sync, double seconds,
                               double bytes_per_s)
{
    double unsynced = less((double)done->written.bytes, done->durable.bytes);
    double sent = seconds * bytes_per_s - less((double)done->read_back_bytes, sync->read_back_bytes);
    return sent <= 0 ? 0 : sent < unsynced ? sent : unsynced;
}

/* The counters as they would be if syncs told how far they are. */
static struct hr_transfer_progress done_by_now_locked(const struct hr_deadline *deadline, int64_t now_ns)
{
    struct hr_transfer_progress done = deadline->done;
    for (size_t i = 0; i < deadline->job.place_count; i++) {
        struct hr_sink_progress *sink = &done.sinks[i];
        const struct hr_last_sync *sync = &deadline->syncs[i];
        double unsynced = less((double)sink->written.bytes, sink->durable.bytes);
        double sent = hr__deadline_sent_since(sink, sync, (double)(now_ns - sync->at_ns) / HR_NS_PER_S,
                                              deadline->job.places[i].write.bytes_per_s);
        if (unsynced <= 0)
            continue;
        sink->durable.files += (uint64_t)(less((double)sink->written.files, sink->durable.files) * sent / unsynced);
        sink->durable.bytes += (uint64_t)sent;
    }
    return done;
}

double hr__deadline_left(const struct hr_forecast_job *begun, const struct hr_transfer_progress *done)
{
    struct hr_forecast_job left = *begun;
    struct hr_forecast forecast;
    for (size_t i = 0; i < left.card_count; i++)
        set_card_left(&left.cards[i], done->bytes_of_card[i]);
    for (size_t i = 0; i < left.place_count; i++)
        set_place_left(&left.places[i], &done->sinks[i]);
    hr_forecast_make(&forecast, &left);
    return forecast.verified_s;
}

static void begin(struct hr_forecast_job *job, const struct hr_transfer_item *item)
{
    double bytes = (double)item->file->size_bytes;
    job->cards[item->card].files++;
    job->cards[item->card].bytes += bytes;
    job->last_bytes = bytes;
    for (size_t i = 0; i < job->place_count; i++)
        if (item->copies[i].state == HR_COPY_WANTED) {
            job->places[i].files++;
            job->places[i].bytes += bytes;
        }
}

/* Beside writing, reading back is behind: when the last file is written, one is synced and one is read. */
static double seconds_behind(const struct hr_forecast_job *job)
{
    double behind = 0;
    for (size_t i = 0; i < job->place_count; i++)
        if (job->places[i].together >= HR_TOGETHER_BESIDE)
            behind = fmax(behind, hr_speed_seconds(&job->places[i].read_back, 2, 2 * job->last_bytes));
    return behind;
}

bool hr__deadline_may_begin(void *context, size_t item)
{
    struct hr_deadline *deadline = context;
    hr__lock_take(&deadline->lock);
    struct hr_forecast_job with = deadline->job;
    begin(&with, &deadline->items[item]);
    int64_t now_ns = hr__clock_now_ns();
    struct hr_transfer_progress done = done_by_now_locked(deadline, now_ns);
    double left_s = hr__deadline_left(&with, &done) + seconds_behind(&with);
    deadline->is_shut |= (double)(deadline->at_ns - now_ns) / HR_NS_PER_S < left_s;
    if (!deadline->is_shut)
        deadline->job = with;
    bool may = !deadline->is_shut;
    hr__lock_drop(&deadline->lock);
    return may;
}

static void note_syncs_locked(struct hr_deadline *deadline, int64_t now_ns)
{
    for (size_t i = 0; i < deadline->done.sink_count; i++) {
        const struct hr_sink_progress *sink = &deadline->done.sinks[i];
        if (deadline->syncs[i].at_ns == 0 || sink->durable.bytes != deadline->syncs[i].durable_bytes)
            deadline->syncs[i] = (struct hr_last_sync){sink->durable.bytes, sink->read_back_bytes, now_ns};
    }
}

void hr__deadline_note(struct hr_deadline *deadline, const struct hr_transfer_progress *done,
                       const struct hr_learn *learn)
{
    hr__lock_take(&deadline->lock);
    deadline->done = *done;
    note_syncs_locked(deadline, hr__clock_now_ns());
    set_speeds_locked(deadline, learn);
    hr__lock_drop(&deadline->lock);
}

bool hr__deadline_is_shut(struct hr_deadline *deadline)
{
    hr__lock_take(&deadline->lock);
    bool is_shut = deadline->is_shut;
    hr__lock_drop(&deadline->lock);
    return is_shut;
}
