/* SPDX-License-Identifier: ISC */
#include "card/archive_pass.h"

#include <errno.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <archive.h>

#include <headrace/name.h>

#include "base/fault.h"
#include "base/path.h"
#include "card/card_state.h"
#include "platform/machine.h"

enum { FIRST_LOOK_BYTES = 1 << 16 };

struct hr_archive_pass {
    const struct hr_card *card;
    const struct hr_cancel *cancel;
    struct archive *archive;
    struct hr_file file;
    char *ahead;
    size_t ahead_bytes;
    uint64_t offset;       /* of the next read */
    enum hr_status status; /* why our reading failed, when it did */
    struct hr_fault cause;
    locale_t names; /* 0 where the system has no such locale */
    bool is_dead;
};

/* ---- What libarchive calls ---- */

static la_ssize_t give_bytes(struct archive *archive, void *context, const void **bytes)
{
    struct hr_archive_pass *pass = context;
    size_t got = 0;
    if (hr_cancel_requested(pass->cancel))
        pass->status = HR_CANCELLED;
    else
        pass->status = hr__file_read_at(&got, &pass->file, pass->ahead, pass->ahead_bytes, pass->offset, &pass->cause);
    if (pass->status) {
        archive_set_error(archive, EIO, "%s", hr_status_name(pass->status));
        return ARCHIVE_FATAL;
    }
    pass->offset += got;
    *bytes = pass->ahead;
    return (la_ssize_t)got;
}

/* Never past the end, so that an archive cut short is found out when its bytes are missed. */
static la_int64_t skip_bytes(struct archive *archive, void *context, la_int64_t count)
{
    struct hr_archive_pass *pass = context;
    (void)archive;
    uint64_t size = pass->card->archive.size_bytes, left = pass->offset < size ? size - pass->offset : 0;
    uint64_t skipped = count < 0 ? 0 : (uint64_t)count < left ? (uint64_t)count : left;
    pass->offset += skipped;
    return (la_int64_t)skipped;
}

static la_int64_t seek_to(struct archive *archive, void *context, la_int64_t offset, int whence)
{
    struct hr_archive_pass *pass = context;
    la_int64_t size = (la_int64_t)pass->card->archive.size_bytes;
    la_int64_t from = whence == SEEK_SET ? 0 : whence == SEEK_END ? size : (la_int64_t)pass->offset;
    (void)archive;
    if (offset < -from || offset > size - from)
        return ARCHIVE_FATAL;
    pass->offset = (uint64_t)(from + offset);
    return from + offset;
}

/* ---- A pass ---- */

/* Filters that only an outside program could undo are left out: nothing is run for a card's sake. Of formats only those
 * a card can come in; the one for raw bytes would take any file for an archive. */
static bool set_up(struct hr_archive_pass *pass)
{
    struct archive *archive = pass->archive = archive_read_new();
    if (!archive)
        return false;
    archive_read_support_filter_gzip(archive);
    archive_read_support_filter_bzip2(archive);
    archive_read_support_filter_xz(archive);
    archive_read_support_filter_zstd(archive);
    archive_read_support_filter_lz4(archive);
    archive_read_support_format_tar(archive);
    archive_read_support_format_zip(archive);
    archive_read_support_format_iso9660(archive);
    archive_read_set_read_callback(archive, give_bytes);
    archive_read_set_skip_callback(archive, skip_bytes);
    archive_read_set_seek_callback(archive, seek_to);
    archive_read_set_callback_data(archive, pass);
    pass->names = newlocale(LC_CTYPE_MASK, pass->card->is_tar ? "C" : "C.UTF-8", (locale_t)0);
    pass->ahead = hr__aligned_alloc(pass->ahead_bytes);
    return pass->ahead;
}

static enum hr_status open_file(struct hr_archive_pass *pass, struct hr_file_facts *facts, struct hr_fault *fault)
{
    const struct hr_card *card = pass->card;
    enum hr_status status =
        hr__file_open(&pass->file, &card->root, hr__path_last(card->resolved), HR_FILE_READ, false, card->given, fault);
    return status ? status : hr__file_facts(facts, &pass->file, fault);
}

static enum hr_status explain(struct hr_archive_pass *pass, enum hr_status otherwise, struct hr_fault *fault)
{
    const char *why = archive_error_string(pass->archive);
    char text[256], shown[512];
    if (pass->status) {
        hr__card_pass_on(fault, pass->status, &pass->cause);
        return hr__card_blame(pass->card, pass->status, fault);
    }
    hr_escape_name(shown, sizeof shown, why ? why : "", why ? strlen(why) : 0);
    snprintf(text, sizeof text, "the archive is damaged: %.200s", shown);
    return hr__card_fault(fault, otherwise, pass->card->given, text);
}

