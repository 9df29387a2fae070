/* SPDX-License-Identifier: ISC */
#include "sequence/streams.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "base/fault.h"
#include "sequence/frame_order.h"

/* So many runs of numbers are watched at a time: more than bodies of one model at one match. */
enum { CHAINS_WATCHED = 32 };

/* A frame with what tells its body. */
struct row {
    const char *serial, *model;
    int64_t local_ns;
    uint16_t counter;
    uint32_t frame;
    uint32_t chain; /* of a body without a serial */
};

static int compare_texts(const char *a, const char *b)
{
    return a == b ? 0 : strcmp(a, b);
}

/* A serial is a body whatever its files say of the model. */
static int compare_bodies(const struct row *a, const struct row *b)
{
    int order = compare_texts(a->serial, b->serial);
    return order || a->serial[0] ? order : compare_texts(a->model, b->model);
}

static int compare_rows(const void *left, const void *right)
{
    const struct row *a = left, *b = right;
    int order = compare_bodies(a, b);
    if (!order)
        order = (a->local_ns > b->local_ns) - (a->local_ns < b->local_ns);
    if (!order)
        order = a->counter - b->counter;
    return order ? order : (a->frame > b->frame) - (a->frame < b->frame);
}

static int compare_chains(const void *left, const void *right)
{
    const struct row *a = left, *b = right;
    if (a->chain != b->chain)
        return a->chain < b->chain ? -1 : 1;
    return compare_rows(left, right);
}

/* ---- Bodies without a serial ---- */

/* A run of numbers that count on. */
struct chain {
    int64_t first_ns, last_ns;
    uint16_t last_counter;
    uint32_t body; /* within the model */
};

struct chains {
    struct chain *chains;
    size_t count, capacity;
};

/* The chain whose count `row` goes on nearest; SIZE_MAX when it goes on none. */
static size_t find_chain(const struct chains *chains, const struct row *row)
{
    size_t nearest = SIZE_MAX, watched_from = chains->count > CHAINS_WATCHED ? chains->count - CHAINS_WATCHED : 0;
    unsigned least = 0;
    for (size_t i = watched_from; i < chains->count; i++) {
        unsigned last = chains->chains[i].last_counter;
        unsigned step = row->counter > last ? row->counter - last : row->counter + 9999u - last;
        if (hr__counter_continues(last, row->counter) && (nearest == SIZE_MAX || step < least)) {
            nearest = i;
            least = step;
        }
    }
    return nearest;
}

static enum hr_status link_chains(struct chains *chains, struct row *rows, size_t count, struct hr_fault *fault)
{
    for (size_t i = 0; i < count; i++) {
        size_t at = rows[i].counter ? find_chain(chains, &rows[i]) : chains->count ? 0 : SIZE_MAX;
        if (at == SIZE_MAX) {
            if (!hr__array_reserve(&chains->chains, &chains->capacity, chains->count + 1, sizeof *chains->chains,
                                   UINT32_MAX))
                return hr__fault_nomem(fault, "the bodies of frames");
            at = chains->count++;
            chains->chains[at] = (struct chain){.first_ns = rows[i].local_ns};
        }
        assert(at < chains->count);
        chains->chains[at].last_ns = rows[i].local_ns;
        if (rows[i].counter)
            chains->chains[at].last_counter = rows[i].counter;
        rows[i].chain = (uint32_t)at;
    }
    return HR_OK;
}

/* Chains stand in order of their first frame. One that begins when another has ended may be the same body after its
 * counter was set back; those that overlap are different bodies. */
static void give_bodies(struct chains *chains)
{
    int64_t ends[CHAINS_WATCHED];
    uint32_t body_count = 0;
    for (size_t i = 0; i < chains->count; i++) {
        struct chain *chain = &chains->chains[i];
        uint32_t body = 0;
        while (body < body_count && ends[body] > chain->first_ns && body + 1 < CHAINS_WATCHED)
            body++;
        if (body == body_count)
            ends[body_count++] = chain->last_ns;
        else if (ends[body] < chain->last_ns)
            ends[body] = chain->last_ns;
        chain->body = body;
    }
}

static enum hr_status part_model(struct row *rows, size_t count, struct hr_fault *fault)
{
    struct chains chains = {0};
    enum hr_status status = link_chains(&chains, rows, count, fault);
    if (!status) {
        give_bodies(&chains);
        for (size_t i = 0; i < count; i++)
            rows[i].chain = chains.chains[rows[i].chain].body;
        qsort(rows, count, sizeof *rows, compare_chains);
    }
    free(chains.chains);
    return status;
}

/* ---- Streams ---- */

static size_t body_length(const struct row *rows, size_t count)
{
    size_t length = 1;
    while (length < count && compare_bodies(&rows[0], &rows[length]) == 0)
        length++;
    return length;
}

static enum hr_status part_models(struct row *rows, size_t count, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    for (size_t at = 0, length; at < count && !status; at += length) {
        length = body_length(rows + at, count - at);
        if (!rows[at].serial[0])
            status = part_model(rows + at, length, fault);
    }
    return status;
}

static enum hr_status lay_out(struct hr_streams *out, const struct row *rows, size_t count, struct hr_fault *fault)
{
    size_t capacity = 0;
    for (size_t i = 0; i < count; i++) {
        bool is_new = i == 0 || compare_bodies(&rows[i - 1], &rows[i]) != 0 || rows[i - 1].chain != rows[i].chain;
        if (is_new && !hr__array_reserve(&out->streams, &capacity, out->count + 1, sizeof *out->streams, count))
            return hr__fault_nomem(fault, "the bodies of frames");
        if (is_new)
            out->streams[out->count++] =
                (struct hr_stream){.serial = rows[i].serial, .model = rows[i].model, .frames = out->frames + i};
        out->frames[i] = rows[i].frame;
        out->streams[out->count - 1].count++;
    }
    return HR_OK;
}

enum hr_status hr__streams_split(struct hr_streams *out, const struct hr_frame *frames, const uint32_t *chosen,
                                 size_t chosen_count, struct hr_fault *fault)
{
    struct row *rows = calloc(chosen_count + 1, sizeof *rows);
    *out = (struct hr_streams){.frames = calloc(chosen_count + 1, sizeof *out->frames)};
    enum hr_status status = rows && out->frames ? HR_OK : hr__fault_nomem(fault, "the bodies of frames");
    for (size_t i = 0; i < chosen_count && !status; i++) {
        const struct hr_frame *frame = &frames[chosen[i]];
        rows[i] = (struct row){.serial = frame->serial,
                               .model = frame->model,
                               .local_ns = frame->local_ns,
                               .counter = frame->counter,
                               .frame = chosen[i]};
    }
    if (!status) {
        qsort(rows, chosen_count, sizeof *rows, compare_rows);
        status = part_models(rows, chosen_count, fault);
    }
    if (!status)
        status = lay_out(out, rows, chosen_count, fault);
    free(rows);
    if (status)
        hr__streams_finish(out);
    return status;
}

void hr__streams_finish(struct hr_streams *streams)
{
    free(streams->streams);
    free(streams->frames);
    *streams = (struct hr_streams){0};
}
