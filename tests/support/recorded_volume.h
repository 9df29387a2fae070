/* SPDX-License-Identifier: ISC */
/* A volume as a power cut may leave it, made of a recording of what was done to it (recorded_calls.h).
 *
 * The model is that of Pillai et al., "All File Systems Are Not Created Equal: On the Complexity of Crafting
 * Crash-Consistent Applications" (OSDI 2014): the calls before the cut are taken apart into small changes, each of
 * which is on the medium or not; what a sync covered is. Cuts are made at every call, not at syncs alone as in Mohan et
 * al., "Finding Crash-Consistency Bugs with Bounded Black-Box Crash Testing" (OSDI 2018), from whom the names kept
 * apart from the bytes are.
 *
 *     bytes    of each block of a file any version between the last one synced and the newest, whatever its neighbours
 * are size     the same, apart from the bytes: longer than what was written, filled with zeros or with bytes of others,
 * or shorter names    of each name in a folder what it stood for when the folder was last synced, or what it did at any
 * time since
 *
 * fsync makes the bytes and size of a file durable and not its name; of a folder, the names in it and not its own;
 * syncfs makes all durable. How free a file system is within that:
 *
 *     done       none of it: all calls up to the cut are on the medium, as when a program is killed
 *     synced     nothing is but what was synced
 *     ordered    names change in the order of the calls, and a file's size never before its bytes, as with a journal of
 * metadata and data=ordered free       names change in any order, each call whole: a rename may be there before the
 * bytes of the file, or a later change before an earlier one; sizes may be before bytes torn       as free, but a
 * rename may have put one name down and not taken the other away, or the reverse, and a block is a sector of 512 bytes
 * instead of a page of 4096
 *
 * Not modelled: a medium that loses what it said was durable; harm to what a sync covered by what is written beside it
 * later; a folder that is damaged as a whole; file systems where fsync of a folder does not keep its names. */
#ifndef HR_TESTS_RECORDED_VOLUME_H
#define HR_TESTS_RECORDED_VOLUME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum recorded_freedom {
    RECORDED_DONE,
    RECORDED_SYNCED,
    RECORDED_ORDERED,
    RECORDED_FREE,
    RECORDED_TORN,
    RECORDED_FREEDOM_COUNT
};

/* One change of a file: bytes written, or, without bytes, its size set. */
struct recorded_change {
    uint64_t offset, size; /* `offset` of a cut: the new size */
    const unsigned char *bytes;
};

struct recorded_node {
    bool is_folder;
    struct recorded_change *changes;
    size_t change_count, change_capacity;
    size_t synced;         /* so many changes are durable */
    unsigned char *loaded; /* the bytes of its first change, where it stood first */
    char *made_as;         /* while a state is made: where it first got a name */
};

/* From then on `name` in `folder` stood for `node`, or for nothing. */
struct recorded_name {
    struct recorded_node *folder, *node;
    char *name;
    size_t call;
    bool is_synced, is_kept;
};

struct recorded_volume {
    struct recorded_node **nodes; /* the first is the root */
    struct recorded_name *names;
    size_t node_count, node_capacity, name_count, name_capacity;
    size_t calls; /* played so far */
    unsigned char *recording;
    size_t recording_size;
};

/* All of these end the program with a sentence when something is not as it must be: they serve tests. */

/* How many calls a recording holds. */
size_t recorded_calls_in(const char *recording);
/* The volume of FOLDER/`name`, where FOLDER is what was recorded below: as `before`, a copy of what stood there first
 * and durable (NULL: nothing), and then after so many calls of the recording. */
void recorded_volume_init(struct recorded_volume *volume, const char *recording, const char *name, const char *before,
                          size_t calls);
void recorded_volume_finish(struct recorded_volume *volume);

/* Makes the state that `seed` chooses in the empty folder `to`, and gives a number that tells it from others. */
uint64_t recorded_state_make(const struct recorded_volume *volume, enum recorded_freedom freedom, uint64_t seed,
                             const char *to);

/* A number below `below` from a row that is the same everywhere: splitmix64 (Steele, Lea, Flood, "Fast Splittable
 * Pseudorandom Number Generators", OOPSLA 2014). Starts with any state. */
struct recorded_chance {
    uint64_t state;
};
uint64_t recorded_draw(struct recorded_chance *chance, uint64_t below);

_Noreturn void recorded_refuse(const char *what, const char *path);

#endif
