/* SPDX-License-Identifier: ISC */
/* Reading a copy back and knowing where the bytes came from. */
#ifndef HR_TRANSFER_READ_BACK_H
#define HR_TRANSFER_READ_BACK_H

#include "platform/medium_read.h"
#include "transfer/place.h"

/* Memory and a hasher for one prover. */
struct hr_read_back {
    struct hr_place *place;
    bool (*take_turn)(void *context); /* before each block: waits as long as reading has to; false: stop */
    void *context;
    unsigned char *buffer;
    struct hr_hasher *hasher;
    struct hr_fetch_count count;
    struct hr_async_reads reads;
};
/* On the thread that will read, with the first three members set. */
HR_MUST_USE enum hr_status hr__read_back_init(struct hr_read_back *read_back, struct hr_fault *fault);
void hr__read_back_finish(struct hr_read_back *read_back);

/* Asks the place's drive for `path` (from place->root), which stands in the open `folder`; see hr__medium_fetch. */
void hr__read_back_fetch(struct hr_medium_fetch *fetch, const struct hr_read_back *read_back,
                         const struct hr_folder *folder, const char *path, const struct hr_medium_room *room);
/* The digest of what was fetched, which is over then; false: what came was not the whole, and is to be read. */
bool hr__read_back_fetched(struct hr_digest *digest, struct hr_read_back *read_back, struct hr_medium_fetch *fetch);

/* Reads it whole, as platform/medium_read.h does and says in *proof. HR_DIFFERS when it is not `size` bytes long;
 * HR_CANCELLED when asked to stop. */
HR_MUST_USE enum hr_status hr__read_back_file(struct hr_digest *digest, enum hr_proof *proof,
                                              struct hr_read_back *read_back, const struct hr_folder *folder,
                                              const char *path, uint64_t size, struct hr_fault *fault);

#endif
