/* SPDX-License-Identifier: ISC */
#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/bag_walk.h"
#include "base/fault.h"

enum hr_status hr_bag_sweep(char ***unrecorded, size_t *count, struct hr_bag *bag,
                            bool (*is_temporary)(void *context, const char *path), void *context,
                            struct hr_fault *fault)
{
    struct hr_walk walk;
    assert(bag->journal.descriptor >= 0);
    enum hr_status status = hr__bag_walk(&walk, &bag->folder, HR_BAG_DATA, fault);
    if (status)
        return status;
    size_t found = 0;
    char **paths = calloc(walk.count + 1, sizeof *paths);
    if (!paths)
        status = hr__fault_nomem(fault, "the files of a bag");
    for (size_t i = 0; i < walk.count && !status; i++) {
        const struct hr_walked *file = &walk.files[i];
        const char *below_data = file->path + strlen(HR_BAG_DATA "/");
        if (hr__journal_find(&bag->resumed, below_data))
            continue;
        if (file->kind == HR_ENTRY_FILE && is_temporary(context, below_data))
            status = hr__folder_remove(&bag->folder, file->path, fault);
        else if (!(paths[found++] = strdup(below_data)))
            status = hr__fault_nomem(fault, "the files of a bag");
    }
    hr__bag_walk_finish(&walk);
    if (status) {
        hr_bag_paths_free(paths, found);
        return status;
    }
    *unrecorded = paths;
    *count = found;
    return HR_OK;
}

void hr_bag_paths_free(char **paths, size_t count)
{
    for (size_t i = 0; paths && i < count; i++)
        free(paths[i]);
    free(paths);
}
