/* SPDX-License-Identifier: ISC */
#include <assert.h>
#include <math.h>

#include <headrace/forecast.h>

/* From HR_TOGETHER_BESIDE on a drive is read back as it is written; below this only once all is written: there the
 * engine changes its ways as well (transfer/pace.h). Between the two, reading takes what writing leaves. */
static const double after_together = 0.7;

/* A forecast in the making. */
struct draft {
    struct hr_forecast *out;
    double copied_s;   /* the longest of what goes on until all is written */
    double last_s;     /* the longest of what is left to do then, at the least */
    double verified_s; /* the longest stage */
    bool all_are_measured;
};

/* Slowest first. */
static void add_stage(struct draft *draft, enum hr_bottleneck kind, unsigned index, double seconds)
{
    struct hr_forecast *out = draft->out;
    size_t at = out->stage_count;
    if (seconds <= 0)
        return;
    for (; at > 0 && out->stages[at - 1].seconds < seconds; at--)
        out->stages[at] = out->stages[at - 1];
    out->stages[at] = (struct hr_forecast_stage){kind, index, seconds};
    out->stage_count++;
    draft->verified_s = fmax(draft->verified_s, seconds);
}

static bool is_shared(unsigned a, unsigned b)
{
    return a != 0 && a == b;
}

static bool is_measured(const struct hr_speed *speed)
{
    return speed->is_measured && speed->bytes_per_s > 0;
}

static double readings_of(const struct hr_forecast_card *card)
{
    return fmax(1, card->readings);
}

double hr_forecast_card_seconds(const struct hr_forecast_card *card)
{
    return readings_of(card) * hr_speed_seconds(&card->read, card->files, card->bytes);
}

/* The cards of one link, from its first on; 0: `first` is not its first. */
static double reading_seconds(const struct hr_forecast_job *job, size_t first)
{
    double seconds = 0;
    for (size_t i = 0; i < job->card_count; i++) {
        const struct hr_forecast_card *card = &job->cards[i];
        bool is_of_it = i == first || is_shared(card->link, job->cards[first].link);
        if (is_of_it && i < first)
            return 0;
        seconds += is_of_it ? hr_forecast_card_seconds(card) : 0;
    }
    return seconds;
}

/* Cards as they are taken: each in its turn, as soon as a reader and its link are free. */
struct taking {
    const struct hr_forecast_job *job;
    bool is_taken[HR_FORECAST_CARDS_MAX];
    double ends_s[HR_FORECAST_CARDS_MAX]; /* of those taken */
};

static double link_free_at(const struct taking *taking, size_t card)
{
    const struct hr_forecast_card *cards = taking->job->cards;
    double free_s = 0;
    for (size_t i = 0; i < taking->job->card_count; i++)
        if (taking->is_taken[i] && is_shared(cards[i].link, cards[card].link))
            free_s = fmax(free_s, taking->ends_s[i]);
    return free_s;
}

/* The first of those that can begin soonest once a reader is free. */
static size_t next_card(double *begins_s, const struct taking *taking, double reader_free_s)
{
    size_t next = SIZE_MAX;
    for (size_t i = 0; i < taking->job->card_count; i++) {
        double s = fmax(reader_free_s, link_free_at(taking, i));
        if (taking->is_taken[i] || (next != SIZE_MAX && s >= *begins_s))
            continue;
        next = i;
        *begins_s = s;
    }
    return next;
}

double hr_forecast_cards_seconds(const struct hr_forecast_job *job)
{
    struct taking taking = {.job = job};
    double reader_free_s[HR_FORECAST_CARDS_MAX] = {0}, last_s = 0;
    size_t readers = job->cards_at_once && job->cards_at_once < job->card_count ? job->cards_at_once : job->card_count;
    for (size_t n = 0; n < job->card_count; n++) {
        double begins_s = 0, *reader = &reader_free_s[0];
        for (size_t i = 1; i < readers; i++)
            reader = reader_free_s[i] < *reader ? &reader_free_s[i] : reader;
        size_t card = next_card(&begins_s, &taking, *reader);
        taking.is_taken[card] = true;
        *reader = taking.ends_s[card] = begins_s + hr_forecast_card_seconds(&job->cards[card]);
        last_s = fmax(last_s, *reader);
    }
    return last_s;
}

/* The cards of the slowest link, where other links wait for it. */
static size_t slowest_link(const struct hr_forecast_job *job)
{
    size_t slowest = 0;
    for (size_t i = 1; i < job->card_count; i++)
        if (reading_seconds(job, i) > reading_seconds(job, slowest))
            slowest = i;
    return slowest;
}

static void add_cards(struct draft *draft, const struct hr_forecast_job *job)
{
    double bytes = 0, all_s = hr_forecast_cards_seconds(job);
    size_t slowest = slowest_link(job);
    for (size_t i = 0; i < job->card_count; i++) {
        double seconds = i == slowest ? all_s : reading_seconds(job, i);
        add_stage(draft, HR_LIMIT_CARD, (unsigned)i, seconds);
        draft->copied_s = fmax(draft->copied_s, seconds);
        draft->all_are_measured &= is_measured(&job->cards[i].read);
        bytes += job->cards[i].bytes;
    }
    double digest_s = job->digest_bytes_per_s > 0 ? bytes / job->digest_bytes_per_s : 0;
    add_stage(draft, HR_LIMIT_DIGEST, 0, digest_s);
    draft->copied_s = fmax(draft->copied_s, digest_s);
}

