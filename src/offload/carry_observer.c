/* SPDX-License-Identifier: ISC */
/* What the engine tells while a card is carried: written into the bags and the ledger, counted, told on. */
#include <string.h>

#include "base/fault.h"
#include "base/units.h"
#include "offload/carry.h"
#include "platform/clock.h"

void hr__carry_event(struct hr_carry *carry, const struct hr_offload_event *event)
{
    if (carry->observer->event)
        carry->observer->event(carry->observer->context, event);
}

void hr__carry_note(struct hr_carry *carry, const char *text)
{
    hr__carry_event(carry,
                    &(struct hr_offload_event){
                        .kind = HR_EVENT_NOTE, .card = carry->card, .place = SIZE_MAX, .path = "", .text = text});
}

/* ---- The ledger ---- */

void hr__carry_ledger_failed(struct hr_carry *carry, const struct hr_fault *fault)
{
    hr_ledger_close(carry->offload->ledger);
    carry->offload->ledger = NULL;
    carry->committed_ns = 0;
    hr__carry_note(carry, fault->text);
    hr__carry_note(carry,
                   "The ledger is not used any further: the copies do not depend on it. Run `headrace verify` on the "
                   "places to fill it later.");
}

void hr__carry_ledger_commit(struct hr_carry *carry)
{
    struct hr_fault fault = {0};
    if (carry->offload->ledger && carry->committed_ns && hr_ledger_commit(carry->offload->ledger, &fault))
        hr__carry_ledger_failed(carry, &fault);
    carry->committed_ns = 0;
}

/* What is proven is written down in steps of a second: a step a file would cost a sync each. */
static bool ledger_step(struct hr_carry *carry)
{
    struct hr_fault fault = {0};
    if (!carry->offload->ledger)
        return false;
    if (carry->committed_ns)
        return true;
    if (hr_ledger_begin(carry->offload->ledger, &fault)) {
        hr__carry_ledger_failed(carry, &fault);
        return false;
    }
    carry->committed_ns = hr__clock_now_ns();
    return true;
}

void hr__carry_ledger_row(struct hr_carry *carry, const struct hr_bag_file *row, int64_t bag)
{
    const struct hr_offload_card *card = &carry->offload->cards[carry->card];
    struct hr_fault fault = {0};
    if (bag == 0 || !ledger_step(carry))
        return;
    struct hr_ledger_file file = {.card_identity = hr_card_identity(card->card),
                                  .path = row->path,
                                  .size_bytes = row->size_bytes,
                                  .modified_ns = row->modified_ns,
                                  .xxh128 = row->xxh128,
                                  .sha256 = row->sha256};
    struct hr_ledger_copy copy = {.bag = bag, .proof = row->proof, .proven_at_ns = row->proven_at_ns};
    if (hr_ledger_add_copy(carry->offload->ledger, &file, &copy, &fault))
        hr__carry_ledger_failed(carry, &fault);
}

/* ---- Copies ---- */

static bool is_picture(const struct hr_card_file *file)
{
    return file->kind == HR_KIND_JPEG || file->kind == HR_KIND_HEIF || file->kind == HR_KIND_RAW ||
           file->kind == HR_KIND_CLIP;
}

bool hr__frame_is_camera(const struct hr_inventory *inventory, size_t frame)
{
    const struct hr_card_frame *wanted = &inventory->frames[frame];
    for (uint32_t i = 0; i < wanted->file_count; i++)
        if (is_picture(&inventory->files[wanted->first_file + i]))
            return true;
    return false;
}

/* Done: proven in every place that still works. */
static void count_file(struct hr_carry *carry, size_t item, size_t sink)
{
    const struct hr_inventory *inventory = carry->offload->cards[carry->card].inventory;
    uint8_t left = carry->files_left[item] & (uint8_t) ~(1u << sink);
    carry->files_left[item] = left;
    for (size_t i = 0; i < carry->job.sink_count; i++)
        if (carry->job.sinks[i].status != HR_OK)
            left &= (uint8_t) ~(1u << i);
    if (left)
        return;
    uint32_t frame = carry->job.items[item].file->frame;
    carry->now.files_done++;
    if (--carry->frame_left[frame] == 0 && hr__frame_is_camera(inventory, frame))
        carry->now.frames_done++;
}

