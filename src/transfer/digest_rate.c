/* SPDX-License-Identifier: ISC */
#include <string.h>

#include "base/units.h"
#include "platform/clock.h"
#include "platform/machine.h"
#include "transfer/engine.h"

/* A block warms up, the best of the next ones counts: whatever else runs only makes it slower. On a processor that makes
 * 100 MB/s one block takes 10 ms, so that all of it ends within 50 ms on any that is fit for the job. */
enum { BLOCKS = 4 };
static const int64_t enough_ns = 30 * (HR_NS_PER_S / 1000);

static int64_t time_block(struct hr_hasher *hasher, const unsigned char *bytes)
{
    int64_t began_ns = hr__clock_now_ns();
    hr_hasher_restart(hasher);
    hr_hasher_update(hasher, bytes, HR_BLOCK_BYTES);
    (void)hr_hasher_finish(hasher);
    return hr__clock_now_ns() - began_ns;
}

static double best_rate(struct hr_hasher *hasher, const unsigned char *bytes)
{
    int64_t began_ns = hr__clock_now_ns(), best_ns = INT64_MAX;
    for (int i = 0; i < BLOCKS && hr__clock_now_ns() - began_ns < enough_ns; i++) {
        int64_t took_ns = time_block(hasher, bytes);
        if (took_ns < best_ns)
            best_ns = took_ns;
    }
    return best_ns > 0 ? (double)HR_BLOCK_BYTES * 1e9 / (double)best_ns : 0;
}

double hr_transfer_digest_bytes_per_s(void)
{
    struct hr_hasher *hasher = NULL;
    unsigned char *bytes = hr__aligned_alloc(HR_BLOCK_BYTES);
    double rate = 0;
    if (bytes && !hr_hasher_create(&hasher, HR_DIGEST_SHA256, NULL)) {
        memset(bytes, 0x5a, HR_BLOCK_BYTES);
        rate = best_rate(hasher, bytes) * (double)hr__digest_worker_count();
    }
    hr_hasher_destroy(hasher);
    hr__aligned_free(bytes);
    return rate;
}
