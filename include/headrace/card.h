/* SPDX-License-Identifier: ISC */
/* A card: what is on it, in capture order, and its bytes. Nothing here ever writes to it.
 *
 * hr_card_open, hr_inventory_create, then any number of readers (hr_card_reader_open) and streams; close in reverse
 * order. A card is a mounted volume or a folder, or an archive or image of one (.tar, .zip, .iso). In an archive,
 * entries are read in the order they stand; reading them out of that order works but starts the archive anew.
 *
 * An archive is taken as it stands: one compressed as a whole (.tar.gz) is HR_UNSUPPORTED, and so is a zip that lost
 * its central directory. Only a zip carries check sums; a tar or an image gives the bytes it holds, right or wrong.
 * Names are bytes as on a volume, but for those a zip or a Joliet image says are Unicode: they come as UTF-8 and
 * composed (NFC), however they stand there; and one of a zip with backslashes and no slash has slashes for them. */
#ifndef HEADRACE_CARD_H
#define HEADRACE_CARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/cancel.h>
#include <headrace/media.h>
#include <headrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

struct hr_card;

/* On HR_OK the caller owns *out (hr_card_close, which takes NULL). HR_NOT_FOUND, HR_DENIED, HR_GONE, HR_IO, HR_NOMEM;
 * HR_UNSUPPORTED when `path` is neither a folder nor an archive we read. */
HR_API HR_MUST_USE enum hr_status hr_card_open(struct hr_card **out, const char *path, struct hr_fault *fault);
HR_API void hr_card_close(struct hr_card *card);

/* As given by the user, and as the system resolves it. Live as long as the card. */
HR_API const char *hr_card_path(const struct hr_card *card);
HR_API const char *hr_card_resolved_path(const struct hr_card *card);
/* A short name fit for a file name (letters, digits, '-', '_'): volume label, else last path component, else "card". */
HR_API const char *hr_card_name(const struct hr_card *card);
/* The volume's identity ("uuid:...", "fsid:...", "size:..."), for an archive "archive:SIZE-MTIME-NAME"; for a folder
 * below a volume's root with "/" and the folder's path within the volume appended, escaped. A reformatted card has
 * another. */
HR_API const char *hr_card_identity(const struct hr_card *card);
/* True when the identity is only the size and type of the volume, so that two cards may share it. */
HR_API bool hr_card_identity_is_weak(const struct hr_card *card);
HR_API bool hr_card_is_archive(const struct hr_card *card);
/* Is the card's root still there? Cheap; asked when reads begin to fail. */
HR_API bool hr_card_is_present(const struct hr_card *card);

enum hr_card_file_kind {
    HR_KIND_OTHER, /* not a camera's: carried all the same */
    HR_KIND_JPEG,
    HR_KIND_HEIF,
    HR_KIND_RAW,
    HR_KIND_CLIP,
    HR_KIND_SOUND,
    HR_KIND_SIDECAR
};
HR_API const char *hr_card_file_kind_name(enum hr_card_file_kind kind);

struct hr_card_file {
    const char *path; /* below the card's root, bytes as they stand there, NUL-terminated */
    uint64_t size_bytes;
    int64_t modified_ns; /* wall time as the volume has it; archives: as the entry says */
    uint32_t frame;      /* index into frames */
    uint8_t kind;        /* enum hr_card_file_kind */
    bool is_protected;   /* read-only on the card: no write bit at all */
    uint64_t archive_at; /* ordinal of the entry in an archive; 0 on a volume */
};

/* One press-instant: the files that share folder and stem (case of the extension ignored), or one other file by itself.
 */
struct hr_card_frame {
    uint32_t first_file, file_count; /* a run of `files` */
    bool is_protected;               /* some file of it is */
    int8_t rating;                   /* -1 rejected, 0 unrated or not read yet, 1..5 */
};

enum hr_card_skip_reason { HR_SKIP_LINK, HR_SKIP_SPECIAL, HR_SKIP_UNREADABLE, HR_SKIP_ESCAPES, HR_SKIP_DUPLICATE };

/* What was met but will not be copied. HR_SKIP_LINK (a symbolic link) and HR_SKIP_SPECIAL are reported; the rest make a
 * card unsafe. Of two entries of an archive with one path the first stands; a file that is the folder of another gives
 * way to it. On a volume a hard link is a file like any other. In an archive it is HR_SKIP_UNREADABLE with
 * HR_UNSUPPORTED, for its content stands under another name only; so is an encrypted entry, or one of a kind nobody
 * knows. An entry the archive contradicts itself about is HR_SKIP_UNREADABLE with HR_MALFORMED. */
struct hr_card_skip {
    const char *path; /* bytes as they stand; "(entry N)" for one of an archive without a name */
    enum hr_card_skip_reason reason;
    enum hr_status status; /* for HR_SKIP_UNREADABLE */
};
HR_API const char *hr_card_skip_text(enum hr_card_skip_reason reason);

/* Immutable once made but for `rating` (hr_inventory_read_ratings), so threads may share it. */
struct hr_inventory {
    struct hr_card_file *files; /* frame after frame; within a frame raw, JPEG, HEIF, sidecar, sound, clip, other */
    size_t file_count;
    struct hr_card_frame
        *frames;        /* capture order: modified time, then folder number and counter of the name, then bytes */
    size_t frame_count; /* every file belongs to one; those of kind OTHER count as frames of their own here */
    size_t camera_frame_count; /* frames that hold a picture or a clip */
    uint64_t total_bytes;
    struct hr_card_skip *skips;
    size_t skip_count;
    bool has_dcim; /* a DCIM folder at the root */
};

