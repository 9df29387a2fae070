/* SPDX-License-Identifier: ISC */
/* Where a power cut may tear a rename apart, so that neither name stands for the file any more, a file leaves by way of
 * a copy: this is read back and compared, gets its name, and only once that is durable does the file go from where it
 * stood, durably again before the next copy may take its room.
 *
 * FAT may be left with two names over the same clusters, which no program can mend: it is to be checked first. */
#include <stdlib.h>
#include <string.h>

#include "bag/giving.h"
#include "base/fault.h"
#include "base/path.h"
#include "platform/folder_copy.h"
#include "platform/machine.h"
#include "platform/medium_read.h"

enum { BLOCK_BYTES = 1 << 20 };

struct reading {
    struct hr_hasher *hasher;
    unsigned char *block;
};

static enum hr_status digest_whole(void *context, uint64_t *size_bytes, const struct hr_file *file,
                                   struct hr_fault *fault)
{
    struct reading *reading = context;
    size_t got = BLOCK_BYTES;
    *size_bytes = 0;
    hr_hasher_restart(reading->hasher);
    while (got == BLOCK_BYTES) {
        enum hr_status status = hr__file_read_at(&got, file, reading->block, BLOCK_BYTES, *size_bytes, fault);
        if (status)
            return status;
        hr_hasher_update(reading->hasher, reading->block, got);
        *size_bytes += got;
    }
    return HR_OK;
}

/* Does the file at `path` hold what the bag's manifest says? HR_DIFFERS. */
static enum hr_status prove(const struct hr_giving *giving, const char *path, const struct hr_bag_file *listed)
{
    struct reading reading = {.block = hr__aligned_alloc(BLOCK_BYTES)};
    const struct hr_medium_read wanted = {
        .folder = &giving->beside, .path = path, .shown = path, .read = digest_whole, .context = &reading};
    enum hr_proof proof;
    enum hr_status status = reading.block ? HR_OK : HR_NOMEM;
    if (!status)
        status = hr_hasher_create(&reading.hasher, HR_DIGEST_XXH128, NULL);
    if (!status)
        status = hr__medium_read(&proof, &wanted, NULL);
    if (!status) {
        struct hr_digest digest = hr_hasher_finish(reading.hasher);
        status = hr_digest_equal(&digest, &listed->xxh128) ? HR_OK : HR_DIFFERS;
    }
    hr_hasher_destroy(reading.hasher);
    hr__aligned_free(reading.block);
    return status;
}

static enum hr_status put_copy(const struct hr_giving *giving, const char *from, const char *part, const char *to,
                               const struct hr_bag_file *listed)
{
    enum hr_status status = hr__folder_copy(&giving->beside, from, part, listed->size_bytes, HR_COPY_BYTES, NULL);
    if (status)
        return status;
    status = prove(giving, part, listed);
    if (!status)
        status = hr__folder_rename(&giving->beside, part, to, NULL);
    if (status)
        hr__folder_remove(&giving->beside, part, NULL);
    return status;
}

static enum hr_status sync_folder_of(const struct hr_giving *giving, const char *path)
{
    char *folder = strndup(path, hr__path_folder_length(path));
    enum hr_status status = folder ? hr__folder_sync(&giving->beside, folder, NULL) : HR_NOMEM;
    free(folder);
    return status;
}

/* Once it is removed it has left, whatever syncing that says: at worst a power cut brings its name back, and it stands
 * twice. */
static enum hr_status let_go(const struct hr_giving *giving, const char *from, const char *to)
{
    enum hr_status status = hr__folder_sync_name(&giving->beside, to, NULL);
    if (!status)
        status = hr__folder_remove(&giving->beside, from, NULL);
    if (!status)
        (void)sync_folder_of(giving, from);
    return status;
}

enum hr_status hr__giving_carry(const struct hr_giving *giving, const char *from, const char *to,
                                const struct hr_bag_file *listed)
{
    struct hr_file_facts there;
    char *part = hr__path_part(to);
    if (!part)
        return HR_NOMEM;
    hr__folder_remove(&giving->beside, part, NULL); /* of a run that was cut off */
    enum hr_status status = hr__folder_facts(&there, &giving->beside, to, NULL);
    bool is_new = status == HR_NOT_FOUND;
    if (is_new)
        status = put_copy(giving, from, part, to, listed);
    else if (!status)
        status = prove(giving, to, listed);
    if (status == HR_DIFFERS && !is_new)
        status = HR_EXISTS; /* something else */
    free(part);
    return status ? status : let_go(giving, from, to);
}
