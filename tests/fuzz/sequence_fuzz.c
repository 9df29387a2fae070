/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as the index of a place's sequences, sequences.csv and files.csv with a NUL between. What
 * was read is written, reads the same, and is written the same again. */
#include "base/path.h"
#include "fuzzing.h"
#include "platform/folder.h"
#include "sequence/sequence_index.h"

static bool is_one_component(const char *name)
{
    return hr__path_is_inside(name) && !strchr(name, '/');
}

static void check_index(const struct hr_sequence_index *index)
{
    for (size_t i = 0; i < index->folder_count; i++) {
        const struct hr_sequence_folder *folder = &index->folders[i];
        for (size_t column = 0; column < HR_INDEX_COLUMNS; column++)
            must(folder->columns[column] != NULL);
        must(is_one_component(folder->columns[HR_INDEX_NAME]));
        for (size_t k = 0; k < folder->file_count; k++) {
            const struct hr_sequence_file *file = &folder->files[k];
            must(is_one_component(file->name) && file->path && file->time && file->filled);
        }
    }
}

static void sort_index(struct hr_sequence_index *index)
{
    for (size_t i = 0; i < index->folder_count; i++)
        hr__sequence_folder_sort(&index->folders[i]);
    hr__sequence_index_sort(index);
}

/* Loads, writes, and gives both files as they then are. */
static bool pass(char *texts[2], size_t sizes[2], const struct hr_folder *folder)
{
    struct hr_sequence_index index = {0};
    struct hr_fault fault = {0};
    enum hr_status status = hr__sequence_index_load(&index, folder, &fault);
    must(fault.status == status && (!status || status == HR_MALFORMED));
    if (!status) {
        check_index(&index);
        sort_index(&index);
        must(hr__sequence_index_save(&index, folder, &fault) == HR_OK);
        texts[0] = fuzz_read(HR_INDEX_SEQUENCES, &sizes[0]);
        texts[1] = fuzz_read(HR_INDEX_FILES, &sizes[1]);
        must(texts[0] && texts[1]);
    }
    hr__sequence_index_finish(&index);
    return !status;
}

static void pass_twice(const struct hr_folder *folder)
{
    char *first[2], *second[2];
    size_t first_sizes[2], second_sizes[2];
    if (!pass(first, first_sizes, folder))
        return;
    must(pass(second, second_sizes, folder));
    for (size_t i = 0; i < 2; i++) {
        must(first_sizes[i] == second_sizes[i] && !memcmp(first[i], second[i], first_sizes[i]));
        free(first[i]), free(second[i]);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char files_header[] = "sequence,number,name,path,time,filled\n";
    struct fuzz_input input = {data, size};
    struct hr_folder folder;
    bool has_header = take_byte(&input) & 1;
    char *sequences = take_text(&input), *files = malloc(sizeof files_header + input.left);
    fuzz_begin_folder();
    must(files && hr__folder_open(&folder, fuzz_folder, NULL) == HR_OK);
    size_t head = has_header ? sizeof files_header - 1 : 0;
    memcpy(files, files_header, head);
    if (input.left)
        memcpy(files + head, input.at, input.left);
    fuzz_write(HR_INDEX_SEQUENCES, sequences, strlen(sequences));
    fuzz_write(HR_INDEX_FILES, files, head + input.left);
    pass_twice(&folder);
    hr__folder_close(&folder);
    free(sequences), free(files);
    return 0;
}
