/* SPDX-License-Identifier: ISC */
/* Cards, readers and drives: the links they negotiated, what these can carry, how fast they were measured to be. */
#ifndef HEADRACE_DEVICES_H
#define HEADRACE_DEVICES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/cancel.h>
#include <headrace/forecast.h>
#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ---- What is plugged in ---- */

enum hr_link_kind {
    HR_LINK_UNKNOWN,
    HR_LINK_USB,
    HR_LINK_PCIE,
    HR_LINK_SATA,
    HR_LINK_MMC,
    HR_LINK_NETWORK,
    HR_LINK_VIRTUAL
};

/* As negotiated, not as printed on the plug. */
struct hr_link {
    enum hr_link_kind kind;
    double mbit_per_s;          /* of the signal: 480, 5000, 10000 ... of all lanes; PCIe: of one; 0 unknown */
    unsigned lanes;             /* USB: 1 or 2; PCIe: 1, 2, 4 ...; 0 unknown */
    double ceiling_bytes_per_s; /* after its line code and framing; 0 unknown */
    char name[64];              /* "USB 10 Gb/s", "PCIe 3.0 x2", "SATA 6 Gb/s" */
    char identity[160];         /* the port where the way to it is narrowest: what has the same one shares what that
                                   carries; "" where none is known */
};

/* Bytes a second a link of this kind carries at most, by struct hr_link's speed and lanes (0 lanes: 1); 0 where the
 * speed is none of its kind's. Sources: USB 2.0 (13 packets of 512 bytes a microframe of 125 us), USB 3.2 (8b/10b up to
 * 5 Gb/s a lane, 128b/132b from 10), PCI Express (8b/10b up to 5 GT/s, 128b/130b from 8), Serial ATA (8b/10b). */
HR_API double hr_link_ceiling(enum hr_link_kind kind, double mbit_per_s, unsigned lanes);

struct hr_device {
    char *name;          /* "sdb" */
    char *identity;      /* as the ledger has it, "" when it tells none */
    char *model;         /* its own word, any bytes; "" */
    char *mount_points;  /* one a line, "" */
    uint64_t size_bytes; /* 0: a reader without a card */
    bool is_removable;
    bool is_rotational; /* by its own word; else the kernel's, who says so of most USB drives */
    struct hr_link link;
    double ceiling_bytes_per_s; /* the lowest on the way to it, hubs and bridges too; 0 unknown */
    char card_class[8];         /* "V90"; "" where it is no card, or its reader does not pass that on */
    double class_bytes_per_s;   /* that class writes at least; 0 unknown */
    char **warnings;            /* sentences */
    size_t warning_count;
};
struct hr_devices {
    struct hr_device *devices;
    size_t device_count;
};
/* Whole disks, cards and empty readers, by name; of virtual ones those that are mounted. `root` holds proc, sys, dev
 * and run; NULL: the system's own; tests hand in fixture trees. On HR_OK the caller owns *out (hr_devices_destroy,
 * which takes NULL). HR_UNSUPPORTED where the system does not list devices, HR_TOO_LARGE past a thousand, HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_devices_create(struct hr_devices **out, const char *root, struct hr_fault *fault);
HR_API void hr_devices_destroy(struct hr_devices *devices);

/* ---- How fast it is ---- */

enum hr_direction { HR_DIRECTION_READ, HR_DIRECTION_WRITE, HR_DIRECTION_READ_BACK, HR_DIRECTION_COUNT };
HR_API const char *hr_direction_name(enum hr_direction direction); /* "read", "write", "read back" */

struct hr_measure_options {
    bool is_card;       /* read existing files; else write and read back files of its own */
    bool is_sustained;  /* write until a fast cache ends or `bytes_max` is reached */
    double seconds_max; /* for each direction, 0: 4; sustained: for writing on until the cache ends, 0: 900 */
    uint64_t bytes_max; /* written at most; 0: 2 GB, sustained 64 GB; always leaves a tenth of the volume free */
    void *context;
    /* Now and then, a fifth of a second apart at least: the rate just now, and what was moved. */
    void (*progress)(void *context, enum hr_direction direction, double bytes_per_s, uint64_t bytes);
};
struct hr_measured {
    struct hr_speed speed;             /* file_s 0: could not be told, as where all files are large */
    double slowest_second_bytes_per_s; /* 0: under a second was measured */
    double spread;                     /* interquartile range of the rate in its median */
    uint64_t bytes;
    double seconds;
    bool is_cache; /* faster than the link can be: memory answered */
};
struct hr_measurement {
    char *path;   /* absolute */
    char *device; /* as the ledger has it: its disks, else the volume; "": memory */
    char *device_name;
    struct hr_link link; /* with the lowest ceiling on the way to it, hubs and bridges too */
    struct hr_measured directions[HR_DIRECTION_COUNT]; /* bytes 0: not measured */
    double together;                                   /* as in struct hr_forecast_place; 0: not measured */
};
/* Harmless: a card is only read; in a drive's folder files are written below `.headrace-measure` and always removed,
 * also when it is interrupted; what a killed one left the next one removes. On HR_OK the caller owns *out. HR_NOT_FOUND
 * (nothing to read on a card), HR_UNSUPPORTED (an archive), HR_BUSY (another is measuring there), HR_DENIED,
 * HR_READ_ONLY, HR_FULL, HR_GONE, HR_IO, HR_CANCELLED, HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_measure(struct hr_measurement **out, const char *path,
                                             const struct hr_measure_options *options, const struct hr_cancel *cancel,
                                             struct hr_fault *fault);
HR_API void hr_measurement_destroy(struct hr_measurement *measurement);

/* Is it to be measured as a card: does a DCIM folder stand in it? */
HR_API bool hr_path_has_dcim(const char *path);
/* Notes each direction that was measured in the ledger at `ledger` (NULL: the user's own), but for what memory
 * answered. What opening and writing a ledger say. */
HR_API HR_MUST_USE enum hr_status hr_measurement_note(const struct hr_measurement *measurement, const char *ledger,
                                                      struct hr_fault *fault);

#ifdef __cplusplus
}
#endif
#endif
