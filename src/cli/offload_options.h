/* SPDX-License-Identifier: ISC */
/* The options that say what an offload is: common to the command that does it and the one that foresees it. */
#ifndef HR_CLI_OFFLOAD_OPTIONS_H
#define HR_CLI_OFFLOAD_OPTIONS_H

#include <headrace/offload.h>

#include "cli/cli.h"
#include "cli/progress_look.h"

struct offload_wish {
    struct cli_texts places;
    struct cli_order first;
    int digest;
    uint64_t cards_at_once;
    double by_s;
    bool same_device, any_folder, reread_card;
};
extern const char *const offload_first_choices[]; /* enum hr_first */
extern const char *const offload_digest_choices[];

/* Rows of an option table; `type` is the command's settings, `member` its struct offload_wish. */
#define OFFLOAD_OPTIONS(type, member)                                                                                  \
    {.name = "to",                                                                                                     \
     .letter = 't',                                                                                                    \
     .kind = CLI_TEXTS,                                                                                                \
     .completes = CLI_COMPLETES_FOLDERS,                                                                               \
     .at = offsetof(type, member.places),                                                                              \
     .argument = "PLACE",                                                                                              \
     .help = "copy to this folder; give it once for every drive"},                                                     \
        {.name = "first",                                                                                              \
         .kind = CLI_ORDER,                                                                                            \
         .at = offsetof(type, member.first),                                                                           \
         .argument = "LIST",                                                                                           \
         .choices = offload_first_choices,                                                                             \
         .help = "what lands first, as protected,rated,newest"},                                                       \
        {.name = "by",                                                                                                 \
         .kind = CLI_DEADLINE,                                                                                         \
         .at = offsetof(type, member.by_s),                                                                            \
         .argument = "TIME",                                                                                           \
         .help = "a deadline, as 12min, 90s, 1h or 15:42"},                                                            \
        {.name = "digest",                                                                                             \
         .kind = CLI_CHOICE,                                                                                           \
         .at = offsetof(type, member.digest),                                                                          \
         .argument = "KIND",                                                                                           \
         .choices = offload_digest_choices,                                                                            \
         .help = "both (XXH128 and SHA-256), or xxh128 alone"},                                                        \
        {.name = "same-device",                                                                                        \
         .kind = CLI_FLAG,                                                                                             \
         .at = offsetof(type, member.same_device),                                                                     \
         .help = "allow places on one drive; they count as one copy"},                                                 \
        {.name = "any-folder",                                                                                         \
         .kind = CLI_FLAG,                                                                                             \
         .at = offsetof(type, member.any_folder),                                                                      \
         .help = "take a card without a DCIM folder"},                                                                 \
        {.name = "reread-card",                                                                                        \
         .kind = CLI_FLAG,                                                                                             \
         .at = offsetof(type, member.reread_card),                                                                     \
         .help = "read the card twice, to catch a failing reader"},                                                    \
    {                                                                                                                  \
        .name = "cards-at-once", .kind = CLI_NUMBER, .at = offsetof(type, member.cards_at_once), .argument = "N",      \
        .help = "read at most N cards at a time; else one a link"                                                      \
    }

/* CLI_USAGE, and it is said why, when the wish makes no sense. */
enum cli_exit offload_wish_check(const struct cli_call *call, const struct offload_wish *wish);
/* What the library is asked; strings are borrowed. The cards are the operands. */
struct hr_offload_options offload_wish_options(const struct cli_call *call, const struct offload_wish *wish,
                                               struct look_shown *look);
/* What a status of preparing or running means to the shell; what failed is said on stderr. */
enum cli_exit offload_exit(enum hr_status status, const struct hr_fault *fault);
/* The refusals of a plan, on stderr. CLI_REFUSED when there are any. */
enum cli_exit offload_show_refusals(const struct hr_offload_plan *plan);

#endif
