/* SPDX-License-Identifier: ISC */
/* Sequence folders for the shell tests. A PLAY is NUMBER:COUNT:MS: that many frames, raw and JPEG, from this number and
 * this many milliseconds after kick-off on.
 *
 *     fill_tool card FOLDER PLAY...          writes the frames as a card has them
 *     fill_tool fill WAY PLACE BAG PLAY...   fills from PLACE/Cup final/BAG, where they stand
 *
 * Prints what was done in the place and its sentence, then a line a sequence; status 1 when not all was done. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fill_stage.h"

enum { FIRST_PLAY_OF_CARD = 3, FIRST_PLAY_OF_FILL = 5 };

static void add_plays(struct stage *stage, char **plays, int count)
{
    for (int i = 0; i < count; i++) {
        unsigned number;
        size_t frames;
        long ms;
        if (sscanf(plays[i], "%u:%zu:%ld", &number, &frames, &ms) != 3)
            exit(2);
        stage_sequence(stage, 0, number, frames, ms, "rj", 1);
    }
}

static enum hr_fill way_of(const char *name)
{
    enum hr_fill way = HR_FILL_DEFAULT;
    while (way < HR_FILL_COUNT && strcmp(hr_fill_name(way), name) != 0)
        way++;
    return way;
}

static int print(const struct hr_filled *filled)
{
    for (size_t i = 0; i < filled->place_count; i++)
        printf("%s: %s\n", hr_fill_name(filled->places[i].fill), filled->places[i].sentence);
    for (size_t i = 0; i < filled->sequence_count; i++) {
        const struct hr_filled_sequence *row = &filled->sequences[i];
        const char *name = strrchr(row->path, '/');
        printf("%s %zu new, %zu there, %zu failed%s%s\n", name ? name + 1 : "-", row->files_new, row->files_there,
               row->files_failed, row->fault ? ": " : "", row->fault ? row->fault->text : "");
    }
    return filled->all_done ? 0 : 1;
}

static int fill(struct stage *stage, enum hr_fill way)
{
    const struct hr_fill_options options = {.fill = way};
    struct hr_filled *filled = NULL;
    struct hr_fault fault = {0};
    if (hr_sequences_fill(&filled, &stage->delivered, &stage->grouping, &options, NULL, &fault) != HR_OK) {
        fprintf(stderr, "fill_tool: %s\n", fault.text);
        return 1;
    }
    int status = print(filled);
    hr_filled_destroy(filled);
    return status;
}

int main(int argc, char **argv)
{
    int status = 2;
    if (argc >= FIRST_PLAY_OF_CARD && !strcmp(argv[1], "card")) {
        struct stage *stage = stage_create("");
        stage_place(stage, argv[2]);
        add_plays(stage, argv + FIRST_PLAY_OF_CARD, argc - FIRST_PLAY_OF_CARD);
        stage_destroy(stage);
        status = 0;
    } else if (argc >= FIRST_PLAY_OF_FILL && !strcmp(argv[1], "fill")) {
        struct stage *stage = stage_create("Cup final");
        stage->bag = argv[4];
        stage->writes_files = false;
        stage_place(stage, argv[3]);
        add_plays(stage, argv + FIRST_PLAY_OF_FILL, argc - FIRST_PLAY_OF_FILL);
        status = fill(stage, way_of(argv[2]));
        stage_destroy(stage);
    }
    return status;
}
