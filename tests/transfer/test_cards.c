/* SPDX-License-Identifier: ISC */
/* Several cards in one run: which is read when, where its copies land, when it is free and when it is settled. */
#include <headrace/transfer.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "suite.h"
#include "transfer/account.h"
#include "transfer/card_turns.h"
#include "transfer_fixture.h"

START_TEST(reads_the_cards_of_one_link_one_after_the_other)
{
    struct hr_transfer_card cards[4] = {{.link = 0}, {.link = 0}, {.link = 1}, {.link = 0}};
    struct hr_card_turns turns;
    size_t card = 99;
    hr__card_turns_init(&turns, cards, 4);
    ck_assert(hr__card_turns_take(&card, &turns) && card == 0);
    ck_assert(hr__card_turns_take(&card, &turns) && card == 2);
    ck_assert(!hr__card_turns_take(&card, &turns));
    hr__card_turns_done(&turns, 2);
    ck_assert(!hr__card_turns_take(&card, &turns));
    hr__card_turns_done(&turns, 0);
    ck_assert(hr__card_turns_take(&card, &turns) && card == 1);
    hr__card_turns_done(&turns, 1);
    ck_assert(hr__card_turns_take(&card, &turns) && card == 3);
    hr__card_turns_done(&turns, 3);
    ck_assert(!hr__card_turns_take(&card, &turns));
    hr__card_turns_rewind(&turns);
    ck_assert(hr__card_turns_take(&card, &turns) && card == 0);
    hr__card_turns_finish(&turns);
}
END_TEST

START_TEST(calls_a_card_free_only_when_no_copy_is_missing_where_a_place_still_works)
{
    struct hr_transfer_item items[3] = {
        {.card = 1, .copies = {{.state = HR_COPY_WANTED}, {.state = HR_COPY_WANTED}}},
        {.card = 1, .copies = {{.state = HR_COPY_NOT_WANTED}, {.state = HR_COPY_UNPROVEN}}},
        {.card = 0, .copies = {{.state = HR_COPY_WANTED}, {.state = HR_COPY_NOT_WANTED}}}};
    struct hr_transfer_job job = {.items = items, .item_count = 3, .card_count = 2, .sink_count = 2};
    struct hr_account account;
    ck_assert_int_eq(hr__account_open(&account, &job, NULL), HR_OK);
    ck_assert_uint_eq(account.cards[1].not_durable[0], 1);
    ck_assert_uint_eq(account.cards[1].not_durable[1], 2);
    account.cards[1].was_read = true;
    account.cards[1].not_durable[0] = 0;
    ck_assert(!hr__account_is_free(&account, 1));
    hr__account_drop_sink(&account, 1);
    ck_assert(hr__account_is_free(&account, 1));
    ck_assert(!hr__account_is_settled(&account, 1));
    account.cards[1].not_settled[0] = 0;
    ck_assert(hr__account_is_settled(&account, 1));
    ck_assert(!hr__account_is_free(&account, 0));
    hr__account_close(&account);
}
END_TEST

/* Three cards of some small files and three large ones, and two places. */
enum { CARDS = 3, FILES = 40, PLACES = 2 };

struct cards {
    struct fixture fixture; /* its scratch folder and helpers alone */
    struct hr_card *cards[CARDS];
    struct hr_inventory *inventories[CARDS];
    struct hr_transfer_card job_cards[CARDS];
    struct hr_transfer_sink sinks[PLACES];
    struct hr_transfer_job job;
    char paths[CARDS][PLACES][2][400];
    size_t started[CARDS], freed[CARDS], settled[CARDS], copies[CARDS];
};

