/* SPDX-License-Identifier: ISC */
#include "platform/apart.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { DISKS_TEXT_CEILING = HR_DISKS_MAX * (HR_IDENTITY_SIZE + 1) };

static int compare_disks(const void *a, const void *b)
{
    return strcmp(((const struct hr_disk *)a)->identity, ((const struct hr_disk *)b)->identity);
}

char *hr__disks_text(const struct hr_volume *volume)
{
    struct hr_disk sorted[HR_DISKS_MAX];
    struct hr_text text;
    if (volume->is_in_memory || !volume->disks_are_known)
        return strdup(volume->is_in_memory ? "" : HR_DISKS_UNKNOWN);
    hr__text_init(&text, DISKS_TEXT_CEILING);
    memcpy(sorted, volume->disks, sizeof sorted);
    qsort(sorted, volume->disk_count, sizeof *sorted, compare_disks);
    for (size_t i = 0; i < volume->disk_count; i++)
        hr__text_printf(&text, "%s%s", i ? "\n" : "", sorted[i].identity);
    return hr__text_take(&text);
}

static bool has_line(const char *text, const char *line, size_t length)
{
    for (const char *at = text; *at; at += strcspn(at, "\n"), at += *at == '\n')
        if (strcspn(at, "\n") == length && !memcmp(at, line, length))
            return true;
    return false;
}

static bool share_a_line(const char *a, const char *b)
{
    for (; *a; a += strcspn(a, "\n"), a += *a == '\n')
        if (has_line(b, a, strcspn(a, "\n")))
            return true;
    return false;
}

enum hr_apart hr__disks_apart(const char *a, const char *b)
{
    if (!*a || !*b)
        return *a == *b ? HR_APART_NO : HR_APART_YES;
    if (!strcmp(a, HR_DISKS_UNKNOWN) || !strcmp(b, HR_DISKS_UNKNOWN))
        return HR_APART_UNKNOWN;
    return share_a_line(a, b) ? HR_APART_NO : HR_APART_YES;
}

static bool share_a_name(const struct hr_volume *a, const struct hr_volume *b)
{
    for (size_t i = 0; i < a->disk_count; i++)
        for (size_t k = 0; k < b->disk_count; k++)
            if (!strcmp(a->disks[i].name, b->disks[k].name))
                return true;
    return false;
}

enum hr_apart hr__volume_apart(const struct hr_volume *a, const struct hr_volume *b)
{
    if (a->device == b->device || share_a_name(a, b))
        return HR_APART_NO;
    char *disks = hr__disks_text(a), *others = hr__disks_text(b);
    enum hr_apart apart = disks && others ? hr__disks_apart(disks, others) : HR_APART_UNKNOWN;
    free(disks);
    free(others);
    return apart;
}

bool hr__volume_shares_link(const struct hr_volume *a, const struct hr_volume *b)
{
    enum hr_apart apart = hr__volume_apart(a, b);
    if (apart == HR_APART_NO || (apart == HR_APART_UNKNOWN && (a->disk_count == 0 || b->disk_count == 0)))
        return true;
    for (size_t i = 0; i < a->disk_count; i++)
        for (size_t j = 0; j < b->disk_count; j++)
            if (*a->disks[i].link && strcmp(a->disks[i].link, b->disks[j].link) == 0)
                return true;
    return false;
}
