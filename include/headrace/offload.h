/* SPDX-License-Identifier: ISC */
/* The main job: cards to places, proven, recorded.
 *
 *     hr_offload_prepare(&offload, &options, cancel, &fault);   looks at everything, writes nothing
 *     hr_offload_plan(offload)                                  what will be done and how long it will take;
 *                                                               `refusals` say why it will not
 *     hr_offload_run(offload, &observer, cancel, &fault);       does it
 *     hr_offload_result(offload)                                what was done; may the cards be formatted?
 *     hr_offload_destroy(offload);
 *
 * hr_safety_check answers the last question again at any later time; hr_remember_bag refills a lost ledger. */
#ifndef HEADRACE_OFFLOAD_H
#define HEADRACE_OFFLOAD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/bag.h>
#include <headrace/cancel.h>
#include <headrace/card.h>
#include <headrace/forecast.h>
#include <headrace/status.h>
#include <headrace/transfer.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ---- While cards are looked at ---- */

/* Most files of a card are known or new by their names, sizes and times, which takes a moment. Those that are neither
 * are read from the card, and their content decides: that may take minutes. So may reading the ratings of a slow card.
 */
enum hr_look_purpose { HR_LOOK_CONTENT, HR_LOOK_RATINGS };
struct hr_look_progress {
    const char *card; /* path as given */
    enum hr_look_purpose purpose;
    int64_t elapsed_ns;               /* since reading for this purpose began */
    size_t files_done, files_total;   /* of those that are read */
    uint64_t bytes_done, bytes_total; /* 0 for ratings: only the heads of files are read */
};
struct hr_look_observer {
    void *context;
    /* On the calling thread, about ten times a second while files are read. NULL: nobody looks on. */
    void (*progress)(void *context, const struct hr_look_progress *progress);
};

/* Strings are borrowed until hr_offload_destroy. Zeroed gives the defaults. */
struct hr_offload_options {
    const char *const *cards; /* 1 .. HR_CARDS_MAX paths */
    size_t card_count;
    const char *const *places; /* 1 .. HR_PLACES_MAX existing folders */
    size_t place_count;
    const char *job; /* NULL: the capture date of the card's first frame, YYYY-MM-DD */
    enum hr_first first[HR_FIRST_COUNT];
    size_t first_count;
    size_t cards_at_once; /* read at the same time, of different links; 0: as many as there are, one where a place is a
                             disk with heads */
    bool only_xxh128;     /* leave SHA-256 out */
    bool same_device; /* places on one disk, on the card's, or that do not show theirs are allowed, and count as one */
    bool any_folder;  /* a card need not hold a DCIM folder */
    bool reread_card;
    double seconds_max; /* no file is begun that would not be verified so long after hr_offload_prepare was called, at
                           the upper bound of what is foreseen; the same offload later goes on. 0: no deadline */
    const char *ledger_path;      /* NULL: the user's own */
    struct hr_look_observer look; /* told during hr_offload_prepare */
};

/* ---- What is foreseen ---- */

/* What would be faster, and how long it would take then. */
struct hr_foreseen_change {
    char text[160]; /* "card A on a link of 5 Gb/s" */
    double verified_s;
};
enum { HR_CHANGES_MAX = 4 };

/* How long the plan takes, by the arithmetic of <headrace/forecast.h>. A device's speed is the median of the newest the
 * ledger has of it, measured or seen in runs, through the same link where there are such; a device without any is
 * guessed from what its link carries. All is scaled by how long past runs of the same devices took that were like this
 * one. Times count from hr_offload_run. */
struct hr_foreseen {
    struct hr_forecast_job job;                /* the plan as stages: cards and places by their index in the plan */
    struct hr_forecast forecast;               /* the middle; all zero where there is nothing to copy */
    struct hr_forecast_range copied, verified; /* 90 of 100 runs lie within */
    size_t like_runs; /* of these devices, much like this one, by which the forecast is scaled */
    size_t past_runs; /* whose errors gave the ranges: of the same devices where there are enough, else of any; 0: too
                         few, they go by the basis */
    struct hr_foreseen_change changes[HR_CHANGES_MAX];
    size_t change_count;
};

/* ---- The plan: immutable, lives as long as the offload ---- */

