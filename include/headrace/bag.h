/* SPDX-License-Identifier: ISC */
/* A bag: one card's delivery in one place, a folder after RFC 8493 (BagIt 1.0) that proves itself any year later.
 *
 * Writing:  hr_bag_create (or hr_bag_look and hr_bag_resume), files are put under data/ by the transfer, hr_bag_record
 * for each proven one, hr_bag_note_throughput and hr_bag_note_frame, hr_bag_finish; hr_bag_close at any time, finished
 * or not. Until it is finished it holds `.files.csv.part` (the journal: one row a proven file, appended as it happens),
 * `.bag-info.txt.part` (whose card it is), `.throughput.csv.part` and `.frames.csv.part`; finishing writes the
 * manifests and tag files, each durable before its final name, and bagit.txt last of all.
 *
 * In manifests LF, CR and % of a path are written %0A, %0D, %25 (RFC 8493 section 2.1.3); in the CSV files paths are
 * escaped as in <headrace/name.h>. files.csv has a header and the columns path, size_bytes, modified_ns, xxh128, sha256
 * (empty when not made), read_at_ns, proven_at_ns (wall times, nanoseconds since 1970 UTC) and proof.
 *
 * A finishing that was cut short is taken back when the bag is resumed or finished again: journal, logs and cover get
 * their temporary names again and what was derived from them is removed. Payload is never touched. */
#ifndef HEADRACE_BAG_H
#define HEADRACE_BAG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/cancel.h>
#include <headrace/digest.h>
#include <headrace/proof.h>
#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What stands on the bag's cover. Strings are borrowed. */
struct hr_bag_label {
    const char *job; /* folder name below the place */
    const char *card_name;
    const char *card_identity; /* External-Identifier */
    const char *description;   /* External-Description, "" for none */
    int64_t started_wall_ns;   /* gives YYYYMMDD-HHMMSS */
};

/* One proven file: a row of files.csv. */
struct hr_bag_file {
    const char *path; /* bytes, below data/ */
    uint64_t size_bytes;
    int64_t modified_ns;             /* as on the card */
    struct hr_digest xxh128, sha256; /* sha256 HR_DIGEST_NONE when not made */
    int64_t read_at_ns;              /* wall times */
    int64_t proven_at_ns;
    enum hr_proof proof;
};

struct hr_bag;

/* Makes PLACE/JOB/YYYYMMDD-HHMMSS_CARD/ (local time; YYYYMMDD-HHMMSS-2_CARD, -3 ... when that stands) and takes its
 * lock. On HR_OK the caller owns *out (hr_bag_close). HR_DENIED, HR_READ_ONLY, HR_FULL, HR_GONE, HR_IO, HR_INVALID (job
 * or name not fit for a folder), HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_bag_create(struct hr_bag **out, const char *place,
                                                const struct hr_bag_label *label, struct hr_fault *fault);
/* The newest unfinished bag of this card under PLACE/JOB, locked and looked at: nothing in it is written, mended or
 * removed before hr_bag_resume, and when it is only closed it stays as it was. HR_NOT_FOUND when there is none, HR_BUSY
 * when another run is writing it. Its journal is read: rows that are torn or whose file is not there in that size are
 * left out. */
HR_API HR_MUST_USE enum hr_status hr_bag_look(struct hr_bag **out, const char *place, const struct hr_bag_label *label,
                                              struct hr_fault *fault);
/* Takes over a bag that was looked at: takes back a finishing that was cut short, writes a damaged journal anew, reads
 * the rows again. Whatever comes back, the bag is the caller's to close. HR_DIFFERS when its files are not those of the
 * look. */
HR_API HR_MUST_USE enum hr_status hr_bag_resume(struct hr_bag *bag, struct hr_fault *fault);
/* Releases and unlocks it; an unfinished bag stays as it is and can be resumed. One that hr_bag_create made and that
 * never held a proven file is removed; a resumed one never is. Takes NULL. */
HR_API void hr_bag_close(struct hr_bag *bag);

HR_API const char *hr_bag_path(const struct hr_bag *bag);       /* absolute */
HR_API const char *hr_bag_data_path(const struct hr_bag *bag);  /* absolute, .../data */
HR_API const char *hr_bag_aside_path(const struct hr_bag *bag); /* absolute, beside the bag: <bag>.aside */
/* The rows an interrupted bag came with, sorted by path bytes, until they are forgotten or the bag is finished; NULL
 * and 0 for a new one. What is recorded afterwards is in the journal alone: a bag being filled takes no memory, however
 * many files the card has. */