static enum hr_status start_archive(struct hr_archive_pass *pass, struct hr_fault *fault)
{
    return archive_read_open1(pass->archive) == ARCHIVE_OK ? HR_OK : explain(pass, HR_MALFORMED, fault);
}

static struct hr_archive_pass *make_pass(const struct hr_card *card, size_t ahead_bytes, const struct hr_cancel *cancel)
{
    struct hr_archive_pass *pass = calloc(1, sizeof *pass);
    if (!pass)
        return NULL;
    *pass =
        (struct hr_archive_pass){.card = card, .cancel = cancel, .file = HR_FILE_CLOSED, .ahead_bytes = ahead_bytes};
    if (set_up(pass))
        return pass;
    hr__archive_pass_close(pass);
    return NULL;
}

enum hr_status hr__archive_pass_open(struct hr_archive_pass **out, const struct hr_card *card, size_t ahead_bytes,
                                     const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_file_facts facts = {0};
    struct hr_archive_pass *pass = make_pass(card, ahead_bytes, cancel);
    if (!pass)
        return hr__fault_nomem(fault, "an archive");
    enum hr_status status = hr__card_blame(card, open_file(pass, &facts, fault), fault);
    if (!status && (facts.size_bytes != card->archive.size_bytes || facts.modified_ns != card->archive.modified_ns))
        status = hr__card_fault(fault, HR_DIFFERS, card->given, "the archive changed meanwhile");
    if (!status)
        status = start_archive(pass, fault);
    if (status)
        hr__archive_pass_close(pass);
    else
        *out = pass;
    return status;
}

void hr__archive_pass_close(struct hr_archive_pass *pass)
{
    if (!pass)
        return;
    archive_read_free(pass->archive);
    (void)hr__file_close(&pass->file, NULL);
    if (pass->names)
        freelocale(pass->names);
    hr__aligned_free(pass->ahead);
    free(pass);
}

enum hr_status hr__archive_pass_next(struct archive_entry **entry, bool *is_doubtful, struct hr_archive_pass *pass,
                                     struct hr_fault *fault)
{
    locale_t before = pass->names ? uselocale(pass->names) : (locale_t)0;
    int result = archive_read_next_header(pass->archive, entry);
    if (pass->names)
        uselocale(before);
    /* In a tar a warning only says that a name means nothing to the "C" locale. */
    *is_doubtful = result == ARCHIVE_WARN && !pass->card->is_tar;
    if (result == ARCHIVE_OK || result == ARCHIVE_WARN)
        return HR_OK;
    *entry = NULL;
    pass->is_dead = true;
    return result == ARCHIVE_EOF ? HR_OK : explain(pass, HR_MALFORMED, fault);
}

/* A warning fails here too: it is how libarchive tells of a check sum or a size that is not right. */
enum hr_status hr__archive_pass_read(size_t *got, struct hr_archive_pass *pass, void *into, size_t size,
                                     struct hr_fault *fault)
{
    *got = 0;
    while (*got < size) {
        la_ssize_t count = archive_read_data(pass->archive, (char *)into + *got, size - *got);
        if (count == 0)
            break;
        if (count < 0) {
            pass->is_dead = count == ARCHIVE_FATAL;
            return explain(pass, HR_DIFFERS, fault);
        }
        *got += (size_t)count;
    }
    return HR_OK;
}

bool hr__archive_pass_is_dead(const struct hr_archive_pass *pass)
{
    return pass->is_dead;
}

bool hr__archive_pass_is_image(const struct hr_archive_pass *pass)
{
    return (archive_format(pass->archive) & ARCHIVE_FORMAT_BASE_MASK) == ARCHIVE_FORMAT_ISO9660;
}

/* An empty tar has no entry and no mark of its own: it is no card either. */
enum hr_status hr__archive_recognise(struct hr_card *card, struct hr_fault *fault)
{
    struct archive_entry *entry = NULL;
    struct hr_fault damage = {0};
    bool is_doubtful;
    struct hr_archive_pass *pass = make_pass(card, FIRST_LOOK_BYTES, NULL);
    if (!pass)
        return hr__fault_nomem(fault, "an archive");
    enum hr_status status = open_file(pass, &card->archive, &damage);
    if (!status)
        status = start_archive(pass, &damage);
    if (!status)
        status = hr__archive_pass_next(&entry, &is_doubtful, pass, &damage);
    card->is_tar = (archive_format(pass->archive) & ARCHIVE_FORMAT_BASE_MASK) == ARCHIVE_FORMAT_TAR;
    hr__archive_pass_close(pass);
    if (status == HR_MALFORMED || status == HR_UNSUPPORTED || (!status && !entry))
        return hr__card_fault(fault, HR_UNSUPPORTED, card->given, "neither a folder nor an archive (.tar, .zip, .iso)");
    return hr__card_pass_on(fault, status, &damage);
}
