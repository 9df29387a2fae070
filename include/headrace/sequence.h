/* SPDX-License-Identifier: ISC */
/* Bursts and sequences: what was pressed together stands together.
 *
 *     hr_delivered_create(&delivered, paths, count, NULL, cancel, &fault);   every frame so far, with its facts
 *     hr_grouping_create(&grouping, delivered->frames, delivered->frame_count, &options, &fault);
 *     hr_sequences_fill(&filled, delivered, grouping, &fill, cancel, &fault);   folders of links, and the index
 *     ... destroy in reverse order
 *
 * A burst is a run of frames of one body at one held cadence; a sequence is bursts of one body no further apart than
 * `gap_s`, one play. hr_grouping_create is pure arithmetic over the facts of frames: it can be called on frames from
 * anywhere. */
#ifndef HEADRACE_SEQUENCE_H
#define HEADRACE_SEQUENCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/cancel.h>
#include <headrace/card.h>
#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ---- Frames as delivered ---- */

/* A file of a frame. Copies of it in several places stand one after the other, the first is the one that is named. */
struct hr_delivered_file {
    const char *path;    /* absolute */
    const char *on_card; /* as it was called on the card, bytes: "DCIM/100NMERE/NMA_0001.JPG" */
    uint32_t place;      /* index into the delivered places */
    uint8_t kind;        /* enum hr_card_file_kind */
    bool is_copy;        /* of the file before it, on another place or as a backup on a second card */
    uint64_t size_bytes;
};

/* One press-instant. What is not known is zero or "", never guessed. Strings are borrowed. */
struct hr_frame {
    const char *key;    /* folder and stem on the card: "DCIM/100NMERE/NMA_0001" */
    const char *job;    /* frames of different jobs are never grouped; "" outside bags */
    uint32_t card;      /* frames of one card share it: names of files tell the order within it alone */
    bool is_clip;       /* a single always */
    const char *serial; /* of the body: standard, else from the maker's notes */
    const char *model;
    bool has_time, has_offset;
    int16_t offset_minutes;        /* east of UTC, summer time included */
    int64_t local_ns;              /* on the camera's own clock, nanoseconds since 1970-01-01 00:00:00 there */
    uint16_t folder_number;        /* of the DCF folder (CIPA DC-009), 100..999; 0: the name has none */
    uint16_t counter;              /* of the DCF file name, 1..9999; 0: the name has none */
    uint32_t iso;                  /* 0 when unknown */
    uint64_t size_bytes;           /* of its files, each counted once: what the camera had to write */
    size_t first_file, file_count; /* in the delivered files */
    const char *trouble;           /* what is wrong with it, a few words; NULL: nothing */
};

/* A place, or another folder with frames in it. */
struct hr_delivered_place {
    const char *path; /* absolute */
    bool is_card;     /* it looks like a camera's card: nothing is ever written there */
};

/* Immutable once made. */
struct hr_delivered {
    struct hr_frame *frames; /* by key within a bag; hr_grouping_create does not mind the order */
    size_t frame_count;
    struct hr_delivered_file *files;
    size_t file_count;
    struct hr_delivered_place *places;
    size_t place_count;
    bool has_unfinished;    /* some bag is not finished: frames of its card may be missing */
    size_t unread_count;    /* heads of files, and folders: frames are missing, or nothing is known of them */
    struct hr_fault unread; /* the first of these */
};

/* What takes a while on a slow drive: heads that have to be read, and later the files of folders. */
struct hr_sequence_progress {
    const char *path;   /* of the folder whose heads are read, or whose files go into the folders of sequences */
    int64_t elapsed_ns; /* since the first of them */
    size_t files_done, files_total;
};
struct hr_sequence_observer {
    void *context;
    void (*progress)(void *context,
                     const struct hr_sequence_progress *progress); /* after each, on the calling thread */
};

/* Gathers every frame that stands in the places, bags and folders at `paths`. Frames that were moved out of a bag
 * stand in its sequence folders and are delivered from there. A bag's frames.csv is believed; of files
 * it does not name the heads are read. Files of one content are one file. `observer` may be NULL. On HR_OK the caller
 * owns *out (hr_delivered_destroy, which takes NULL). HR_NOT_FOUND, HR_DENIED, HR_GONE, HR_CANCELLED, HR_NOMEM. A file
 * that cannot be read is a frame with a trouble, a folder below that cannot be read has none; both are counted. */
HR_API HR_MUST_USE enum hr_status hr_delivered_create(struct hr_delivered **out, const char *const *paths,
                                                      size_t path_count, const struct hr_sequence_observer *observer,
                                                      const struct hr_cancel *cancel, struct hr_fault *fault);
HR_API void hr_delivered_destroy(struct hr_delivered *delivered);

/* ---- Grouping: pure ---- */

struct hr_grouping_options {
    double gap_s; /* bursts of one body no further apart are one sequence; 0: 4 */
};

/* The camera's buffer ran full: from `frame` on each frame had to wait until the card had taken another. */
struct hr_stall {
    uint32_t frame;             /* index into the sequence's frames; the first that waited */
    double drain_cadence_per_s; /* from there on */
    double drain_bytes_per_s;   /* the same in bytes, from the sizes of the frames; 0: sizes are not known */
    double seconds_full;        /* until the burst ended */
    double frames_lost;         /* that the held cadence would have made meanwhile, about */
    double confidence;          /* 0..1 */
};