struct hr_plan_card {
    const char *path, *name, *identity;
    char job[256];
    size_t files, frames; /* on the card; frames: pictures and clips */
    uint64_t bytes;
    size_t files_known;   /* of these, in every place already */
    size_t files_to_copy; /* wanted by at least one place */
    uint64_t bytes_to_copy;
    size_t links, specials; /* met and left out */
    size_t unreadable;      /* entries that could not be read or would escape */
};
struct hr_plan_place {
    const char *path;
    const char *drive; /* "sdb", "loop3", "memory", "unknown" */
    const char *fs_type;
    uint64_t free_bytes, bytes_to_copy;
    size_t files_to_copy;
    size_t resumed_files;  /* proven by an interrupted run and kept */
    unsigned drive_number; /* places with one number stand on one disk; 0: in memory */
    bool is_in_memory;
};
struct hr_offload_plan {
    const struct hr_plan_card *cards;
    size_t card_count;
    const struct hr_plan_place *places;
    size_t place_count;
    const char *const *refusals; /* sentences; any means hr_offload_run will answer HR_REFUSED */
    size_t refusal_count;
    const char *const *warnings;
    size_t warning_count;
    size_t files_to_copy; /* over all cards */
    uint64_t bytes_to_copy;
    double digest_bytes_per_s; /* SHA-256 on this machine; 0 when it is not made */
    const struct hr_foreseen *foreseen;
};

/* ---- While it runs ---- */

struct hr_offload_place_progress {
    enum hr_sink_activity activity;
    uint64_t written_bytes, read_back_bytes, proven_bytes, total_bytes; /* this place, over all cards */
    double write_bytes_per_s, read_back_bytes_per_s;                    /* over the last seconds; 0 while idle */
    bool reads_beside;                                                  /* as in struct hr_sink_progress */
};
struct hr_offload_progress {
    int64_t elapsed_ns;
    size_t card, card_count; /* index of the first card under way */
    size_t cards_under_way, cards_done;
    uint64_t read_bytes, total_bytes;
    size_t frames_done, frames_total; /* done: proven in every place that still works */
    size_t files_done, files_total;
    size_t failures;
    double read_bytes_per_s;
    int64_t left_low_ns, left_high_ns; /* time left as a range; -1: not known yet */
    size_t place_count;
    struct hr_offload_place_progress places[HR_PLACES_MAX];
};

enum hr_offload_event_kind {
    HR_EVENT_CARD_STARTED,
    HR_EVENT_FILE_PROVEN,  /* card, place, path, proof */
    HR_EVENT_FILE_FAILED,  /* for good: card, place (SIZE_MAX: could not be read from the card), path, text */
    HR_EVENT_NOTE,         /* something worth a line: text */
    HR_EVENT_PLACE_FAILED, /* place, text */
    HR_EVENT_CARD_FREE,    /* may leave its reader, must not be formatted */
    HR_EVENT_CARD_NEEDED,  /* it is to be read again after all: a copy of it read back wrong */
    HR_EVENT_CARD_FINISHED
};
struct hr_offload_event {
    enum hr_offload_event_kind kind;
    int64_t elapsed_ns;
    size_t card, place; /* SIZE_MAX: it concerns none */
    const char *path;   /* bytes; "" when none */
    uint64_t size_bytes;
    enum hr_proof proof;
    const struct hr_digest *xxh128;
    const char *text;
};
/* Both are called on the thread that called hr_offload_run; may be NULL. */
struct hr_offload_observer {
    void *context;
    void (*event)(void *context, const struct hr_offload_event *event);
    void (*progress)(void *context, const struct hr_offload_progress *progress); /* about ten times a second */
};

/* ---- May this card be formatted? ---- */

/* One drive that holds copies of files of this card. */
struct hr_safety_drive {
    char *name;             /* mount point or drive name, for a person */
    char *disks;            /* identities, one a line; "": memory; "unknown": may be those of any other */
    size_t files;           /* files of the card proven there */
    size_t not_from_medium; /* copies there whose read-back could not be shown to come from the medium; they do not
                               count */
    int64_t last_proven_ns;
    bool is_connected;
    bool counts; /* false: memory */
};
struct hr_safety {
    bool is_safe;
    char
        *sentence; /* "SAFE to format: all 4,212 files stand proven on 2 drives." / "NOT SAFE to format: ..." and why */
    size_t files, frames;
    uint64_t bytes;
    size_t on_two_or_more, on_one, on_none; /* files by number of different drives */
    size_t not_carried; /* unreadable, escaping or duplicate entries; links and specials do not count */
    struct hr_safety_drive *drives;
    size_t drive_count;
    char **short_files; /* bytes: paths with fewer than two, at most 100 of them */
    size_t short_file_count;
};
HR_API void hr_safety_destroy(struct hr_safety *safety);

