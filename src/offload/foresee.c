/* SPDX-License-Identifier: ISC */
#include "offload/foresee.h"

#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "devices/device_link.h"
#include "offload/foresee_hubs.h"
#include "platform/apart.h"
#include "transfer/engine.h"

/* Threads, bags and the ledger before the first byte; the last sync, manifests and verdict after the last: measured on
 * emulated drives of 60 to 400 MB/s (tests/bench/forecast.sh). */
static const double overhead_s = 0.1;

/* Reading and writing at once on a disk with heads, in what it moves doing one. */
static const double heads_together = 0.5;

/* Links of cards are numbered from 1 as the offload groups them, those of places behind, and then what joins them. */
enum { FIRST_LINK_OF_PLACES = HR_CARDS_MAX + 1, FIRST_LINK_OF_HUBS = FIRST_LINK_OF_PLACES + HR_PLACES_MAX };
enum { PAIR_CEILING = (HR_CARDS_MAX + HR_PLACES_MAX) * 2048 };

struct hr_past_device hr__foresee_device(const struct hr_volume *volume, const char *disks)
{
    struct hr_past_device device = {.device = hr__volume_device(volume, disks)};
    hr__volume_link(&device.link, volume);
    return device;
}

/* ---- The pair ---- */

static int compare_texts(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

char *hr__foresee_pair(const struct hr_offload *offload)
{
    const char *devices[HR_CARDS_MAX + HR_PLACES_MAX];
    struct hr_text text;
    size_t count = 0;
    for (size_t i = 0; i < offload->card_count; i++)
        devices[count++] = offload->cards[i].timed.device;
    for (size_t i = 0; i < offload->options.place_count; i++)
        devices[count++] = offload->places[i].timed.device;
    qsort(devices, count, sizeof *devices, compare_texts);
    hr__text_init(&text, PAIR_CEILING);
    for (size_t i = 0; i < count; i++)
        hr__text_printf(&text, "%s%s", i ? "\n" : "", devices[i]);
    if (offload->options.reread_card)
        hr__text_append(&text, "\nreread");
    if (offload->options.only_xxh128)
        hr__text_append(&text, "\nxxh128");
    return hr__text_take(&text);
}

/* ---- The job ---- */

static void add_link(struct hr_forecast_job *job, unsigned link, double ceiling)
{
    if (hr_forecast_find_link(job, link))
        return;
    job->links[job->link_count++] = (struct hr_forecast_link){.link = link, .bytes_per_s = ceiling};
}

static void add_card(struct hr_offload *offload, size_t index, struct hr_ledger *ledger)
{
    const struct hr_offload_card *card = &offload->cards[index];
    const struct hr_plan_card *plan = &offload->plan_cards[index];
    struct hr_forecast_job *job = &offload->foreseen.job;
    job->cards[job->card_count++] =
        (struct hr_forecast_card){.files = (double)plan->files_to_copy,
                                  .bytes = (double)plan->bytes_to_copy,
                                  .readings = offload->options.reread_card ? 2 : 1,
                                  .read = hr__past_speed(ledger, &card->timed, HR_DIRECTION_READ),
                                  .link = card->link + 1};
    add_link(job, card->link + 1, card->timed.link.ceiling_bytes_per_s);
}

/* The link of the first card that is reached as this place is, else of the first such place; its own has nothing to
 * share. */
static unsigned link_of_place(const struct hr_offload *offload, size_t index)
{
    const struct hr_volume *volume = &offload->places[index].volume;
    if (volume->is_in_memory || !volume->disks_are_known)
        return 0;
    for (size_t i = 0; i < offload->card_count; i++)
        if (offload->cards[i].volume.disks_are_known && hr__volume_shares_link(&offload->cards[i].volume, volume))
            return offload->cards[i].link + 1;
    for (size_t i = 0; i < index; i++)
        if (offload->places[i].volume.disks_are_known && hr__volume_shares_link(&offload->places[i].volume, volume))
            return FIRST_LINK_OF_PLACES + (unsigned)i;
    return FIRST_LINK_OF_PLACES + (unsigned)index;
}

static void add_place(struct hr_offload *offload, size_t index, struct hr_ledger *ledger)
{
    struct hr_offload_place *place = &offload->places[index];
    const struct hr_plan_place *plan = &offload->plan_places[index];
    struct hr_forecast_job *job = &offload->foreseen.job;
    unsigned link = link_of_place(offload, index);
    place->timed.together = hr__past_together(ledger, &place->timed);
    job->places[job->place_count++] =
        (struct hr_forecast_place){.files = (double)plan->files_to_copy,
                                   .bytes = (double)plan->bytes_to_copy,
                                   .write = hr__past_speed(ledger, &place->timed, HR_DIRECTION_WRITE),
                                   .read_back = hr__past_speed(ledger, &place->timed, HR_DIRECTION_READ_BACK),
                                   .device = place->drive_number,
                                   .link = link};
    if (link)
        add_link(job, link, place->timed.link.ceiling_bytes_per_s);
}

static void take_way(struct hr_link_way *ways, size_t *count, const struct hr_volume *volume, unsigned link)
{
    struct hr_link_way *way = &ways[*count];
    if (link && hr__volume_way(&way->way, volume)) {
        way->link = link;
        (*count)++;
    }
}

/* Without memory for the ways the forecast knows no hubs. */
static void add_hubs(struct hr_offload *offload)
{
    struct hr_forecast_job *job = &offload->foreseen.job;
    struct hr_link_way *ways = calloc(HR_FORECAST_DEVICES_MAX, sizeof *ways);
    size_t count = 0;
    for (size_t i = 0; i < job->card_count && ways; i++)
        take_way(ways, &count, &offload->cards[i].volume, job->cards[i].link);
    for (size_t i = 0; i < job->place_count && ways; i++)
        take_way(ways, &count, &offload->places[i].volume, job->places[i].link);
    if (ways)
        hr__foresee_hubs(job, ways, count, FIRST_LINK_OF_HUBS);
    free(ways);
}

static bool is_faster_than(const struct hr_forecast_place *place, double seconds)
{
    return hr_speed_seconds(&place->write, place->files, place->bytes) <= seconds &&
           hr_speed_seconds(&place->read_back, place->files, place->bytes) <= seconds;
}

/* Small files are written through the page cache: where it fills faster than the drive takes them, the thread that
 * waits for a sync of it is the one that reads them back, one after the other. A disk with heads is always read back
 * after writing. */
static double together_of(const struct hr_offload *offload, size_t index, double cards_s)
{
    const struct hr_offload_place *place = &offload->places[index];
    const struct hr_plan_place *plan = &offload->plan_places[index];
    if (hr__volume_has_heads(&place->volume))
        return heads_together;
    bool has_small_files = plan->bytes_to_copy / HR_DIRECT_FROM_BYTES < plan->files_to_copy;
    bool is_one_by_one = has_small_files && !is_faster_than(&offload->foreseen.job.places[index], cards_s);
    return is_one_by_one ? 1 : place->timed.together;
}

static double last_bytes(const struct hr_offload *offload)
{
    uint8_t everywhere = (uint8_t)((1u << offload->options.place_count) - 1);
    for (size_t c = offload->card_count; c-- > 0;) {
        const struct hr_offload_card *card = &offload->cards[c];
        for (size_t i = card->inventory->file_count; i-- > 0;)
            if (card->in_places[card->order[i]] != everywhere)
                return (double)card->inventory->files[card->order[i]].size_bytes;
    }
    return 0;
}

static void find_devices(struct hr_offload *offload)
{
    for (size_t i = 0; i < offload->card_count; i++)
        offload->cards[i].timed = hr__foresee_device(&offload->cards[i].volume, offload->cards[i].disks);
    for (size_t i = 0; i < offload->options.place_count; i++)
        offload->places[i].timed = hr__foresee_device(&offload->places[i].volume, offload->places[i].disks);
}

static void make_job(struct hr_offload *offload, struct hr_ledger *ledger)
{
    for (size_t i = 0; i < offload->card_count; i++)
        add_card(offload, i, ledger);
    for (size_t i = 0; i < offload->options.place_count; i++)
        add_place(offload, i, ledger);
    add_hubs(offload);
    offload->foreseen.job.cards_at_once = offload->cards_at_once;
    double cards_s = hr_forecast_cards_seconds(&offload->foreseen.job);
    for (size_t i = 0; i < offload->options.place_count; i++)
        offload->foreseen.job.places[i].together = together_of(offload, i, cards_s);
    offload->foreseen.job.digest_bytes_per_s = offload->plan.digest_bytes_per_s;
    offload->foreseen.job.overhead_s = overhead_s;
    offload->foreseen.job.last_bytes = last_bytes(offload);
}

/* ---- The answer ---- */

static void make_ranges(struct hr_foreseen *foreseen, struct hr_ledger *ledger, const char *pair)
{
    const struct hr_forecast *forecast = &foreseen->forecast;
    struct hr_past_errors errors;
    hr__past_errors(&errors, ledger, pair);
    foreseen->past_runs = errors.verified_count;
    foreseen->copied = hr_forecast_range(forecast->copied_s, errors.copied, errors.copied_count, forecast->basis);
    foreseen->verified =
        hr_forecast_range(forecast->verified_s, errors.verified, errors.verified_count, forecast->basis);
}

static enum hr_status make_forecast(struct hr_offload *offload, struct hr_ledger *ledger, struct hr_fault *fault)
{
    struct hr_foreseen *foreseen = &offload->foreseen;
    char *pair = hr__foresee_pair(offload);
    if (!pair)
        return hr__fault_nomem(fault, "a forecast");
    struct hr_past_scale past = hr__past_scale(ledger, pair, &foreseen->job, (double)offload->plan.files_to_copy,
                                               (double)offload->plan.bytes_to_copy);
    foreseen->job.scale = past.scale;
    foreseen->like_runs = past.runs;
    hr_forecast_make(&foreseen->forecast, &foreseen->job);
    make_ranges(foreseen, ledger, pair);
    free(pair);
    return HR_OK;
}

enum hr_status hr__foresee(struct hr_offload *offload, struct hr_fault *fault)
{
    struct hr_ledger *ledger = NULL;
    if (offload->plan.files_to_copy == 0 || offload->refusals.count > 0)
        return HR_OK;
    if (hr_ledger_open_read_only(&ledger, offload->options.ledger_path, NULL))
        ledger = NULL; /* prepare has told why */
    find_devices(offload);
    make_job(offload, ledger);
    enum hr_status status = make_forecast(offload, ledger, fault);
    hr_ledger_close(ledger);
    hr__foresee_changes(offload);
    return status;
}
