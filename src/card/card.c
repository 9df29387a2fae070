/* SPDX-License-Identifier: ISC */
#include <ctype.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "base/path.h"
#include "base/text.h"
#include "card/card_state.h"
#include "platform/volume.h"

enum { IDENTITY_CEILING = 1 << 14 };

/* Fit for a folder name on every filesystem; what is not becomes '-'. */
static void set_name(struct hr_card *card, const char *wanted)
{
    size_t length = 0;
    for (; *wanted && length + 1 < sizeof card->name; wanted++)
        card->name[length++] = isalnum((unsigned char)*wanted) || *wanted == '_' ? *wanted : '-';
    while (length > 0 && card->name[length - 1] == '-')
        length--;
    card->name[length] = '\0';
    if (length == 0)
        memcpy(card->name, "card", sizeof "card");
}

static enum hr_status identify_volume(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_volume volume;
    struct hr_text identity;
    enum hr_status status = hr__volume_of(&volume, card->resolved, &hr__system_roots, fault);
    if (status)
        return status;
    const char *below = card->resolved;
    if (hr__path_contains(volume.mount_point, below))
        below += strlen(volume.mount_point);
    while (*below == '/')
        below++;
    hr__text_init(&identity, IDENTITY_CEILING);
    hr__text_append(&identity, volume.identity);
    if (*below) {
        hr__text_append(&identity, "/");
        hr__text_append_name(&identity, below, strlen(below));
    }
    set_name(card, !*below && *volume.label ? volume.label : hr__path_last(card->resolved));
    card->identity = hr__text_take(&identity);
    card->identity_is_weak = volume.identity_is_weak;
    card->device = volume.device;
    card->has_disks = volume.disk_count > 0;
    hr__volume_finish(&volume);
    return card->identity ? HR_OK : hr__fault_nomem(fault, "a card");
}

static enum hr_status identify_archive(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_folder folder = HR_FOLDER_CLOSED;
    struct hr_file_facts facts = {0};
    struct hr_text identity;
    const char *name = hr__path_last(card->resolved);
    char *above = strndup(card->resolved, hr__path_folder_length(card->resolved) + 1);
    enum hr_status status = above ? hr__folder_open(&folder, above, fault) : hr__fault_nomem(fault, "a card");
    if (!status)
        status = hr__folder_facts(&facts, &folder, name, fault);
    hr__folder_close(&folder);
    free(above);
    if (status)
        return status;
    hr__text_init(&identity, IDENTITY_CEILING);
    hr__text_printf(&identity, "archive:%" PRIu64 "-%" PRId64 "-", facts.size_bytes, facts.modified_ns);
    hr__text_append_name(&identity, name, strlen(name));
    char *stem = strndup(name, strcspn(name, "."));
    set_name(card, stem ? stem : "");
    free(stem);
    card->identity = hr__text_take(&identity);
    return card->identity ? HR_OK : hr__fault_nomem(fault, "a card");
}

static enum hr_status recognise(struct hr_card *card, struct hr_fault *fault)
{
    struct hr_fault cause = {0};
    enum hr_status status = hr__folder_open(&card->root, card->resolved, &cause);
    if (status == HR_OK) {
        card->store = &hr__store_volume;
        return identify_volume(card, fault);
    }
    if (status != HR_INVALID)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (!hr__archive_is(card->resolved))
        return hr__fault_set(fault, HR_UNSUPPORTED, 0, "%s: neither a folder nor an archive (.tar, .zip, .iso)",
                             card->given);
    card->store = &hr__store_archive;
    return identify_archive(card, fault);
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
    if (hr_card_is_archive(card))
        return hr__archive_is(card->resolved);
    if (hr__volume_of(&volume, card->resolved, &hr__system_roots, NULL) != HR_OK)
        return false;
    bool is_same = volume.device == card->device && (volume.disk_count > 0 || !card->has_disks);
    hr__volume_finish(&volume);
    return is_same;
}

enum hr_status hr__card_blame(const struct hr_card *card, enum hr_status status, struct hr_fault *fault)
{
    bool may_be_gone = status == HR_IO || status == HR_NOT_FOUND || status == HR_DENIED;
    if (!may_be_gone || hr_card_is_present(card))
        return status;
    if (fault)
        hr_fault_clear(fault);
    return hr__fault_set(fault, HR_GONE, 0, "%s: the card is no longer there", card->given);
}
