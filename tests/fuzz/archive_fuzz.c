/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as a card that is an archive: walked, read twice, its ratings and twins looked for. The
 * first byte chooses whether the check sums of what looks like tar headers are put right; the rest is the archive. */
#include <headrace/card.h>

#include "base/path.h"
#include "card/clash.h"
#include "fuzzing.h"
#include "platform/machine.h"
#include "platform/volume.h"

enum { PIECE_BYTES = 1 << 16, PIECES_MAX = 16, FILES_MAX = 64, BLOCK_BYTES = 512 };

/* The volume is not what is looked at: asking for it each time would take longer than all the rest. */
const struct hr_system_roots hr__system_roots = {0};

enum hr_status hr__volume_of(struct hr_volume *out, const char *path, const struct hr_system_roots *roots,
                             struct hr_fault *fault)
{
    (void)path, (void)roots, (void)fault;
    *out = (struct hr_volume){.device = 1};
    return HR_OK;
}

void hr__volume_finish(struct hr_volume *volume)
{
    (void)volume;
}

/* libarchive asks for as much memory as an image says a folder of it takes, up to 8 GiB: past this it gets none. All
 * else has no reason to ask for so much. */
const char *__asan_default_options(void);
const char *__asan_default_options(void)
{
    return "max_allocation_size_mb=512:allocator_may_return_null=1";
}

static bool may_lack_memory;

static void mend_sums(uint8_t *archive, size_t size)
{
    for (size_t at = 0; at + BLOCK_BYTES <= size; at += BLOCK_BYTES) {
        unsigned sum = 0;
        if (memcmp(archive + at + 257, "ustar", 5) != 0)
            continue;
        memset(archive + at + 148, ' ', 8);
        for (size_t i = 0; i < BLOCK_BYTES; i++)
            sum += archive[at + i];
        for (size_t digit = 6; digit-- > 0; sum >>= 3)
            archive[at + 148 + digit] = (uint8_t)('0' + (sum & 7));
    }
}

static void write_archive(const uint8_t *data, size_t size)
{
    uint8_t *archive = (uint8_t *)copy_of(data + 1, size - 1);
    if (data[0] & 1)
        mend_sums(archive, size - 1);
    fuzz_write("card.archive", archive, size - 1);
    may_lack_memory = memmem(archive, size - 1, "CD001", 5) != NULL;
    free(archive);
}

/* ---- What holds of every card ---- */

static int by_clash(const void *left, const void *right)
{
    return hr__clash_compare(*(const char *const *)left, *(const char *const *)right);
}

static void check_paths(const struct hr_inventory *inventory)
{
    const char **paths = calloc(inventory->file_count + 1, sizeof *paths);
    must(paths != NULL);
    for (size_t i = 0; i < inventory->file_count; i++) {
        paths[i] = inventory->files[i].path;
        must(hr__path_is_inside(paths[i]));
    }
    qsort(paths, inventory->file_count, sizeof *paths, by_clash);
    for (size_t i = 1; i < inventory->file_count; i++)
        must(strcmp(paths[i - 1], paths[i]) != 0 && !hr__clash_is_folder_of(paths[i - 1], paths[i]));
    free(paths);
}

static void check_inventory(const struct hr_inventory *inventory)
{
    uint64_t total = 0;
    size_t next = 0;
    check_paths(inventory);
    for (size_t f = 0; f < inventory->frame_count; f++) {
        must(inventory->frames[f].first_file == next && inventory->frames[f].file_count > 0);
        for (uint32_t i = 0; i < inventory->frames[f].file_count; i++)
            must(inventory->files[next++].frame == f);
    }
    must(next == inventory->file_count);
    for (size_t i = 0; i < inventory->file_count; i++)
        total += inventory->files[i].size_bytes;
    must(total == inventory->total_bytes);
    for (size_t i = 0; i < inventory->skip_count; i++)
        must(*hr_card_skip_text(inventory->skips[i].reason) && inventory->skips[i].path != NULL);
}

/* A sum of the file's first bytes, or of all; *is_whole when it was read to its end. */
static enum hr_status read_file(uint64_t *sum, bool *is_whole, struct hr_card_reader *reader,
                                const struct hr_card_file *file, bool past_cache, unsigned char *piece)
{
    struct hr_fault fault = {0};
    size_t got = PIECE_BYTES;
    uint64_t read = 0;
    enum hr_status status = hr_card_reader_start(reader, file, past_cache, &fault);
    for (int i = 0; i < PIECES_MAX && !status && got == PIECE_BYTES; i++) {
        status = hr_card_reader_read(&got, reader, piece, PIECE_BYTES, &fault);
        for (size_t at = 0; at < got; at++)
            *sum = *sum * 31 + piece[at];
        read += got;
    }
    *is_whole = !status && got < PIECE_BYTES;
    if (*is_whole)
        status = hr_card_reader_end(reader, &fault);
    must(fault.status == status && (status || !*is_whole || read == file->size_bytes));
    return status;
}

static void read_twice(const struct hr_card *card, const struct hr_inventory *inventory)
{
    struct hr_card_reader *reader = NULL;
    unsigned char *piece = hr__aligned_alloc(PIECE_BYTES);
    uint32_t *order = NULL;
    must(hr_card_reader_open(&reader, card, NULL) == HR_OK);
    must(hr_inventory_order(&order, inventory, card, NULL, 0, NULL) == HR_OK);
    for (size_t i = 0; i < inventory->file_count && i < FILES_MAX; i++) {
        const struct hr_card_file *file = &inventory->files[order[i]];
        uint64_t sums[2] = {0};
        bool are_whole[2];
        enum hr_status first = read_file(&sums[0], &are_whole[0], reader, file, false, piece);
        enum hr_status second = read_file(&sums[1], &are_whole[1], reader, file, true, piece);
        must(first == second && are_whole[0] == are_whole[1] && (first || sums[0] == sums[1]));
    }
    free(order);
    hr__aligned_free(piece);
    hr_card_reader_close(reader);
}

static void look_at(const struct hr_card *card)
{
    struct hr_inventory *inventory = NULL;
    struct hr_name_twin *twins = NULL;
    struct hr_fault fault = {0};
    size_t count = 0;
    enum hr_status status = hr_inventory_create(&inventory, card, NULL, &fault);
    must(fault.status == status && !inventory == (status != HR_OK));
    must(!status || status == HR_MALFORMED || status == HR_TOO_LARGE || (may_lack_memory && status == HR_NOMEM));
    if (status)
        return;
    check_inventory(inventory);
    must(hr_inventory_twins(&twins, &count, inventory, NULL) == HR_OK);
    free(twins);
    read_twice(card, inventory);
    if (inventory->file_count < FILES_MAX)
        must(hr_inventory_read_ratings(inventory, card, NULL, NULL, NULL) == HR_OK);
    hr_inventory_destroy(inventory);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct hr_card *card = NULL;
    struct hr_fault fault = {0};
    if (size == 0)
        return 0;
    fuzz_begin_folder();
    write_archive(data, size);
    enum hr_status status = hr_card_open(&card, fuzz_path("card.archive"), &fault);
    must(fault.status == status && (!status || status == HR_UNSUPPORTED || (may_lack_memory && status == HR_NOMEM)));
    if (!status)
        look_at(card);
    hr_card_close(card);
    return 0;
}
