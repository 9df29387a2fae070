/* SPDX-License-Identifier: ISC */
/* One place of a run: a writer thread that puts pieces into `.NAME.part` files, and a prover thread that makes them
 * durable, reads them back, and gives them their final names. Copies pass through three lists: written -> durable ->
 * renamed, and are settled when the rename is durable. */
#ifndef HR_TRANSFER_PLACE_H
#define HR_TRANSFER_PLACE_H

#include <stdatomic.h>

#include "platform/folder.h"
#include "platform/thread.h"
#include "transfer/engine.h"
#include "transfer/pace.h"

/* The folder of the last copy that was asked for, kept open: the next one mostly stands in the same. For one thread. */
struct hr_place_folder {
    struct hr_folder folder;
    char *path; /* from the place's root; NULL: none is open */
};
#define HR_PLACE_FOLDER_CLOSED ((struct hr_place_folder){.folder = {.descriptor = -1}})

/* A copy between its last written byte and its settling. */
struct hr_pending_copy {
    struct hr_pending_copy *next;
    uint32_t item;
    unsigned epoch;  /* the place's sync_epoch before its first byte was written */
    bool is_adopted; /* stands under its final name already */
    uint8_t proof;
    unsigned char xxh128[HR_XXH128_BYTES]; /* what it must be; bare, since all files of a card may wait here */
};

struct hr_copy_list {
    struct hr_pending_copy *first, *last;
    size_t count;
    uint64_t bytes;
};

struct hr_place {
    struct hr_engine *engine; /* set once, as all down to the threads */
    struct hr_transfer_sink *sink;
    uint8_t index;
    struct hr_folder root; /* holds the landings of all cards */
    size_t root_length;    /* of a landing's path, what stands before its path from root */
    uint64_t wanted_bytes; /* in this pass; set between passes */
    bool is_counted;       /* hr__volume_is_counted */
    bool
        syncs_each_file; /* syncing the volume promises nothing here (FUSE, network): every file and folder by itself */
    struct hr_piece_queue queue;
    struct hr_thread writer, prover;

    atomic_bool has_failed;
    atomic_bool is_reading_back, is_writing;
    atomic_uint io_failures; /* in a row */
    struct hr_counter written, durable, proven;
    atomic_uint_least64_t read_back_bytes;

    struct hr_lock lock;
    struct hr_signal changed;
    /* guarded by lock */
    struct hr_copy_list waiting; /* written, not durable yet */
    uint64_t handed_bytes;       /* in this pass, to the prover */
    uint64_t cached_bytes;       /* of `waiting`, of small files: written to the page cache, not to the drive */
    int64_t waiting_since_ns;
    int64_t idle_since_ns, idle_ns; /* of the writer: 0: it is busy; in all until then */
    bool input_has_ended;
    unsigned sync_epoch; /* grows with every failed sync: whatever was begun before is lost */
    struct hr_pace pace;
};

/* HR_NOT_FOUND, HR_DENIED, HR_NOMEM ...: the place cannot be used. Finish takes a zeroed or half-made place. */
HR_MUST_USE enum hr_status hr__place_init(struct hr_place *place, struct hr_engine *engine, size_t index,
                                          struct hr_fault *fault);
void hr__place_finish(struct hr_place *place);
/* A new pass begins: queues and lists are empty, threads not running. */
void hr__place_rewind(struct hr_place *place);

/* The place takes no more; whatever is still wanted there stays wanted. The first cause is told. */
void hr__place_fail(struct hr_place *place, const struct hr_fault *fault);
bool hr__place_has_failed(const struct hr_place *place);
/* Failed, or the run is called off. */
bool hr__place_is_stopped(const struct hr_place *place);
/* What does a failure with `status` mean for the place as a whole? Full, read-only, gone, or the third input-output
 * error in a row: it fails. */
void hr__place_judge(struct hr_place *place, enum hr_status status, const struct hr_fault *fault);
/* One copy failed and may be tried anew. On a place that failed as a whole it stays wanted instead: a re-run makes it.
 */
void hr__place_copy_failed(struct hr_place *place, uint32_t item, bool was_durable, const struct hr_fault *fault);

/* Opens the folder of `path`, which is from the place's root; with `make` it is made where it is missing. */
HR_MUST_USE enum hr_status hr__place_folder_enter(struct hr_place_folder *at, const struct hr_place *place,
                                                  const char *path, bool make, struct hr_fault *fault);
void hr__place_folder_leave(struct hr_place_folder *at);

/* Written past the page cache, where the filesystem takes that. */
bool hr__place_writes_direct(const struct hr_place *place, uint32_t item);

/* So many bytes make it worth a sync. Towards the end less do: what comes last is all that is waited for. */
uint64_t hr__place_batch_bytes_locked(const struct hr_place *place);
bool hr__place_batch_is_full_locked(const struct hr_place *place);
/* Small files, which the page cache takes faster than the drive does, have to wait for the sync. */
bool hr__place_cache_is_full_locked(const struct hr_place *place);
/* As the pace says; the end of the input ends all yielding, for nothing is left to yield to. */
bool hr__place_may_read_back_locked(struct hr_place *place, int64_t now_ns);

/* With how many dots a component of `path` begins that ends as temporary names do, however spelt, for a place may take
 * .PART for .part; of several the most; 0 when there is none. */
unsigned hr__part_dots(const char *path);
/* Paths from `root`, owned by the caller; NULL when memory is out. */
char *hr__place_final_path(const struct hr_place *place, uint32_t item);
char *hr__place_part_path(const struct hr_place *place, uint32_t item);
char *hr__place_aside_path(const struct hr_place *place, uint32_t item, unsigned number);

/* A copy that is not what it must be is moved out of the bag, where it can be looked at. Always HR_DIFFERS; the fault
 * says `what` is wrong with it and where it went. */
enum hr_status hr__place_set_aside(struct hr_place *place, uint32_t item, const char *path, const char *what,
                                   struct hr_fault *fault);

void hr__copy_list_push(struct hr_copy_list *list, struct hr_pending_copy *copy, uint64_t bytes);
struct hr_pending_copy *hr__copy_list_pop(struct hr_copy_list *list, const struct hr_transfer_item *items);
/* Moves all of `from` to the end of `to`. */
void hr__copy_list_move(struct hr_copy_list *to, struct hr_copy_list *from);

#endif
