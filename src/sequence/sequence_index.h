/* SPDX-License-Identifier: ISC */
/* The index in a `sequences` folder: what was found there, and which file is which, so that the next run knows.
 *
 * sequences.csv, one row a sequence:
 *     sequence       name of its folder, also where no folder was made
 *     body           what the body is called in names
 *     serial, model  of the body; empty when unknown
 *     start          of its first frame, on the camera's own clock: 2026-05-23 14:30:12.345
 *     seconds        from its first frame to its last
 *     frames, files, bursts
 *     cadence_per_s  as held in the burst with the most frames; empty when the clock is too coarse to tell
 *     stall_frame    of the burst that stood still longest: number of the first frame that waited, as in the names of
 *                    the files; this column and the next three are empty when no buffer ran full
 *     drain_per_s    frames a second from there on
 *     seconds_full, frames_lost
 *
 * files.csv, one row a file: a sequence may have more files than a cell of a spreadsheet holds.
 *     sequence, number, name   SEQUENCE/NAME is the file's name here; raw and JPEG of a frame share the number
 *     path           the file itself, below the folder in which `sequences` stands
 *     time           of the frame, as `start`
 *     filled         link, reflink, copy, move: how it came here; empty: it is only listed. What came here once is
 * never made again: whoever removed it meant it
 *
 * Rows as base/csv.h has them, fields escaped as in <headrace/name.h>. Both files are replaced whole, files.csv first:
 * a crash between leaves files of a sequence that has no row yet, and the next run writes it. */
#ifndef HR_SEQUENCE_SEQUENCE_INDEX_H
#define HR_SEQUENCE_SEQUENCE_INDEX_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/status.h>

#include "platform/folder.h"

#define HR_SEQUENCES_FOLDER "sequences"
#define HR_INDEX_SEQUENCES "sequences.csv"
#define HR_INDEX_FILES "files.csv"

enum hr_index_column {
    HR_INDEX_NAME,
    HR_INDEX_BODY,
    HR_INDEX_SERIAL,
    HR_INDEX_MODEL,
    HR_INDEX_START,
    HR_INDEX_SECONDS,
    HR_INDEX_FRAMES,
    HR_INDEX_FILE_COUNT,
    HR_INDEX_BURSTS,
    HR_INDEX_CADENCE,
    HR_INDEX_STALL_FRAME,
    HR_INDEX_DRAIN,
    HR_INDEX_SECONDS_FULL,
    HR_INDEX_FRAMES_LOST,
    HR_INDEX_COLUMNS
};

enum { HR_NOT_GROUPED = -1 };

struct hr_sequence_file {
    const char *name, *path, *time, *filled; /* as the columns; never NULL */
    uint32_t number;                         /* from 1 */
    int64_t sequence;                        /* of the grouping, or HR_NOT_GROUPED: not delivered this time */
    uint32_t position;                       /* of its frame in that sequence */
    size_t delivered;                        /* index into the delivered files */
};

struct hr_sequence_folder {
    const char *columns[HR_INDEX_COLUMNS]; /* never NULL */
    struct hr_sequence_file *files;        /* sorted, unless some were added */
    size_t file_count, file_capacity;
    int64_t sequence; /* that of the grouping which stands here, or HR_NOT_GROUPED */
};

struct hr_sequence_index {
    struct hr_sequence_folder *folders;
    size_t folder_count, folder_capacity;
    char **strings; /* what the columns point to */
    size_t string_count, string_capacity;
};

/* Reads both files in `folder`, which is "SEQUENCES" of its place; none of them there is an empty index. Whatever comes
 * back, the caller releases the index. HR_MALFORMED when one is not as we write it; HR_TOO_LARGE, HR_NOMEM, and what
 * reading says. */
HR_MUST_USE enum hr_status hr__sequence_index_load(struct hr_sequence_index *index, const struct hr_folder *folder,
                                                   struct hr_fault *fault);
void hr__sequence_index_finish(struct hr_sequence_index *index);

/* Takes `string` (malloc) over, for columns to point to; NULL, and the string is gone, when there is no memory or it
 * was NULL. */
const char *hr__sequence_index_keep(struct hr_sequence_index *index, char *string);
/* A folder with empty columns and no files; NULL: no memory. Moves the others. */
struct hr_sequence_folder *hr__sequence_index_add(struct hr_sequence_index *index);
/* False: no memory. */
HR_MUST_USE bool hr__sequence_folder_add(struct hr_sequence_folder *folder, const struct hr_sequence_file *file);

/* Files by number, then name. */
void hr__sequence_folder_sort(struct hr_sequence_folder *folder);

/* By start, then name. */
void hr__sequence_index_sort(struct hr_sequence_index *index);

/* Replaces both files durably. Folders without files are left out. */
HR_MUST_USE enum hr_status hr__sequence_index_save(struct hr_sequence_index *index, const struct hr_folder *folder,
                                                   struct hr_fault *fault);

#endif
