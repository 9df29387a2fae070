/* SPDX-License-Identifier: ISC */
#include <assert.h>
#include <stdlib.h>

#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "base/fault.h"
#include "base/path.h"

enum hr_status hr_bag_sweep(struct hr_bag *bag, bool (*is_temporary)(void *context, const char *path), void *context,
                            struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    assert(bag->journal.descriptor >= 0);
    for (size_t i = 0; i < bag->loose_count && !status; i++) {
        if (!is_temporary(context, bag->loose[i]))
            continue;
        char *path = hr__path_join(HR_BAG_DATA, bag->loose[i]);
        status = path ? hr__folder_remove(&bag->folder, path, fault) : hr__fault_nomem(fault, "the files of a bag");
        free(path);
    }
    return status;
}

void hr_bag_paths_free(char **paths, size_t count)
{
    for (size_t i = 0; paths && i < count; i++)
        free(paths[i]);
    free(paths);
}
