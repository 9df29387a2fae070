/* SPDX-License-Identifier: ISC */
/* May the card be formatted? Counted from what is known, said in one sentence. */
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "base/text.h"
#include "base/units.h"
#include "offload/known.h"

enum { SENTENCE_CEILING = 2048, SHORT_FILES_MAX = 100 };

static size_t count_bits(uint64_t bits)
{
    size_t count = 0;
    for (; bits; bits &= bits - 1)
        count++;
    return count;
}

static enum hr_status add_short_file(struct hr_safety *safety, const char *path, struct hr_fault *fault)
{
    if (safety->short_file_count == SHORT_FILES_MAX)
        return HR_OK;
    char *copy = strdup(path);
    if (!copy)
        return hr__fault_nomem(fault, "the verdict");
    safety->short_files[safety->short_file_count++] = copy;
    return HR_OK;
}

/* *short_on: bits of the drives with a copy, not shown to come from the medium, of a file that is on fewer than two. */
static enum hr_status count_files(struct hr_safety *safety, uint64_t *short_on, const struct hr_known *known,
                                  const struct hr_inventory *inventory, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t i = 0; i < inventory->file_count && !status; i++) {
        size_t drives = hr__drives_different(safety->drives, safety->drive_count, known->proven[i]);
        safety->on_two_or_more += drives >= 2;
        safety->on_one += drives == 1;
        safety->on_none += drives == 0;
        uint64_t unproven = known->cached[i] & ~known->proven[i];
        if (drives < 2) {
            *short_on |= unproven;
            status = add_short_file(safety, inventory->files[i].path, fault);
        }
        for (uint64_t left = unproven; left; left &= left - 1)
            safety->drives[count_bits((left & -left) - 1)].not_from_medium++;
    }
    return status;
}

static void count_skips(struct hr_safety *safety, const struct hr_inventory *inventory)
{
    for (size_t i = 0; i < inventory->skip_count; i++) {
        enum hr_card_skip_reason reason = inventory->skips[i].reason;
        safety->not_carried += reason != HR_SKIP_LINK && reason != HR_SKIP_SPECIAL;
    }
}

/* ---- The sentence ---- */

/* Different drives with at least so many of the files. */
static size_t count_drives(const struct hr_safety *safety, size_t files)
{
    uint64_t bits = 0;
    for (size_t i = 0; i < safety->drive_count; i++)
        bits |= (uint64_t)(safety->drives[i].files >= files) << i;
    return hr__drives_different(safety->drives, safety->drive_count, bits);
}

static void say_safe(struct hr_text *text, const struct hr_safety *safety)
{
    char files[HR_UNIT_TEXT_SIZE], on[HR_UNIT_TEXT_SIZE];
    size_t drives = count_drives(safety, safety->files);
    hr__format_counted(files, safety->files, "file");
    hr__format_counted(on, drives, "drive");
    if (drives < 2)
        hr__text_printf(text, "SAFE to format: each of the %s stands proven on at least two drives.", files);
    else if (safety->files == 1)
        hr__text_printf(text, "SAFE to format: its only file stands proven on %s.", on);
    else
        hr__text_printf(text, "SAFE to format: all %s stand proven on %s.", files, on);
}

static bool has_one_of(const struct hr_safety *safety, uint64_t drives, bool in_memory)
{
    for (size_t i = 0; i < safety->drive_count; i++)
        if (drives >> i & 1 && safety->drives[i].counts != in_memory)
            return true;
    return false;
}

static bool has_unknown_drive(const struct hr_safety *safety)
{
    for (size_t i = 0; i < safety->drive_count; i++)
        if (safety->drives[i].files > 0 && !strcmp(safety->drives[i].disks, HR_DISKS_UNKNOWN))
            return true;
    return false;
}

static void say_count(struct hr_text *text, size_t count, size_t of, const char *what)
{
    char number[HR_UNIT_TEXT_SIZE], total[HR_UNIT_TEXT_SIZE];
    hr__format_count(number, count);
    hr__format_counted(total, of, "file");
    if (of == 1)
        hr__text_printf(text, " its only file is %s.", what);
    else if (count == of)
        hr__text_printf(text, " all %s %s.", total, what);
    else
        hr__text_printf(text, " %s of %s %s.", number, total, what);
}

