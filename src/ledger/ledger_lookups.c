/* SPDX-License-Identifier: ISC */
/* Asking what is proven. */
#include <headrace/ledger.h>

#include "base/path.h"
#include "ledger/handle.h"
#include "ledger/ledger_fault.h"
#include "ledger/statement.h"

static struct hr_ledger_copy copy_of_row(struct hr_statement *row)
{
    return (struct hr_ledger_copy){.bag = hr__statement_number(row, 0),
                                   .proof = hr_proof_of_name(hr__statement_string(row, 1)),
                                   .proven_at_ns = hr__statement_number(row, 2)};
}

enum hr_status hr_ledger_find_copies(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                     struct hr_ledger_file *digests,
                                     bool (*each)(void *context, const struct hr_ledger_copy *copy), void *context,
                                     struct hr_fault *fault)
{
    struct hr_statement find = hr__statement_start(
        ledger, HR_SQL_FIND_COPIES,
        "SELECT bag, proof, proven_at_ns, xxh128, sha256"
        " FROM card JOIN file ON file.card = card.id JOIN copy ON copy.file = file.id"
        " WHERE identity = ? AND folder = ? AND name = ? AND size_bytes = ? AND modified_ns = ? ORDER BY bag");
    hr__statement_bind_file(&find, file);
    bool goes_on = true, is_known = false;
    while (goes_on && hr__statement_row(&find)) {
        struct hr_ledger_copy copy = copy_of_row(&find);
        if (!is_known) {
            *digests = *file;
            digests->xxh128 = hr__statement_digest(&find, 3, HR_DIGEST_XXH128);
            digests->sha256 = hr__statement_digest(&find, 4, HR_DIGEST_SHA256);
            is_known = true;
        }
        goes_on = each(context, &copy);
    }
    enum hr_status status = hr__statement_finish(&find, fault);
    if (status == HR_OK && !is_known)
        return hr__ledger_says(ledger, HR_NOT_FOUND, "no copy of this file stands in the ledger ", "", fault);
    return status;
}

enum hr_status hr_ledger_may_know_content(bool *out, struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                          struct hr_fault *fault)
{
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_MAY_KNOW,
                            "SELECT 1 FROM file WHERE name = ? AND size_bytes = ? AND (modified_ns = ?"
                            " OR card = (SELECT id FROM card WHERE identity = ?)) LIMIT 1");
    hr__statement_bind_bytes(&find, hr__path_last(file->path));
    hr__statement_bind_count(&find, file->size_bytes);
    hr__statement_bind_number(&find, file->modified_ns);
    hr__statement_bind_bytes(&find, file->card_identity);
    bool is_known = hr__statement_row(&find);
    enum hr_status status = hr__statement_finish(&find, fault);
    if (status == HR_OK)
        *out = is_known;
    return status;
}

static enum hr_status tell_each(struct hr_statement *find,
                                bool (*each)(void *context, const struct hr_ledger_copy *copy, const char *path),
                                void *context, struct hr_fault *fault)
{
    bool goes_on = true;
    while (goes_on && hr__statement_row(find)) {
        struct hr_ledger_copy copy = copy_of_row(find);
        goes_on = each(context, &copy, hr__statement_string(find, 3));
    }
    return hr__statement_finish(find, fault);
}

enum hr_status hr_ledger_find_content(struct hr_ledger *ledger, uint64_t size_bytes, const struct hr_digest *xxh128,
                                      bool (*each)(void *context, const struct hr_ledger_copy *copy, const char *path),
                                      void *context, struct hr_fault *fault)
{
    struct hr_statement find = hr__statement_start(ledger, HR_SQL_FIND_CONTENT,
                                                   "SELECT bag, proof, proven_at_ns, CAST(folder || name AS BLOB)"
                                                   " FROM file JOIN copy ON copy.file = file.id"
                                                   " WHERE xxh128 = ? AND size_bytes = ? ORDER BY file.id, bag");
    hr__statement_bind_digest(&find, xxh128);
    hr__statement_bind_count(&find, size_bytes);
    return tell_each(&find, each, context, fault);
}

/* Most files have none, and the index of names alone tells. */
static enum hr_status has_namesakes(bool *out, struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                    struct hr_fault *fault)
{
    struct hr_statement find = hr__statement_start(
        ledger, HR_SQL_HAS_NAMESAKES, "SELECT 1 FROM file WHERE name = ? AND size_bytes = ? LIMIT 1 OFFSET 1");
    hr__statement_bind_bytes(&find, hr__path_last(file->path));
    hr__statement_bind_count(&find, file->size_bytes);
    *out = hr__statement_row(&find);
    return hr__statement_finish(&find, fault);
}

/* +xxh128: by the index of names. */
enum hr_status hr_ledger_find_namesakes(struct hr_ledger *ledger, const struct hr_ledger_file *file,
                                        bool (*each)(void *context, const struct hr_ledger_copy *copy,
                                                     const char *path),
                                        void *context, struct hr_fault *fault)
{
    bool has_some = false;
    enum hr_status status = has_namesakes(&has_some, ledger, file, fault);
    if (status || !has_some)
        return status;
    struct hr_statement find =
        hr__statement_start(ledger, HR_SQL_FIND_NAMESAKES,
                            "SELECT bag, proof, proven_at_ns, CAST(folder || name AS BLOB)"
                            " FROM file JOIN copy ON copy.file = file.id"
                            " WHERE name = ? AND size_bytes = ? AND +xxh128 = ? ORDER BY file.id, bag");
    hr__statement_bind_bytes(&find, hr__path_last(file->path));
    hr__statement_bind_count(&find, file->size_bytes);
    hr__statement_bind_digest(&find, &file->xxh128);
    return tell_each(&find, each, context, fault);
}
