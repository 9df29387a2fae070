/* SPDX-License-Identifier: ISC */
/* How fast a full ledger answers: ledger_bench PATH [FILES]. PATH must not exist; it is left for a second look.
 *
 * Fills it with FILES (1,000,000) frames of many cards, each with a copy in two bags, then notes, finds and forgets
 * 10,000 more, as one card does. */
#include <headrace/ledger.h>

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { FILES_A_CARD = 10000, FILES_A_FOLDER = 1000 };

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void expect(enum hr_status status, enum hr_status wanted, const struct hr_fault *fault)
{
    if (status == wanted)
        return;
    fprintf(stderr, "ledger_bench: %s: %s\n", hr_status_name(status), fault->text);
    exit(1);
}

struct frame {
    char card[32], path[48];
    struct hr_ledger_file file;
};

/* Digests are spread as real ones are (the finaliser of splitmix64, from memory). */
static uint64_t scatter(uint64_t number)
{
    number += 0x9E3779B97F4A7C15u;
    number = (number ^ (number >> 30)) * 0xBF58476D1CE4E5B9u;
    number = (number ^ (number >> 27)) * 0x94D049BB133111EBu;
    return number ^ (number >> 31);
}

static void fill_digest(struct hr_digest *digest, enum hr_digest_kind kind, uint64_t number)
{
    *digest = (struct hr_digest){.kind = (uint8_t)kind, .size = (uint8_t)hr_digest_kind_size(kind)};
    for (size_t i = 0; i < digest->size; i++)
        digest->bytes[i] = (unsigned char)(scatter(number * 8 + i / 8) >> (i % 8 * 8));
}

static void make_frame(struct frame *frame, uint64_t number)
{
    uint64_t on_card = number % FILES_A_CARD;
    snprintf(frame->card, sizeof frame->card, "volume-%08" PRIX64, scatter(number / FILES_A_CARD) >> 32);
    snprintf(frame->path, sizeof frame->path, "DCIM/%03" PRIu64 "NORTH/A__%05" PRIu64 ".JPG",
             100 + on_card / FILES_A_FOLDER, on_card);
    frame->file = (struct hr_ledger_file){.card_identity = frame->card,
                                          .path = frame->path,
                                          .size_bytes = 8000000 + scatter(number) % 4000000,
                                          .modified_ns = 1700000000000000000 + (int64_t)number * 50000000};
    fill_digest(&frame->file.xxh128, HR_DIGEST_XXH128, number);
    fill_digest(&frame->file.sha256, HR_DIGEST_SHA256, number);
}

static void note_card(struct hr_ledger *ledger, uint64_t card, const char *volume)
{
    struct hr_fault fault = {0};
    struct frame frame;
    char path[32];
    int64_t bag = 0;
    make_frame(&frame, card * FILES_A_CARD);
    snprintf(path, sizeof path, "Cup final/%" PRIu64, card);
    expect(hr_ledger_begin(ledger, &fault), HR_OK, &fault);
    struct hr_ledger_bag delivery = {frame.card, "A", "Cup final", volume, volume, "/media/ssd", path};
    expect(hr_ledger_add_bag(&bag, ledger, &delivery, &fault), HR_OK, &fault);
    struct hr_ledger_copy copy = {.bag = bag, .proof = HR_PROOF_DIRECT, .proven_at_ns = 1};
    for (uint64_t i = 0; i < FILES_A_CARD; i++) {
        make_frame(&frame, card * FILES_A_CARD + i);
        expect(hr_ledger_add_copy(ledger, &frame.file, &copy, &fault), HR_OK, &fault);
    }
    expect(hr_ledger_commit(ledger, &fault), HR_OK, &fault);
}

static bool count_exact(void *context, const struct hr_ledger_copy *copy)
{
    *(uint64_t *)context += copy->bag > 0;
    return true;
}

static bool count_content(void *context, const struct hr_ledger_copy *copy, const char *path)
{
    return count_exact(context, copy) && path;
}

static void report(const char *what, uint64_t count, double since_s)
{
    double took_s = now_s() - since_s;
    printf("%-34s %9" PRIu64 " in %7.3f s  %9.0f/s\n", what, count, took_s, (double)count / took_s);
}

static void find_card(struct hr_ledger *ledger, uint64_t card, enum hr_status wanted, const char *what)
{
    uint64_t copies = 0;
    double since_s = now_s();
    for (uint64_t i = 0; i < FILES_A_CARD; i++) {
        struct hr_fault fault = {0};
        struct hr_ledger_file digests;
        struct frame frame;
        make_frame(&frame, card * FILES_A_CARD + i);
        expect(hr_ledger_find_copies(ledger, &frame.file, &digests, count_exact, &copies, &fault), wanted, &fault);
    }
    report(what, FILES_A_CARD, since_s);
}

static void find_contents(struct hr_ledger *ledger, uint64_t card)
{
    uint64_t copies = 0;
    double since_s = now_s();
    for (uint64_t i = 0; i < FILES_A_CARD; i++) {
        struct hr_fault fault = {0};
        struct frame frame;
        bool may_know = false;
        make_frame(&frame, card * FILES_A_CARD + i);
        expect(hr_ledger_may_know_content(&may_know, ledger, &frame.file, &fault), HR_OK, &fault);
        expect(
            hr_ledger_find_content(ledger, frame.file.size_bytes, &frame.file.xxh128, count_content, &copies, &fault),
            HR_OK, &fault);
    }
    report("asked for a content", FILES_A_CARD, since_s);
}

int main(int argc, char **argv)
{
    struct hr_fault fault = {0};
    struct hr_ledger *ledger = NULL;
    if (argc < 2) {
        fputs("usage: ledger_bench PATH [FILES]\n", stderr);
        return 2;
    }
    uint64_t cards = (argc > 2 ? strtoull(argv[2], NULL, 10) : 1000000) / FILES_A_CARD;
    if (hr_ledger_open_read_only(&ledger, argv[1], NULL) != HR_NOT_FOUND) {
        fprintf(stderr, "ledger_bench: something stands at %s\n", argv[1]);
        return 1;
    }
    expect(hr_ledger_open(&ledger, argv[1], &fault), HR_OK, &fault);
    double since_s = now_s();
    for (uint64_t card = 0; card < cards; card++) {
        note_card(ledger, card, "ssd");
        note_card(ledger, card, "backup");
    }
    report("filled with copies", cards * FILES_A_CARD * 2, since_s);
    since_s = now_s();
    note_card(ledger, cards, "ssd");
    report("noted a card in a first place", FILES_A_CARD, since_s);
    since_s = now_s();
    note_card(ledger, cards, "backup");
    report("noted it in a second", FILES_A_CARD, since_s);
    hr_ledger_close(ledger);

    expect(hr_ledger_open(&ledger, argv[1], &fault), HR_OK, &fault);
    find_card(ledger, cards / 2, HR_OK, "found the copies of a known file");
    find_card(ledger, cards + 1, HR_NOT_FOUND, "found an unknown file unknown");
    find_contents(ledger, cards / 3);
    since_s = now_s();
    expect(hr_ledger_forget_copies(ledger, 1, NULL, &fault), HR_OK, &fault);
    report("forgot a bag's copies", FILES_A_CARD, since_s);
    since_s = now_s();
    expect(hr_ledger_forget_copies(ledger, 2, NULL, &fault), HR_OK, &fault);
    report("forgot the last copies of a card", FILES_A_CARD, since_s);
    hr_ledger_close(ledger);
    return 0;
}
