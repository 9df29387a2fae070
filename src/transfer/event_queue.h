/* SPDX-License-Identifier: ISC */
/* What the threads of a run tell the caller's thread. A post does not wake it: it looks in a hundred times a second,
 * which costs less than to be woken four times a file. A post waits only when so much is untold that memory is at
 * stake; the caller's thread never waits for those that post. */
#ifndef HR_TRANSFER_EVENT_QUEUE_H
#define HR_TRANSFER_EVENT_QUEUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <headrace/digest.h>
#include <headrace/status.h>

#include "platform/thread.h"

enum hr_event_kind {
    HR_POSTED_CARD_STARTED, /* card */
    HR_POSTED_CARD_ENDED,   /* card, status: HR_OK when it was read to its end, HR_GONE, HR_CANCELLED */
    HR_POSTED_READ,         /* item, status, digest (XXH128), at_ns, took_ns */
    HR_POSTED_DIGEST,       /* item, digest (SHA-256) */
    HR_POSTED_DURABLE,      /* card, sink, count: so many more of its copies */
    HR_POSTED_PROVEN,       /* item, sink, proof */
    HR_POSTED_FAILED,       /* item, sink, status, was_durable; may be tried again. `fault` says why */
    HR_POSTED_SINK_FAILED   /* sink; `fault` says why */
};

struct hr_event {
    struct hr_event *next;
    enum hr_event_kind kind;
    uint32_t item;
    uint32_t count;
    uint8_t card, sink;
    uint8_t proof;
    bool was_durable;
    enum hr_status status;
    int64_t at_ns, took_ns;
    struct hr_digest digest;
    struct hr_fault *fault; /* owned; may be NULL */
};

enum { HR_EVENTS_MAX = 1 << 14 };

struct hr_event_queue {
    struct hr_lock lock;
    struct hr_signal ended, taken;
    /* guarded by lock */
    struct hr_event *first, *last;
    size_t count;
    bool lost; /* an event could not be stored: memory is out */
    size_t threads_running;
};

void hr__event_queue_init(struct hr_event_queue *queue);
void hr__event_queue_finish(struct hr_event_queue *queue);
/* Copies *event; `fault` (may be NULL) is copied with it. */
void hr__event_post(struct hr_event_queue *queue, const struct hr_event *event, const struct hr_fault *fault);
/* Around the life of a thread that posts; the end is a thread's last act. */
void hr__event_thread_starts(struct hr_event_queue *queue);
void hr__event_thread_ends(struct hr_event_queue *queue);
/* Waits for `until_ns` or the end of all threads: *ended. All events so far, first posted first, or NULL. The caller
 * releases each with hr__event_free. */
struct hr_event *hr__event_take_all(bool *ended, struct hr_event_queue *queue, int64_t until_ns);
void hr__event_free(struct hr_event *event);

#endif
