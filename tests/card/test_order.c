/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "archive_writer.h"
#include "card_fixture.h"
#include "suite.h"

enum { UNRATED = 9, FRAMES = 12 };

/* A JPEG of an XMP packet alone (Adobe XMP specification part 3, "JPEG"); returns its size. */
static size_t build_rated(char file[600], int rating)
{
    char packet[512];
    int size = 0;
    if (rating != UNRATED)
        size = snprintf(packet, sizeof packet,
                        "http://ns.adobe.com/xap/1.0/%c<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "
                        "xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><rdf:Description "
                        "xmlns:xmp='http://ns.adobe.com/xap/1.0/' xmp:Rating='%d'/></rdf:RDF></x:xmpmeta>",
                        '\0', rating);
    memcpy(file, "\xff\xd8\xff\xe1", 4);
    file[4] = (char)((size + 2) >> 8);
    file[5] = (char)((size + 2) & 255);
    memcpy(file + 6, packet, (size_t)size);
    memcpy(file + 6 + size, "\xff\xd9", 2);
    return (size_t)size + 8;
}

static void write_rated(const struct slot *slot, const char *path, int rating)
{
    char file[600];
    slot_write(slot, path, file, build_rated(file, rating));
}

/* Frame f of twelve: protected when f is divisible by three, rating by f; each of a raw file without a rating, a JPEG
 * that has it and a sound. */
static const int ratings[FRAMES] = {0, 5, UNRATED, 3, -1, 5, 1, 0, 3, 2, 4, -1};

static bool is_protected(int frame)
{
    return frame % 3 == 0;
}

static void insert_frames(struct slot *slot)
{
    static const char *const extensions[] = {"DNG", "JPG", "WAV"};
    char path[64];
    slot_begin(slot);
    for (int f = 0; f < FRAMES; f++)
        for (int i = 0; i < 3; i++) {
            snprintf(path, sizeof path, "card/DCIM/100NMERE/NMA_%04d.%s", f + 1, extensions[i]);
            if (i == 1)
                write_rated(slot, path, ratings[f]);
            else
                slot_text(slot, path, "x");
            slot_stamp(slot, path, 1779030245 + f / 2, 0); /* two to a second */
            ck_assert_int_eq(chmod(slot_path(slot, path), is_protected(f) && i != 1 ? 0444 : 0644), 0);
        }
    slot_insert(slot, "card");
    ck_assert_int_eq(hr_inventory_read_ratings(slot->inventory, slot->card, NULL, NULL, NULL), HR_OK);
}

START_TEST(reads_the_rating_of_each_frame_from_the_file_that_has_one)
{
    struct slot slot;
    insert_frames(&slot);
    ck_assert_uint_eq(slot.inventory->frame_count, FRAMES);
    for (int f = 0; f < FRAMES; f++)
        ck_assert_int_eq(slot.inventory->frames[f].rating, ratings[f] == UNRATED ? 0 : ratings[f]);
    slot_end(&slot);
}
END_TEST

/* ---- The model: key by key from the last, each a pass that keeps the order of equals ---- */

static int weight(int frame, enum hr_first key)
{
    int rating = ratings[frame] == UNRATED ? 0 : ratings[frame];
    return key == HR_FIRST_PROTECTED ? is_protected(frame) : key == HR_FIRST_RATED ? rating : frame;
}

static void model(int order[FRAMES], const enum hr_first *keys, size_t count)
{
    for (int f = 0; f < FRAMES; f++)
        order[f] = f;
    while (count-- > 0)
        for (int pass = 0; pass < FRAMES; pass++)
            for (int i = 0; i + 1 < FRAMES; i++)
                if (weight(order[i], keys[count]) < weight(order[i + 1], keys[count])) {
                    int swapped = order[i];
                    order[i] = order[i + 1];
                    order[i + 1] = swapped;
                }
}

static void expect_order(const struct slot *slot, const enum hr_first *keys, size_t count)
{
    int expected[FRAMES];
    uint32_t *order = NULL;
    model(expected, keys, count);
    ck_assert_int_eq(hr_inventory_order(&order, slot->inventory, slot->card, keys, count, NULL), HR_OK);
    for (uint32_t i = 0; i < 3 * FRAMES; i++)
        ck_assert_msg(order[i] == 3 * (uint32_t)expected[i / 3] + i % 3, "%zu keys, from %s: file %u is %u", count,
                      count ? hr_first_name(keys[0]) : "none", i, order[i]);
    free(order);
}

