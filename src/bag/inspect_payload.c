/* SPDX-License-Identifier: ISC */
/* Reading the payload back. */
#include <stdlib.h>
#include <string.h>

#include "bag/bag_names.h"
#include "bag/inspection.h"
#include "bag/proof_reader.h"
#include "base/array.h"
#include "base/fault.h"
#include "base/units.h"
#include "platform/clock.h"
#include "platform/volume.h"

struct meter {
    const struct hr_inspection *inspection;
    uint64_t bytes_before, bytes_total; /* of the files done; of all */
    size_t files_done, files_total;
    int64_t told_ns;
};

static void tell(struct meter *meter, uint64_t bytes_done, bool at_once)
{
    const struct hr_bag_verify_options *options = meter->inspection->options;
    int64_t now_ns = hr__clock_now_ns();
    if (!options->progress || (!at_once && now_ns - meter->told_ns < HR_NS_PER_S / 10))
        return;
    meter->told_ns = now_ns;
    options->progress(options->context, now_ns - meter->inspection->started_ns, bytes_done, meter->bytes_total,
                      meter->files_done, meter->files_total);
}

static void advance(void *context, uint64_t bytes)
{
    struct meter *meter = context;
    tell(meter, meter->bytes_before + bytes, false);
}

static uint64_t size_of(const struct hr_inspection *inspection, const struct hr_listed *listed)
{
    const struct hr_walked *file = hr__bag_walk_find(&inspection->data, listed->path);
    return file ? file->size_bytes : 0;
}

static void count_payload(struct meter *meter, const struct hr_inspection *inspection)
{
    for (size_t i = 0; i < inspection->listed_count; i++)
        if (inspection->listed[i].is_standing) {
            meter->files_total++;
            meter->bytes_total += size_of(inspection, &inspection->listed[i]);
        }
    inspection->report->payload_files = meter->files_total;
    inspection->report->payload_bytes = meter->bytes_total;
}

/* Bits of the digests to be checked: those of the manifests, or the one that was asked for where the bag has it. */
static unsigned checked_kinds(const struct hr_inspection *inspection)
{
    unsigned kinds = 0;
    for (size_t i = 0; i < inspection->manifest_count; i++)
        kinds |= 1u << inspection->manifests[i].kind;
    kinds &= ~(1u << HR_DIGEST_NONE);
    unsigned only = 1u << inspection->options->only;
    return kinds & only ? only : kinds;
}

/* The ledger knows the contents of our bags by their XXH128, whatever is checked. */
static unsigned made_kinds(const struct hr_inspection *inspection)
{
    return checked_kinds(inspection) | (inspection->report->is_ours ? 1u << HR_DIGEST_XXH128 : 0);
}

/* ---- One file ---- */

/* True when every digest that was asked for is right, and there is one. */
static bool is_right(struct hr_inspection *inspection, const struct hr_listed *listed,
                     const struct hr_proof_reading *reading)
{
    size_t checked = 0;
    unsigned kinds = checked_kinds(inspection);
    for (unsigned kind = 1; kind < HR_DIGEST_KIND_COUNT; kind++) {
        struct hr_digest wanted;
        if (!(kinds & 1u << kind) || !listed->hex[kind] || reading->digests[kind].kind == HR_DIGEST_NONE)
            continue;
        checked++;
        if (hr_digest_from_hex(&wanted, (enum hr_digest_kind)kind, listed->hex[kind], strlen(listed->hex[kind])) &&
            hr_digest_equal(&wanted, &reading->digests[kind]))
            continue;
        hr__inspection_problem(inspection, HR_BAG_FILE_DIFFERS, listed->path, "its %s is not what the manifest says",
                               hr_digest_kind_name((enum hr_digest_kind)kind));
        return false;
    }
    if (checked == 0)
        hr__inspection_problem(inspection, HR_BAG_WARNING, listed->path, "no digest of it could be checked");
    return checked > 0;
}

