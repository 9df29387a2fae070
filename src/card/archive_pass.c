/* SPDX-License-Identifier: ISC */
#include "card/archive_pass.h"

#include <errno.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <archive.h>
#include <archive_entry.h>

#include <headrace/name.h>

#include "base/fault.h"
#include "base/path.h"
#include "card/archive_input.h"
#include "card/card_state.h"
#include "card/zip_end.h"
#include "platform/machine.h"

/* libarchive (3.6.2) takes a folder of an image into memory as a whole, up to the 4 GiB it may say it is long: no more
 * than this is read from one entry to the next. It is room for a million names. */
enum { FIRST_LOOK_BYTES = 1 << 16, LIST_BYTES_MAX = 128 << 20 };

struct hr_archive_pass {
    const struct hr_card *card;
    struct archive *archive;
    struct hr_archive_input input;
    uint64_t entry_count; /* met so far */
    locale_t names;       /* 0 where the system has no such locale */
    bool is_dead;
};

/* Only formats a card can come in; the one for raw bytes would take any file for an archive. */
static bool set_up(struct hr_archive_pass *pass)
{
    struct archive *archive = pass->archive = archive_read_new();
    if (!archive || archive_read_support_format_tar(archive) || archive_read_support_format_zip_seekable(archive) ||
        archive_read_support_format_iso9660(archive))
        return false;
    hr__archive_input_attach(&pass->input, archive);
    pass->names = newlocale(LC_CTYPE_MASK, pass->card->is_tar ? "C" : "C.UTF-8", (locale_t)0);
    pass->input.ahead = hr__aligned_alloc(pass->input.ahead_bytes);
    return pass->input.ahead;
}

static enum hr_status open_file(struct hr_archive_pass *pass, struct hr_file_facts *facts, struct hr_fault *fault)
{
    const struct hr_card *card = pass->card;
    enum hr_status status = hr__file_open(&pass->input.file, &card->root, hr__path_last(card->resolved), HR_FILE_READ,
                                          false, card->given, fault);
    if (!status)
        status = hr__file_facts(facts, &pass->input.file, fault);
    pass->input.size_bytes = facts->size_bytes;
    return status;
}

static enum hr_status tell_damage(const struct hr_archive_pass *pass, enum hr_status status, const char *why,
                                  struct hr_fault *fault)
{
    char text[256], shown[512];
    size_t length = strlen(why);
    while (length > 0 && (why[length - 1] == '\n' || why[length - 1] == '.'))
        length--;
    hr_escape_name(shown, sizeof shown, why, length);
    snprintf(text, sizeof text, "the archive is damaged%s%.200s", length ? ": " : "", shown);
    return hr__fault_about(fault, status, pass->card->given, "%s", text);
}

static enum hr_status explain(struct hr_archive_pass *pass, enum hr_status otherwise, struct hr_fault *fault)
{
    const char *why = archive_error_string(pass->archive);
    if (pass->input.status == HR_TOO_LARGE)
        return tell_damage(pass, HR_MALFORMED, "it lists more in one place than any card holds", fault);
    if (pass->input.status) {
        hr__card_pass_on(fault, pass->input.status, &pass->input.cause);
        return hr__card_blame(pass->card, pass->input.status, fault);
    }
    if (archive_errno(pass->archive) == ENOMEM)
        return hr__fault_nomem(fault, "an archive");
    return tell_damage(pass, otherwise, why ? why : "", fault);
}

static enum hr_status start_archive(struct hr_archive_pass *pass, struct hr_fault *fault)
{
    pass->input.allowed_bytes = LIST_BYTES_MAX;
    return archive_read_open1(pass->archive) == ARCHIVE_OK ? HR_OK : explain(pass, HR_MALFORMED, fault);
}

static struct hr_archive_pass *make_pass(const struct hr_card *card, size_t ahead_bytes, const struct hr_cancel *cancel)
{
    struct hr_archive_pass *pass = calloc(1, sizeof *pass);
    if (!pass)
        return NULL;
    pass->card = card;
    pass->input = (struct hr_archive_input){.cancel = cancel, .file = HR_FILE_CLOSED, .ahead_bytes = ahead_bytes};
    if (set_up(pass))
        return pass;
    hr__archive_pass_close(pass);
    return NULL;
}

