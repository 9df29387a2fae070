/* SPDX-License-Identifier: ISC */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
#include "card/archive_pass.h"
#include "card/card_state.h"
#include "platform/volume.h"

enum { IDENTITY_CEILING = 1 << 14 };

static bool is_plain(char byte)
{
    return (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z') || (byte >= 'a' && byte <= 'z') || byte == '_';
}

/* Fit for a folder name on every filesystem and for a command line; what is not becomes '-'. */
static void set_name(struct hr_card *card, const char *wanted, size_t size)
{
    size_t length = 0;
    for (size_t i = 0; i < size && length + 1 < sizeof card->name; i++)
        if (is_plain(wanted[i]) || length > 0)
            card->name[length++] = is_plain(wanted[i]) ? wanted[i] : '-';
    while (length > 0 && card->name[length - 1] == '-')
        length--;
    card->name[length] = '\0';
    if (length == 0)
        memcpy(card->name, "card", sizeof "card");
}

static enum hr_status take_identity(struct hr_card *card, struct hr_text *identity, struct hr_fault *fault)
{
    card->identity = hr__text_take(identity);
    return card->identity ? HR_OK : hr__fault_nomem(fault, "a card");
}

/* ---- A volume, or a folder on one ---- */

static const char *path_within(const struct hr_volume *volume, const char *path)
{
    if (hr__path_contains(volume->mount_point, path))
        path += strlen(volume->mount_point);
    while (*path == '/')
        path++;
    return path;
}

static enum hr_status identify_folder(struct hr_card *card, const struct hr_volume *volume, struct hr_fault *fault)
{
    struct hr_text identity;
    const char *below = path_within(volume, card->resolved);
    const char *name = !*below && *volume->label ? volume->label : hr__path_last(card->resolved);
    hr__text_init(&identity, IDENTITY_CEILING);
    hr__text_append(&identity, volume->identity);
    if (*below) {
        hr__text_append(&identity, "/");
        hr__text_append_name(&identity, below, strlen(below));
    }
    card->identity_is_weak = volume->identity_is_weak;
    set_name(card, name, strlen(name));
    return take_identity(card, &identity, fault);
}

/* ---- An archive ---- */

static enum hr_status open_folder_above(struct hr_card *card, struct hr_fault *fault)
{
    char *above = strndup(card->resolved, hr__path_folder_length(card->resolved) + 1);
    enum hr_status status = above ? hr__folder_open(&card->root, above, fault) : hr__fault_nomem(fault, "a card");
    free(above);
    return status;
}

static enum hr_status identify_archive(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_text identity;
    const char *name = hr__path_last(card->resolved);
    hr__text_init(&identity, IDENTITY_CEILING);
    hr__text_printf(&identity, "archive:%" PRIu64 "-%" PRId64 "-", card->archive.size_bytes, card->archive.modified_ns);
    hr__text_append_name(&identity, name, strlen(name));
    set_name(card, name, strcspn(name, "."));
    return take_identity(card, &identity, fault);
}

/* ---- Opening ---- */

static enum hr_status recognise(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    card->store = &hr__store_volume;
    enum hr_status status = hr__folder_open(&card->root, card->resolved, &cause);
    if (status == HR_OK)
        return HR_OK;
    if (status != HR_INVALID)
        return hr__card_pass_on(fault, status, &cause);
    card->store = &hr__store_archive;
    status = open_folder_above(card, fault);
    return status ? status : hr__archive_recognise(card, fault);
}

static enum hr_status identify(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_volume volume;
    enum hr_status status = hr__volume_of(&volume, card->resolved, &hr__system_roots, fault);
    if (status)
        return status;
    card->device = volume.device;
    card->has_disks = volume.disk_count > 0;
    status = hr_card_is_archive(card) ? identify_archive(card, fault) : identify_folder(card, &volume, fault);
    hr__volume_finish(&volume);
    return status;
}

enum hr_status hr_card_open(struct hr_card **out, const char *path, struct hr_fault *fault)
{
    struct hr_card *card = calloc(1, sizeof *card);
    if (!card)
        return hr__fault_nomem(fault, "a card");
    card->root = HR_FOLDER_CLOSED;
    card->given = strdup(path);
    enum hr_status status =
        card->given ? hr__path_resolve(&card->resolved, path, fault) : hr__fault_nomem(fault, "a card");
    if (!status)
        status = recognise(card, fault);
    if (!status)
        status = identify(card, fault);
    if (status)
        hr_card_close(card);
    else
        *out = card;
    return status;
}

void hr_card_close(struct hr_card *card)
{
    if (!card)
        return;
    hr__folder_close(&card->root);
    free(card->given);
    free(card->resolved);
    free(card->identity);
    free(card);
}

const char *hr_card_path(const struct hr_card *card)
{
    return card->given;
}

const char *hr_card_resolved_path(const struct hr_card *card)
{
    return card->resolved;
}

const char *hr_card_name(const struct hr_card *card)
{
    return card->name;
}

const char *hr_card_identity(const struct hr_card *card)
{
    return card->identity;
}

bool hr_card_identity_is_weak(const struct hr_card *card)
{
    return card->identity_is_weak;
}

bool hr_card_is_archive(const struct hr_card *card)
{
    return card->store == &hr__store_archive;
}

/* A pulled card's mount may stay behind for a while, but the disk below it is gone from the system's tree. */
bool hr_card_is_present(const struct hr_card *card)
{
    struct hr_volume volume;
    if (hr__volume_of(&volume, card->resolved, &hr__system_roots, NULL) != HR_OK)
        return false;
    bool is_same = volume.device == card->device && (volume.disk_count > 0 || !card->has_disks);
    hr__volume_finish(&volume);
    return is_same;
}

static enum hr_status tell_gone(const struct hr_card *card, struct hr_fault *fault)
{
    return hr__fault_about(fault, HR_GONE, card->given, "the card is no longer there");
}

enum hr_status hr__card_check_present(const struct hr_card *card, struct hr_fault *fault)
{
    return hr_card_is_present(card) ? HR_OK : tell_gone(card, fault);
}

enum hr_status hr__card_blame(const struct hr_card *card, enum hr_status status, struct hr_fault *fault)
{
    bool may_be_gone = status == HR_IO || status == HR_NOT_FOUND || status == HR_DENIED;
    if (!may_be_gone || hr_card_is_present(card))
        return status;
    if (fault)
        hr_fault_clear(fault);
    return tell_gone(card, fault);
}

enum hr_status hr__card_pass_on(struct hr_fault *fault, enum hr_status status, const struct hr_fault *cause)
{
    if (fault && fault->status == HR_OK)
        *fault = *cause;
    return status;
}
