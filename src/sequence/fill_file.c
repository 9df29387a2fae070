/* SPDX-License-Identifier: ISC */
/* One file into a sequence folder. A copy bears its name only once all of it is durable; it is not read back, because
 * it is a view: what is proven is the file in the bag. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "platform/folder_copy.h"
#include "sequence/fill_site.h"

/* Paths below the place. */
struct step {
    const struct hr_folder *place;
    const char *from;
    char *part, *to;
    uint64_t size_bytes;
};

static enum hr_status put_copy(const struct step *step, enum hr_fill fill, struct hr_fault *fault)
{
    enum hr_copying how = fill == HR_FILL_REFLINK ? HR_COPY_SHARES_BLOCKS : HR_COPY_BYTES;
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_copy(step->place, step->from, step->part, step->size_bytes, how, &cause);
    if (status == HR_UNSUPPORTED && fill == HR_FILL_REFLINK)
        return hr__fault_set(fault, status, 0, "this drive has no reflinks: fill by link, or by copy");
    if (status)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    status = hr__folder_rename(step->place, step->part, step->to, fault);
    if (status)
        hr__folder_remove(step->place, step->part, NULL);
    return status;
}

/* HR_NOT_FOUND when nothing stands there yet. */
static enum hr_status look_at_target(const struct step *step, const struct hr_file_facts *source,
                                     struct hr_fault *fault)
{
    struct hr_file_facts there;
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_facts(&there, step->place, step->to, &cause);
    if (status == HR_NOT_FOUND)
        return status;
    if (status)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (there.is_regular && there.size_bytes == source->size_bytes)
        return HR_OK;
    return hr__fault_path(fault, HR_EXISTS, 0, "another file stands at", step->to);
}

static enum hr_status put(bool *was_there, const struct step *step, enum hr_fill fill, struct hr_fault *fault)
{
    struct hr_file_facts source;
    enum hr_status status = hr__folder_facts(&source, step->place, step->from, fault);
    if (status)
        return status;
    if (!source.is_regular || source.size_bytes != step->size_bytes)
        return hr__fault_path(fault, HR_DIFFERS, 0, "is not as it was delivered:", step->from);
    hr__folder_remove(step->place, step->part, NULL); /* of a run that died */
    status = look_at_target(step, &source, fault);
    *was_there = status == HR_OK;
    if (status != HR_NOT_FOUND)
        return status;
    if (fill == HR_FILL_LINK)
        return hr__folder_link(step->place, step->from, step->to, fault);
    return put_copy(step, fill, fault);
}

enum hr_status hr__fill_file(bool *was_there, const struct hr_fill_site *site, const char *folder,
                             const struct hr_sequence_file *file, const struct hr_filling *filling,
                             struct hr_fault *fault)
{
    const struct hr_delivered_file *delivered = &filling->delivered->files[file->delivered];
    struct step step = {.place = &site->folder,
                        .from = hr__fill_below_place(filling->delivered, delivered),
                        .to = hr__path_join(folder, file->name),
                        .size_bytes = delivered->size_bytes};
    step.part = step.to ? hr__path_part(step.to) : NULL;
    enum hr_status status;
    if (!step.part)
        status = hr__fault_nomem(fault, "the name of a file");
    else if (!step.from)
        status = hr__fault_path(fault, HR_INVALID, 0, "does not stand in its place:", delivered->path);
    else
        status = put(was_there, &step, site->fill, fault);
    free(step.part);
    free(step.to);
    return status;
}
