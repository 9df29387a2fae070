/* SPDX-License-Identifier: ISC */
/* judge_card CARD TRUTH: groups the frames of a demo card and compares with what its builder wrote down. Prints one
 * line: frames, F1 of pairs in sequences, F1 of pairs in bursts, stalls of 3 s or more there, of these found where they
 * are, the worst distance in frames, stalls said of bursts that have none. */
#include <headrace/sequence.h>

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "pair_score.h"

enum { FRAMES_MAX = 20000, LINE_SIZE = 1024, LEAST_STALL_S = 3 };

struct truth {
    char key[64];
    char body;
    uint32_t sequence, burst;
    bool is_stalled;
    int64_t time_ns;
    double cadence_per_s;
};

/* A frame as its truth has it, and where it was put. */
struct judged {
    struct truth truth;
    uint32_t sequence, burst; /* labels */
    const struct hr_sequence *in;
    uint32_t at; /* index into its frames */
};

struct card {
    struct judged frames[FRAMES_MAX];
    size_t count;
    double resolution_s;
};

struct stalls {
    unsigned wanted, found, is_false;
    double worst;
};

static void fail(const char *text)
{
    fprintf(stderr, "judge_card: %s\n", text);
    exit(2);
}

/* ---- Truth ---- */

static int compare_keys(const void *left, const void *right)
{
    return strcmp(((const struct judged *)left)->truth.key, ((const struct judged *)right)->truth.key);
}

static int compare_times(const void *left, const void *right)
{
    const struct truth *a = &((const struct judged *)left)->truth, *b = &((const struct judged *)right)->truth;
    if (a->body != b->body)
        return a->body - b->body;
    return (a->time_ns > b->time_ns) - (a->time_ns < b->time_ns);
}

static void read_truth(struct card *card, const char *path)
{
    char line[LINE_SIZE], files[256], kind[16], serial[64];
    unsigned counter, stalled;
    int64_t stamp_ns;
    FILE *file = fopen(path, "r");
    if (!file || !fgets(line, sizeof line, file))
        fail("no truth");
    while (fgets(line, sizeof line, file) && card->count < FRAMES_MAX) {
        struct truth *truth = &card->frames[card->count].truth;
        if (sscanf(line, "%255[^,],%15[^,],%c,%63[^,],%" SCNd64 ",%" SCNd64 ",%u,%" SCNu32 ",%" SCNu32 ",%u,%lf", files,
                   kind, &truth->body, serial, &truth->time_ns, &stamp_ns, &counter, &truth->sequence, &truth->burst,
                   &stalled, &truth->cadence_per_s) != 11)
            continue; /* a clip */
        truth->is_stalled = stalled;
        snprintf(truth->key, sizeof truth->key, "%.*s", (int)strcspn(files, "."), files);
        card->count++;
    }
    fclose(file);
}

/* ---- What was found ---- */

static struct judged *find(struct card *card, const char *key)
{
    struct judged wanted = {0};
    snprintf(wanted.truth.key, sizeof wanted.truth.key, "%s", key);
    return bsearch(&wanted, card->frames, card->count, sizeof *card->frames, compare_keys);
}

static void note_sequence(struct card *card, const struct hr_delivered *delivered, const struct hr_sequence *sequence,
                          uint32_t label, uint32_t *burst_label)
{
    for (size_t b = 0; b < sequence->burst_count; b++, (*burst_label)++)
        for (uint32_t i = sequence->bursts[b].first; i <= sequence->bursts[b].last; i++) {
            struct judged *frame = find(card, delivered->frames[sequence->frames[i]].key);
            if (!frame)
                fail("a frame that the truth does not know");
            frame->sequence = label;
            frame->burst = *burst_label;
            frame->in = sequence;
            frame->at = i;
        }
}

