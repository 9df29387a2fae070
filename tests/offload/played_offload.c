/* SPDX-License-Identifier: ISC */
#include "played_offload.h"

#include <math.h>
#include <string.h>

#include "base/units.h"

static const double step_s = 0.1, pool_mb = 33, batch_mb = 67;
enum { MOVES_PER_STEP = 20, STEPS_PER_LUMP = 5 };

struct state {
    double read_mb, written_mb[2], durable_mb[2], read_back_mb[2]; /* MB */
    double lump[3]; /* of the card and of each place: shares of its speed at the moment */
    unsigned seed;
};

/* Real devices move in lumps. */
static void make_lumps(struct state *state)
{
    for (size_t i = 0; i < 3; i++) {
        state->seed = state->seed * 1664525u + 1013904223u;
        state->lump[i] = 0.6 + 0.8 * (state->seed >> 8) / 16777216.0;
    }
}

static bool may_read_back(const struct played_place *place, double total_mb, double backlog_mb, double written_mb)
{
    if (place->together >= 1.4 || written_mb >= total_mb)
        return true;
    return place->together >= 0.7 && backlog_mb <= 8;
}

static void move_place(struct state *state, const struct played_offload *offload, size_t i, double now_s)
{
    const struct played_place *place = &offload->places[i];
    double backlog = state->read_mb - state->written_mb[i], unread = state->durable_mb[i] - state->read_back_mb[i];
    bool is_slow = place->slows_at_mb > 0 && state->written_mb[i] > place->slows_at_mb;
    bool stalls = place->stalls_at_s > 0 && now_s >= place->stalls_at_s && now_s < place->stalls_at_s + 5;
    double moves = stalls ? 0 : step_s / MOVES_PER_STEP * state->lump[i + 1];
    bool reads = unread > 0 && may_read_back(place, offload->total_mb, backlog, state->written_mb[i]);
    double share = reads && backlog > 0 ? fmin(1, place->together / 2) : 1;
    state->written_mb[i] += fmin(backlog, place->write * (is_slow ? 0.5 : 1) * moves * share);
    if (reads)
        state->read_back_mb[i] += fmin(unread, place->read_back * moves * share);
    if (state->written_mb[i] - state->durable_mb[i] > batch_mb || state->written_mb[i] >= offload->total_mb)
        state->durable_mb[i] = state->written_mb[i];
}

static void move(struct state *state, const struct played_offload *offload, double now_s)
{
    double slowest_mb = offload->total_mb;
    for (size_t i = 0; i < offload->place_count; i++) {
        move_place(state, offload, i, now_s);
        slowest_mb = fmin(slowest_mb, state->written_mb[i]);
    }
    double next = fmin(state->read_mb + offload->card * step_s / MOVES_PER_STEP * state->lump[0], slowest_mb + pool_mb);
    state->read_mb = fmin(fmax(state->read_mb, next), offload->total_mb);
}

static uint64_t bytes_of(double mb)
{
    return (uint64_t)(mb * 1e6);
}

static bool ask(struct played_said *said, struct hr_meter *meter, const struct state *state,
                const struct played_offload *offload)
{
    struct hr_offload_progress progress = {.elapsed_ns = (int64_t)((double)said->steps * step_s * 1e9),
                                           .read_bytes = bytes_of(state->read_mb),
                                           .total_bytes = bytes_of(offload->total_mb),
                                           .place_count = offload->place_count};
    struct hr_meter_mark mark = {.at_ns = progress.elapsed_ns, .read_bytes = progress.read_bytes};
    bool is_done = true;
    for (size_t i = 0; i < offload->place_count; i++) {
        struct hr_offload_place_progress *place = &progress.places[i];
        place->written_bytes = mark.written_bytes[i] = bytes_of(state->written_mb[i]);
        place->read_back_bytes = mark.read_back_bytes[i] = place->proven_bytes = bytes_of(state->read_back_mb[i]);
        place->total_bytes = progress.total_bytes;
        place->reads_beside = offload->places[i].together >= 1.4;
        is_done = is_done && place->proven_bytes >= place->total_bytes;
    }
    hr__meter_mark(meter, &mark);
    hr__meter_estimate(&progress, meter, offload->expected);
    said->low_s[said->steps] = (double)progress.left_low_ns / 1e9;
    said->high_s[said->steps] = (double)progress.left_high_ns / 1e9;
    said->written_mb[said->steps] = state->written_mb[0];
    return is_done;
}

void played_offload_run(struct played_said *said, const struct played_offload *offload)
{
    struct state state = {.seed = 1};
    struct hr_meter meter = {0};
    memset(said, 0, sizeof *said);
    while (!ask(said, &meter, &state, offload) && said->steps + 1 < PLAYED_STEPS_MAX) {
        if (said->steps % STEPS_PER_LUMP == 0)
            make_lumps(&state);
        for (size_t i = 0; i < MOVES_PER_STEP; i++)
            move(&state, offload, (double)said->steps * step_s);
        said->steps++;
    }
    said->seconds = (double)said->steps * step_s;
}

static double end_s(const struct played_said *said, size_t step)
{
    return (double)step * step_s + (said->low_s[step] + said->high_s[step]) / 2;
}

double played_error(const struct played_said *said, double share_done)
{
    size_t step = (size_t)((double)said->steps * share_done);
    return said->low_s[step] < 0 ? 1 : end_s(said, step) / said->seconds - 1;
}

double played_jump(const struct played_said *said)
{
    double most = 0;
    for (size_t i = 1; i < said->steps; i++)
        if (said->low_s[i - 1] >= 0)
            most = fmax(most, said->low_s[i] < 0 ? 1 : fabs(end_s(said, i) - end_s(said, i - 1)) / said->seconds);
    return most;
}

double played_share_when_written(const struct played_said *said, double mb)
{
    size_t step = 0;
    while (step < said->steps && said->written_mb[step] < mb)
        step++;
    return (double)step / (double)said->steps;
}

double played_held(const struct played_said *said)
{
    size_t held = 0;
    for (size_t i = 0; i < said->steps; i++) {
        double left = said->seconds - (double)i * step_s;
        held += said->low_s[i] <= left && left <= said->high_s[i];
    }
    return (double)held / (double)said->steps;
}