HR_API const struct hr_bag_file *hr_bag_files(const struct hr_bag *bag, size_t *count);
/* Did an interrupted bag come with this path? NULL when not. */
HR_API const struct hr_bag_file *hr_bag_find(const struct hr_bag *bag, const char *path);
/* Gives the memory of these rows back: some 250 bytes a file. hr_bag_resume reads them again. */
HR_API void hr_bag_forget_files(struct hr_bag *bag);
/* Files under data/ that no row speaks of, sorted by path bytes, until they are forgotten as the rows are: temporary
 * names, and final ones whose run died between rename and journal, to be read back before they are believed. */
HR_API char *const *hr_bag_loose(const struct hr_bag *bag, size_t *count);
/* The room they take. */
HR_API uint64_t hr_bag_loose_bytes(const struct hr_bag *bag);
/* Removes those of them to which `is_temporary(context, path)` says yes, once the bag is resumed. */
HR_API HR_MUST_USE enum hr_status hr_bag_sweep(struct hr_bag *bag,
                                               bool (*is_temporary)(void *context, const char *path), void *context,
                                               struct hr_fault *fault);
HR_API void hr_bag_paths_free(char **paths, size_t count);

/* Appends the row to the journal; once a path, and once more where the bag came with it: the later row counts.
 * HR_INVALID without an XXH128 digest or with an unknown proof, or for a path that leaves the bag. It becomes durable
 * with the volume's next sync; if it is lost by then the file is loose for the next run. */
HR_API HR_MUST_USE enum hr_status hr_bag_record(struct hr_bag *bag, const struct hr_bag_file *file,
                                                struct hr_fault *fault);
/* Appends one CSV line (without LF) to throughput.csv; the first call's line is its header, which is not written again
 * where a resumed bag has the same. */
HR_API HR_MUST_USE enum hr_status hr_bag_note_throughput(struct hr_bag *bag, const char *line, struct hr_fault *fault);
/* The same for frames.csv, what the heads of the bag's files say (rows: card/frame_row.h); a bag without any has no
 * such file. It is a convenience: rows may be missing, doubled (the last counts) or speak of files that are not in the
 * bag. Lines are gathered and written 64 KiB at a time, so that a call a file costs next to nothing: so much may be
 * lost in a crash, or with the call that fails. */
HR_API HR_MUST_USE enum hr_status hr_bag_note_frame(struct hr_bag *bag, const char *line, struct hr_fault *fault);
/* Writes everything up to bagit.txt; the bag is complete from then on and must only be closed. It stays unfinished, and
 * a resumed run puts it right, with HR_NOT_FOUND when a recorded file does not stand in data/ in its size (any more),
 * HR_DIFFERS when something else stands there too, or its own files read back wrong.
 * manifest-sha256.txt is written only where every file has that digest; Payload-Digests in bag-info.txt says which
 * there are. Finishing a finished bag changes nothing. */
HR_API HR_MUST_USE enum hr_status hr_bag_finish(struct hr_bag *bag, struct hr_fault *fault);

/* ---- Giving files up ---- */

/* A payload file that leaves the bag for another folder beside it. */
struct hr_bag_leaving {
    const char *path;      /* below data/ */
    const char *to;        /* below the folder in which the bag stands; its folder is made where it is missing */
    enum hr_status status; /* out: HR_OK, it stands there; HR_NOT_FOUND, HR_EXISTS (something else stands there),
                              HR_DIFFERS (not of the size it was delivered in) and what renaming says: it stays */
};

/* Who looks on while files leave. */
struct hr_bag_leaving_observer {
    void *context;
    void (*progress)(void *context, size_t files_done); /* after each, on the calling thread */
};

/* Files leave a finished bag of ours for a folder on the same volume: by rename, or, where a power cut may tear a
 * rename apart (FAT, exFAT, FUSE, networks), by a copy that is proven before the file goes. The bag's tag files list
 * them no more, and it is as valid as before. Their digests go along: each folder they come to has manifest-xxh128.txt
 * and, of those that have that digest, manifest-sha256.txt, for the check sum tools to be run there. frames.csv keeps
 * their rows.
 *
 * It can be cut off at any moment. What is to happen is on record in the bag (`.giving-up.csv`) before the first file
 * leaves and until the last tag file is replaced; in between the bag is not valid, and verifying it says why. Any later
 * call, also one with `count` 0, ends what was begun; so it is after HR_CANCELLED, which comes while copies are made.
 * Without anything to do nothing is changed.
 *
 * HR_UNSUPPORTED for a bag that is not ours or not finished, HR_DIFFERS when it is not as its own tag files say (no
 * payload is read for that), HR_BUSY when another run works in it; HR_FULL, HR_READ_ONLY and the like when the new tag
 * files cannot be written: nothing has left then. What goes wrong with one file is its status. `observer` may be NULL.
 */
HR_API HR_MUST_USE enum hr_status hr_bag_give_up(const char *path, struct hr_bag_leaving *files, size_t count,
                                                 const struct hr_bag_leaving_observer *observer,
                                                 const struct hr_cancel *cancel, struct hr_fault *fault);