static void note_proven(struct hr_carry *carry, size_t item_index, size_t sink)
{
    struct hr_offload_card *card = &carry->offload->cards[carry->card];
    const struct hr_transfer_item *item = &carry->job.items[item_index];
    size_t place = carry->place_of[sink], file = (size_t)(item->file - card->inventory->files);
    struct hr_delivery *delivery = &card->deliveries[place];
    struct hr_fault fault = {0};
    struct hr_bag_file row = {.path = item->file->path,
                              .size_bytes = item->file->size_bytes,
                              .modified_ns = item->file->modified_ns,
                              .xxh128 = item->xxh128,
                              .sha256 = item->sha256,
                              .read_at_ns = item->read_at_ns,
                              .proven_at_ns = hr__clock_wall_ns(),
                              .proof = (enum hr_proof)item->copies[sink].proof};
    if (hr_bag_record(delivery->bag, &row, &fault)) {
        hr__carry_note(carry, fault.text); /* the file stands; a re-run finds it without its row and reads it back */
        return;
    }
    hr__carry_ledger_row(carry, &row, delivery->ledger_bag);
    hr__known_note(&card->known, file, delivery->drive, row.proof, row.proven_at_ns);
    card->in_places[file] |= (uint8_t)(1u << place);
    delivery->files_proven++;
    delivery->bytes_proven += row.size_bytes;
    delivery->proofs[row.proof]++;
    count_file(carry, item_index, sink);
    hr__carry_event(carry, &(struct hr_offload_event){.kind = HR_EVENT_FILE_PROVEN,
                                                      .card = carry->card,
                                                      .place = place,
                                                      .path = row.path,
                                                      .size_bytes = row.size_bytes,
                                                      .proof = row.proof,
                                                      .xxh128 = &item->xxh128,
                                                      .text = ""});
}

static void note_failed(struct hr_carry *carry, size_t item, size_t place, const char *text)
{
    carry->now.failures++;
    hr__carry_event(carry, &(struct hr_offload_event){.kind = HR_EVENT_FILE_FAILED,
                                                      .card = carry->card,
                                                      .place = place,
                                                      .path = carry->job.items[item].file->path,
                                                      .size_bytes = carry->job.items[item].file->size_bytes,
                                                      .text = text});
}

static void copy_settled(void *context, size_t item, size_t sink)
{
    struct hr_carry *carry = context;
    size_t place = carry->place_of[sink];
    if (carry->job.items[item].copies[sink].state == HR_COPY_PROVEN) {
        note_proven(carry, item, sink);
        return;
    }
    carry->offload->cards[carry->card].deliveries[place].files_failed++;
    note_failed(carry, item, place, "not copied after several attempts");
}

static void complain(void *context, size_t item, size_t sink, const struct hr_fault *fault)
{
    struct hr_carry *carry = context;
    if (sink != SIZE_MAX && item == SIZE_MAX)
        hr__carry_event(carry, &(struct hr_offload_event){.kind = HR_EVENT_PLACE_FAILED,
                                                          .card = carry->card,
                                                          .place = carry->place_of[sink],
                                                          .path = "",
                                                          .text = fault->text});
    else
        hr__carry_note(carry, fault->text);
}

/* ---- Progress ---- */

static void note_throughput(struct hr_carry *carry, const struct hr_throughput_row *row)
{
    struct hr_offload_card *card = &carry->offload->cards[carry->card];
    struct hr_text line;
    hr__text_init(&line, 1 << 14);
    if (carry->throughput.rows++ == 0)
        hr__throughput_header(&line, row->place_count);
    hr__text_append(&line, line.size ? "\n" : "");
    hr__throughput_line(&line, row);
    for (size_t sink = 0; sink < carry->job.sink_count && !line.broken; sink++)
        if (carry->job.sinks[sink].status == HR_OK) /* a log line that is lost loses no picture */
            (void)!hr_bag_note_throughput(card->deliveries[carry->place_of[sink]].bag, line.bytes, NULL);
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
    if (ledger_step(carry) && hr_ledger_add_sample(carry->offload->ledger, carry->offload->run, &sample, &fault))
        hr__carry_ledger_failed(carry, &fault);
}

