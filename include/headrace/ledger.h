/* SPDX-License-Identifier: ISC */
/* What this workstation knows: cards seen, copies proven, runs and their throughput. A SQLite file, WAL, one a user. It
 * is a memory, not the truth: every bag proves itself without it, and `hr_remember_bag` (offload.h) fills a lost one
 * again.
 *
 * One ledger belongs to one thread; several processes may have it open. Text is bytes as given; nothing is escaped in
 * the file. */
#ifndef HEADRACE_LEDGER_H
#define HEADRACE_LEDGER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/digest.h>
#include <headrace/proof.h>
#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

struct hr_ledger;

/* Opens or makes the ledger; `path` NULL is the user's own ($XDG_STATE_HOME/headrace/ledger.db). On HR_OK the caller
 * owns *out (hr_ledger_close, which takes NULL). HR_DENIED, HR_READ_ONLY, HR_FULL, HR_IO, HR_BUSY (locked past 5 s),
 * HR_MALFORMED (not a ledger, or damaged), HR_UNSUPPORTED (made by a newer version), HR_NOT_FOUND (`path` NULL and no
 * HOME), HR_NOMEM. Any later call may answer with one of these too. */
HR_API HR_MUST_USE enum hr_status hr_ledger_open(struct hr_ledger **out, const char *path, struct hr_fault *fault);
/* The same without making a ledger or changing what one holds: HR_NOT_FOUND when there is none. SQLite may leave an
 * empty NAME-wal and a NAME-shm beside it. Whatever writes then answers HR_READ_ONLY. */
HR_API HR_MUST_USE enum hr_status hr_ledger_open_read_only(struct hr_ledger **out, const char *path,
                                                           struct hr_fault *fault);
/* An open group is undone. */
HR_API void hr_ledger_close(struct hr_ledger *ledger);

/* Groups what follows into one durable step; nesting is not allowed. Without it each call is a step of its own. Nobody
 * else can write meanwhile, so keep a group short. When a call that writes fails, the group is undone: later ones and
 * the commit answer with the same status, and the commit ends it. A commit ends the group whatever it answers. */
HR_API HR_MUST_USE enum hr_status hr_ledger_begin(struct hr_ledger *ledger, struct hr_fault *fault);
HR_API HR_MUST_USE enum hr_status hr_ledger_commit(struct hr_ledger *ledger, struct hr_fault *fault);

/* What is asked between the two is asked of the ledger as it is when the first question comes, and quicker, for no locks
 * are taken for each. Nobody is kept from writing. Not within a group, and no group within it. */
HR_API HR_MUST_USE enum hr_status hr_ledger_begin_asking(struct hr_ledger *ledger, struct hr_fault *fault);
HR_API void hr_ledger_end_asking(struct hr_ledger *ledger);

/* A delivery in a place. The same bag (volume and path) gives the same id again. Strings are borrowed going in; coming
 * out they live until the next hr_ledger_bag. NULL goes in as "". */
struct hr_ledger_bag {
    const char *card_identity, *card_name, *job;
    const char *volume;         /* identity of the filesystem, such that no other has it */
    const char *disks;          /* identities of the whole disks below it, one a line, sorted; "": memory; "unknown" */
    const char *mount_point;    /* where it was mounted then */
    const char *path_on_volume; /* of the bag, from the volume's root, no leading '/' */
};
HR_API HR_MUST_USE enum hr_status hr_ledger_add_bag(int64_t *id, struct hr_ledger *ledger,
                                                    const struct hr_ledger_bag *bag, struct hr_fault *fault);
/* *id is 0 when there is no such bag. */
HR_API HR_MUST_USE enum hr_status hr_ledger_find_bag(int64_t *id, struct hr_ledger *ledger, const char *volume,
                                                     const char *path_on_volume, struct hr_fault *fault);
/* Did the volume of some bag have this mount point? */
HR_API HR_MUST_USE enum hr_status hr_ledger_knows_mount_point(bool *out, struct hr_ledger *ledger,
                                                              const char *mount_point, struct hr_fault *fault);
HR_API HR_MUST_USE enum hr_status hr_ledger_bag(struct hr_ledger_bag *out, struct hr_ledger *ledger, int64_t id,
                                                struct hr_fault *fault);

