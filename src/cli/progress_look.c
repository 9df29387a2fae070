/* SPDX-License-Identifier: ISC */
#include "cli/progress_look.h"

void look_show(void *context, const struct hr_look_progress *look)
{
    static const char *const reasons[] = {
        [HR_LOOK_CONTENT] = "not sure by name and time: reading them",
        [HR_LOOK_RATINGS] = "reading ratings: the best rated go first",
    };
    struct look_shown *shown = context;
    const struct reading_view view = {.what = "card ",
                                      .name = look->card,
                                      .why = reasons[look->purpose],
                                      .elapsed_ns = look->elapsed_ns,
                                      .bytes_done = look->bytes_done,
                                      .bytes_total = look->bytes_total,
                                      .files_done = look->files_done,
                                      .files_total = look->files_total};
    if (shown->card != look->card || shown->purpose != look->purpose)
        progress_restart(shown->progress);
    shown->card = look->card;
    shown->purpose = look->purpose;
    progress_note_stop(shown->progress, "stopping; nothing was changed");
    progress_reading(shown->progress, &view);
}