static void add_proof(struct hr_inspection *inspection, const struct hr_listed *listed,
                      const struct hr_proof_reading *reading)
{
    struct hr_bag_report *report = inspection->report;
    const char *below_data = listed->path + strlen(HR_BAG_DATA "/");
    const struct hr_bag_file *row = hr__journal_find(&inspection->rows, below_data);
    struct hr_bag_proof proof = {.file = {.path = strdup(below_data),
                                          .size_bytes = reading->size_bytes,
                                          .modified_ns = row ? row->modified_ns : 0,
                                          .xxh128 = reading->digests[HR_DIGEST_XXH128],
                                          .sha256 = reading->digests[HR_DIGEST_SHA256],
                                          .read_at_ns = row ? row->read_at_ns : 0,
                                          .proven_at_ns = hr__clock_wall_ns(),
                                          .proof = reading->proof}};
    if (proof.file.path && hr__array_reserve(&report->proofs, &inspection->proof_capacity, report->proof_count + 1,
                                             sizeof proof, HR_BAG_FILES_MAX)) {
        report->proofs[report->proof_count++] = proof;
    } else {
        free((char *)proof.file.path);
        inspection->has_lost_problem = true;
    }
}

static enum hr_status check_file(struct hr_inspection *inspection, const struct hr_proof_reader *reader,
                                 const struct hr_listed *listed, struct hr_fault *fault)
{
    struct hr_proof_reading reading;
    struct hr_fault cause = {0};
    enum hr_status status = hr__proof_read(&reading, reader, listed->path, &cause);
    if (status == HR_NOMEM || status == HR_GONE || status == HR_CANCELLED)
        return hr__fault_set(fault, status, 0, "%s", cause.text);
    if (status || !hr_proof_is_medium(reading.proof))
        inspection->report->from_medium = false;
    if (status)
        hr__inspection_problem(inspection, HR_BAG_FILE_UNREADABLE, listed->path, "%s", cause.text);
    else if (is_right(inspection, listed, &reading))
        add_proof(inspection, listed, &reading);
    return HR_OK;
}

/* ---- All of them ---- */

static enum hr_status read_all(struct hr_inspection *inspection, const struct hr_proof_reader *reader,
                               struct meter *meter, struct hr_fault *fault)
{
    enum hr_status status = HR_OK;
    count_payload(meter, inspection);
    for (size_t i = 0; i < inspection->listed_count && !status; i++) {
        const struct hr_listed *listed = &inspection->listed[i];
        if (!listed->is_standing)
            continue;
        status = hr_cancel_requested(inspection->cancel) ? HR_CANCELLED : check_file(inspection, reader, listed, fault);
        meter->files_done++;
        meter->bytes_before += size_of(inspection, listed);
        tell(meter, meter->bytes_before, meter->files_done == meter->files_total);
    }
    return status;
}

enum hr_status hr__inspect_payload(struct hr_inspection *inspection, struct hr_fault *fault)
{
    struct hr_volume volume;
    struct hr_block_digester digester;
    if (checked_kinds(inspection) == 0) {
        hr__inspection_problem(inspection, HR_BAG_RULE_BROKEN, "", "no manifest has digests this program can make");
        return HR_OK;
    }
    enum hr_status status = hr__volume_of(&volume, inspection->report->path, &hr__system_roots, fault);
    if (status)
        return status;
    struct hr_fetch_count count;
    struct meter meter = {.inspection = inspection};
    struct hr_proof_reader reader = {.folder = &inspection->folder,
                                     .digester = &digester,
                                     .cancel = inspection->cancel,
                                     .count = hr__volume_is_counted(&volume) ? &count : NULL,
                                     .context = &meter,
                                     .advance = advance};
    hr__fetch_count_open(&count);
    if (volume.is_fuse)
        (void)hr__volume_drop_device_cache(&volume);
    hr__volume_finish(&volume);
    status = hr__block_digester_init(&digester, made_kinds(inspection), fault);
    inspection->report->from_medium = true;
    if (!status)
        status = read_all(inspection, &reader, &meter, fault);
    hr__block_digester_finish(&digester);
    hr__fetch_count_close(&count);
    return status;
}
