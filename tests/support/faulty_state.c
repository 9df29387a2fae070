/* SPDX-License-Identifier: ISC */
#include "faulty_state.h"

#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { BUCKETS = 4096 };

/* Of a path: how often it was opened. Of an inode: what waits for a sync. */
struct note {
    struct note *next;
    uint64_t inode; /* 0: of a path */
    char *path;
    uint64_t openings;
    struct faulty_span waiting;
};

/* A block of a file that went through. */
struct passed {
    char *path; /* owned; NULL: none yet */
    struct faulty_block block;
};

struct faulty_state {
    FILE *log;
    pthread_mutex_t lock;
    /* guarded by lock */
    struct faulty_rules rules;
    bool is_gone;
    struct note *notes[BUCKETS];
    struct passed last, before; /* of two files */
};

struct faulty_state *faulty_state_create(const struct faulty_rules *rules, const char *log_path)
{
    struct faulty_state *state = calloc(1, sizeof *state);
    if (!state)
        return NULL;
    state->rules = *rules;
    pthread_mutex_init(&state->lock, NULL);
    if (log_path && !(state->log = fopen(log_path, "ae"))) {
        perror(log_path);
        free(state);
        return NULL;
    }
    return state;
}

/* ---- Notes ---- */

static struct note *find_note(struct faulty_state *state, const char *path, uint64_t inode)
{
    size_t bucket = inode;
    for (const char *at = path; *at; at++)
        bucket = bucket * 31 + (unsigned char)*at;
    struct note **head = &state->notes[bucket % BUCKETS];
    for (struct note *note = *head; note; note = note->next)
        if (note->inode == inode && !strcmp(note->path, path))
            return note;
    struct note *note = calloc(1, sizeof *note);
    if (!note || !(note->path = strdup(path)))
        abort(); /* a test that cannot count must not pass */
    note->inode = inode;
    note->next = *head;
    return *head = note;
}

uint64_t faulty_state_opened(struct faulty_state *state, const char *path, uint64_t inode, bool is_new)
{
    pthread_mutex_lock(&state->lock);
    if (is_new)
        find_note(state, "", inode)->waiting = (struct faulty_span){0};
    uint64_t openings = ++find_note(state, path, 0)->openings;
    pthread_mutex_unlock(&state->lock);
    return openings;
}

void faulty_state_wrote(struct faulty_state *state, uint64_t inode, struct faulty_span span)
{
    pthread_mutex_lock(&state->lock);
    struct faulty_span *waiting = &find_note(state, "", inode)->waiting;
    if (waiting->begin == waiting->end)
        *waiting = span;
    if (span.begin < waiting->begin)
        waiting->begin = span.begin;
    if (span.end > waiting->end)
        waiting->end = span.end;
    pthread_mutex_unlock(&state->lock);
}

struct faulty_span faulty_state_synced(struct faulty_state *state, uint64_t inode)
{
    pthread_mutex_lock(&state->lock);
    struct note *note = find_note(state, "", inode);
    struct faulty_span span = note->waiting;
    note->waiting = (struct faulty_span){0};
    pthread_mutex_unlock(&state->lock);
    return span;
}

/* ---- Blocks ---- */

void faulty_state_passed(struct faulty_state *state, const char *path, const void *bytes, size_t size)
{
    if (size == 0)
        return;
    pthread_mutex_lock(&state->lock);
    if (!state->last.path || strcmp(state->last.path, path) != 0) {
        free(state->before.path);
        state->before = state->last;
        if (!(state->last.path = strdup(path)))
            abort();
    }
    state->last.block.size = size < FAULTY_BLOCK_BYTES ? size : FAULTY_BLOCK_BYTES;
    memcpy(state->last.block.bytes, bytes, state->last.block.size);
    pthread_mutex_unlock(&state->lock);
}

struct faulty_block faulty_state_foreign(struct faulty_state *state, const char *path)
{
    pthread_mutex_lock(&state->lock);
    bool is_own = state->last.path && !strcmp(state->last.path, path);
    struct faulty_block block = is_own ? state->before.block : state->last.block;
    pthread_mutex_unlock(&state->lock);
    return block;
}

/* ---- Harm ---- */

static void write_log(struct faulty_state *state, const struct faulty_verdict *verdict,
                      const struct faulty_event *event)
{
    const struct faulty_rule *rule = verdict->rule;
    if (!state->log)
        return;
    fprintf(state->log, "%td %s %s %ju %zu ", rule - state->rules.rules + 1, faulty_call_name(event->call),
            rule->harm == FAULTY_FAIL ? rule->error_name : faulty_harm_name(rule->harm),
            (uintmax_t)(event->offset + verdict->at), event->size);
    for (const char *at = event->path; *at; at++)
        fprintf(state->log, *at > ' ' && *at < 0x7F && *at != '%' ? "%c" : "%%%02X", (unsigned char)*at);
    fputc('\n', state->log);
    fflush(state->log);
}

static int error_of(const struct faulty_rule *rule)
{
    return rule->harm == FAULTY_FAIL ? rule->error : rule->harm == FAULTY_DROP ? EIO : 0;
}

struct faulty_verdict faulty_state_meet(int *error, struct faulty_state *state, const struct faulty_event *event)
{
    struct faulty_verdict verdict = {0};
    pthread_mutex_lock(&state->lock);
    if (!state->is_gone)
        verdict = faulty_rules_decide(&state->rules, event);
    if (verdict.rule && verdict.rule->harm == FAULTY_VANISH)
        state->is_gone = true;
    *error = verdict.rule ? error_of(verdict.rule) : 0;
    if (verdict.rule && (state->is_gone || *error))
        write_log(state, &verdict, event);
    if (state->is_gone)
        *error = ENODEV;
    pthread_mutex_unlock(&state->lock);
    struct timespec wait = {.tv_sec = (time_t)(verdict.wait_ns / 1000000000),
                            .tv_nsec = (long)(verdict.wait_ns % 1000000000)};
    while (verdict.wait_ns && nanosleep(&wait, &wait) != 0 && errno == EINTR)
        continue;
    return verdict;
}

void faulty_state_done(struct faulty_state *state, struct faulty_verdict *verdict, const struct faulty_event *event,
                       bool did_harm)
{
    pthread_mutex_lock(&state->lock);
    if (did_harm)
        write_log(state, verdict, event);
    else
        faulty_rules_take_back(verdict);
    pthread_mutex_unlock(&state->lock);
}