static void say_not_safe(struct hr_text *text, const struct hr_safety *safety, uint64_t short_on)
{
    char entries[HR_UNIT_TEXT_SIZE];
    hr__text_append(text, "NOT SAFE to format:");
    if (safety->files == 0 && safety->not_carried == 0)
        hr__text_append(text, " the card holds no file.");
    if (safety->on_none > 0)
        say_count(text, safety->on_none, safety->files, "without a proven copy");
    if (safety->on_one > 0)
        say_count(text, safety->on_one, safety->files, "on one drive only");
    if (safety->on_one > 0 && has_unknown_drive(safety))
        hr__text_append(text, " A drive that does not show its disks counts as one with any other.");
    if (safety->not_carried > 0)
        hr__text_printf(text, " %s on the card could not be read.",
                        hr__format_counted(entries, safety->not_carried, "entry"));
    if (has_one_of(safety, short_on, true))
        hr__text_append(text, " A copy in memory never counts.");
    if (has_one_of(safety, short_on, false))
        hr__text_append(text,
                        " Copies on a drive that could not show they were read back from the medium do not count.");
}

static enum hr_status say(struct hr_safety *safety, uint64_t short_on, struct hr_fault *fault)
{
    struct hr_text text;
    hr__text_init(&text, SENTENCE_CEILING);
    if (safety->is_safe)
        say_safe(&text, safety);
    else
        say_not_safe(&text, safety, short_on);
    safety->sentence = hr__text_take(&text);
    return safety->sentence ? HR_OK : hr__fault_nomem(fault, "the verdict");
}

/* The verdict outlives the question, so it takes copies. */
static enum hr_status copy_drives(struct hr_safety *safety, const struct hr_drives *drives, struct hr_fault *fault)
{
    safety->drives = calloc(drives->count + 1, sizeof *safety->drives);
    safety->short_files = calloc(SHORT_FILES_MAX, sizeof *safety->short_files);
    if (!safety->drives || !safety->short_files)
        return hr__fault_nomem(fault, "the verdict");
    for (size_t i = 0; i < drives->count; i++) {
        struct hr_safety_drive *to = &safety->drives[i];
        *to = drives->drives[i];
        to->name = strdup(drives->drives[i].name);
        to->disks = strdup(drives->drives[i].disks);
        safety->drive_count++;
        if (!to->name || !to->disks)
            return hr__fault_nomem(fault, "the verdict");
    }
    return HR_OK;
}

enum hr_status hr__known_judge(struct hr_safety **out, struct hr_known *known, const struct hr_inventory *inventory,
                               struct hr_fault *fault)
{
    struct hr_safety *safety = calloc(1, sizeof *safety);
    uint64_t short_on = 0;
    if (!safety)
        return hr__fault_nomem(fault, "the verdict");
    safety->files = inventory->file_count;
    safety->frames = inventory->camera_frame_count;
    safety->bytes = inventory->total_bytes;
    count_skips(safety, inventory);
    enum hr_status status = copy_drives(safety, &known->drives, fault);
    if (!status)
        status = count_files(safety, &short_on, known, inventory, fault);
    safety->is_safe = safety->files > 0 && safety->on_two_or_more == safety->files && safety->not_carried == 0;
    if (!status)
        status = say(safety, short_on, fault);
    if (status)
        hr_safety_destroy(safety);
    else
        *out = safety;
    return status;
}

void hr_safety_destroy(struct hr_safety *safety)
{
    if (!safety)
        return;
    for (size_t i = 0; i < safety->drive_count; i++) {
        free(safety->drives[i].name);
        free(safety->drives[i].disks);
    }
    for (size_t i = 0; i < safety->short_file_count; i++)
        free(safety->short_files[i]);
    free(safety->drives);
    free(safety->short_files);
    free(safety->sentence);
    free(safety);
}
