/* SPDX-License-Identifier: ISC */
#include "platform/machine.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/system.h"

/* Of most processors. */
enum { LARGE_PAGE_BYTES = 2 << 20 };

size_t hr__processor_count(void)
{
    long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count > 0 ? (size_t)count : 1;
}

void *hr__aligned_alloc(size_t size)
{
    void *memory = NULL;
    bool is_large = size >= LARGE_PAGE_BYTES;
    if (posix_memalign(&memory, is_large ? LARGE_PAGE_BYTES : (size_t)sysconf(_SC_PAGESIZE), size) != 0)
        return NULL;
    if (is_large)
        hr__variant_prefer_large_pages(memory, size);
    return memory;
}

void hr__aligned_free(void *memory)
{
    free(memory);
}

void hr__host_name(char *out, size_t out_size)
{
    static const char unknown[] = "unknown";
    char name[256] = "";
    if (gethostname(name, sizeof name - 1) != 0 || !*name)
        memcpy(name, unknown, sizeof unknown);
    size_t length = strlen(name) < out_size ? strlen(name) : out_size - 1;
    memcpy(out, name, length);
    out[length] = '\0';
}

/* XDG Base Directory Specification 0.8: a relative path in the variable is to be ignored. */
enum hr_status hr__state_folder(char **out, struct hr_fault *fault)
{
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME");
    char *folder = NULL;
    if (state && *state == '/')
        folder = hr__path_join(state, "headrace");
    else if (home && *home)
        folder = hr__path_join(home, ".local/state/headrace");
    else
        return hr__fault_set(fault, HR_NOT_FOUND, 0, "neither XDG_STATE_HOME nor HOME says where to keep the ledger");
    if (!folder)
        return hr__fault_nomem(fault, "the path of the state folder");
    *out = folder;
    return HR_OK;
}
