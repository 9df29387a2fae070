/* SPDX-License-Identifier: ISC */
/* A card and the two kinds of store it can be: a mounted volume or an archive. */
#ifndef HR_CARD_STATE_H
#define HR_CARD_STATE_H

#include <headrace/card.h>

#include "platform/folder.h"

struct hr_inventory_draft;

/* How one kind of store is walked and read. A stream belongs to one thread. */
struct hr_card_store {
    enum hr_status (*walk)(struct hr_inventory_draft *draft, const struct hr_card *card, const struct hr_cancel *cancel,
                           struct hr_fault *fault);
    enum hr_status (*stream_open)(void **stream, const struct hr_card *card, struct hr_fault *fault);
    void (*stream_close)(void *stream);
    enum hr_status (*start)(void *stream, const struct hr_card_file *file, bool past_cache, struct hr_fault *fault);
    enum hr_status (*read)(size_t *got, void *stream, void *into, size_t size, struct hr_fault *fault);
    enum hr_status (*end)(void *stream, struct hr_fault *fault);
};
extern const struct hr_card_store hr__store_volume, hr__store_archive;

struct hr_card {
    const struct hr_card_store *store;
    char *given, *resolved;
    char *identity;
    char name[64];
    bool identity_is_weak;
    uint64_t device;       /* st_dev of what it stands on */
    bool has_disks;        /* it stood on a disk when it was opened */
    struct hr_folder root; /* of a volume; of an archive the folder it stands in */
    struct hr_file_facts archive;
    bool is_tar;
};

/* An error of the store becomes HR_GONE when the card is no longer there, so that a pulled card ends the run at once
 * and not file by file. Returns the status to go on with. */
enum hr_status hr__card_blame(const struct hr_card *card, enum hr_status status, struct hr_fault *fault);

/* HR_GONE when it is not. Memory may still hold folders of a card that was pulled, and lists them without a fault. */
enum hr_status hr__card_check_present(const struct hr_card *card, struct hr_fault *fault);

/* What went wrong in a call whose fault was kept apart at first, handed on. */
enum hr_status hr__card_pass_on(struct hr_fault *fault, enum hr_status status, const struct hr_fault *cause);

#endif