/* Walks the card once. On HR_OK the caller owns *out (hr_inventory_destroy, which takes NULL); else *out is untouched.
 * HR_GONE when the card is pulled meanwhile, HR_DENIED, HR_IO, HR_CANCELLED, HR_NOMEM, HR_TOO_LARGE past 4 million
 * files; of an archive also HR_MALFORMED when it is damaged where entries are listed, or cut short, and HR_DIFFERS when
 * it was written to since it was opened. A single unreadable entry is no failure: it is a skip. `card` must outlive the
 * call only. */
HR_API HR_MUST_USE enum hr_status hr_inventory_create(struct hr_inventory **out, const struct hr_card *card,
                                                      const struct hr_cancel *cancel, struct hr_fault *fault);
HR_API void hr_inventory_destroy(struct hr_inventory *inventory);

/* Facts of one file's head (never the whole file): capture time, serial, rating, pixel size. Facts that are not there
 * are marked absent; a file that is no picture gives none. HR_OK, or what reading said. */
HR_API HR_MUST_USE enum hr_status hr_card_file_media(struct hr_media_facts *out, const struct hr_card *card,
                                                     const struct hr_card_file *file, struct hr_fault *fault);
/* On the calling thread, after each file. */
struct hr_ratings_observer {
    void *context;
    void (*progress)(void *context, size_t files_done, size_t files_total);
};
/* Reads the rating of every frame into the inventory (`--first rated` needs them). A file that cannot be read leaves
 * its frame as it is; only HR_CANCELLED, HR_GONE and HR_NOMEM stop it, and the frames read so far keep their rating.
 * `observer` may be NULL. */
HR_API HR_MUST_USE enum hr_status hr_inventory_read_ratings(struct hr_inventory *inventory, const struct hr_card *card,
                                                            const struct hr_ratings_observer *observer,
                                                            const struct hr_cancel *cancel, struct hr_fault *fault);

/* Two files whose names a folding volume cannot tell apart: equal after Unicode case folding and NFC. `a` and `b` are
 * indices into files. */
struct hr_name_twin {
    uint32_t a, b;
};
/* On HR_OK the caller frees *out with free(). */
HR_API HR_MUST_USE enum hr_status hr_inventory_twins(struct hr_name_twin **out, size_t *count,
                                                     const struct hr_inventory *inventory, struct hr_fault *fault);

/* The order in which files are taken. Keys apply one after another; what they do not decide stays in capture order.
 * Frames stay together. */
enum hr_first { HR_FIRST_PROTECTED, HR_FIRST_RATED, HR_FIRST_NEWEST, HR_FIRST_COUNT };
HR_API const char *hr_first_name(enum hr_first key);
/* *out: `file_count` indices into files, the caller frees with free(). On an archive the order of its entries.
 * HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_inventory_order(uint32_t **out, const struct hr_inventory *inventory,
                                                     const struct hr_card *card, const enum hr_first *keys,
                                                     size_t key_count, struct hr_fault *fault);

/* A stream over the card's files, for one thread. Open, then for each file: start, read until *got < size, end. Once
 * one of them has failed, the file is over: start comes next. */
struct hr_card_reader;
/* HR_NOMEM. `card` must outlive the reader. hr_card_reader_close takes NULL. */
HR_API HR_MUST_USE enum hr_status hr_card_reader_open(struct hr_card_reader **out, const struct hr_card *card,
                                                      struct hr_fault *fault);
HR_API void hr_card_reader_close(struct hr_card_reader *reader);
/* `file` is one of the card's inventory and must live until the next start. `past_cache` asks for reads that bypass the
 * page cache where the volume can: for a second, independent reading. HR_DIFFERS when the file, or the archive it
 * stands in, is not what the inventory says; HR_NOT_FOUND, HR_DENIED, HR_UNSUPPORTED (no longer a file), HR_MALFORMED
 * (archive), HR_GONE, HR_IO, HR_NOMEM. */
HR_API HR_MUST_USE enum hr_status hr_card_reader_start(struct hr_card_reader *reader, const struct hr_card_file *file,
                                                       bool past_cache, struct hr_fault *fault);
/* Fills up to `size` bytes from where the last read ended; `into` on a page border and `size` a multiple of 4096, so
 * that reads may go past the cache. *got < size means the file ended. HR_GONE, HR_IO, HR_DIFFERS when an archive
 * entry's content is longer or shorter than declared, or fails its check sum. */
HR_API HR_MUST_USE enum hr_status hr_card_reader_read(size_t *got, struct hr_card_reader *reader, void *into,
                                                      size_t size, struct hr_fault *fault);
/* HR_DIFFERS when the size or time of the file, or of the archive it stands in, is no longer what `start` found or the
 * inventory says: it grew, shrank or was written to while it was read. HR_GONE, HR_IO. */
HR_API HR_MUST_USE enum hr_status hr_card_reader_end(struct hr_card_reader *reader, struct hr_fault *fault);

#ifdef __cplusplus
}
#endif
#endif
