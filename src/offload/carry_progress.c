/* SPDX-License-Identifier: ISC */
/* How far it is, while cards are carried: told on, and written into the log of the bags and of the ledger. */
#include "base/units.h"
#include "offload/carry.h"
#include "platform/clock.h"

/* A line that is lost from a log loses no picture. */
static void note_throughput(struct hr_carry *carry, size_t card, const struct hr_throughput_row *row)
{
    const struct hr_offload_card *state = &carry->offload->cards[card];
    struct hr_text line;
    hr__text_init(&line, 1 << 14);
    if (carry->cards[card].rows++ == 0) {
        hr__throughput_header(&line, row->place_count);
        hr__text_append(&line, "\n");
    }
    hr__throughput_line(&line, row, card);
    for (size_t place = 0; place < carry->job.sink_count && !line.broken; place++)
        if (carry->sinks[place].status == HR_OK && carry->job_cards[card].landings[place].data_path)
            (void)!hr_bag_note_throughput(state->deliveries[place].bag, line.bytes, NULL);
    hr__text_finish(&line);
}

static void add_sample(struct hr_carry *carry, int64_t at_ns, const char *stage, size_t lane, const char *device,
                       uint64_t bytes, uint32_t queue_percent)
{
    struct hr_fault fault = {0};
    struct hr_ledger_sample sample = {.at_ns = at_ns,
                                      .stage = stage,
                                      .lane = (uint32_t)lane,
                                      .device = device,
                                      .link = "",
                                      .bytes = bytes,
                                      .queue_fill_percent = queue_percent};
    if (hr__carry_ledger_step(carry) &&
        hr_ledger_add_sample(carry->offload->ledger, carry->offload->run, &sample, &fault))
        hr__carry_ledger_failed(carry, &fault);
}

static void tell_ledger_rates(struct hr_carry *carry, const struct hr_throughput_row *row)
{
    const struct hr_offload *offload = carry->offload;
    int64_t at_ns = hr__clock_now_ns() - offload->started_ns;
    if (offload->run == 0)
        return;
    for (size_t card = 0; card < offload->card_count; card++)
        if (row->bytes_of_card[card])
            add_sample(carry, at_ns, "card", card, hr_card_identity(offload->cards[card].card),
                       row->bytes_of_card[card], row->pool_percent);
    add_sample(carry, at_ns, "digest", 0, "", row->digest_bytes, 0);
    for (size_t place = 0; place < row->place_count; place++) {
        add_sample(carry, at_ns, "write", place, offload->places[place].disks, row->places[place].write_bytes,
                   row->places[place].queue_percent);
        add_sample(carry, at_ns, "read back", place, offload->places[place].disks, row->places[place].read_back_bytes,
                   0);
    }
}

static void add_up(struct hr_carry *carry, const struct hr_transfer_progress *progress)
{
    carry->now.read_bytes = progress->read.bytes;
    for (size_t place = 0; place < progress->sink_count; place++) {
        carry->now.written_bytes[place] = progress->sinks[place].written.bytes;
        carry->now.read_back_bytes[place] = progress->sinks[place].read_back_bytes;
        carry->now.proven_bytes[place] = progress->sinks[place].proven.bytes;
    }
}

/* The first card under way, how many are, and how many are done. */
static void count_cards(struct hr_offload_progress *told, const struct hr_carry *carry)
{
    for (size_t card = told->card_count; card-- > 0;) {
        told->cards_done += carry->cards[card].is_done;
        told->cards_under_way += carry->cards[card].is_under_way;
        if (carry->cards[card].is_under_way)
            told->card = card;
    }
}

static void tell_progress(struct hr_carry *carry, const struct hr_transfer_progress *progress)
{
    const struct hr_offload *offload = carry->offload;
    struct hr_offload_progress told = {.elapsed_ns = hr__clock_now_ns() - offload->started_ns,
                                       .card_count = offload->card_count,
                                       .read_bytes = carry->now.read_bytes,
                                       .total_bytes = offload->plan.bytes_to_copy,
                                       .frames_done = carry->now.frames_done,
                                       .frames_total = carry->frames_total,
                                       .files_done = carry->now.files_done,
                                       .files_total = offload->plan.files_to_copy,
                                       .failures = carry->now.failures,
                                       .place_count = offload->options.place_count};
    struct hr_meter_mark mark = {.at_ns = told.elapsed_ns, .read_bytes = told.read_bytes};
    for (size_t place = 0; place < told.place_count; place++) {
        told.places[place] = (struct hr_offload_place_progress){.activity = progress->sinks[place].activity,
                                                                .written_bytes = carry->now.written_bytes[place],
                                                                .read_back_bytes = carry->now.read_back_bytes[place],
                                                                .proven_bytes = carry->now.proven_bytes[place],
                                                                .total_bytes = carry->place_total[place],
                                                                .reads_beside = progress->sinks[place].reads_beside};
        mark.written_bytes[place] = carry->now.written_bytes[place];
        mark.read_back_bytes[place] = carry->now.read_back_bytes[place];
    }
    count_cards(&told, carry);
    hr__meter_mark(&carry->meter, &mark);
    bool is_guessed = offload->foreseen.forecast.basis == HR_BASIS_CEILINGS;
    hr__meter_estimate(&told, &carry->meter, is_guessed ? NULL : &offload->foreseen.job);
    if (carry->observer->progress)
        carry->observer->progress(carry->observer->context, &told);
}

/* Before its bags are closed, what is left of a second. */
void hr__carry_last_row(struct hr_carry *carry, size_t card)
{
    struct hr_throughput_row row = hr__throughput_since(&carry->throughput, &carry->latest);
    if (carry->latest.elapsed_ns > carry->throughput.last.elapsed_ns)
        note_throughput(carry, card, &row);
}

static void mind_deadline(struct hr_carry *carry, const struct hr_transfer_progress *progress)
{
    hr__deadline_note(&carry->deadline, progress, &carry->learn);
    if (carry->stopped_at_deadline || !hr__deadline_is_shut(&carry->deadline))
        return;
    carry->stopped_at_deadline = true;
    hr__carry_note(carry, SIZE_MAX, "The deadline is near: what is begun is finished, the rest can follow later.");
}

void hr__carry_progress(void *context, const struct hr_transfer_progress *progress)
{
    struct hr_carry *carry = context;
    struct hr_throughput_row row;
    carry->latest = *progress;
    add_up(carry, progress);
    if (hr__throughput_row(&row, &carry->throughput, progress)) {
        for (size_t card = 0; card < carry->offload->card_count; card++)
            if (carry->cards[card].is_under_way)
                note_throughput(carry, card, &row);
        tell_ledger_rates(carry, &row);
        hr__learn_row(&carry->learn, &row, &carry->offload->foreseen.job);
    }
    if (hr__carry_has_deadline(carry))
        mind_deadline(carry, progress);
    tell_progress(carry, progress);
    if (carry->committed_ns && hr__clock_now_ns() - carry->committed_ns > HR_NS_PER_S)
        hr__carry_ledger_commit(carry);
}
