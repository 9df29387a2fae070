/* SPDX-License-Identifier: ISC */
#include "devices/device_warnings.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "devices/device_link.h"

enum { WARNINGS_MAX = 8, SENTENCE_CEILING = 128 * HR_PLUGGED_MAX };

HR_PRINTF(2, 3) static bool warn(struct hr_device *device, const char *format, ...)
{
    struct hr_text text;
    va_list arguments;
    if (!device->warnings)
        device->warnings = calloc(WARNINGS_MAX, sizeof *device->warnings);
    hr__text_init(&text, SENTENCE_CEILING);
    va_start(arguments, format);
    hr__text_vprintf(&text, format, arguments);
    va_end(arguments);
    char *sentence = device->warnings && device->warning_count < WARNINGS_MAX ? hr__text_take(&text) : NULL;
    hr__text_finish(&text);
    if (sentence)
        device->warnings[device->warning_count++] = sentence;
    return sentence != NULL;
}

/* ---- A device by itself ---- */

static bool is_slowed(const struct hr_hop *hop)
{
    bool has_one_lane = hop->kind != HR_HOP_USB || hop->lanes <= 1;
    return (has_one_lane && hop->mbit_per_s > 0 && hop->mbit_per_s < hop->mbit_per_s_max) ||
           hop->lanes < hop->lanes_max;
}

static bool warn_of_negotiation(struct hr_device *device, const struct hr_hop *hop)
{
    static const char *const remedies[] = {[HR_HOP_USB] = "cable, port or hub",
                                           [HR_HOP_PCIE] = "slot, reader or adapter",
                                           [HR_HOP_SATA] = "errors, check the cable"};
    const struct hr_hop possible = {.kind = hop->kind, .mbit_per_s = hop->mbit_per_s_max, .lanes = hop->lanes_max};
    char could[64], does[64];
    if (!is_slowed(hop))
        return true;
    hr__hop_name(could, &possible);
    hr__hop_name(does, hop);
    return warn(device, "Runs at %s, %s %s: %s.", does, hop->max_is_likely ? "can probably do" : "can do", could,
                remedies[hop->kind]);
}

static bool warn_of_the_way(struct hr_device *device, const struct hr_plugged *disk)
{
    char way[HR_UNIT_TEXT_SIZE], own[HR_UNIT_TEXT_SIZE];
    if (device->ceiling_bytes_per_s >= device->link.ceiling_bytes_per_s)
        return true;
    for (size_t i = 1; i < disk->way.hop_count; i++) {
        const struct hr_hop *hop = &disk->way.hops[i];
        char name[64];
        if (hr__hop_ceiling(hop) != device->ceiling_bytes_per_s)
            continue;
        hr__hop_name(name, hop);
        return warn(device, "A link on the way carries %s (%s), its own %s.",
                    hr__format_rate(way, device->ceiling_bytes_per_s), name,
                    hr__format_rate(own, device->link.ceiling_bytes_per_s));
    }
    return true;
}

static bool warn_of_the_reader(struct hr_device *device)
{
    char card[HR_UNIT_TEXT_SIZE], reader[HR_UNIT_TEXT_SIZE];
    if (device->ceiling_bytes_per_s <= 0 || device->class_bytes_per_s <= device->ceiling_bytes_per_s)
        return true;
    return warn(device, "Faster than its reader: class %s is %s or more, the reader %s.", device->card_class,
                hr__format_rate(card, device->class_bytes_per_s), hr__format_rate(reader, device->ceiling_bytes_per_s));
}

/* The kernel calls readers and sticks on USB rotational when it did not ask them, and a virtual disk too. */
static bool warn_of_heads(struct hr_device *device, const struct hr_plugged *disk)
{
    bool is_asked = device->link.kind == HR_LINK_SATA || device->link.kind == HR_LINK_UNKNOWN;
    if (!device->is_rotational || device->is_removable)
        return true;
    if (disk->has_heads || is_asked)
        return warn(device, "A disk with heads: slow at half-time, fit for the second copy.");
    if (device->link.kind == HR_LINK_USB)
        return warn(device, "It may be a disk with heads: slow at half-time if it is.");
    return true;
}

/* ---- Beside the others ---- */

static bool passes(const struct hr_plugged *disk, const struct hr_hop *hop)
{
    for (size_t i = 0; i < disk->way.hop_count; i++) {
        const struct hr_hop *own = &disk->way.hops[i];
        if (own->kind == hop->kind && *own->port && strcmp(own->port, hop->port) == 0)
            return true;
    }
    return false;
}

struct company {
    struct hr_device *devices;
    const struct hr_plugged *disks;
    size_t count;
};

/* Do device `at` and others want more of the hop than it carries? Empty readers want nothing. */
static bool is_crowded(const struct company *all, size_t at, const struct hr_hop *hop)
{
    double wanted = 0, ceiling = hr__hop_ceiling(hop);
    size_t guests = 0;
    for (size_t i = 0; i < all->count; i++) {
        if (i != at && (all->devices[i].size_bytes == 0 || !passes(&all->disks[i], hop)))
            continue;
        guests++;
        wanted += all->devices[i].ceiling_bytes_per_s;
    }
    return ceiling > 0 && guests > 1 && wanted > ceiling;
}

static void name_others(struct hr_text *names, const struct company *all, size_t at, const struct hr_hop *hop)
{
    for (size_t i = 0; i < all->count; i++) {
        if (i != at && all->devices[i].size_bytes > 0 && passes(&all->disks[i], hop))
            hr__text_printf(names, "%s%s", names->size ? ", " : "", all->devices[i].name);
    }
}

static const char *place_of(const struct hr_hop *hop, bool is_own)
{
    if (hop->kind != HR_HOP_USB)
        return "port";
    return is_own ? "reader" : "hub";
}

/* Of crowded hops the narrowest is told, of ones alike the nearest to the device. */
static bool warn_of_sharing(const struct company *all, size_t at)
{
    const struct hr_way *way = &all->disks[at].way;
    const struct hr_hop *found = NULL;
    for (size_t i = 0; all->devices[at].size_bytes > 0 && i < way->hop_count; i++) {
        const struct hr_hop *hop = &way->hops[i];
        if (is_crowded(all, at, hop) && (!found || hr__hop_ceiling(hop) < hr__hop_ceiling(found)))
            found = hop;
    }
    if (!found)
        return true;
    char rate[HR_UNIT_TEXT_SIZE];
    struct hr_text names;
    hr__text_init(&names, SENTENCE_CEILING);
    name_others(&names, all, at, found);
    bool done = !names.broken && warn(&all->devices[at], "Shares the %s of one %s with %s: slower when busy at once.",
                                      hr__format_rate(rate, hr__hop_ceiling(found)),
                                      place_of(found, found == &way->hops[0]), names.bytes);
    hr__text_finish(&names);
    return done;
}

bool hr__device_warnings(struct hr_device *devices, const struct hr_plugged *disks, size_t count)
{
    const struct company all = {.devices = devices, .disks = disks, .count = count};
    bool done = true;
    for (size_t i = 0; done && i < count; i++) {
        struct hr_device *device = &devices[i];
        if (disks[i].way.hop_count)
            done = warn_of_negotiation(device, &disks[i].way.hops[0]);
        done = done && warn_of_the_way(device, &disks[i]) && warn_of_the_reader(device) && warn_of_sharing(&all, i) &&
               warn_of_heads(device, &disks[i]);
    }
    return done;
}