static enum hr_status check_facts(const struct hr_card *card, const struct hr_file_facts *facts, struct hr_fault *fault)
{
    if (facts->size_bytes == card->archive.size_bytes && facts->modified_ns == card->archive.modified_ns)
        return HR_OK;
    return hr__fault_about(fault, HR_DIFFERS, card->given, "the archive changed meanwhile");
}

enum hr_status hr__archive_pass_open(struct hr_archive_pass **out, const struct hr_card *card, size_t ahead_bytes,
                                     bool past_cache, const struct hr_cancel *cancel, struct hr_fault *fault)
{
    struct hr_file_facts facts = {0};
    struct hr_archive_pass *pass = make_pass(card, ahead_bytes, cancel);
    if (!pass)
        return hr__fault_nomem(fault, "an archive");
    enum hr_status status = hr__card_blame(card, open_file(pass, &facts, fault), fault);
    if (!status)
        status = check_facts(card, &facts, fault);
    if (!status && past_cache)
        hr__archive_pass_drop_cache(pass);
    if (!status)
        status = start_archive(pass, fault);
    if (status)
        hr__archive_pass_close(pass);
    else
        *out = pass;
    return status;
}

void hr__archive_pass_drop_cache(const struct hr_archive_pass *pass)
{
    hr__file_drop_cache(&pass->input.file);
}

enum hr_status hr__archive_pass_check(const struct hr_archive_pass *pass, struct hr_fault *fault)
{
    struct hr_file_facts facts;
    enum hr_status status = hr__card_blame(pass->card, hr__file_facts(&facts, &pass->input.file, fault), fault);
    return status ? status : check_facts(pass->card, &facts, fault);
}

void hr__archive_pass_close(struct hr_archive_pass *pass)
{
    if (!pass)
        return;
    archive_read_free(pass->archive);
    (void)hr__file_close(&pass->input.file, NULL);
    if (pass->names)
        freelocale(pass->names);
    hr__aligned_free(pass->input.ahead);
    free(pass);
}

/* The name is converted when it is asked for, so that belongs under the locale as well. */
static int next_entry(struct hr_archive_item *item, struct hr_archive_pass *pass)
{
    locale_t before = pass->names ? uselocale(pass->names) : (locale_t)0;
    pass->input.allowed_bytes = LIST_BYTES_MAX;
    int result = archive_read_next_header(pass->archive, &item->entry);
    if (result == ARCHIVE_OK || result == ARCHIVE_WARN)
        item->name = archive_entry_pathname(item->entry);
    if (pass->names)
        uselocale(before);
    return result;
}

/* In a tar a name that means nothing to the "C" locale gives a warning, and comes as it stands. */
static bool is_about_locale(const struct hr_archive_pass *pass)
{
    const char *why = archive_error_string(pass->archive);
    return pass->card->is_tar && why && strstr(why, "can't be converted from");
}

static int format_of(const struct hr_archive_pass *pass)
{
    return archive_format(pass->archive) & ARCHIVE_FORMAT_BASE_MASK;
}

/* libarchive takes the end of the file for the end of a tar. POSIX (pax, "ustar Interchange Format") ends it with
 * blocks of zeros: where none follows the last entry, the rest of the archive is missing. */
static bool tar_ends_early(const struct hr_archive_pass *pass)
{
    la_int64_t at = archive_read_header_position(pass->archive);
    return at >= 0 && (uint64_t)at >= pass->card->archive.size_bytes;
}

/* Of two entries that a damaged directory finds in one place libarchive tells but one. Reads into `ahead`: libarchive
 * is done with it. */
