/* SPDX-License-Identifier: ISC */
/* Noting and forgetting what is proven. */
#include <headrace/ledger.h>

#include <stdbool.h>

#include "base/fault.h"
#include "ledger/handle.h"
#include "ledger/ledger_cards.h"
#include "ledger/statement.h"

struct standing_file {
    int64_t id; /* 0: none */
    bool is_same_content, lacks_sha256;
};

static enum hr_status find_file(struct standing_file *out, struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                struct hr_fault *fault)
{
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_FIND_FILE,
                            "SELECT file.id, xxh128, sha256 IS NULL FROM card JOIN file ON file.card = card.id"
                            " WHERE identity = ? AND folder = ? AND name = ? AND size_bytes = ? AND modified_ns = ?");
    hr__statement_bind_file(&find, file);
    *out = (struct standing_file){0};
    if (hr__statement_row(&find)) {
        struct hr_digest xxh128 = hr__statement_digest(&find, 1, HR_DIGEST_XXH128);
        *out = (struct standing_file){.id = hr__statement_number(&find, 0),
                                      .is_same_content = hr_digest_equal(&xxh128, &file->xxh128),
                                      .lacks_sha256 = hr__statement_number(&find, 2) != 0};
    }
    return hr__statement_finish(&find, fault);
}

static enum hr_status forget_file(struct hr_ledger *ledger, int64_t file, struct hr_fault *fault)
{
    struct hr_statement forget = hr__statement_start(ledger, HR_SQL_FORGET_FILE, "DELETE FROM copy WHERE file = ?");
    hr__statement_bind_number(&forget, file);
    return hr__statement_run(&forget, fault);
}

static enum hr_status insert_file(int64_t *id, struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                  struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_add_card(ledger, file->card_identity, fault);
    if (status != HR_OK)
        return status;
    struct hr_statement insert =
        hr__statement_start(ledger, HR_SQL_ADD_FILE,
                            "INSERT INTO file (card, folder, name, size_bytes, modified_ns, xxh128, sha256)"
                            " VALUES ((SELECT id FROM card WHERE identity = ?), ?, ?, ?, ?, ?, ?)");
    hr__statement_bind_file(&insert, file);
    hr__statement_bind_digest(&insert, &file->xxh128);
    hr__statement_bind_digest(&insert, &file->sha256);
    status = hr__statement_run(&insert, fault);
    *id = sqlite3_last_insert_rowid(ledger->database);
    return status;
}

static enum hr_status add_sha256(struct hr_ledger *ledger, int64_t file, const struct hr_digest *sha256,
                                 struct hr_fault *fault)
{
    struct hr_statement add = hr__statement_start(ledger, HR_SQL_ADD_SHA256, "UPDATE file SET sha256 = ? WHERE id = ?");
    hr__statement_bind_digest(&add, sha256);
    hr__statement_bind_number(&add, file);
    return hr__statement_run(&add, fault);
}

/* Two contents under one identity must not count as copies of each other: the one proven last stays. */
static enum hr_status settle_file(int64_t *id, struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                  struct hr_fault *fault)
{
    struct standing_file standing;
    enum hr_status status = find_file(&standing, ledger, file, fault);
    *id = standing.id;
    if (status == HR_OK && standing.id && standing.is_same_content)
        return standing.lacks_sha256 && file->sha256.kind != HR_DIGEST_NONE
                   ? add_sha256(ledger, standing.id, &file->sha256, fault)
                   : HR_OK;
    if (status == HR_OK && standing.id)
        status = forget_file(ledger, standing.id, fault);
    return status == HR_OK ? insert_file(id, ledger, file, fault) : status;
}

static enum hr_status put_copy(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                               const struct hr_ledger_copy *copy, struct hr_fault *fault)
{
    int64_t id = 0;
    enum hr_status status = settle_file(&id, ledger, file, fault);
    if (status != HR_OK)
        return status;
    struct hr_statement put =
        hr__statement_start(ledger, HR_SQL_ADD_COPY,
                            "INSERT INTO copy (file, bag, proof, proven_at_ns) VALUES (?, ?, ?, ?)"
                            " ON CONFLICT DO UPDATE SET proof = excluded.proof, proven_at_ns = excluded.proven_at_ns");
    hr__statement_bind_number(&put, id);
    hr__statement_bind_number(&put, copy->bag);
    hr__statement_bind_word(&put, hr_proof_name(copy->proof));
    hr__statement_bind_number(&put, copy->proven_at_ns);
    return hr__statement_run(&put, fault);
}

enum hr_status hr_ledger_add_copy(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                  const struct hr_ledger_copy *copy, struct hr_fault *fault)
{
    bool has_other_sha256 = file->sha256.kind != HR_DIGEST_NONE && file->sha256.kind != HR_DIGEST_SHA256;
    if (file->xxh128.kind != HR_DIGEST_XXH128 || has_other_sha256 || copy->proof == HR_PROOF_NONE)
        return hr__fault_path(fault, HR_INVALID, 0, "a copy without digest and proof cannot be noted:", file->path);
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    return status == HR_OK ? hr__ledger_step_end(ledger, put_copy(ledger, file, copy, fault), fault) : status;
}

static enum hr_status forget_copies(struct hr_ledger *ledger, int64_t bag, const char *path, struct hr_fault *fault)
{
    struct hr_statement forget =
        path ? hr__statement_start(ledger, HR_SQL_FORGET_COPY,
                                   "DELETE FROM copy WHERE bag = ?"
                                   " AND file IN (SELECT id FROM file WHERE folder = ? AND name = ?)")
             : hr__statement_start(ledger, HR_SQL_FORGET_BAG, "DELETE FROM copy WHERE bag = ?");
    hr__statement_bind_number(&forget, bag);
    if (path)
        hr__statement_bind_path(&forget, path);
    return hr__statement_run(&forget, fault);
}

enum hr_status hr_ledger_forget_copies(struct hr_ledger *ledger, int64_t bag, const char *path, struct hr_fault *fault)
{
    enum hr_status status = hr__ledger_step_begin(ledger, fault);
    return status == HR_OK ? hr__ledger_step_end(ledger, forget_copies(ledger, bag, path, fault), fault) : status;
}
