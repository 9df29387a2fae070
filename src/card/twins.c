/* SPDX-License-Identifier: ISC */
#include <stdlib.h>
#include <string.h>

#include <headrace/card.h>
#include <utf8proc.h>

#include "base/array.h"
#include "base/fault.h"
#include "card/clash.h"

struct folded {
    char *name; /* owned */
    uint32_t file;
};

/* Case folded and composed (Unicode default case folding, NFC); a name that is no UTF-8 folds its ASCII letters only.
 */
static char *fold(const char *path)
{
    utf8proc_uint8_t *folded = NULL;
    utf8proc_option_t how = UTF8PROC_NULLTERM | UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_CASEFOLD;
    if (utf8proc_map((const utf8proc_uint8_t *)path, 0, &folded, how) >= 0)
        return (char *)folded;
    char *plain = strdup(path);
    for (char *at = plain; at && *at; at++)
        if (*at >= 'A' && *at <= 'Z')
            *at = (char)(*at - 'A' + 'a');
    return plain;
}

static int compare_folded(const void *left, const void *right)
{
    const struct folded *a = left, *b = right;
    int order = hr__clash_compare(a->name, b->name);
    return order ? order : (a->file > b->file) - (a->file < b->file);
}

static enum hr_status find_twins(struct hr_name_twin **out, size_t *count, const struct folded *names,
                                 size_t name_count, struct hr_fault *fault)
{
    size_t capacity = 0;
    for (size_t i = 1; i < name_count; i++) {
        const char *before = names[i - 1].name, *name = names[i].name;
        if (strcmp(before, name) != 0 && !hr__clash_is_folder_of(before, name))
            continue;
        if (!hr__array_reserve(out, &capacity, *count + 1, sizeof **out, name_count))
            return hr__fault_nomem(fault, "names that are alike");
        (*out)[(*count)++] = (struct hr_name_twin){.a = names[i - 1].file, .b = names[i].file};
    }
    return HR_OK;
}

enum hr_status hr_inventory_twins(struct hr_name_twin **out, size_t *count, const struct hr_inventory *inventory,
                                  struct hr_fault *fault)
{
    struct hr_name_twin *twins = NULL;
    size_t twin_count = 0;
    struct folded *names = calloc(inventory->file_count + 1, sizeof *names);
    enum hr_status status = names ? HR_OK : hr__fault_nomem(fault, "the card's names");
    for (size_t i = 0; i < inventory->file_count && !status; i++) {
        names[i] = (struct folded){.name = fold(inventory->files[i].path), .file = (uint32_t)i};
        if (!names[i].name)
            status = hr__fault_nomem(fault, "the card's names");
    }
    if (!status) {
        qsort(names, inventory->file_count, sizeof *names, compare_folded);
        status = find_twins(&twins, &twin_count, names, inventory->file_count, fault);
    }
    for (size_t i = 0; names && i < inventory->file_count; i++)
        free(names[i].name);
    free(names);
    if (status) {
        free(twins);
    } else {
        *out = twins;
        *count = twin_count;
    }
    return status;
}