/* A file as it stood on a card. */
struct hr_ledger_file {
    const char *card_identity, *path;
    uint64_t size_bytes;
    int64_t modified_ns;
    struct hr_digest xxh128, sha256;
};
struct hr_ledger_copy {
    int64_t bag;
    enum hr_proof proof; /* HR_PROOF_NONE comes out where a later version wrote another word */
    int64_t proven_at_ns;
};
/* Notes that `file` has a proven copy in the bag. The same file and bag again renews proof and time. Where the file is
 * known with another XXH128, the new one holds and the copies of the old one are forgotten. HR_INVALID without an
 * XXH128 or a proof; HR_NOT_FOUND when there is no such bag. */
HR_API HR_MUST_USE enum hr_status hr_ledger_add_copy(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                                     const struct hr_ledger_copy *copy, struct hr_fault *fault);
/* Forgets the copies of one bag, all (`path` NULL) or one: verify found it broken. */
HR_API HR_MUST_USE enum hr_status hr_ledger_forget_copies(struct hr_ledger *ledger, int64_t bag, const char *path,
                                                          struct hr_fault *fault);

/* Copies of exactly this file: card, path, size and time equal (digests in `file` are not looked at and come back in
 * *digests, whose card_identity and path are the arguments'). Calls `each` a copy; stops when it returns false.
 * HR_NOT_FOUND when the file is unknown or all its copies are forgotten. Here and below `each` may call hr_ledger_bag,
 * and nothing else on this ledger. */
HR_API HR_MUST_USE enum hr_status hr_ledger_find_copies(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                                        struct hr_ledger_file *digests,
                                                        bool (*each)(void *context, const struct hr_ledger_copy *copy),
                                                        void *context, struct hr_fault *fault);
/* Does any file share the size, the last path component and either the time or the card with `file`, so that its
 * content may be known although its identity is not? Only then is it worth reading it to look: raws of one body are
 * often of one size, and a counter that began again on another card must not cost a second reading of all of them. */
HR_API HR_MUST_USE enum hr_status hr_ledger_may_know_content(bool *out, struct hr_ledger *ledger,
                                                             const struct hr_ledger_file *file, struct hr_fault *fault);
/* Copies of any file of this size and XXH128 digest, whatever its card, path or time. HR_OK when there are none. */
HR_API HR_MUST_USE enum hr_status
hr_ledger_find_content(struct hr_ledger *ledger, uint64_t size_bytes, const struct hr_digest *xxh128,
                       bool (*each)(void *context, const struct hr_ledger_copy *copy, const char *path), void *context,
                       struct hr_fault *fault);
/* The same of those that are called as `file` is, by the last component of its path, where there are more than one:
 * quicker, for the names of a card's files lie side by side. */
HR_API HR_MUST_USE enum hr_status
hr_ledger_find_namesakes(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                         bool (*each)(void *context, const struct hr_ledger_copy *copy, const char *path), void *context,
                         struct hr_fault *fault);

/* A run of offload. */
struct hr_ledger_run {
    int64_t id;
    int64_t started_wall_ns, elapsed_ns; /* elapsed -1: never ended (killed, or still going) */
    const char *job, *host;
    const char *cards;                   /* names, one a line */
    const char *places;                  /* paths, one a line */
    const char *outcome;                 /* "safe", "not safe", "deadline", "cancelled", "failed", "" while running */
    uint64_t files, bytes, failed_files; /* newly proven in every place that worked to the end; failed in some */
    const char *policies;                /* one line a place */
};
/* Starting takes what is known before: id, elapsed, outcome and counts are not looked at. Ending sets these and the
 * policies of run->id; HR_NOT_FOUND when there is no such run. */
HR_API HR_MUST_USE enum hr_status hr_ledger_start_run(int64_t *id, struct hr_ledger *ledger,
                                                      const struct hr_ledger_run *run, struct hr_fault *fault);
HR_API HR_MUST_USE enum hr_status hr_ledger_end_run(struct hr_ledger *ledger, const struct hr_ledger_run *run,
                                                    struct hr_fault *fault);
/* Newest first, at most `limit`, or only `id` when it is not 0 (HR_NOT_FOUND when there is no such run). Strings live
 * during the call of `each`. */
HR_API HR_MUST_USE enum hr_status hr_ledger_runs(struct hr_ledger *ledger, int64_t id, size_t limit,
                                                 bool (*each)(void *context, const struct hr_ledger_run *run),
                                                 void *context, struct hr_fault *fault);

/* One second of one stage of a run. `stage`: "card", "digest", "write", "read back"; `device`: disk identity; `link`:
 * what the device hangs on, "" unknown. */
