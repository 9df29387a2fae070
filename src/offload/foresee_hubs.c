/* SPDX-License-Identifier: ISC */
#include "offload/foresee_hubs.h"

#include <string.h>

#include "devices/device_link.h"

struct hubs {
    struct hr_forecast_job *job;
    const struct hr_link_way *ways;
    size_t way_count;
    unsigned first_number;
    const char *ports[HR_FORECAST_LINKS_MAX]; /* of the link with number first_number + index */
    size_t count;
};

static bool has_port(const struct hr_way *way, const char *port)
{
    for (size_t i = 0; i < way->hop_count; i++)
        if (strcmp(way->hops[i].port, port) == 0)
            return true;
    return false;
}

static bool is_first_of_link(const struct hubs *hubs, size_t at)
{
    for (size_t i = 0; i < at; i++)
        if (hubs->ways[i].link == hubs->ways[at].link)
            return false;
    return true;
}

/* How many links lead through the port. */
static size_t count_links(const struct hubs *hubs, const char *port)
{
    size_t count = 0;
    for (size_t i = 0; i < hubs->way_count; i++)
        count += is_first_of_link(hubs, i) && has_port(&hubs->ways[i].way, port);
    return count;
}

/* NULL: there is no room for more. */
static struct hr_forecast_link *hub_of(struct hubs *hubs, const struct hr_hop *hop)
{
    struct hr_forecast_job *job = hubs->job;
    for (size_t i = 0; i < hubs->count; i++)
        if (strcmp(hubs->ports[i], hop->port) == 0)
            return hr_forecast_find_link(job, hubs->first_number + (unsigned)i);
    if (job->link_count == HR_FORECAST_LINKS_MAX)
        return NULL;
    struct hr_forecast_link *link = &job->links[job->link_count++];
    *link = (struct hr_forecast_link){.link = hubs->first_number + (unsigned)hubs->count,
                                      .bytes_per_s = hr__hop_ceiling(hop)};
    hubs->ports[hubs->count++] = hop->port;
    return link;
}

static void narrow(struct hr_forecast_link *link, double ceiling)
{
    if (ceiling > 0 && (link->bytes_per_s <= 0 || ceiling < link->bytes_per_s))
        link->bytes_per_s = ceiling;
}

/* From hub to hub. Further up more devices meet, never fewer. */
static void hang(struct hubs *hubs, const struct hr_link_way *from)
{
    struct hr_forecast_link *below = hr_forecast_find_link(hubs->job, from->link);
    size_t met = 1;
    for (size_t i = 0; i < from->way.hop_count && below; i++) {
        const struct hr_hop *hop = &from->way.hops[i];
        size_t meet = hr__hop_ceiling(hop) > 0 ? count_links(hubs, hop->port) : 0;
        if (meet > met) {
            struct hr_forecast_link *hub = hub_of(hubs, hop);
            below->up = hub ? hub->link : 0;
            below = hub;
            met = meet;
        } else if (met > 1) {
            narrow(below, hr__hop_ceiling(hop));
        }
    }
}

void hr__foresee_hubs(struct hr_forecast_job *job, const struct hr_link_way *ways, size_t count, unsigned first_number)
{
    struct hubs hubs = {.job = job, .ways = ways, .way_count = count, .first_number = first_number};
    for (size_t i = 0; i < count; i++)
        if (is_first_of_link(&hubs, i))
            hang(&hubs, &ways[i]);
}
