/* SPDX-License-Identifier: ISC */
/* What the prover's thread fetches while it waits for its turn proves nothing of the copy it is reading. */
#include "transfer/read_back.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "platform/machine.h"
#include "platform/volume.h"
#include "suite.h"

enum { SIZE = 1 << 20 };

struct ground {
    char scratch[64];
    struct hr_folder folder;
    struct hr_place place;
    struct hr_read_back read_back;
    unsigned char *block;
};

static bool read_another(void *context)
{
    struct ground *ground = context;
    struct hr_file file;
    size_t got;
    ck_assert_int_eq(hr__file_open(&file, &ground->folder, "another", HR_FILE_READ, false, "another", NULL), HR_OK);
    hr__file_drop_cache(&file);
    ck_assert_int_eq(hr__file_read_at(&got, &file, ground->block, SIZE, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    return true;
}

/* Zeros, which a hole answers for without asking the drive. */
static void make(struct ground *ground, const char *name, bool is_hole)
{
    struct hr_file file;
    ck_assert_int_eq(hr__file_open(&file, &ground->folder, name, HR_FILE_CREATE, false, name, NULL), HR_OK);
    memset(ground->block, 0, SIZE);
    if (!is_hole)
        ck_assert_int_eq(hr__file_write_at(&file, ground->block, SIZE, 0, NULL), HR_OK);
    ck_assert_int_eq(hr__file_truncate(&file, SIZE, NULL), HR_OK);
    ck_assert_int_eq(hr__file_sync(&file, NULL), HR_OK);
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
}

static void ground_begin(struct ground *ground)
{
    struct hr_volume volume;
    *ground = (struct ground){.scratch = "read-back-XXXXXX", .block = hr__aligned_alloc(SIZE)};
    ck_assert_ptr_nonnull(mkdtemp(ground->scratch));
    ck_assert_int_eq(hr__folder_open(&ground->folder, ground->scratch, NULL), HR_OK);
    ck_assert_int_eq(hr__volume_of(&volume, ground->scratch, &hr__system_roots, NULL), HR_OK);
    ground->place.is_counted = hr__volume_is_counted(&volume);
    hr__volume_finish(&volume);
    ground->read_back = (struct hr_read_back){.place = &ground->place, .take_turn = read_another, .context = ground};
    ck_assert_int_eq(hr__read_back_init(&ground->read_back, NULL), HR_OK);
    make(ground, "another", false);
}

static void ground_end(struct ground *ground)
{
    static const char *const names[] = {"another", "file", "hole"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        (void)hr__folder_remove(&ground->folder, names[i], NULL);
    hr__folder_close(&ground->folder);
    ck_assert_int_eq(rmdir(ground->scratch), 0);
    hr__read_back_finish(&ground->read_back);
    hr__aligned_free(ground->block);
}

static enum hr_proof proof_of(struct ground *ground, const char *name)
{
    struct hr_digest digest;
    enum hr_proof proof;
    ck_assert_int_eq(hr__read_back_file(&digest, &proof, &ground->read_back, &ground->folder, name, SIZE, NULL), HR_OK);
    return proof;
}

START_TEST(counts_nothing_that_was_fetched_for_another_file)
{
    struct ground ground;
    ground_begin(&ground);
    uint64_t bytes;
    bool can_show = ground.place.is_counted && hr__fetch_count_read(&bytes, &ground.read_back.count);
    make(&ground, "file", false);
    make(&ground, "hole", true);
    ck_assert_int_eq(proof_of(&ground, "file"), can_show ? HR_PROOF_DIRECT : HR_PROOF_CACHE);
    ck_assert_int_eq(proof_of(&ground, "hole"), HR_PROOF_CACHE);
    ground_end(&ground);
}
END_TEST

HR_SUITE("transfer/read_back", counts_nothing_that_was_fetched_for_another_file)
