/* SPDX-License-Identifier: ISC */
/* Gathering: delivered files with their facts, before frames are made of them. */
#ifndef HR_SEQUENCE_DELIVERED_STATE_H
#define HR_SEQUENCE_DELIVERED_STATE_H

#include <headrace/bag.h>
#include <headrace/sequence.h>

/* A picture, a clip, or what stands beside one. Strings live as long as the gathering. */
struct hr_gathered_file {
    struct hr_delivered_file file;
    const char *job;
    uint32_t card;
    const char *serial, *model; /* "" when unknown */
    bool is_known;              /* its head was read, now or when it was copied */
    bool has_time, has_offset;
    uint8_t fraction_digits;
    int16_t offset_minutes;
    int64_t local_ns;
    uint32_t iso;
    const char *trouble;     /* NULL: none */
    struct hr_digest digest; /* HR_DIGEST_NONE: not known */
    uint32_t frame;          /* what frame it is of, once that is known */
};

/* What a delivery keeps behind its public face. */
struct hr_gathering {
    struct hr_delivered shown; /* first, so that one is the other */
    struct hr_gathered_file *items;
    size_t item_count, item_capacity;
    char **cards; /* identities, each owned; "" stands for itself alone */
    size_t card_count, card_capacity;
    size_t place_capacity;
    char **texts; /* owned strings the items and places point to */
    size_t text_count, text_capacity;
    struct hr_bag_listing **listings; /* whose strings items point to */
    size_t listing_count, listing_capacity;
    const struct hr_sequence_observer *observer; /* NULL: nobody looks on */
};

/* Adds what stands at `path`: the bags at or below it, or, when there are none, the files of the folder. */
HR_MUST_USE enum hr_status hr__gather(struct hr_gathering *gathering, const char *path, const struct hr_cancel *cancel,
                                      struct hr_fault *fault);
/* Makes frames of the items: `shown` is complete then. */
HR_MUST_USE enum hr_status hr__gathering_make_frames(struct hr_gathering *gathering, const struct hr_cancel *cancel,
                                                     struct hr_fault *fault);
/* Keeps `text` (malloc; NULL: there was no memory for it) until the gathering ends; NULL when that cannot be. */
const char *hr__gathering_keep(struct hr_gathering *gathering, char *text);

#endif