static void add_card(struct cards *cards, size_t card)
{
    struct hr_transfer_job *job = &cards->job;
    char name[64];
    snprintf(name, sizeof name, "card%zu", card);
    ck_assert_int_eq(hr_card_open(&cards->cards[card], fixture_path(&cards->fixture, name), NULL), HR_OK);
    ck_assert_int_eq(hr_inventory_create(&cards->inventories[card], cards->cards[card], NULL, NULL), HR_OK);
    cards->job_cards[card] = (struct hr_transfer_card){.card = cards->cards[card],
                                                       .link = (unsigned)card,
                                                       .first_item = job->item_count,
                                                       .item_count = cards->inventories[card]->file_count};
    for (size_t p = 0; p < PLACES; p++) {
        char(*paths)[400] = cards->paths[card][p];
        snprintf(paths[0], sizeof paths[0], "%s/p%zu/job%zu/bag%zu/data", cards->fixture.scratch, p, card % 2, card);
        snprintf(paths[1], sizeof paths[1], "%s/p%zu/job%zu/bag%zu.aside", cards->fixture.scratch, p, card % 2, card);
        snprintf(name, sizeof name, "p%zu/job%zu/bag%zu/data/.made", p, card % 2, card);
        fixture_write(&cards->fixture, name, 0, 0);
        cards->job_cards[card].landings[p] = (struct hr_transfer_landing){paths[0], paths[1]};
    }
    for (size_t i = 0; i < cards->inventories[card]->file_count; i++) {
        struct hr_transfer_item *item = &job->items[job->item_count++];
        *item = (struct hr_transfer_item){.file = &cards->inventories[card]->files[i], .card = (uint8_t)card};
        for (size_t p = 0; p < PLACES; p++)
            item->copies[p].state = HR_COPY_WANTED;
    }
}

static void cards_begin(struct cards *cards)
{
    memset(cards, 0, sizeof *cards);
    fixture_begin(&cards->fixture);
    cards->job = (struct hr_transfer_job){.cards = cards->job_cards,
                                          .card_count = CARDS,
                                          .cards_at_once = CARDS,
                                          .sinks = cards->sinks,
                                          .sink_count = PLACES,
                                          .make_sha256 = true};
    cards->job.items = calloc(CARDS * FILES, sizeof *cards->job.items);
    for (unsigned card = 0; card < CARDS; card++) {
        for (unsigned i = 0; i < FILES; i++) {
            char path[100];
            snprintf(path, sizeof path, "card%u/DCIM/100NMERE/NMA_%04u.JPG", card, i);
            fixture_write(&cards->fixture, path, i % 13 == 7 ? (5 << 20) + 3 : 9000 + 100 * i, card * FILES + i);
        }
        add_card(cards, card);
    }
}

static void cards_end(struct cards *cards)
{
    for (size_t card = 0; card < CARDS; card++) {
        hr_inventory_destroy(cards->inventories[card]);
        hr_card_close(cards->cards[card]);
    }
    free(cards->job.items);
    fixture_end(&cards->fixture);
}

static void started(void *context, size_t card)
{
    ((struct cards *)context)->started[card]++;
}

static void freed(void *context, size_t card)
{
    struct cards *cards = context;
    cards->freed[card]++;
    ck_assert_uint_eq(cards->started[card], 1);
    ck_assert_uint_eq(cards->settled[card], 0);
}

static void copy_settled(void *context, size_t item, size_t sink)
{
    struct cards *cards = context;
    size_t card = cards->job.items[item].card;
    (void)sink;
    cards->copies[card]++;
    ck_assert_uint_eq(cards->settled[card], 0);
}

static void settled(void *context, size_t card)
{
    ((struct cards *)context)->settled[card]++;
}

static void run_cards(struct cards *cards)
{
    struct hr_transfer_observer observer = {.context = cards,
                                            .card_started = started,
                                            .card_free = freed,
                                            .card_settled = settled,
                                            .copy_settled = copy_settled};
    ck_assert_int_eq(hr_transfer_run(&cards->job, &observer, NULL, NULL), HR_OK);
}

/* Their pieces pass the digest workers mixed. */
static void expect_digests(const struct cards *cards)
{
    enum { SIZE_MAX_BYTES = 6 << 20 };
    struct hr_hasher *hasher;
    unsigned char *bytes = malloc(SIZE_MAX_BYTES);
    ck_assert_int_eq(hr_hasher_create(&hasher, HR_DIGEST_SHA256, NULL), HR_OK);
    for (size_t i = 0; i < cards->job.item_count; i++) {
        const struct hr_transfer_item *item = &cards->job.items[i];
        char path[300];
        snprintf(path, sizeof path, "card%u/%s", item->card, item->file->path);
        FILE *file = fopen(fixture_path(&cards->fixture, path), "rb");
        ck_assert_ptr_nonnull(file);
        hr_hasher_restart(hasher);
        hr_hasher_update(hasher, bytes, fread(bytes, 1, SIZE_MAX_BYTES, file));
        fclose(file);
        struct hr_digest wanted = hr_hasher_finish(hasher);
        ck_assert_msg(hr_digest_equal(&wanted, &item->sha256), "%s: another SHA-256", path);
    }
    hr_hasher_destroy(hasher);
    free(bytes);
}

