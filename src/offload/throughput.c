/* SPDX-License-Identifier: ISC */
#include "offload/throughput.h"

#include <inttypes.h>

#include "base/units.h"

struct hr_throughput_row hr__throughput_since(const struct hr_throughput *throughput,
                                              const struct hr_transfer_progress *now)
{
    const struct hr_transfer_progress *last = &throughput->last;
    uint64_t pool_bytes = (uint64_t)now->pool_blocks << 20;
    struct hr_throughput_row row = {
        .second = (uint64_t)((now->elapsed_ns + HR_NS_PER_S - 1) / HR_NS_PER_S),
        .took_ns = now->elapsed_ns - last->elapsed_ns,
        .digest_bytes = now->digested.bytes - last->digested.bytes,
        .pool_percent = 100 * (now->pool_blocks - now->free_blocks) / now->pool_blocks,
        .place_count = now->sink_count,
    };
    for (size_t i = 0; i < HR_CARDS_MAX; i++)
        row.bytes_of_card[i] = now->bytes_of_card[i] - last->bytes_of_card[i];
    for (size_t i = 0; i < now->sink_count; i++) {
        uint64_t queued = now->sinks[i].queued_bytes < pool_bytes ? now->sinks[i].queued_bytes : pool_bytes;
        row.places[i].write_bytes = now->sinks[i].written.bytes - last->sinks[i].written.bytes;
        row.places[i].read_back_bytes = now->sinks[i].read_back_bytes - last->sinks[i].read_back_bytes;
        row.places[i].queue_percent = (uint32_t)(100 * queued / pool_bytes);
    }
    return row;
}

bool hr__throughput_row(struct hr_throughput_row *row, struct hr_throughput *throughput,
                        const struct hr_transfer_progress *now)
{
    const struct hr_transfer_progress *last = &throughput->last;
    bool has_moved = now->elapsed_ns > last->elapsed_ns;
    if (now->elapsed_ns / HR_NS_PER_S == last->elapsed_ns / HR_NS_PER_S && !(now->is_last && has_moved))
        return false;
    *row = hr__throughput_since(throughput, now);
    throughput->last = *now;
    return true;
}

void hr__throughput_header(struct hr_text *out, size_t place_count)
{
    hr__text_append(out, "second,card_bytes,digest_bytes,pool_percent");
    for (size_t i = 1; i <= place_count; i++)
        hr__text_printf(out, ",place%zu_write_bytes,place%zu_read_back_bytes,place%zu_queue_percent", i, i, i);
}

void hr__throughput_line(struct hr_text *out, const struct hr_throughput_row *row, size_t card)
{
    hr__text_printf(out, "%" PRIu64 ",%" PRIu64 ",%" PRIu64 ",%" PRIu32, row->second, row->bytes_of_card[card],
                    row->digest_bytes, row->pool_percent);
    for (size_t i = 0; i < row->place_count; i++)
        hr__text_printf(out, ",%" PRIu64 ",%" PRIu64 ",%" PRIu32, row->places[i].write_bytes,
                        row->places[i].read_back_bytes, row->places[i].queue_percent);
}
