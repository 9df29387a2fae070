/* SPDX-License-Identifier: ISC */
#include "transfer/read_back.h"

#include "base/fault.h"
#include "base/units.h"
#include "platform/clock.h"
#include "platform/machine.h"

enum hr_status hr__read_back_init(struct hr_read_back *read_back, struct hr_fault *fault)
{
    *read_back = (struct hr_read_back){.buffer = hr__aligned_alloc(HR_BLOCK_BYTES)};
    if (!read_back->buffer)
        return hr__fault_nomem(fault, "the read-back");
    return hr_hasher_create(&read_back->hasher, HR_DIGEST_XXH128, fault);
}

void hr__read_back_finish(struct hr_read_back *read_back)
{
    hr__aligned_free(read_back->buffer);
    hr_hasher_destroy(read_back->hasher);
}

static void wait_for_turn(struct hr_place *place)
{
    hr__lock_take(&place->lock);
    for (;;) {
        int64_t now_ns = hr__clock_now_ns();
        if (place->input_has_ended || hr__place_has_failed(place) || hr_cancel_requested(place->engine->cancel) ||
            hr__pace_may_read_back(&place->pace, atomic_load(&place->is_writing), now_ns))
            break;
        hr__signal_wait_until(&place->changed, &place->lock, now_ns + HR_NS_PER_S / 10);
    }
    hr__lock_drop(&place->lock);
}

/* One reading. *counted: bytes the kernel says this thread fetched from devices meanwhile. */
static enum hr_status read_whole(struct hr_digest *digest, uint64_t *counted, struct hr_read_back *read_back,
                                 struct hr_place *place, const struct hr_file *file, uint64_t size,
                                 struct hr_fault *fault)
{
    uint64_t before = 0, after = 0, offset = 0;
    bool counts = hr__thread_read_bytes(&before);
    enum hr_status status = HR_OK;
    size_t got = HR_BLOCK_BYTES;
    hr_hasher_restart(read_back->hasher);
    while (!status && got == HR_BLOCK_BYTES && offset <= size) {
        wait_for_turn(place);
        if (hr_cancel_requested(place->engine->cancel))
            return HR_CANCELLED;
        atomic_store(&place->is_reading_back, true);
        status = hr__file_read_at(&got, file, read_back->buffer, HR_BLOCK_BYTES, offset, fault);
        atomic_store(&place->is_reading_back, false);
        if (status)
            return status;
        hr_hasher_update(read_back->hasher, read_back->buffer, got);
        offset += got;
        atomic_fetch_add(&place->read_back_bytes, got);
    }
    *counted = counts && hr__thread_read_bytes(&after) ? after - before : 0;
    *digest = hr_hasher_finish(read_back->hasher);
    if (offset != size)
        return hr__fault_set(fault, HR_DIFFERS, 0, "%s: reads back with another size than was written", file->path);
    return HR_OK;
}

static enum hr_status read_evicted(struct hr_digest *digest, enum hr_proof *proof, struct hr_read_back *read_back,
                                   struct hr_place *place, const char *path, uint64_t size, struct hr_fault *fault)
{
    struct hr_file file;
    uint64_t resident = 0, counted = 0;
    enum hr_status status = hr__file_open(&file, &place->root, path, HR_FILE_READ, false, path, fault);
    if (status)
        return status;
    hr__file_drop_cache(&file);
    bool is_gone = !hr__file_resident_bytes(&resident, &file, size, NULL) && resident == 0;
    status = read_whole(digest, &counted, read_back, place, &file, size, fault);
    *proof = is_gone && counted >= size ? HR_PROOF_EVICTED : HR_PROOF_CACHE;
    (void)hr__file_close(&file, NULL);
    return status;
}

enum hr_status hr__read_back_file(struct hr_digest *digest, enum hr_proof *proof, struct hr_read_back *read_back,
                                  struct hr_place *place, const char *path, uint64_t size, struct hr_fault *fault)
{
    struct hr_file file;
    uint64_t counted = 0;
    *proof = HR_PROOF_CACHE;
    enum hr_status status = hr__file_open(&file, &place->root, path, HR_FILE_READ, true, path, fault);
    if (status)
        return status;
    bool is_direct = file.direct;
    if (is_direct || !place->is_counted)
        status = read_whole(digest, &counted, read_back, place, &file, size, fault);
    (void)hr__file_close(&file, NULL);
    if (status || !place->is_counted)
        return status;
    if (is_direct && counted >= size)
        *proof = HR_PROOF_DIRECT;
    else
        status = read_evicted(digest, proof, read_back, place, path, size, fault);
    return status;
}