static void expect_card(const struct cards *cards, size_t card, size_t place)
{
    for (unsigned i = 0; i < FILES; i++) {
        char from[100], to[100];
        snprintf(from, sizeof from, "card%zu/DCIM/100NMERE/NMA_%04u.JPG", card, i);
        snprintf(to, sizeof to, "p%zu/job%zu/bag%zu/data/DCIM/100NMERE/NMA_%04u.JPG", place, card % 2, card, i);
        ck_assert_msg(fixture_same(&cards->fixture, from, to), "%s differs", to);
    }
}

START_TEST(lands_the_files_of_each_card_in_its_own_folders)
{
    struct cards cards;
    cards_begin(&cards);
    run_cards(&cards);
    for (size_t card = 0; card < CARDS; card++) {
        ck_assert_int_eq(cards.job_cards[card].status, HR_OK);
        ck_assert_uint_eq(cards.started[card], 1);
        ck_assert_uint_eq(cards.freed[card], 1);
        ck_assert_uint_eq(cards.settled[card], 1);
        ck_assert_uint_eq(cards.copies[card], FILES * PLACES);
        expect_card(&cards, card, 0);
        expect_card(&cards, card, 1);
    }
    expect_digests(&cards);
    cards_end(&cards);
}
END_TEST

START_TEST(goes_on_with_the_other_cards_when_one_is_pulled)
{
    struct cards cards;
    char card1[300], away[300];
    cards_begin(&cards);
    snprintf(card1, sizeof card1, "%s", fixture_path(&cards.fixture, "card1"));
    snprintf(away, sizeof away, "%s", fixture_path(&cards.fixture, "away"));
    ck_assert_int_eq(rename(card1, away), 0);
    run_cards(&cards);
    ck_assert_int_eq(cards.job_cards[0].status, HR_OK);
    ck_assert_int_eq(cards.job_cards[2].status, HR_OK);
    ck_assert_uint_eq(cards.freed[1], cards.job_cards[1].status == HR_OK);
    for (size_t card = 0; card < CARDS; card++)
        ck_assert_uint_eq(cards.settled[card], 1);
    expect_card(&cards, 0, 1);
    expect_card(&cards, 2, 0);
    cards_end(&cards);
}
END_TEST

START_TEST(calls_no_card_free_when_every_place_is_dead)
{
    struct cards cards;
    cards_begin(&cards);
    for (size_t card = 0; card < CARDS; card++)
        for (size_t p = 0; p < PLACES; p++)
            cards.job_cards[card].landings[p] =
                (struct hr_transfer_landing){"/nowhere/at/all/bag/data", "/nowhere/at/all/bag.aside"};
    run_cards(&cards);
    for (size_t card = 0; card < CARDS; card++) {
        ck_assert_uint_eq(cards.freed[card], 0);
        ck_assert_uint_eq(cards.settled[card], 1);
        ck_assert_uint_eq(cards.copies[card], 0);
    }
    ck_assert_int_eq(cards.sinks[0].status, HR_NOT_FOUND);
    cards_end(&cards);
}
END_TEST

START_TEST(leaves_a_place_alone_that_no_card_wants_anything_in)
{
    struct cards cards;
    cards_begin(&cards);
    for (size_t i = 0; i < cards.job.item_count; i++)
        cards.job.items[i].copies[1].state = HR_COPY_NOT_WANTED;
    for (size_t card = 0; card < CARDS; card++)
        cards.job_cards[card].landings[1] = (struct hr_transfer_landing){0};
    run_cards(&cards);
    ck_assert_int_eq(cards.sinks[1].status, HR_OK);
    ck_assert_uint_eq(cards.freed[2], 1);
    expect_card(&cards, 2, 0);
    cards_end(&cards);
}
END_TEST

HR_SUITE_TIMED("transfer/cards", 60, reads_the_cards_of_one_link_one_after_the_other,
               calls_a_card_free_only_when_no_copy_is_missing_where_a_place_still_works,
               lands_the_files_of_each_card_in_its_own_folders, goes_on_with_the_other_cards_when_one_is_pulled,
               calls_no_card_free_when_every_place_is_dead, leaves_a_place_alone_that_no_card_wants_anything_in)
