/* SPDX-License-Identifier: ISC */
#include "cli/progress_look.h"

void look_show(void *context, const struct hr_look_progress *look)
{
    struct look_shown *shown = context;
    const struct reading_view view = {.what = "card ",
                                      .name = look->card,
                                      .why = "not sure by name and time: reading them",
                                      .elapsed_ns = look->elapsed_ns,
                                      .bytes_done = look->bytes_done,
                                      .bytes_total = look->bytes_total,
                                      .files_done = look->files_done,
                                      .files_total = look->files_total};
    if (shown->card != look->card)
        progress_restart(shown->progress);
    shown->card = look->card;
    progress_note_stop(shown->progress, "stopping; nothing was changed");
    progress_reading(shown->progress, &view);
}