static void note_grouping(struct card *card, const struct hr_delivered *delivered, const struct hr_grouping *grouping)
{
    uint32_t burst_label = 1;
    for (size_t i = 0; i < card->count; i++) /* each by itself until it is found in a sequence */
        card->frames[i].sequence = card->frames[i].burst = (uint32_t)(1000000 + i);
    for (size_t i = 0; i < grouping->sequence_count; i++)
        note_sequence(card, delivered, &grouping->sequences[i], (uint32_t)i + 1, &burst_label);
    for (size_t i = 0; i < grouping->body_count; i++)
        card->resolution_s = fmax(card->resolution_s, (double)grouping->bodies[i].resolution_ns / 1e9);
}

/* ---- Scores ---- */

static double f1_of(const struct card *card, bool of_bursts)
{
    static uint32_t truth[FRAMES_MAX], found[FRAMES_MAX];
    for (size_t i = 0; i < card->count; i++) {
        const struct judged *frame = &card->frames[i];
        truth[i] = (of_bursts ? frame->truth.burst : frame->truth.sequence) * 2 + (frame->truth.body == 'B');
        found[i] = of_bursts ? frame->burst : frame->sequence;
    }
    return pair_score(truth, found, card->count).f1;
}

static const struct hr_burst *burst_of(const struct judged *frame)
{
    for (size_t i = 0; frame->in && i < frame->in->burst_count; i++)
        if (frame->at >= frame->in->bursts[i].first && frame->at <= frame->in->bursts[i].last)
            return &frame->in->bursts[i];
    return NULL;
}

/* `frames`: one burst of the truth, in order. */
static void judge_burst(struct stalls *stalls, const struct judged *frames, size_t count, double resolution_s)
{
    size_t first = 0;
    while (first < count && !frames[first].truth.is_stalled)
        first++;
    const struct hr_burst *burst = burst_of(&frames[first < count ? first : 0]);
    bool is_said = burst && burst->has_stall;
    if (first == count) {
        stalls->is_false += is_said;
        return;
    }
    if ((double)(frames[count - 1].truth.time_ns - frames[first].truth.time_ns) / 1e9 < LEAST_STALL_S)
        return;
    double tolerance = fmax(2, 2 * frames[first].truth.cadence_per_s * resolution_s);
    double distance = is_said ? fabs((double)burst->stall.frame - frames[first].at) : INFINITY;
    stalls->wanted++;
    stalls->found += distance <= tolerance;
    stalls->worst = fmax(stalls->worst, distance);
}

static struct stalls judge_stalls(struct card *card)
{
    struct stalls stalls = {0};
    qsort(card->frames, card->count, sizeof *card->frames, compare_times);
    for (size_t from = 0, to; from < card->count; from = to) {
        const struct truth *truth = &card->frames[from].truth;
        for (to = from + 1; to < card->count && card->frames[to].truth.body == truth->body &&
                            card->frames[to].truth.burst == truth->burst;
             to++)
            continue;
        judge_burst(&stalls, &card->frames[from], to - from, card->resolution_s);
    }
    return stalls;
}

int main(int argc, char **argv)
{
    static struct card card;
    struct hr_delivered *delivered = NULL;
    struct hr_grouping *grouping = NULL;
    struct hr_fault fault = {0};
    if (argc != 3)
        fail("judge_card CARD TRUTH");
    read_truth(&card, argv[2]);
    qsort(card.frames, card.count, sizeof *card.frames, compare_keys);
    if (hr_delivered_create(&delivered, (const char *const *)&argv[1], 1, NULL, NULL, &fault) ||
        hr_grouping_create(&grouping, delivered->frames, delivered->frame_count, NULL, &fault))
        fail(fault.text);
    note_grouping(&card, delivered, grouping);
    double sequences = f1_of(&card, false), bursts = f1_of(&card, true);
    struct stalls stalls = judge_stalls(&card);
    printf("%zu %.6f %.6f %u %u %g %u\n", card.count, sequences, bursts, stalls.wanted, stalls.found, stalls.worst,
           stalls.is_false);
    hr_grouping_destroy(grouping);
    hr_delivered_destroy(delivered);
    return 0;
}
