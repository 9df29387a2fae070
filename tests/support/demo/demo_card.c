/* SPDX-License-Identifier: ISC */
/* Builds a camera card of an invented match, and writes down what is on it. `demo_card --help` tells all. */
#include <stdio.h>
#include <string.h>

#include "demo_clip.h"
#include "demo_exif.h"
#include "demo_fail.h"
#include "demo_jpeg.h"
#include "demo_plan.h"
#include "demo_raw.h"
#include "demo_scene.h"
#include "demo_sound.h"
#include "demo_tree.h"
#include "demo_truth.h"

enum { FILES_SIZE = 256, QUALITY = 87, THUMBNAIL_QUALITY = 70, MOST_PICTURES = 50 };

/* What is used again from frame to frame. */
struct builder {
    const struct demo_options *options;
    struct demo_tree tree;
    struct demo_scene scene;
    struct demo_canvas small;
    struct demo_bytes stream, thumbnail, exif, file;
    unsigned made_folder;
};

static struct demo_bytes *emptied(struct demo_bytes *bytes)
{
    bytes->size = 0;
    return bytes;
}

/* "DCIM/100NMERE/NMA_0001.JPG", and its folder. */
static void name_file(char path[FILES_SIZE], struct builder *builder, const struct demo_frame *frame,
                      const char *extension)
{
    snprintf(path, FILES_SIZE, "DCIM/%03uNMERE", frame->folder);
    if (frame->folder != builder->made_folder)
        demo_tree_make_folder(&builder->tree, path);
    builder->made_folder = frame->folder;
    snprintf(path, FILES_SIZE, "DCIM/%03uNMERE/NM%c_%04u.%s", frame->folder, frame->body, frame->counter, extension);
}

static bool write_file(struct builder *builder, const struct demo_frame *frame, const char *extension, char *files)
{
    char path[FILES_SIZE];
    name_file(path, builder, frame, extension);
    demo_tree_write(&builder->tree, path, &builder->file, frame->time_ns);
    snprintf(files + strlen(files), FILES_SIZE - strlen(files), "%s%s", *files ? ";" : "", path);
    return frame->is_protected && demo_tree_protect(&builder->tree, path);
}

static void take_picture(struct builder *builder, const struct demo_canvas *canvas)
{
    int factor = (canvas->width + 159) / 160;
    demo_canvas_shrink(&builder->small, canvas, factor);
    demo_jpeg_encode(emptied(&builder->stream), canvas, QUALITY);
    demo_jpeg_encode(emptied(&builder->thumbnail), &builder->small, THUMBNAIL_QUALITY);
}

static bool write_frame(struct builder *builder, const struct demo_frame *frame, char *files)
{
    const struct demo_options *options = builder->options;
    struct demo_exposure exposure = {(unsigned)options->width_pixels, (unsigned)options->height_pixels,
                                     (unsigned)options->clock_resolution_ms};
    struct demo_random padding = demo_random_of(options->seed, "padding", (uint64_t)frame->time_ns);
    char xmp[DEMO_XMP_SIZE];
    const struct demo_canvas *canvas = demo_scene_draw(&builder->scene, &frame->moment, frame->body,
                                                       (int)options->width_pixels, (int)options->height_pixels);
    take_picture(builder, canvas);
    demo_exif_xmp(xmp, frame);
    demo_exif_block(emptied(&builder->exif), frame, &exposure, &builder->thumbnail);
    demo_jpeg_file(emptied(&builder->file), &builder->stream, &builder->exif, xmp, options->jpeg_bytes, padding);
    bool is_protected = write_file(builder, frame, "JPG", files);
    if (frame->has_raw) {
        demo_raw_file(emptied(&builder->file), frame, &exposure, canvas, &builder->stream, xmp, options->raw_bytes,
                      padding);
        is_protected |= write_file(builder, frame, "DNG", files);
    }
    if (frame->has_memo) {
        demo_sound_file(emptied(&builder->file), frame->moment.seed);
        is_protected |= write_file(builder, frame, "WAV", files);
    }
    return is_protected;
}

static bool write_clip(struct builder *builder, const struct demo_frame *frame, char *files)
{
    struct demo_moment moment = frame->moment;
    struct demo_clip clip;
    int width = (int)builder->options->width_pixels / 2, height = (int)builder->options->height_pixels / 2;
    demo_clip_begin(&clip, emptied(&builder->file), (unsigned)width, (unsigned)height, frame->time_ns);
    for (int i = 0; i < MOST_PICTURES; i++) {
        moment.burst_elapsed_s = 2;
        moment.elapsed_s = moment.length_s - 3.2 + (double)i / DEMO_CLIP_PER_S;
        demo_jpeg_encode(emptied(&builder->stream),
                         demo_scene_draw(&builder->scene, &moment, frame->body, width, height), QUALITY);
        demo_clip_add(&clip, &builder->file, &builder->stream);
    }
    demo_clip_end(&clip, &builder->file);
    return write_file(builder, frame, "MOV", files);
}

/* What else is found on cards: the camera's own notes, a dot file some computer left, a folder with nothing in it. */
static void write_leftovers(struct builder *builder, int64_t time_ns)
{
    static const struct {
        const char *path, *text;
    } leftovers[] = {{"MISC/NOTES.TXT", "Cup final at Northmere. Spare card in the left pocket.\n"},
                     {"MISC/INDEX.DAT", "NMERE-INDEX 0001\n"},
                     {".volume-note", "seen by the desk\n"}};
    demo_tree_make_folder(&builder->tree, "MISC");
    demo_tree_make_folder(&builder->tree, "MISC/EMPTY");
    for (size_t i = 0; i < sizeof leftovers / sizeof *leftovers; i++) {
        demo_bytes_add_text(emptied(&builder->file), leftovers[i].text);
        demo_tree_write(&builder->tree, leftovers[i].path, &builder->file, time_ns);
    }
}

static void write_card(struct builder *builder, const struct demo_plan *plan)
{
    FILE *truth = demo_truth_open(builder->options->truth);
    demo_tree_make_folder(&builder->tree, "");
    demo_tree_make_folder(&builder->tree, "DCIM");
    for (size_t i = 0; i < plan->count; i++) {
        char files[FILES_SIZE] = "";
        const struct demo_frame *frame = &plan->frames[i];
        bool is_protected = frame->is_clip ? write_clip(builder, frame, files) : write_frame(builder, frame, files);
        demo_truth_add(truth, frame, files, is_protected);
    }
    if (!builder->options->plain && plan->count)
        write_leftovers(builder, plan->frames[0].time_ns);
    demo_truth_close(truth, builder->options->truth);
}

static void builder_finish(struct builder *builder)
{
    demo_scene_finish(&builder->scene);
    demo_canvas_finish(&builder->small);
    demo_bytes_finish(&builder->stream);
    demo_bytes_finish(&builder->thumbnail);
    demo_bytes_finish(&builder->exif);
    demo_bytes_finish(&builder->file);
}

int main(int argc, char **argv)
{
    struct demo_options options;
    struct demo_plan plan;
    demo_options_parse(&options, argc, argv);
    struct builder builder = {.options = &options, .tree = {options.out, options.fat_times}};
    demo_plan_init(&plan, &options);
    demo_scene_init(&builder.scene);
    write_card(&builder, &plan);
    builder_finish(&builder);
    demo_plan_finish(&plan);
    return 0;
}
