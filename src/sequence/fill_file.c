/* SPDX-License-Identifier: ISC */
/* One file into a sequence folder. A copy bears its name only once all of it is durable; it is not read back, because
 * it is a view: what is proven is the file in the bag. */
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
#include "sequence/fill_site.h"

enum { BLOCK_SIZE = 1 << 20, PATH_CEILING = 1 << 20 };

/* Paths below the place. */
struct step {
    const struct hr_folder *place;
    const char *from;
    char *part, *to;
    uint64_t size_bytes;
};

static enum hr_status copy_bytes(struct hr_file *to, const struct hr_file *from, uint64_t size, struct hr_fault *fault)
{
    char *block = malloc(BLOCK_SIZE);
    if (!block)
        return hr__fault_nomem(fault, "copying a file");
    enum hr_status status = HR_OK;
    uint64_t done = 0;
    for (size_t got = BLOCK_SIZE; got == BLOCK_SIZE && !status; done += got) {
        status = hr__file_read_at(&got, from, block, BLOCK_SIZE, done, fault);
        if (!status && got)
            status = hr__file_write_at(to, block, got, done, fault);
    }
    free(block);
    if (!status && done != size)
        status = hr__fault_path(fault, HR_DIFFERS, 0, "changed while it was copied:", from->path);
    return status;
}

static enum hr_status share_bytes(const struct hr_file *to, const struct hr_file *from, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    enum hr_status status = hr__file_share(to, from, &cause);
    if (status == HR_UNSUPPORTED)
        return hr__fault_set(fault, status, 0, "this drive has no reflinks: fill by link, or by copy");
    return status ? hr__fault_set(fault, status, 0, "%s", cause.text) : HR_OK;
}

static enum hr_status write_part(const struct step *step, const struct hr_file *from, enum hr_fill fill,
                                 struct hr_fault *fault)
{
    struct hr_file part;
    struct hr_file_facts facts;
    enum hr_status status = hr__file_facts(&facts, from, fault);
    if (!status)
        status = hr__file_open(&part, step->place, step->part, HR_FILE_CREATE, false, step->to, fault);
    if (status)
        return status;
    if (fill == HR_FILL_REFLINK)
        status = share_bytes(&part, from, fault);
    else
        status = copy_bytes(&part, from, step->size_bytes, fault);
    if (!status)
        status = hr__file_set_modified(&part, facts.modified_ns, fault);
    if (!status)
        status = hr__file_sync(&part, fault);
    enum hr_status closed = hr__file_close(&part, fault);
    return status ? status : closed;
}

static enum hr_status put_copy(const struct step *step, enum hr_fill fill, struct hr_fault *fault)
{
    struct hr_file from;
    enum hr_status status = hr__file_open(&from, step->place, step->from, HR_FILE_READ, false, step->from, fault);
    if (!status)
        status = write_part(step, &from, fill, fault);
    if (!status)
        status = hr__folder_rename(step->place, step->part, step->to, fault);
    (void)hr__file_close(&from, NULL);
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

static char *joined(const char *folder, const char *before, const char *name, const char *after)
{
    struct hr_text path;
    hr__text_init(&path, PATH_CEILING);
    hr__text_printf(&path, "%s/%s%s%s", folder, before, name, after);
    char *whole = hr__text_take(&path);
    hr__text_finish(&path);
    return whole;
}

enum hr_status hr__fill_file(bool *was_there, const struct hr_fill_site *site, const char *folder,
                             const struct hr_sequence_file *file, const struct hr_filling *filling,
                             struct hr_fault *fault)
{
    const struct hr_delivered_file *delivered = &filling->delivered->files[file->delivered];
    struct step step = {.place = &site->folder,
                        .from = hr__fill_below_place(filling->delivered, delivered),
                        .part = joined(folder, ".", file->name, ".part"),
                        .to = joined(folder, "", file->name, ""),
                        .size_bytes = delivered->size_bytes};
    enum hr_status status;
    if (!step.part || !step.to)
        status = hr__fault_nomem(fault, "the name of a file");
    else if (!step.from)
        status = hr__fault_path(fault, HR_INVALID, 0, "does not stand in its place:", delivered->path);
    else
        status = put(was_there, &step, site->fill, fault);
    free(step.part);
    free(step.to);
    return status;
}
