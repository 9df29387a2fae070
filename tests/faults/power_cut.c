/* SPDX-License-Identifier: ISC */
/* States in which a power cut may leave a place and the ledger, tried one after the other
 * (tests/support/recorded_volume.h has the model):
 *
 *     power_cut calls RECORDING
 *         how many calls it holds
 *     power_cut try JOB PLACE FOLDER STATES SEED
 *         in a folder with `recording`, of a run of JOB (power_again.h) from `card` to PLACE, with its ledger in
 * `state`; PLACE is, or shows, FOLDER. What stood in both at first is in before/place and before/state
 *
 * The recording is cut in so many spans of calls, and somewhere in each the power fails. What of the calls before is on
 * the medium follows from the seed, and so does what became of the ledger, which stands on a disk of its own:
 *
 *     cut      its power failed, too
 *     ahead    only the place's power failed, earlier than the run thought: the ledger is that of the run's end
 *     none     it is lost
 *
 * Prints a line a state: a number that tells it from others, its cut, and "ok", or "broken" and why. Holding: what
 * bears a final name is the file of the card; nothing is believed that does not stand; where the job is to fill folders
 * no file is lost; and JOB, done again, ends with every file once in the place, valid bags, a sound ledger, and nothing
 * left lying about. */
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fault.h"
#include "power_again.h"
#include "power_judge.h"
#include "recorded_volume.h"

static const char recording[] = "recording", card[] = "card", ledger[] = "state/headrace/ledger.db";

enum memory { MEMORY_CUT, MEMORY_AHEAD, MEMORY_NONE };

struct trial {
    const char *job, *place, *folder;
    size_t calls;
    struct judged *judged;
};

struct cut {
    size_t calls;
    enum recorded_freedom freedom;
    enum memory memory;
    uint64_t seed;
};

static bool is_job(const struct trial *trial, const char *job)
{
    return !strcmp(trial->job, job);
}

static bool only_fills(const struct trial *trial)
{
    return is_job(trial, "link") || is_job(trial, "copy") || is_job(trial, "move");
}

/* ---- A state ---- */

static uint64_t make_volume(const char *name, const char *before, const char *folder, size_t calls,
                            enum recorded_freedom freedom, uint64_t seed)
{
    struct recorded_volume volume;
    recorded_volume_init(&volume, recording, name, before, calls);
    uint64_t sum = recorded_state_make(&volume, freedom, seed, folder);
    recorded_volume_finish(&volume);
    return sum;
}

static uint64_t make_state(const struct trial *trial, const struct cut *cut)
{
    judge_empty(trial->folder);
    judge_empty("state");
    if (cut->memory == MEMORY_CUT)
        make_volume("state", "before/state", "state", cut->calls, cut->freedom, cut->seed + 1);
    else if (cut->memory == MEMORY_AHEAD)
        make_volume("state", "before/state", "state", trial->calls, RECORDED_DONE, 0);
    return make_volume(trial->place, "before/place", trial->folder, cut->calls, cut->freedom, cut->seed);
}

/* ---- Judging it ---- */

/* First cause wins, as everywhere. */
static bool holds(bool does, struct hr_fault *fault, const char *format, ...)
{
    char text[JUDGED_TEXT];
    va_list given;
    va_start(given, format);
    vsnprintf(text, sizeof text, format, given);
    va_end(given);
    if (!does)
        hr__fault_set(fault, HR_DIFFERS, 0, "%s", text);
    return does;
}

static bool none_is_lost(const struct judged *judged, struct hr_fault *fault)
{
    bool all_stand = true;
    for (size_t i = 0; i < judged->file_count && all_stand; i++)
        all_stand = holds(judged->files[i].in_bags + judged->files[i].in_sequences > 0, fault, "%s is lost",
                          judged->files[i].path);
    return all_stand;
}

/* What a move took out of its bag is remembered there, but it is no copy any more. */
static bool stands_as_believed(const struct trial *trial, const struct cut *cut, size_t *remembered,
                               struct hr_fault *fault)
{
    char gone[JUDGED_TEXT];
    size_t believed;
    bool is_safe;
    if (!power_believes(&believed, &is_safe, card, fault))
        return false;
    *remembered = judge_memory(gone, ledger);
    return holds(believed <= trial->judged->right_count && !is_safe, fault, "%zu believed, %zu stand", believed,
                 trial->judged->right_count) &&
           holds(!*gone || cut->memory == MEMORY_AHEAD || is_job(trial, "move"), fault, "remembered, but gone: %s",
                 gone);
}