/* Walks the card now and looks each file up among proven copies. A file whose volume, path, size and time are known
 * counts as known; where these disagree with a known file of the same size, its content is read from the card and
 * decides. A copy on a connected drive counts only while its file still stands there in its size. HR_NOT_FOUND with a
 * clear fault when there is no ledger; HR_CANCELLED. `look` may be NULL. */
HR_API HR_MUST_USE enum hr_status hr_safety_check(struct hr_safety **out, const char *card_path,
                                                  const char *ledger_path, const struct hr_look_observer *look,
                                                  const struct hr_cancel *cancel, struct hr_fault *fault);

/* ---- The result ---- */

struct hr_result_place {
    const char *path, *root; /* as given; absolute, with links resolved, as bag_path is */
    const char *bag_path;    /* "" when nothing was new */
    enum hr_status status;   /* of the place as a whole */
    const char *text;        /* its first cause, "" */
    const char *policy;      /* how it was written and read back, and why */
    size_t files_proven, files_failed, files_missing;
    uint64_t bytes_proven;
    size_t proofs[4]; /* by enum hr_proof */
};
struct hr_result_card {
    const char *path, *name;
    struct hr_result_place places[HR_PLACES_MAX];
    const struct hr_safety *safety;
    bool was_pulled;
};
struct hr_offload_result {
    struct hr_result_card *cards;
    size_t card_count, place_count;
    bool all_done; /* every file is proven in every place, and nothing on a card was unreadable */
    bool all_safe;
    bool stopped_at_deadline; /* some files were not begun, to be done in time; nothing failed */
    int64_t elapsed_ns;
    int64_t copied_ns; /* when the last card was free to leave its reader; 0: never */
    int64_t run;       /* id in the ledger, 0 when the ledger could not be used */
};

struct hr_offload;

/* Opens cards and places, walks the cards, asks the ledger what is known. Writes nothing: not even a ledger is made.
 * Refusals are in the plan, not in the status. On HR_OK the caller owns *out (hr_offload_destroy, which takes NULL).
 * HR_INVALID, HR_CANCELLED, HR_GONE, HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_offload_prepare(struct hr_offload **out, const struct hr_offload_options *options,
                                                     const struct hr_cancel *cancel, struct hr_fault *fault);
HR_API const struct hr_offload_plan *hr_offload_plan(const struct hr_offload *offload);
/* What of the plan is verified so many seconds after its run begins, at the upper bound of the forecast: the longest
 * beginning, in the order files are taken. HR_NOMEM. */
struct hr_fits {
    size_t files, frames; /* frames: pictures and clips of which all is verified then */
    uint64_t bytes;
    const char *last_path;    /* of the last of the files, on its card; NULL: none fits. The offload's */
    int64_t last_modified_ns; /* wall time as its volume has it */
};
HR_API HR_MUST_USE enum hr_status hr_offload_fits(struct hr_fits *out, const struct hr_offload *offload, double seconds,
                                                  struct hr_fault *fault);
/* The same by sequences: two or more frames of one card no further apart than 4 s, by the times of their files, for no
 * head is read to foresee anything (FAT has steps of 2 s). By card, then by start. What every place holds already is
 * verified. The caller frees *out with free(); NULL: there is none. HR_NOMEM. */
struct hr_fits_sequence {
    size_t card;              /* index into the plan's cards */
    int64_t start_ns, end_ns; /* wall time as its volume has it */
    size_t frames, frames_by_then;
};
HR_API HR_MUST_USE enum hr_status hr_offload_fits_sequences(struct hr_fits_sequence **out, size_t *count,
                                                            const struct hr_offload *offload, double seconds,
                                                            struct hr_fault *fault);
/* HR_OK when everything was tried: whether it worked is in the result. HR_REFUSED when the plan holds refusals;
 * HR_CANCELLED (what is proven stays proven; the result is filled); HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_offload_run(struct hr_offload *offload, const struct hr_offload_observer *observer,
                                                 const struct hr_cancel *cancel, struct hr_fault *fault);
HR_API const struct hr_offload_result *hr_offload_result(const struct hr_offload *offload);
HR_API void hr_offload_destroy(struct hr_offload *offload);

/* Writes what a verified bag proves into the ledger, and forgets there what it no longer holds: all of a bag that does
 * not say (any more) which card it came from. HR_BUSY while a run works in the bag, or when one did since it was
 * verified. */
HR_API HR_MUST_USE enum hr_status hr_remember_bag(const struct hr_bag_report *report, const char *ledger_path,
                                                  struct hr_fault *fault);

#ifdef __cplusplus
}
#endif
#endif
