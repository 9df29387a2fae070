/* SPDX-License-Identifier: ISC */
#include "bag/block_digester.h"

#include "base/fault.h"
#include "platform/machine.h"

static unsigned char *block(const struct hr_block_digester *digester, size_t index)
{
    return digester->memory + index * HR_DIGESTER_BLOCK_BYTES;
}

static void update(struct hr_block_digester *digester, const unsigned char *bytes, size_t size)
{
    for (size_t kind = 0; kind < HR_DIGEST_KIND_COUNT; kind++)
        if (digester->hashers[kind])
            hr_hasher_update(digester->hashers[kind], bytes, size);
}

static void run(void *argument)
{
    struct hr_block_digester *digester = argument;
    hr__lock_take(&digester->lock);
    for (;;) {
        while (digester->queued == 0 && !digester->closed)
            hr__signal_wait(&digester->changed, &digester->lock);
        if (digester->queued == 0)
            break;
        size_t index = (digester->next + HR_DIGESTER_BLOCKS - digester->queued) % HR_DIGESTER_BLOCKS;
        size_t size = digester->sizes[index];
        hr__lock_drop(&digester->lock);
        update(digester, block(digester, index), size);
        hr__lock_take(&digester->lock);
        digester->queued--;
        hr__signal_all(&digester->changed);
    }
    hr__lock_drop(&digester->lock);
}

enum hr_status hr__block_digester_init(struct hr_block_digester *digester, unsigned kinds, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    *digester = (struct hr_block_digester){.memory = hr__aligned_alloc(HR_DIGESTER_BLOCKS * HR_DIGESTER_BLOCK_BYTES)};
    hr__lock_init(&digester->lock);
    hr__signal_init(&digester->changed);
    if (!digester->memory)
        status = hr__fault_nomem(fault, "reading a bag");
    for (unsigned kind = 1; kind < HR_DIGEST_KIND_COUNT && !status; kind++)
        if (kinds & 1u << kind)
            status = hr_hasher_create(&digester->hashers[kind], (enum hr_digest_kind)kind, fault);
    return status ? status : hr__thread_start(&digester->thread, "digest", run, digester, fault);
}

void hr__block_digester_finish(struct hr_block_digester *digester)
{
    hr__lock_take(&digester->lock);
    digester->closed = true;
    hr__signal_all(&digester->changed);
    hr__lock_drop(&digester->lock);
    hr__thread_join(&digester->thread);
    for (size_t kind = 0; kind < HR_DIGEST_KIND_COUNT; kind++)
        hr_hasher_destroy(digester->hashers[kind]);
    hr__aligned_free(digester->memory);
    hr__signal_finish(&digester->changed);
    hr__lock_finish(&digester->lock);
}

void hr__block_digester_begin(struct hr_block_digester *digester)
{
    for (size_t kind = 0; kind < HR_DIGEST_KIND_COUNT; kind++)
        if (digester->hashers[kind])
            hr_hasher_restart(digester->hashers[kind]);
}

/* Until at most `queued` blocks wait. */
static void wait_for_thread(struct hr_block_digester *digester, size_t queued)
{
    hr__lock_take(&digester->lock);
    while (digester->queued > queued)
        hr__signal_wait(&digester->changed, &digester->lock);
    hr__lock_drop(&digester->lock);
}

unsigned char *hr__block_digester_buffer(struct hr_block_digester *digester)
{
    wait_for_thread(digester, HR_DIGESTER_BLOCKS - 1);
    return block(digester, digester->next);
}

void hr__block_digester_push(struct hr_block_digester *digester, size_t size)
{
    hr__lock_take(&digester->lock);
    /* The only block of a small file has no reading to overlap with: waking the thread would cost more than it saves.
     */
    bool is_alone = digester->queued == 0 && size < HR_DIGESTER_BLOCK_BYTES;
    if (is_alone) {
        hr__lock_drop(&digester->lock);
        update(digester, block(digester, digester->next), size);
        return;
    }
    digester->sizes[digester->next] = size;
    digester->next = (digester->next + 1) % HR_DIGESTER_BLOCKS;
    digester->queued++;
    hr__signal_all(&digester->changed);
    hr__lock_drop(&digester->lock);
}

void hr__block_digester_end(struct hr_digest digests[HR_DIGEST_KIND_COUNT], struct hr_block_digester *digester)
{
    wait_for_thread(digester, 0);
    for (size_t kind = 0; kind < HR_DIGEST_KIND_COUNT; kind++)
        digests[kind] = digester->hashers[kind] ? hr_hasher_finish(digester->hashers[kind]) : (struct hr_digest){0};
}