/* What the places of one device do. */
struct device_seconds {
    double write, read_back, last;
};

/* As reading_seconds. One fast cache serves all places of a device. */
static struct device_seconds device_seconds(const struct hr_forecast_job *job, size_t first)
{
    struct device_seconds seconds = {0};
    double bytes_before = 0;
    for (size_t i = 0; i < job->place_count; i++) {
        const struct hr_forecast_place *place = &job->places[i];
        if (place->device != job->places[first].device)
            continue;
        if (i < first)
            return (struct device_seconds){0};
        struct hr_speed write = place->write;
        write.fast_bytes = fmax(0, write.fast_bytes - bytes_before);
        bytes_before += place->bytes;
        double read_files = place->files + place->unread_files, read_bytes = place->bytes + place->unread_bytes;
        seconds.write += hr_speed_seconds(&write, place->files, place->bytes);
        seconds.read_back += hr_speed_seconds(&place->read_back, read_files, read_bytes);
        if (read_bytes > 0)
            seconds.last += hr_speed_seconds(&place->read_back, 1, fmin(job->last_bytes, read_bytes));
    }
    return seconds;
}

static void add_device(struct draft *draft, unsigned index, const struct device_seconds *seconds, double together)
{
    double write = seconds->write, both = write + seconds->read_back, copied = write;
    if (together >= HR_TOGETHER_BESIDE) {
        copied = fmax(write, fmin(2 * write, both) / together);
        both = fmax(fmax(write, seconds->read_back), both / together);
    }
    add_stage(draft, HR_LIMIT_PLACE, index, both);
    draft->copied_s = fmax(draft->copied_s, copied);
    bool is_after = together > 0 && together < after_together;
    draft->last_s = fmax(draft->last_s, is_after ? seconds->read_back : seconds->last);
}

static void add_places(struct draft *draft, const struct hr_forecast_job *job)
{
    for (size_t i = 0; i < job->place_count; i++) {
        const struct hr_forecast_place *place = &job->places[i];
        struct device_seconds seconds = device_seconds(job, i);
        add_device(draft, (unsigned)i, &seconds, place->together);
        draft->all_are_measured &= is_measured(&place->write) && is_measured(&place->read_back);
    }
}

/* SIZE_MAX: there is none. */
static size_t find(const struct hr_forecast_job *job, unsigned link)
{
    for (size_t i = 0; i < job->link_count; i++)
        if (job->links[i].link == link)
            return i;
    return SIZE_MAX;
}

struct hr_forecast_link *hr_forecast_find_link(struct hr_forecast_job *job, unsigned link)
{
    size_t at = find(job, link);
    return at == SIZE_MAX ? NULL : &job->links[at];
}

static unsigned up_from(const struct hr_forecast_job *job, unsigned link)
{
    size_t at = find(job, link);
    return at == SIZE_MAX ? 0 : job->links[at].up;
}

/* As many steps as there are links, should they lead in a ring. */
bool hr_forecast_crosses(const struct hr_forecast_job *job, unsigned from, unsigned link)
{
    for (size_t i = 0; i <= job->link_count && from; i++, from = up_from(job, from))
        if (from == link)
            return true;
    return false;
}

static void add_link(struct draft *draft, const struct hr_forecast_job *job, const struct hr_forecast_link *link)
{
    double copied = 0, read_back = 0;
    for (size_t i = 0; i < job->card_count; i++)
        if (hr_forecast_crosses(job, job->cards[i].link, link->link))
            copied += readings_of(&job->cards[i]) * job->cards[i].bytes;
    for (size_t i = 0; i < job->place_count; i++) {
        const struct hr_forecast_place *place = &job->places[i];
        if (!hr_forecast_crosses(job, place->link, link->link))
            continue;
        copied += place->bytes;
        read_back += place->bytes + place->unread_bytes;
    }
    if (link->bytes_per_s <= 0)
        return;
    add_stage(draft, HR_LIMIT_LINK, link->link, (copied + read_back) / link->bytes_per_s);
    draft->copied_s = fmax(draft->copied_s, copied / link->bytes_per_s);
}

static void scale(struct hr_forecast *out, double scale)
{
    for (size_t i = 0; i < out->stage_count; i++)
        out->stages[i].seconds *= scale;
    out->copied_s *= scale;
    out->verified_s *= scale;
    out->basis = HR_BASIS_RUNS;
}

void hr_forecast_make(struct hr_forecast *out, const struct hr_forecast_job *job)
{
    struct draft draft = {.out = out, .all_are_measured = true};
    assert(job->card_count <= HR_FORECAST_CARDS_MAX && job->place_count <= HR_FORECAST_PLACES_MAX);
    assert(job->link_count <= HR_FORECAST_LINKS_MAX);
    *out = (struct hr_forecast){0};
    add_cards(&draft, job);
    add_places(&draft, job);
    for (size_t i = 0; i < job->link_count; i++)
        add_link(&draft, job, &job->links[i]);
    out->basis = draft.all_are_measured ? HR_BASIS_MEASURED : HR_BASIS_CEILINGS;
    out->copied_s = job->overhead_s + draft.copied_s;
    out->verified_s = job->overhead_s + fmax(draft.verified_s, draft.copied_s + draft.last_s);
    if (job->scale > 0)
        scale(out, job->scale);
}
