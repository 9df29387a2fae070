/* SPDX-License-Identifier: ISC */
/* Copies are asked of a place's drive some way ahead of the one that is read back: asked for one thing at a time, the
 * drive would be idle for the way there and back of each. */
#ifndef HR_TRANSFER_FETCH_AHEAD_H
#define HR_TRANSFER_FETCH_AHEAD_H

#include "transfer/read_back.h"

enum { HR_FETCH_AHEAD_BYTES = 4 << 20 }; /* in no more stretches than HR_ASYNC_READS_MAX */

struct hr_fetch_span {
    size_t begin, end;
};

/* A whole block of a copy, or its end, on its way. Its place in the ring is its number in hr_async_reads. */
struct hr_fetch_stretch {
    struct hr_fetch_span span; /* of the memory */
    uint64_t size;
    bool is_from_device;
};

struct hr_fetch_copy {
    struct hr_file file; /* closed: this one has to be read the plain way */
    char *path;
    uint64_t size, asked;
    size_t stretches; /* under way */
};

/* The first copies of the list that is read back, and the stretches of them that are under way: both in its order, and
 * each a ring. */
struct hr_fetch_ahead {
    struct hr_read_back *read_back;
    const struct hr_copy_list *list;
    unsigned char *memory;
    struct hr_place_folder at;
    struct hr_fetch_copy copies[HR_ASYNC_READS_MAX];
    size_t first_copy, copy_count;
    struct hr_fetch_stretch stretches[HR_ASYNC_READS_MAX];
    size_t first_stretch, stretch_count;
    uint64_t under_way; /* bytes */
};

/* Room for `size` bytes behind `newest`, in a ring of HR_FETCH_AHEAD_BYTES in which all from `oldest` to `newest` is
 * taken; both NULL: nothing is. False when there is none. A span never goes over the end, and a ring is never quite
 * full, or the newest would seem to stand before the oldest. */
bool hr__fetch_span_find(struct hr_fetch_span *out, const struct hr_fetch_span *oldest,
                         const struct hr_fetch_span *newest, size_t size);

/* HR_NOMEM; finish it in any case. `read_back` is ready when the first copy is taken. */
HR_MUST_USE enum hr_status hr__fetch_ahead_init(struct hr_fetch_ahead *ahead, struct hr_read_back *read_back,
                                                const struct hr_copy_list *list, struct hr_fault *fault);
void hr__fetch_ahead_finish(struct hr_fetch_ahead *ahead);

/* The digest of the list's first copy, which is about to be popped, as proven as HR_PROOF_DIRECT says. False: it did
 * not come whole, or not for sure from the drive, and hr__read_back_file says what it is. */
bool hr__fetch_ahead_take(struct hr_digest *digest, struct hr_fetch_ahead *ahead);
/* Lets go of all that was asked for. */
void hr__fetch_ahead_drop(struct hr_fetch_ahead *ahead);

#endif