struct hr_ledger_sample {
    int64_t at_ns; /* since the run began */
    const char *stage;
    uint32_t lane; /* number of the card or place within the run, from 0 */
    const char *device, *link;
    uint64_t bytes; /* moved in this second */
    uint32_t queue_fill_percent;
};
/* They come back in the order they were added. HR_NOT_FOUND on adding to no run. */
HR_API HR_MUST_USE enum hr_status hr_ledger_add_sample(struct hr_ledger *ledger, int64_t run,
                                                       const struct hr_ledger_sample *sample, struct hr_fault *fault);
HR_API HR_MUST_USE enum hr_status hr_ledger_samples(struct hr_ledger *ledger, int64_t run,
                                                    bool (*each)(void *context, const struct hr_ledger_sample *sample),
                                                    void *context, struct hr_fault *fault);

/* How fast a device was through a link, by `headrace measure` or as a run found it. `direction`: "read", "write", "read
 * back". */
struct hr_ledger_speed {
    const char *device, *link; /* identities; link "" unknown */
    const char *direction;
    const char *source; /* "measure", "offload" */
    int64_t at_wall_ns;
    uint64_t bytes; /* it rests on */
    double bytes_per_s, file_s;
    double fast_bytes, slow_bytes_per_s; /* 0: no fast cache was seen to end */
    double together;                     /* reading and writing at once, in what either moves alone; 0: not seen */
};
/* HR_INVALID when a figure is not finite or below 0. */
HR_API HR_MUST_USE enum hr_status hr_ledger_add_speed(struct hr_ledger *ledger, const struct hr_ledger_speed *speed,
                                                      struct hr_fault *fault);
/* Of one device in one direction through one link (NULL: any), newest first, at most `limit`. A ledger of an older
 * version that is open to be read alone has none, and no forecasts. */
HR_API HR_MUST_USE enum hr_status hr_ledger_speeds(struct hr_ledger *ledger, const char *device, const char *link,
                                                   const char *direction, size_t limit,
                                                   bool (*each)(void *context, const struct hr_ledger_speed *speed),
                                                   void *context, struct hr_fault *fault);

/* What was foreseen for a run before its first byte, and how long it took. Only runs that went to their end without a
 * failure are noted. */
struct hr_ledger_forecast {
    int64_t run;
    const char *pair; /* devices of cards and places, sorted, one a line; behind them "reread" where cards were read
                         twice, "xxh128" where no SHA-256 was made */
    double copied_s, verified_s;           /* foreseen */
    double real_copied_s, real_verified_s; /* 0 copied: no card was free before the end */
    uint64_t files, bytes;                 /* of the run; not looked at on adding */
};
/* One a run: noted again, the later holds. HR_NOT_FOUND when there is no such run, HR_INVALID as for a speed. */
HR_API HR_MUST_USE enum hr_status
hr_ledger_add_forecast(struct hr_ledger *ledger, const struct hr_ledger_forecast *forecast, struct hr_fault *fault);
/* Newest first; of one pair, or of all (`pair` NULL). */
HR_API HR_MUST_USE enum hr_status hr_ledger_forecasts(struct hr_ledger *ledger, const char *pair, size_t limit,
                                                      bool (*each)(void *context,
                                                                   const struct hr_ledger_forecast *forecast),
                                                      void *context, struct hr_fault *fault);

/* A camera's buffer, as bursts in which it was full told it. */
struct hr_ledger_buffer {
    const char *body;                      /* serial, else model */
    const char *card;                      /* as it was called: its bag or folder */
    const char *files;                     /* kinds of files the frames had: "raw + jpeg" */
    int64_t shot_local_ns;                 /* the last such burst, on the camera's own clock */
    double depth_frames;                   /* 0: not known */
    double drain_per_s, drain_bytes_per_s; /* bytes 0: not known */
};
/* One a body, card and kinds: noted again, the later holds. HR_INVALID as for a speed. */
HR_API HR_MUST_USE enum hr_status hr_ledger_add_buffer(struct hr_ledger *ledger, const struct hr_ledger_buffer *buffer,
                                                       struct hr_fault *fault);
/* The last shot first; of one body, or of all (`body` NULL). A ledger as above has none. */
HR_API HR_MUST_USE enum hr_status hr_ledger_buffers(struct hr_ledger *ledger, const char *body, size_t limit,
                                                    bool (*each)(void *context, const struct hr_ledger_buffer *buffer),
                                                    void *context, struct hr_fault *fault);

#ifdef __cplusplus
}
#endif
#endif