/* ---- Reading bags back, ours and anybody's ---- */

/* Folders that the system does not let us look into: there may be bags in them. */
struct hr_closed_folders {
    char **paths; /* absolute */
    size_t count;
};
/* Absolute paths of every folder at or below `path` that holds a bagit.txt or is an unfinished bag of ours; no bag is
 * looked for inside a bag. `closed` gets the folders below it that are, but for hidden ones and "lost+found"; NULL:
 * nobody asks. The caller frees the paths of both with hr_bag_paths_free. HR_DENIED when `path` itself is closed. */
HR_API HR_MUST_USE enum hr_status hr_bags_find(char ***paths, size_t *count, struct hr_closed_folders *closed,
                                               const char *path, struct hr_fault *fault);

/* What a bag says it holds, finished or not, ours or anybody's; no payload is read. */
struct hr_bag_listing {
    char *path;        /* absolute */
    char *place, *job; /* where it stands: PLACE/JOB/bag; for a bag not made by us `job` is "" and `place` its parent */
    char *card_identity; /* External-Identifier, "" when absent */
    bool is_ours, is_finished;
    struct hr_bag_file *files; /* sorted by path bytes; of others' bags path and digest alone */
    size_t file_count;
    char **frame_lines; /* of frames.csv, as they stand, without its header and LF; none where it cannot be read */
    size_t frame_line_count;
};
/* On HR_OK the caller owns *out (hr_bag_listing_destroy, which takes NULL). HR_NOT_FOUND when there is no bag,
 * HR_MALFORMED when neither files.csv nor a manifest can be read, HR_TOO_LARGE, HR_GONE, HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_bag_list(struct hr_bag_listing **out, const char *path, struct hr_fault *fault);
HR_API void hr_bag_listing_destroy(struct hr_bag_listing *listing);

enum hr_bag_verdict {
    HR_BAG_VALID,
    HR_BAG_VALID_WITH_WARNINGS, /* valid, though something is not as the standard recommends */
    HR_BAG_INVALID,
    HR_BAG_UNFINISHED /* ours, not finished: what its journal holds was checked */
};
enum hr_bag_problem_kind {
    HR_BAG_FILE_MISSING, /* in a manifest, not on the drive */
    HR_BAG_FILE_DIFFERS, /* digest or size is not what the manifest says */
    HR_BAG_FILE_UNREADABLE,
    HR_BAG_FILE_UNLISTED, /* under data/, in no manifest, or not in every one */
    HR_BAG_RULE_BROKEN,   /* a rule of RFC 8493 */
    HR_BAG_WARNING
};
struct hr_bag_problem {
    enum hr_bag_problem_kind kind;
    char *path; /* bytes, within the bag; "" when it concerns the bag */
    char *text; /* one line, in which names are escaped (hr_escape_name) */
};
/* A file that was read back and is right. */
struct hr_bag_proof {
    struct hr_bag_file file; /* modified_ns, read_at_ns 0 where files.csv does not say; proven_at_ns is now */
};
struct hr_bag_report {
    enum hr_bag_verdict verdict;
    char *path;            /* absolute */
    char *card_identity;   /* External-Identifier, "" when absent */
    char *card_name, *job; /* from the folder names when the bag is ours, else "" */
    bool is_ours;          /* has files.csv */
    size_t row_count;      /* of it */
    size_t payload_files;
    uint64_t payload_bytes;
    struct hr_bag_proof *proofs;
    size_t proof_count;
    struct hr_bag_problem *problems;
    size_t problem_count;
    bool from_medium; /* every payload byte came from the medium */
    int64_t elapsed_ns;
};

struct hr_bag_verify_options {
    enum hr_digest_kind only; /* HR_DIGEST_NONE: every manifest; else check this one alone where the bag has it */
    void *context;
    /* After each block, at most ten times a second; may be NULL. `elapsed_ns` since this call began. */
    void (*progress)(void *context, int64_t elapsed_ns, uint64_t bytes_done, uint64_t bytes_total, size_t files_done,
                     size_t files_total);
};

/* Checks the bag at `path` against the standard and reads every payload file back, past the page cache where that can
 * be had. Everything found is in the report, which the caller owns on HR_OK (hr_bag_report_destroy). HR_NOT_FOUND when
 * there is no bag, HR_GONE, HR_CANCELLED, HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_bag_verify(struct hr_bag_report **out, const char *path,
                                                const struct hr_bag_verify_options *options,
                                                const struct hr_cancel *cancel, struct hr_fault *fault);
HR_API void hr_bag_report_destroy(struct hr_bag_report *report);
HR_API const char *hr_bag_verdict_name(enum hr_bag_verdict verdict);
HR_API const char *hr_bag_problem_name(enum hr_bag_problem_kind kind);

#ifdef __cplusplus
}
#endif
#endif