static void tell_ledger_rates(struct hr_carry *carry, const struct hr_throughput_row *row)
{
    const struct hr_offload *offload = carry->offload;
    int64_t at_ns = hr__clock_now_ns() - offload->started_ns;
    if (offload->run == 0)
        return;
    add_sample(carry, at_ns, "card", carry->card, hr_card_identity(offload->cards[carry->card].card), row->card_bytes,
               row->pool_percent);
    add_sample(carry, at_ns, "digest", carry->card, "", row->digest_bytes, 0);
    for (size_t i = 0; i < row->place_count; i++) {
        size_t place = carry->place_of[i];
        add_sample(carry, at_ns, "write", place, offload->places[place].disks, row->places[i].write_bytes,
                   row->places[i].queue_percent);
        add_sample(carry, at_ns, "read back", place, offload->places[place].disks, row->places[i].read_back_bytes, 0);
    }
}

static void add_up(struct hr_carry *carry, const struct hr_transfer_progress *progress)
{
    carry->now.read_bytes = carry->before.read_bytes + progress->read.bytes;
    for (size_t sink = 0; sink < progress->sink_count; sink++) {
        size_t place = carry->place_of[sink];
        carry->now.written_bytes[place] = carry->before.written_bytes[place] + progress->sinks[sink].written.bytes;
        carry->now.read_back_bytes[place] =
            carry->before.read_back_bytes[place] + progress->sinks[sink].read_back_bytes;
        carry->now.proven_bytes[place] = carry->before.proven_bytes[place] + progress->sinks[sink].proven.bytes;
    }
}

static void tell_progress(struct hr_carry *carry, const struct hr_transfer_progress *progress)
{
    const struct hr_offload *offload = carry->offload;
    struct hr_offload_progress told = {.elapsed_ns = hr__clock_now_ns() - offload->started_ns,
                                       .card = carry->card,
                                       .card_count = offload->card_count,
                                       .cards_done = carry->card,
                                       .read_bytes = carry->now.read_bytes,
                                       .total_bytes = offload->plan.bytes_to_copy,
                                       .frames_done = carry->now.frames_done,
                                       .frames_total = carry->frames_total,
                                       .files_done = carry->now.files_done,
                                       .files_total = offload->plan.files_to_copy,
                                       .failures = carry->now.failures,
                                       .card_is_free = progress->card_is_free,
                                       .place_count = offload->options.place_count};
    struct hr_meter_mark mark = {.at_ns = told.elapsed_ns, .read_bytes = told.read_bytes};
    for (size_t place = 0; place < told.place_count; place++) {
        told.places[place] = (struct hr_offload_place_progress){.activity = HR_SINK_DONE,
                                                                .written_bytes = carry->now.written_bytes[place],
                                                                .read_back_bytes = carry->now.read_back_bytes[place],
                                                                .proven_bytes = carry->now.proven_bytes[place],
                                                                .total_bytes = carry->place_total[place]};
        mark.written_bytes[place] = carry->now.written_bytes[place];
        mark.read_back_bytes[place] = carry->now.read_back_bytes[place];
    }
    for (size_t sink = 0; sink < progress->sink_count; sink++)
        told.places[carry->place_of[sink]].activity = progress->sinks[sink].activity;
    hr__meter_mark(&carry->meter, &mark);
    hr__meter_estimate(&told, &carry->meter);
    if (carry->observer->progress)
        carry->observer->progress(carry->observer->context, &told);
}

static void tell_free(struct hr_carry *carry, bool card_is_free)
{
    if (!card_is_free || carry->told_free)
        return;
    carry->told_free = true;
    hr__carry_event(carry,
                    &(struct hr_offload_event){
                        .kind = HR_EVENT_CARD_FREE, .card = carry->card, .place = SIZE_MAX, .path = "", .text = ""});
}

static void take_progress(void *context, const struct hr_transfer_progress *progress)
{
    struct hr_carry *carry = context;
    struct hr_throughput_row row;
    add_up(carry, progress);
    if (hr__throughput_row(&row, &carry->throughput, progress)) {
        note_throughput(carry, &row);
        tell_ledger_rates(carry, &row);
    }
    tell_free(carry, progress->card_is_free);
    tell_progress(carry, progress);
    if (carry->committed_ns && hr__clock_now_ns() - carry->committed_ns > HR_NS_PER_S)
        hr__carry_ledger_commit(carry);
}

const struct hr_transfer_observer hr__carry_observer = {
    .copy_settled = copy_settled, .complain = complain, .progress = take_progress};