START_TEST(takes_frames_whole_by_every_mix_of_keys)
{
    struct slot slot;
    insert_frames(&slot);
    expect_order(&slot, NULL, 0);
    for (int a = 0; a < HR_FIRST_COUNT; a++) {
        expect_order(&slot, (enum hr_first[]){(enum hr_first)a}, 1);
        for (int b = 0; b < HR_FIRST_COUNT; b++) {
            expect_order(&slot, (enum hr_first[]){(enum hr_first)a, (enum hr_first)b}, 2);
            for (int c = 0; c < HR_FIRST_COUNT; c++)
                expect_order(&slot, (enum hr_first[]){(enum hr_first)a, (enum hr_first)b, (enum hr_first)c}, 3);
        }
    }
    slot_end(&slot);
}
END_TEST

START_TEST(names_each_key)
{
    ck_assert_str_eq(hr_first_name(HR_FIRST_PROTECTED), "protected");
    ck_assert_str_eq(hr_first_name(HR_FIRST_RATED), "rated");
    ck_assert_str_eq(hr_first_name(HR_FIRST_NEWEST), "newest");
    ck_assert_ptr_null(hr_first_name(HR_FIRST_COUNT));
}
END_TEST

START_TEST(orders_an_empty_card)
{
    struct slot slot;
    uint32_t *order = NULL;
    slot_begin(&slot);
    slot_folder(&slot, "card");
    slot_insert(&slot, "card");
    const enum hr_first key = HR_FIRST_RATED;
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, NULL, NULL), HR_OK);
    ck_assert_int_eq(hr_inventory_order(&order, slot.inventory, slot.card, &key, 1, NULL), HR_OK);
    free(order);
    slot_end(&slot);
}
END_TEST

START_TEST(takes_the_first_rating_of_a_frame_in_its_order)
{
    struct slot slot;
    slot_begin(&slot);
    write_rated(&slot, "card/N1.DNG", 2); /* told by its bytes, whatever its name */
    write_rated(&slot, "card/N1.JPG", 4);
    write_rated(&slot, "card/N2.JPG", UNRATED);
    write_rated(&slot, "card/N2.HIF", 4);
    write_rated(&slot, "card/N3.WAV", 4); /* no picture: not read */
    write_rated(&slot, "card/N4.TXT", 4);
    slot_insert(&slot, "card");
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, NULL, NULL), HR_OK);
    static const struct {
        const char *path;
        int rating;
    } expected[] = {{"N1.JPG", 2}, {"N2.JPG", 4}, {"N3.WAV", 0}, {"N4.TXT", 0}};
    for (size_t i = 0; i < 4; i++)
        ck_assert_msg(slot.inventory->frames[slot_file(&slot, expected[i].path)->frame].rating == expected[i].rating,
                      "%s", expected[i].path);
    slot_end(&slot);
}
END_TEST

START_TEST(leaves_a_frame_it_cannot_read_and_reads_the_others)
{
    struct slot slot;
    slot_begin(&slot);
    write_rated(&slot, "card/N1.JPG", 5);
    write_rated(&slot, "card/N2.JPG", 4);
    slot_insert(&slot, "card");
    ck_assert_int_eq(unlink(slot_path(&slot, "card/N1.JPG")), 0);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, NULL, NULL), HR_OK);
    ck_assert_int_eq(slot.inventory->frames[0].rating, 0);
    ck_assert_int_eq(slot.inventory->frames[1].rating, 4);
    slot_end(&slot);
}
END_TEST

START_TEST(stops_reading_ratings_when_asked_or_when_the_card_is_pulled)
{
    struct slot slot;
    struct hr_cancel *cancel = hr_cancel_create();
    struct hr_fault fault = {0};
    char away[2048];
    insert_frames(&slot);
    hr_cancel_request(cancel);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, cancel, NULL), HR_CANCELLED);
    hr_cancel_destroy(cancel);
    ck_assert_int_eq(unlink(slot_path(&slot, "card/DCIM/100NMERE/NMA_0007.DNG")), 0);
    snprintf(away, sizeof away, "%s", slot_path(&slot, "away"));
    ck_assert_int_eq(rename(slot_path(&slot, "card"), away), 0);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, NULL, &fault), HR_GONE);
    ck_assert_int_eq(fault.status, HR_GONE);
    slot_end(&slot);
}
END_TEST

static void take_count(void *context, size_t files_done, size_t files_total)
{
    size_t *done = context;
    ck_assert_uint_eq(files_done, *done + 1);
    ck_assert_uint_eq(files_total, 3 * FRAMES);
    *done = files_done;
}

START_TEST(tells_how_far_reading_ratings_is)
{
    struct slot slot;
    size_t done = 0;
    const struct hr_ratings_observer observer = {.context = &done, .progress = take_count};
    insert_frames(&slot);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, &observer, NULL, NULL), HR_OK);
    ck_assert_uint_eq(done, 3 * FRAMES);
    slot_end(&slot);
}
END_TEST

