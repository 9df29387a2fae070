/* SPDX-License-Identifier: ISC */
#include "devices/device_link.h"

#include <stdio.h>
#include <string.h>

#include "platform/apart.h"

static enum hr_link_kind kind_of(const struct hr_hop *hop)
{
    static const enum hr_link_kind kinds[] = {
        [HR_HOP_UNKNOWN] = HR_LINK_UNKNOWN, [HR_HOP_USB] = HR_LINK_USB, [HR_HOP_PCIE] = HR_LINK_PCIE,
        [HR_HOP_SATA] = HR_LINK_SATA,       [HR_HOP_MMC] = HR_LINK_MMC, [HR_HOP_VIRTUAL] = HR_LINK_VIRTUAL,
    };
    return kinds[hop->kind];
}

double hr__hop_ceiling(const struct hr_hop *hop)
{
    return hr_link_ceiling(kind_of(hop), hop->mbit_per_s, hop->lanes);
}

/* NULL when no ceiling is known. */
static const struct hr_hop *narrowest(const struct hr_way *way)
{
    const struct hr_hop *found = NULL;
    for (size_t i = 0; i < way->hop_count; i++) {
        double ceiling = hr__hop_ceiling(&way->hops[i]);
        if (ceiling > 0 && (!found || ceiling <= hr__hop_ceiling(found)))
            found = &way->hops[i];
    }
    return found;
}

double hr__way_ceiling(const struct hr_way *way)
{
    const struct hr_hop *hop = narrowest(way);
    return hop ? hr__hop_ceiling(hop) : 0;
}

static const char *pcie_generation(double mbit_per_s)
{
    static const struct {
        double mbit_per_s;
        const char *name;
    } generations[] = {{2500, " 1.0"}, {5000, " 2.0"}, {8000, " 3.0"}, {16000, " 4.0"}, {32000, " 5.0"}};
    for (size_t i = 0; i < sizeof generations / sizeof *generations; i++) {
        if (generations[i].mbit_per_s == mbit_per_s)
            return generations[i].name;
    }
    return "";
}

static void name_signal(char out[64], const char *kind, const struct hr_hop *hop)
{
    const char *lanes = hop->lanes > 1 ? " on 2 lanes" : "";
    if (hop->mbit_per_s <= 0)
        snprintf(out, 64, "%s", kind);
    else if (hop->mbit_per_s < 1000)
        snprintf(out, 64, "%s %g Mb/s%s", kind, hop->mbit_per_s, lanes);
    else
        snprintf(out, 64, "%s %g Gb/s%s", kind, hop->mbit_per_s / 1000, lanes);
}

void hr__hop_name(char out[64], const struct hr_hop *hop)
{
    switch (hop->kind) {
    case HR_HOP_USB:
        name_signal(out, "USB", hop);
        break;
    case HR_HOP_SATA:
        name_signal(out, "SATA", hop);
        break;
    case HR_HOP_PCIE:
        snprintf(out, 64, "PCIe%s x%u", pcie_generation(hop->mbit_per_s), hop->lanes);
        break;
    case HR_HOP_MMC:
        snprintf(out, 64, "card slot");
        break;
    case HR_HOP_VIRTUAL:
        snprintf(out, 64, "virtual");
        break;
    case HR_HOP_UNKNOWN:
        snprintf(out, 64, "unknown link");
        break;
    }
}

void hr__way_link(struct hr_link *out, const struct hr_way *way)
{
    static const struct hr_hop none = {.kind = HR_HOP_UNKNOWN};
    const struct hr_hop *own = way->hop_count ? &way->hops[0] : &none;
    const struct hr_hop *port = narrowest(way);
    *out = (struct hr_link){.kind = kind_of(own),
                            .mbit_per_s = own->mbit_per_s,
                            .lanes = own->lanes,
                            .ceiling_bytes_per_s = hr__hop_ceiling(own)};
    hr__hop_name(out->name, own);
    snprintf(out->identity, sizeof out->identity, "%s", port ? port->port : own->port);
}

bool hr__volume_way(struct hr_way *out, const struct hr_volume *volume)
{
    return volume->disk_count == 1 && hr__way_of(out, volume->disks[0].name, &hr__system_roots);
}

void hr__volume_link(struct hr_link *out, const struct hr_volume *volume)
{
    struct hr_way way;
    *out = (struct hr_link){.kind = HR_LINK_UNKNOWN};
    if (!hr__volume_way(&way, volume))
        return;
    hr__way_link(out, &way);
    out->ceiling_bytes_per_s = hr__way_ceiling(&way);
}

const char *hr__volume_device(const struct hr_volume *volume, const char *disks)
{
    return strcmp(disks, HR_DISKS_UNKNOWN) != 0 ? disks : volume->identity;
}
