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

/* Opens `path` (from place->root), which stands in the open `folder`, for who asks for it ahead; see
 * hr__medium_open_to_ask. */
bool hr__read_back_open_to_ask(struct hr_file *file, const struct hr_read_back *read_back,
                               const struct hr_folder *folder, const char *path);

/* Reads it whole, as platform/medium_read.h does and says in *proof. HR_DIFFERS when it is not `size` bytes long;
 * HR_CANCELLED when asked to stop. */
HR_MUST_USE enum hr_status hr__read_back_file(struct hr_digest *digest, enum hr_proof *proof,
                                              struct hr_read_back *read_back, const struct hr_folder *folder,
                                              const char *path, uint64_t size, struct hr_fault *fault);

#endif
