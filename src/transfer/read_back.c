/* SPDX-License-Identifier: ISC */
#include "transfer/read_back.h"

#include "base/fault.h"
#include "base/path.h"
#include "platform/machine.h"

/* One read at a time keeps a drive busy only when it is long beside the way to it and back; beside writing it is no
 * longer than a write, or it would get the larger share. */
enum { READ_BYTES = 4 << 20, READ_BYTES_BESIDE = HR_BLOCK_BYTES };

enum hr_status hr__read_back_init(struct hr_read_back *read_back, struct hr_fault *fault)
{
    read_back->buffer = hr__aligned_alloc(READ_BYTES);
    hr__fetch_count_open(&read_back->count);
    hr__async_reads_open(&read_back->reads);
    if (!read_back->buffer)
        return hr__fault_nomem(fault, "the read-back");
    return hr_hasher_create(&read_back->hasher, HR_DIGEST_XXH128, fault);
}

void hr__read_back_finish(struct hr_read_back *read_back)
{
    hr__async_reads_close(&read_back->reads);
    hr__fetch_count_close(&read_back->count);
    hr__aligned_free(read_back->buffer);
    hr_hasher_destroy(read_back->hasher);
}

struct reading {
    struct hr_read_back *read_back;
    uint64_t size; /* that it must have */
    struct hr_digest digest;
};

/* Not a whole block for a small file, because the kernel fills with zeros what is past the end. */
static size_t room_for(uint64_t left, bool is_beside_writing)
{
    size_t most = is_beside_writing ? READ_BYTES_BESIDE : READ_BYTES;
    return left < most ? hr__medium_room_for(left) : most;
}

/* While it waits the thread may sync, and what it fetches then is no part of the file. */
static bool take_turn(uint64_t *fetched, struct hr_read_back *read_back)
{
    uint64_t before = 0, after = 0;
    bool counts = read_back->place->is_counted && hr__fetch_count_read(&before, &read_back->count);
    bool may_read = read_back->take_turn(read_back->context);
    if (counts && hr__fetch_count_read(&after, &read_back->count))
        *fetched += after - before;
    return may_read;
}

static enum hr_status read_whole(void *context, uint64_t *fetched, const struct hr_file *file, struct hr_fault *fault)
{
    struct reading *reading = context;
    struct hr_read_back *read_back = reading->read_back;
    struct hr_place *place = read_back->place;
    uint64_t offset = 0;
    size_t got = 0, room = 0;
    *fetched = 0;
    hr_hasher_restart(read_back->hasher);
    while (got == room && offset <= reading->size) {
        if (!take_turn(fetched, read_back))
            return HR_CANCELLED;
        atomic_store(&place->is_reading_back, true);
        room = room_for(reading->size - offset, atomic_load(&place->is_writing));
        enum hr_status status = hr__file_read_at(&got, file, read_back->buffer, room, offset, fault);
        atomic_store(&place->is_reading_back, false);
        if (status)
            return status;
        hr_hasher_update(read_back->hasher, read_back->buffer, got);
        offset += got;
        *fetched += got;
        atomic_fetch_add(&place->read_back_bytes, got);
    }
    reading->digest = hr_hasher_finish(read_back->hasher);
    if (offset != reading->size)
        return hr__fault_about(fault, HR_DIFFERS, file->path, "reads back with another size than was written");
    return HR_OK;
}

static struct hr_medium_read wanted_of(const struct hr_read_back *read_back, const struct hr_folder *folder,
                                       const char *path)
{
    return (struct hr_medium_read){.folder = folder,
                                   .path = hr__path_last(path),
                                   .shown = path,
                                   .count = read_back->place->is_counted ? &read_back->count : NULL,
                                   .read = read_whole};
}

bool hr__read_back_open_to_ask(struct hr_file *file, const struct hr_read_back *read_back,
                               const struct hr_folder *folder, const char *path)
{
    struct hr_medium_read wanted = wanted_of(read_back, folder, path);
    return hr__medium_open_to_ask(file, &wanted);
}

enum hr_status hr__read_back_file(struct hr_digest *digest, enum hr_proof *proof, struct hr_read_back *read_back,
                                  const struct hr_folder *folder, const char *path, uint64_t size,
                                  struct hr_fault *fault)
{
    struct reading reading = {.read_back = read_back, .size = size};
    struct hr_medium_read wanted = wanted_of(read_back, folder, path);
    wanted.context = &reading;
    enum hr_status status = hr__medium_read(proof, &wanted, fault);
    *digest = reading.digest;
    return status;
}