static enum hr_status check_zip_count(struct hr_archive_pass *pass, struct hr_fault *fault)
{
    struct hr_archive_input *input = &pass->input;
    uint64_t size = input->size_bytes < HR_ZIP_TAIL_BYTES ? input->size_bytes : HR_ZIP_TAIL_BYTES;
    size_t got = 0;
    uint16_t count;
    enum hr_status status =
        hr__file_read_at(&got, &input->file, input->ahead, (size_t)size, input->size_bytes - size, fault);
    if (status)
        return hr__card_blame(pass->card, status, fault);
    if (!hr__zip_end_count(&count, (const unsigned char *)input->ahead, got) || count == (uint16_t)pass->entry_count)
        return HR_OK;
    return tell_damage(pass, HR_MALFORMED, "its directory lists another number of entries than it says", fault);
}

static enum hr_status check_end(struct hr_archive_pass *pass, struct hr_fault *fault)
{
    int format = format_of(pass);
    if (format == ARCHIVE_FORMAT_TAR && tar_ends_early(pass))
        return tell_damage(pass, HR_MALFORMED, "its end is missing", fault);
    return format == ARCHIVE_FORMAT_ZIP ? check_zip_count(pass, fault) : HR_OK;
}

/* A file said to stand in the first sector of an image leads libarchive (3.6.2) back to its beginning, and to all
 * entries again, for ever. The first entry of an image is its root, and no other folder is called so. */
static bool begins_anew(const struct hr_archive_pass *pass, const struct hr_archive_item *item)
{
    bool is_root = item->name && !strcmp(item->name, ".") && archive_entry_filetype(item->entry) == AE_IFDIR;
    return is_root && pass->entry_count > 0 && hr__archive_pass_is_image(pass);
}

enum hr_status hr__archive_pass_next(struct hr_archive_item *item, struct hr_archive_pass *pass, struct hr_fault *fault)
{
    *item = (struct hr_archive_item){0};
    int result = next_entry(item, pass);
    bool is_entry = result == ARCHIVE_OK || result == ARCHIVE_WARN, is_endless = is_entry && begins_anew(pass, item);
    item->is_doubtful = result == ARCHIVE_WARN && !is_about_locale(pass);
    if (is_entry && !is_endless) {
        pass->entry_count++;
        return HR_OK;
    }
    *item = (struct hr_archive_item){0};
    pass->is_dead = true;
    if (is_endless)
        return tell_damage(pass, HR_MALFORMED, "it leads back to its beginning", fault);
    return result == ARCHIVE_EOF ? check_end(pass, fault) : explain(pass, HR_MALFORMED, fault);
}

/* A warning fails here too: it is how libarchive tells of a check sum or a size that is not right. The end is believed
 * when it is told twice: a hole at the end of a sparse file comes after the first time. */
enum hr_status hr__archive_pass_read(size_t *got, struct hr_archive_pass *pass, void *into, size_t size,
                                     struct hr_fault *fault)
{
    int ends = 0;
    *got = 0;
    pass->input.allowed_bytes = UINT64_MAX;
    while (*got < size && ends < 2) {
        la_ssize_t count = archive_read_data(pass->archive, (char *)into + *got, size - *got);
        ends = count == 0 ? ends + 1 : 0;
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
    return format_of(pass) == ARCHIVE_FORMAT_ISO9660;
}

/* An empty tar has no entry and no mark of its own: it is no card either. */
enum hr_status hr__archive_recognise(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_archive_item item = {0};
    struct hr_fault damage = {0};
    struct hr_archive_pass *pass = make_pass(card, FIRST_LOOK_BYTES, NULL);
    if (!pass)
        return hr__fault_nomem(fault, "an archive");
    enum hr_status status = open_file(pass, &card->archive, &damage);
    if (!status)
        status = start_archive(pass, &damage);
    if (!status)
        status = hr__archive_pass_next(&item, pass, &damage);
    card->is_tar = format_of(pass) == ARCHIVE_FORMAT_TAR;
    hr__archive_pass_close(pass);
    if (status == HR_MALFORMED || status == HR_UNSUPPORTED || (!status && !item.entry))
        return hr__fault_about(fault, HR_UNSUPPORTED, card->given,
                               "neither a folder nor a whole archive (.tar, .zip, .iso)");
    return hr__card_pass_on(fault, status, &damage);
}