START_TEST(gives_the_facts_of_one_file)
{
    struct slot slot;
    struct hr_media_facts facts;
    slot_begin(&slot);
    write_rated(&slot, "card/N1.JPG", 3);
    slot_text(&slot, "card/N2.JPG", "no picture at all");
    slot_text(&slot, "card/N3.JPG", "");
    slot_insert(&slot, "card");
    ck_assert_int_eq(hr_card_file_media(&facts, slot.card, slot_file(&slot, "N1.JPG"), NULL), HR_OK);
    ck_assert_int_eq(facts.rating, 3);
    for (int i = 0; i < 2; i++) {
        const char *path = i ? "N3.JPG" : "N2.JPG";
        ck_assert_int_eq(hr_card_file_media(&facts, slot.card, slot_file(&slot, path), NULL), HR_OK);
        ck_assert_int_eq(facts.rating, HR_RATING_UNKNOWN);
    }
    const struct hr_card_file nothing = {.path = "N4.JPG", .size_bytes = 7};
    ck_assert_int_eq(hr_card_file_media(&facts, slot.card, &nothing, NULL), HR_NOT_FOUND);
    slot_end(&slot);
}
END_TEST

/* ---- An archive is read as it stands ---- */

static void insert_rated_tar(struct slot *slot)
{
    struct archive_writer tar = {0};
    char file[600];
    slot_begin(slot);
    for (int f = FRAMES; f-- > 0;) {
        char name[64];
        snprintf(name, sizeof name, "DCIM/100NMERE/NMA_%04d.JPG", f + 1);
        size_t size = build_rated(file, ratings[f]);
        tar_add(&tar, &(struct tar_member){.name = name,
                                           .mode = is_protected(f) ? 0444 : 0644,
                                           .modified_s = 1779030245 + f,
                                           .body = file,
                                           .body_size = size});
    }
    tar_end(&tar);
    slot_write(slot, "card.tar", tar.bytes, tar.size);
    archive_writer_finish(&tar);
    slot_insert(slot, "card.tar");
}

START_TEST(takes_the_files_of_an_archive_as_they_stand_whatever_the_keys)
{
    struct slot slot;
    const enum hr_first keys[] = {HR_FIRST_RATED, HR_FIRST_PROTECTED};
    insert_rated_tar(&slot);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, NULL, NULL), HR_OK);
    for (size_t count = 0; count <= 2; count++) {
        uint32_t *order = NULL;
        ck_assert_int_eq(hr_inventory_order(&order, slot.inventory, slot.card, keys, count, NULL), HR_OK);
        for (uint32_t i = 0; i < FRAMES; i++)
            ck_assert_uint_eq(order[i], FRAMES - 1 - i);
        free(order);
    }
    slot_end(&slot);
}
END_TEST

START_TEST(reads_ratings_and_facts_of_an_archive)
{
    struct slot slot;
    struct hr_media_facts facts;
    struct hr_cancel *cancel = hr_cancel_create();
    insert_rated_tar(&slot);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, NULL, NULL), HR_OK);
    for (int f = 0; f < FRAMES; f++) {
        ck_assert_int_eq(slot.inventory->frames[f].rating, ratings[f] == UNRATED ? 0 : ratings[f]);
        ck_assert(slot.inventory->frames[f].is_protected == is_protected(f));
        ck_assert_int_eq(hr_card_file_media(&facts, slot.card, &slot.inventory->files[f], NULL), HR_OK);
        ck_assert_int_eq(facts.rating, ratings[f] == UNRATED ? HR_RATING_UNKNOWN : ratings[f]);
    }
    hr_cancel_request(cancel);
    ck_assert_int_eq(hr_inventory_read_ratings(slot.inventory, slot.card, NULL, cancel, NULL), HR_CANCELLED);
    struct hr_inventory *inventory = NULL;
    ck_assert_int_eq(hr_inventory_create(&inventory, slot.card, cancel, NULL), HR_CANCELLED);
    ck_assert_ptr_null(inventory);
    hr_cancel_destroy(cancel);
    slot_end(&slot);
}
END_TEST

HR_SUITE("card/order", reads_the_rating_of_each_frame_from_the_file_that_has_one,
         takes_frames_whole_by_every_mix_of_keys, names_each_key, orders_an_empty_card,
         takes_the_first_rating_of_a_frame_in_its_order, leaves_a_frame_it_cannot_read_and_reads_the_others,
         stops_reading_ratings_when_asked_or_when_the_card_is_pulled, tells_how_far_reading_ratings_is,
         gives_the_facts_of_one_file, takes_the_files_of_an_archive_as_they_stand_whatever_the_keys,
         reads_ratings_and_facts_of_an_archive)