/* A copy that nobody remembers may be made again. */
static bool stands_once(const struct judged *judged, bool is_remembered, struct hr_fault *fault)
{
    bool all_do = true;
    for (size_t i = 0; i < judged->file_count && all_do; i++) {
        size_t count = judged->files[i].in_bags ? judged->files[i].in_bags : judged->files[i].in_sequences;
        all_do = holds(count == 1 || (count > 1 && !is_remembered), fault, "%s stands %zu times", judged->files[i].path,
                       count);
    }
    return all_do;
}

static bool all_is_well_after(const struct trial *trial, bool is_remembered, struct hr_fault *fault)
{
    const struct judged *judged = trial->judged;
    judge_look(trial->judged, trial->place);
    return holds(!*judged->wrong, fault, "after: wrong bytes in %s", judged->wrong) &&
           holds(!*judged->lying, fault, "left lying: %s", judged->lying) &&
           stands_once(judged, is_remembered, fault) && power_bags_are_valid(trial->place, fault) &&
           holds(only_fills(trial) || judge_ledger_is_sound(ledger), fault, "the ledger is damaged");
}

static bool survives(const struct trial *trial, const struct cut *cut, struct hr_fault *fault)
{
    size_t remembered = 0;
    judge_look(trial->judged, trial->place);
    return holds(!*trial->judged->wrong, fault, "wrong bytes in %s", trial->judged->wrong) &&
           (!only_fills(trial) || none_is_lost(trial->judged, fault)) &&
           stands_as_believed(trial, cut, &remembered, fault) && power_again(trial->job, card, trial->place, fault) &&
           all_is_well_after(trial, remembered > 0, fault);
}

/* ---- Cuts ---- */

/* In memory renames are taken to be whole (hr_volume.renames_whole), and a move takes the only copy of a file
 * elsewhere.
 */
static bool may_be_torn(const struct trial *trial)
{
    return !is_job(trial, "move") || strcmp(trial->place, "two") != 0;
}

static struct cut choose(const struct trial *trial, size_t number, size_t states, uint64_t seed)
{
    struct recorded_chance chance = {seed * 1000003 + number};
    size_t from = trial->calls * number / states, to = trial->calls * (number + 1) / states;
    struct cut cut = {.calls = from + 1 + (to > from ? (size_t)recorded_draw(&chance, to - from) : 0)};
    cut.freedom = (enum recorded_freedom)recorded_draw(&chance, RECORDED_FREEDOM_COUNT);
    if (cut.freedom == RECORDED_TORN && !may_be_torn(trial))
        cut.freedom = RECORDED_FREE;
    cut.memory = (enum memory)(recorded_draw(&chance, 4) % 3); /* cut twice as often as the others */
    cut.seed = recorded_draw(&chance, UINT64_MAX);
    return cut;
}

static void try_states(char **words)
{
    static const char *const freedoms[] = {"done", "synced", "ordered", "free", "torn"};
    static const char *const memories[] = {"cut", "ahead", "none"};
    struct trial trial = {.job = words[0],
                          .place = words[1],
                          .folder = words[2],
                          .calls = recorded_calls_in(recording),
                          .judged = judge_card(card)};
    size_t states = (size_t)strtoull(words[3], NULL, 10);
    for (size_t i = 0; i < states; i++) {
        struct cut cut = choose(&trial, i, states, strtoull(words[4], NULL, 10));
        struct hr_fault fault = {0};
        uint64_t sum = make_state(&trial, &cut);
        bool survived = survives(&trial, &cut, &fault);
        printf("%016" PRIx64 " %zu ", sum, cut.calls);
        if (survived)
            printf("ok\n");
        else
            printf("broken %s, ledger %s: %s\n", freedoms[cut.freedom], memories[cut.memory], fault.text);
        fflush(stdout);
    }
}

int main(int count, char **words)
{
    if (count == 3 && !strcmp(words[1], "calls"))
        printf("%zu\n", recorded_calls_in(words[2]));
    else if (count == 7 && !strcmp(words[1], "try"))
        try_states(words + 2);
    else
        recorded_refuse("the head of tests/faults/power_cut.c says what can be asked", "");
    return 0;
}
