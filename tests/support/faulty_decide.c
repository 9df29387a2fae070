/* SPDX-License-Identifier: ISC */
/* Which rule acts on a call, and what it does to its bytes. */
#include <fnmatch.h>
#include <string.h>

#include "faulty_rules.h"

/* FNV-1a over what names the call, mixed with the seed: the same call has the same number in every run, whatever other
 * threads do and whenever it is. */
static uint64_t number_of(const struct faulty_rules *rules, size_t rule, const struct faulty_event *event)
{
    uint64_t hash = 14695981039346656037u ^ (rules->seed * 0x9E3779B97F4A7C15u) ^ (rule << 32) ^ event->offset;
    const char *slash = strrchr(event->path, '/');
    for (const char *at = slash ? slash + 1 : event->path; *at; at++)
        hash = (hash ^ (unsigned char)*at) * 1099511628211u;
    hash ^= hash >> 33;
    hash *= 0xFF51AFD7ED558CCDu;
    return hash ^ (hash >> 33);
}

static bool concerns(const struct faulty_rule *rule, const struct faulty_event *event)
{
    bool has_bytes = event->size > 0 || (event->call != FAULTY_READ && event->call != FAULTY_WRITE);
    return (rule->calls >> event->call & 1) && has_bytes &&
           (!*rule->path || !fnmatch(rule->path, event->path, FNM_NOESCAPE));
}

/* What stands right behind the text that the call has to hold; NULL when it does not, or nothing does. */
static const char *behind_text(const struct faulty_rule *rule, const struct faulty_event *event)
{
    size_t length = strlen(rule->holds);
    const char *text = memmem(event->bytes, event->size, rule->holds, length);
    return text && text + length < event->bytes + event->size ? text + length : NULL;
}

static bool covers(const struct faulty_rule *rule, const struct faulty_event *event)
{
    if (*rule->holds && !behind_text(rule, event))
        return false;
    return !rule->has_offset || (rule->offset >= event->offset && rule->offset - event->offset < event->size);
}

/* Where all conditions hold but those of number. */
static bool holds(const struct faulty_rule *rule, const struct faulty_event *event, uint64_t number)
{
    bool right_opening = (!rule->opening || event->opening == rule->opening) &&
                         (!rule->opening_every || (event->opening > 0 && event->opening % rule->opening_every == 0));
    return right_opening && covers(rule, event) && rule->bytes >= rule->after &&
           (!rule->chance || number % 100 < rule->chance);
}

/* The rule's counts grow; true when it is to act. */
static bool acts(struct faulty_rule *rule, const struct faulty_event *event, uint64_t number)
{
    if (!concerns(rule, event))
        return false;
    rule->bytes += event->size;
    if (!holds(rule, event, number))
        return false;
    rule->matched++;
    return rule->matched > rule->skip && (!rule->every || (rule->matched - rule->skip) % rule->every == 0) &&
           (!rule->times || rule->done < rule->times);
}

static size_t place_of(const struct faulty_rule *rule, const struct faulty_event *event, uint64_t number)
{
    if (*rule->holds)
        return (size_t)(behind_text(rule, event) - event->bytes);
    if (rule->has_offset)
        return (size_t)(rule->offset - event->offset);
    return event->size ? (size_t)((number >> 8) % event->size) : 0;
}

static uint64_t wait_of(const struct faulty_rule *rule, const struct faulty_event *event)
{
    return rule->ms * 1000000 + (rule->bytes_per_s ? event->size * 1000000000 / rule->bytes_per_s : 0);
}

struct faulty_verdict faulty_rules_decide(struct faulty_rules *rules, const struct faulty_event *event)
{
    struct faulty_verdict verdict = {0};
    for (size_t i = 0; i < rules->count; i++) {
        struct faulty_rule *rule = &rules->rules[i];
        uint64_t number = number_of(rules, i, event);
        bool is_slow = rule->harm == FAULTY_SLOW;
        if (!acts(rule, event, number) || (verdict.rule && !is_slow))
            continue;
        rule->done++;
        if (is_slow) {
            verdict.wait_ns += wait_of(rule, event);
            continue;
        }
        verdict.rule = rule;
        verdict.at = place_of(rule, event, number);
        verdict.bit = number & 7;
    }
    return verdict;
}

void faulty_rules_take_back(struct faulty_verdict *verdict)
{
    verdict->rule->done--;
    verdict->rule = NULL;
}

/* ---- Bytes ---- */

size_t faulty_shortened(size_t size)
{
    size_t half = size / 2 / FAULTY_BLOCK_BYTES * FAULTY_BLOCK_BYTES;
    return half ? half : size;
}

static bool zero_block(unsigned char *bytes, size_t begin, size_t end)
{
    bool is_zero = true;
    for (size_t i = begin; i < end; i++)
        is_zero &= bytes[i] == 0;
    memset(bytes + begin, 0, end - begin);
    return !is_zero;
}

/* From the block before, or behind the first. */
static bool other_block(unsigned char *bytes, size_t begin, size_t end, size_t size)
{
    size_t length = end - begin, from;
    if (begin >= FAULTY_BLOCK_BYTES)
        from = begin - FAULTY_BLOCK_BYTES;
    else if (end + length <= size)
        from = end;
    else
        return false;
    bool differs = memcmp(bytes + begin, bytes + from, length) != 0;
    memcpy(bytes + begin, bytes + from, length);
    return differs;
}

static bool foreign_block(unsigned char *bytes, size_t begin, size_t end, const struct faulty_block *foreign)
{
    size_t length = !foreign ? 0 : end - begin < foreign->size ? end - begin : foreign->size;
    if (length == 0)
        return false;
    bool differs = memcmp(bytes + begin, foreign->bytes, length) != 0;
    memcpy(bytes + begin, foreign->bytes, length);
    return differs;
}

bool faulty_damage(unsigned char *bytes, size_t size, uint64_t offset, const struct faulty_verdict *verdict,
                   const struct faulty_block *foreign)
{
    size_t into = (size_t)((offset + verdict->at) % FAULTY_BLOCK_BYTES);
    size_t begin = verdict->at > into ? verdict->at - into : 0, end = verdict->at - into + FAULTY_BLOCK_BYTES;
    if (end > size)
        end = size;
    if (verdict->rule->harm == FAULTY_ZERO_BLOCK)
        return zero_block(bytes, begin, end);
    if (verdict->rule->harm == FAULTY_OTHER_BLOCK)
        return other_block(bytes, begin, end, size);
    if (verdict->rule->harm == FAULTY_FOREIGN_BLOCK)
        return foreign_block(bytes, begin, end, foreign);
    bytes[verdict->at] ^= (unsigned char)(1u << verdict->bit);
    return true;
}