struct hr_burst {
    uint32_t first, last; /* indices into the sequence's frames */
    double cadence_per_s; /* as held, before any stall; 0: too few frames or too coarse a clock to tell */
    bool has_stall;
    struct hr_stall stall;
};

struct hr_sequence {
    uint32_t body; /* index into the grouping's bodies */
    int64_t start_local_ns, length_ns;
    uint32_t *frames; /* indices into the frames that were handed in, in the order they were taken; two or more */
    size_t frame_count;
    struct hr_burst *bursts;
    size_t burst_count;
};

struct hr_body {
    const char *serial, *model; /* "" when unknown */
    size_t frame_count;
    int64_t resolution_ns; /* of its clock, as its stamps show it: 1 s, 100 ms, 10 ms ... */
};

/* A body's clock was set while its counter ran on. */
struct hr_clock_change {
    uint32_t body;
    uint32_t frame;      /* handed in; the first after the change */
    int64_t jump_ns;     /* forward */
    bool is_summer_time; /* an hour exactly, and the offset from UTC did not change with it */
};

struct hr_grouping {
    struct hr_body *bodies; /* by first frame: body A, body B ... */
    size_t body_count;
    struct hr_sequence *sequences; /* by start */
    size_t sequence_count;
    uint32_t *singles; /* frames by themselves, by time */
    size_t single_count;
    uint32_t *unknown; /* frames whose time is not known: they cannot be grouped */
    size_t unknown_count;
    struct hr_clock_change *clock_changes;
    size_t clock_change_count;
};

/* `frames` must outlive the grouping. On HR_OK the caller owns *out (hr_grouping_destroy, which takes NULL). HR_NOMEM,
 * HR_TOO_LARGE past 2^32 - 1 frames. */
HR_API HR_MUST_USE enum hr_status hr_grouping_create(struct hr_grouping **out, const struct hr_frame *frames,
                                                     size_t frame_count, const struct hr_grouping_options *options,
                                                     struct hr_fault *fault);
HR_API void hr_grouping_destroy(struct hr_grouping *grouping);

/* ---- Folders ---- */

enum hr_fill {
    HR_FILL_DEFAULT, /* link, and where the filesystem has no links, list */
    HR_FILL_LINK,    /* hard links: no room, no second copy */
    HR_FILL_REFLINK, /* shared blocks (btrfs, XFS): no room until one of the two is changed */
    HR_FILL_COPY,
    HR_FILL_MOVE, /* the bag gives the file up and says so */
    HR_FILL_LIST, /* the index alone */
    HR_FILL_COUNT
};
HR_API const char *hr_fill_name(enum hr_fill fill); /* "link"; NULL past the last */

/* What a body is called in names: the letter by its first frame, unless its serial is named here. */
struct hr_body_name {
    const char *serial, *name;
};

struct hr_fill_options {
    enum hr_fill fill;
    const struct hr_body_name *body_names;
    size_t body_name_count;
    const struct hr_sequence_observer *observer; /* NULL: nobody looks on */
};

/* One sequence's folder in one place. A sequence has a second one there where frames were delivered later that were
 * taken before some of its frames. */
struct hr_filled_sequence {
    uint32_t sequence;                           /* index into the grouping's sequences */
    uint32_t place;                              /* index into the delivered places */
    char *name;                                  /* of the folder, and in sequences.csv; stays from run to run */
    char *path;                                  /* absolute; "" when only listed */
    size_t files_new, files_there, files_failed; /* there: from an earlier run */
    struct hr_fault *fault;                      /* first cause; NULL: none */
};

/* One job in one place: its own folder `sequences` and its own index. */
struct hr_filled_place {
    uint32_t place;
    enum hr_fill fill; /* what was done there, or was to be */
    char *sentence;    /* worth telling a person; "" */
    char *index_path;  /* of sequences.csv; "" when none was written */
};

struct hr_filled {
    struct hr_filled_sequence *sequences;
    size_t sequence_count;
    struct hr_filled_place *places;
    size_t place_count;
    char **body_names; /* one a body of the grouping */
    size_t body_count;
    bool all_done; /* nothing failed, and all that was delivered could be read */
};

/* Makes PLACE/JOB/sequences/<start>_<body>_<frames>f/ for each sequence that has none yet, with its frames numbered
 * 0001_<camera name>, and writes PLACE/JOB/sequences/sequences.csv and files.csv (src/sequence/sequence_index.h says
 * what stands in them). A sequence is known by its files: what stands there keeps its name and is not made again,
 * frames that came since go on after the last number. Frames outside of bags have `sequences` in the place itself. What
 * goes wrong with one sequence stands on it. On HR_OK the caller owns *out (hr_filled_destroy, which takes NULL).
 * HR_INVALID for a body's name that is none for a folder, HR_CANCELLED (run again to go on), HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_sequences_fill(struct hr_filled **out, const struct hr_delivered *delivered,
                                                    const struct hr_grouping *grouping,
                                                    const struct hr_fill_options *options,
                                                    const struct hr_cancel *cancel, struct hr_fault *fault);
HR_API void hr_filled_destroy(struct hr_filled *filled);

#ifdef __cplusplus
}
#endif
#endif
