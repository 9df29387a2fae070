/* SPDX-License-Identifier: ISC */
#include <string.h>

#include "base/path.h"
#include "base/text.h"
#include "offload/preflight_drives.h"

enum { LIST_CEILING = 1024 };

/* In the order places are named. */
static unsigned number_drive(const struct hr_offload *offload, size_t place)
{
    const struct hr_offload_place *here = &offload->places[place];
    unsigned highest = 0;
    if (!here->has_volume || here->volume.is_in_memory)
        return 0;
    for (size_t i = 0; i < place; i++) {
        const struct hr_offload_place *other = &offload->places[i];
        if (other->drive_number && hr__volume_apart(&other->volume, &here->volume) == HR_APART_NO)
            return other->drive_number;
        if (other->drive_number > highest)
            highest = other->drive_number;
    }
    return highest + 1;
}

/* ---- Lists: "a", "a and b", "a, b and c" ---- */

struct list {
    struct hr_text text;
    const char *last; /* not in the text yet */
    size_t count;
};

static void list_put_last(struct list *list, const char *before)
{
    if (!list->last)
        return;
    hr__text_append(&list->text, before);
    hr__text_append_name(&list->text, list->last, strlen(list->last));
}

static void list_add(struct list *list, const char *name)
{
    list_put_last(list, list->count > 1 ? ", " : "");
    list->last = name;
    list->count++;
}

static const char *list_end(struct list *list)
{
    list_put_last(list, list->count > 1 ? " and " : "");
    list->last = NULL;
    return list->text.broken ? "with very long names" : list->text.bytes;
}

/* ---- One drive ---- */

/* Named twice, a folder is refused as such. */
static bool is_named_before(const struct hr_offload *offload, size_t place)
{
    for (size_t i = 0; i < place; i++)
        if (offload->places[i].has_volume && !strcmp(offload->places[i].path, offload->places[place].path))
            return true;
    return false;
}

/* Refused already, and no option makes it right. */
static bool is_inside_card(const struct hr_offload *offload, size_t place)
{
    for (size_t i = 0; i < offload->card_count; i++)
        if (hr__path_contains(hr_card_resolved_path(offload->cards[i].card), offload->places[place].path))
            return true;
    return false;
}

static void list_places(struct list *list, const struct hr_offload *offload, unsigned drive)
{
    for (size_t i = 0; i < offload->options.place_count; i++)
        if (offload->places[i].has_volume && offload->places[i].drive_number == drive && !is_named_before(offload, i) &&
            !is_inside_card(offload, i))
            list_add(list, offload->places[i].given);
}

/* The card is no copy: it matters only where its disk is known to be the place's. */
static bool holds_card(const struct hr_offload *offload, unsigned drive, const struct hr_offload_card *card)
{
    bool holds = false;
    for (size_t i = 0; i < offload->options.place_count; i++)
        holds |= card->has_volume && offload->places[i].drive_number == drive &&
                 hr__volume_apart(&offload->places[i].volume, &card->volume) == HR_APART_NO;
    return holds;
}

static enum hr_status say_shared(struct hr_offload *offload, struct list *places, struct list *cards)
{
    const char *noun = cards->count == 1 ? "card" : "cards", *on = list_end(places), *held = list_end(cards);
    bool may = offload->options.same_device;
    struct hr_sentences *to = may ? &offload->warnings : &offload->refusals;
    const char *advice = may ? "" : " Name another drive, or say --same-device.";
    if (places->count < 2)
        return hr__say(to, "Place %s stands on the drive that holds the %s %s: if it dies all is gone.%s", on, noun,
                       held, advice);
    const char *effect = may ? "they count as one copy" : "if it dies all is gone";
    if (cards->count == 0)
        return hr__say(to, "Places %s stand on one drive: %s.%s", on, effect, advice);
    return hr__say(to, "Places %s stand on one drive, which holds the %s %s too: %s.%s", on, noun, held, effect,
                   advice);
}

static enum hr_status check_drive(struct hr_offload *offload, unsigned drive)
{
    struct list places = {0}, cards = {0};
    enum hr_status status = HR_OK;
    hr__text_init(&places.text, LIST_CEILING);
    hr__text_init(&cards.text, LIST_CEILING);
    list_places(&places, offload, drive);
    for (size_t i = 0; i < offload->card_count; i++)
        if (holds_card(offload, drive, &offload->cards[i]))
            list_add(&cards, hr_card_path(offload->cards[i].card));
    if (places.count > 1 || (places.count == 1 && cards.count > 0))
        status = say_shared(offload, &places, &cards);
    hr__text_finish(&places.text);
    hr__text_finish(&cards.text);
    return status;
}

/* ---- Disks that do not show ---- */

static bool is_hidden(const struct hr_offload *offload, size_t place)
{
    const struct hr_offload_place *here = &offload->places[place];
    bool is_apart = true;
    if (!here->has_volume || here->volume.disks_are_known || is_named_before(offload, place) ||
        is_inside_card(offload, place))
        return false;
    for (size_t i = 0; i < offload->options.place_count; i++)
        is_apart &= !offload->places[i].has_volume ||
                    hr__volume_apart(&offload->places[i].volume, &here->volume) != HR_APART_UNKNOWN;
    return !is_apart;
}

static enum hr_status check_hidden(struct hr_offload *offload)
{
    bool may = offload->options.same_device;
    struct list places = {0};
    enum hr_status status = HR_OK;
    hr__text_init(&places.text, LIST_CEILING);
    for (size_t i = 0; i < offload->options.place_count; i++)
        if (is_hidden(offload, i))
            list_add(&places, offload->places[i].given);
    if (places.count > 0)
        status = hr__say(may ? &offload->warnings : &offload->refusals,
                         "%s %s %s, so %s as one copy with any other place.%s", places.count == 1 ? "Place" : "Places",
                         list_end(&places), places.count == 1 ? "does not show its disk" : "do not show their disks",
                         places.count == 1 ? "it counts" : "they count",
                         may ? "" : " Name another drive, or say --same-device.");
    hr__text_finish(&places.text);
    return status;
}

static enum hr_status check_memory(struct hr_offload *offload)
{
    struct list places = {0};
    enum hr_status status = HR_OK;
    hr__text_init(&places.text, LIST_CEILING);
    list_places(&places, offload, 0);
    if (places.count > 0)
        status = hr__say(&offload->warnings, "%s %s %s in memory: gone with the power, never counted as a copy.",
                         places.count == 1 ? "Place" : "Places", list_end(&places), places.count == 1 ? "is" : "are");
    hr__text_finish(&places.text);
    return status;
}

enum hr_status hr__preflight_drives(struct hr_offload *offload)
{
    unsigned drives = 0;
    for (size_t i = 0; i < offload->options.place_count; i++) {
        offload->places[i].drive_number = number_drive(offload, i);
        if (offload->places[i].drive_number > drives)
            drives = offload->places[i].drive_number;
    }
    enum hr_status status = check_memory(offload);
    for (unsigned drive = 1; drive <= drives && !status; drive++)
        status = check_drive(offload, drive);
    return status ? status : check_hidden(offload);
}
