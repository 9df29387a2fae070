/* SPDX-License-Identifier: ISC */
#include "transfer/event_queue.h"

#include <stdlib.h>

void hr__event_queue_init(struct hr_event_queue *queue)
{
    hr__lock_init(&queue->lock);
    hr__signal_init(&queue->ended);
    queue->first = queue->last = NULL;
    hr__signal_init(&queue->taken);
    queue->count = 0;
    queue->lost = false;
    queue->threads_running = 0;
}

void hr__event_queue_finish(struct hr_event_queue *queue)
{
    while (queue->first) {
        struct hr_event *event = queue->first;
        queue->first = event->next;
        hr__event_free(event);
    }
    hr__signal_finish(&queue->taken);
    hr__signal_finish(&queue->ended);
    hr__lock_finish(&queue->lock);
}

static struct hr_event *copy_event(const struct hr_event *event, const struct hr_fault *fault)
{
    struct hr_event *copy = malloc(sizeof *copy);
    if (!copy)
        return NULL;
    *copy = *event;
    copy->next = NULL;
    copy->fault = fault ? malloc(sizeof *fault) : NULL;
    if (copy->fault)
        *copy->fault = *fault; /* without it the event still says what happened */
    return copy;
}

void hr__event_post(struct hr_event_queue *queue, const struct hr_event *event, const struct hr_fault *fault)
{
    struct hr_event *copy = copy_event(event, fault);
    hr__lock_take(&queue->lock);
    while (queue->count >= HR_EVENTS_MAX)
        hr__signal_wait(&queue->taken, &queue->lock);
    queue->count += copy != NULL;
    if (!copy)
        queue->lost = true;
    else if (queue->last)
        queue->last = queue->last->next = copy;
    else
        queue->first = queue->last = copy;
    hr__lock_drop(&queue->lock);
}

void hr__event_thread_starts(struct hr_event_queue *queue)
{
    hr__lock_take(&queue->lock);
    queue->threads_running++;
    hr__lock_drop(&queue->lock);
}

void hr__event_thread_ends(struct hr_event_queue *queue)
{
    hr__lock_take(&queue->lock);
    if (--queue->threads_running == 0)
        hr__signal_all(&queue->ended);
    hr__lock_drop(&queue->lock);
}

struct hr_event *hr__event_take_all(bool *ended, struct hr_event_queue *queue, int64_t until_ns)
{
    hr__lock_take(&queue->lock);
    while (queue->threads_running > 0 && hr__signal_wait_until(&queue->ended, &queue->lock, until_ns))
        ;
    struct hr_event *events = queue->first;
    queue->first = queue->last = NULL;
    queue->count = 0;
    hr__signal_all(&queue->taken);
    *ended = queue->threads_running == 0;
    hr__lock_drop(&queue->lock);
    return events;
}

void hr__event_free(struct hr_event *event)
{
    free(event->fault);
    free(event);
}
