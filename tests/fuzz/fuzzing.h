/* SPDX-License-Identifier: ISC */
/* What the fuzz targets share: a claim that stops the fuzzer, bytes whose end the sanitizer watches, and a folder in
 * memory for what is read from files alone. */
#ifndef HR_TESTS_FUZZING_H
#define HR_TESTS_FUZZING_H

#include <fcntl.h>
#include <ftw.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define must(holds) ((holds) ? (void)0 : fuzz_fail(#holds, __FILE__, __LINE__))

static inline void fuzz_fail(const char *claim, const char *file, int line)
{
    fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, claim);
    abort();
}

/* NUL-terminated, and of exactly that size, so that the sanitizer sees a read past its end. */
static inline char *copy_of(const void *bytes, size_t size)
{
    char *copy = malloc(size + 1);
    must(copy != NULL);
    if (size)
        memcpy(copy, bytes, size);
    copy[size] = '\0';
    return copy;
}

/* The input, from its beginning; past its end zeros. */
struct fuzz_input {
    const uint8_t *at;
    size_t left;
};

static inline unsigned take_byte(struct fuzz_input *input)
{
    if (input->left == 0)
        return 0;
    input->left--;
    return *input->at++;
}

static inline uint64_t take_number(struct fuzz_input *input)
{
    uint64_t number = 0;
    for (size_t i = 0; i < sizeof number; i++)
        number = number << 8 | take_byte(input);
    return number;
}

/* Up to the next NUL, or to the end. The caller frees. */
static inline char *take_text(struct fuzz_input *input)
{
    const uint8_t *nul = input->left ? memchr(input->at, '\0', input->left) : NULL;
    size_t size = nul ? (size_t)(nul - input->at) : input->left;
    char *text = copy_of(input->at, size);
    input->at += size + (nul != NULL);
    input->left -= size + (nul != NULL);
    return text;
}

/* ---- A folder ---- */

static char fuzz_folder[64];

static inline const char *fuzz_path(const char *name)
{
    static char path[4096];
    snprintf(path, sizeof path, "%s%s%s", fuzz_folder, *name ? "/" : "", name);
    return path;
}

static inline int fuzz_remove(const char *path, const struct stat *facts, int type, struct FTW *place)
{
    (void)facts, (void)type;
    return place->level > 0 ? remove(path) : 0;
}

static inline void fuzz_empty_folder(void)
{
    must(nftw(fuzz_folder, fuzz_remove, 16, FTW_DEPTH | FTW_PHYS) == 0);
}

static inline void fuzz_remove_folder(void)
{
    fuzz_empty_folder();
    must(rmdir(fuzz_folder) == 0);
}

/* Made by the first call, in memory where the system has a place for that, and gone with the process. */
static inline void fuzz_begin_folder(void)
{
    if (*fuzz_folder)
        return;
    snprintf(fuzz_folder, sizeof fuzz_folder, "%s/headrace-fuzz-XXXXXX",
             access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/var/tmp");
    must(mkdtemp(fuzz_folder) != NULL && atexit(fuzz_remove_folder) == 0);
}

static inline void fuzz_write(const char *name, const void *bytes, size_t size)
{
    int descriptor = open(fuzz_path(name), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    must(descriptor >= 0 && write(descriptor, bytes, size) == (ssize_t)size && close(descriptor) == 0);
}

/* The caller frees; NULL when there is no such file. */
static inline char *fuzz_read(const char *name, size_t *size)
{
    struct stat facts;
    int descriptor = open(fuzz_path(name), O_RDONLY);
    if (descriptor < 0)
        return NULL;
    must(fstat(descriptor, &facts) == 0);
    char *bytes = malloc((size_t)facts.st_size + 1);
    must(bytes && read(descriptor, bytes, (size_t)facts.st_size) == facts.st_size && close(descriptor) == 0);
    bytes[facts.st_size] = '\0';
    *size = (size_t)facts.st_size;
    return bytes;
}

#endif
