/* SPDX-License-Identifier: ISC */
/* From a moment of the match to the picture a body would have taken. */
#ifndef DEMO_SCENE_H
#define DEMO_SCENE_H

#include "demo_canvas.h"
#include "demo_pitch.h"
#include "demo_plan.h"
#include "demo_stand.h"

/* What is painted once, and the canvases that are used again for every frame. Zeroed, then demo_scene_init. */
struct demo_scene {
    struct demo_pitch pitch;
    struct demo_stand stand;
    struct demo_canvas frame, turned, layer, spare;
};

void demo_scene_init(struct demo_scene *scene);
void demo_scene_finish(struct demo_scene *scene);
/* The picture as the sensor saw it: a portrait lies on its side. Good until the next call. */
const struct demo_canvas *demo_scene_draw(struct demo_scene *scene, const struct demo_moment *moment, char body,
                                          int width, int height);

#endif
