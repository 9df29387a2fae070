/* SPDX-License-Identifier: ISC */
#include "demo_scene.h"

#include <math.h>
#include <stdlib.h>

#include "demo_figure.h"
#include "demo_random.h"
#include "demo_world.h"

void demo_scene_init(struct demo_scene *scene)
{
    *scene = (struct demo_scene){0};
    demo_pitch_init(&scene->pitch);
    demo_stand_init(&scene->stand);
}

void demo_scene_finish(struct demo_scene *scene)
{
    demo_stand_finish(&scene->stand);
    demo_canvas_finish(&scene->frame);
    demo_canvas_finish(&scene->turned);
    demo_canvas_finish(&scene->layer);
    demo_canvas_finish(&scene->spare);
}

static void build_net(struct demo_figure *goal, float back_m)
{
    static const struct demo_colour net = {214, 220, 228};
    const float x = demo_goal_line_m, wide = demo_goal_half_width_m, high = demo_goal_height_m, thread = 0.007F;
    for (int i = -6; i <= 6; i++) {
        float y = (float)i * wide / 6;
        demo_figure_add(goal, (struct demo_point){x + 0.9F, y, high}, (struct demo_point){x + back_m, y, 0}, thread,
                        thread, net);
        demo_figure_add(goal, (struct demo_point){x, y, high}, (struct demo_point){x + 0.9F, y, high}, thread, thread,
                        net);
    }
    for (int i = 1; i < 8; i++) {
        float z = high * (float)i / 8, back = x + back_m - (back_m - 0.9F) * z / high;
        demo_figure_add(goal, (struct demo_point){back, -wide, z}, (struct demo_point){back, wide, z}, thread, thread,
                        net);
        demo_figure_add(goal, (struct demo_point){x, -wide, z}, (struct demo_point){back, -wide, z}, thread, thread,
                        net);
        demo_figure_add(goal, (struct demo_point){x, wide, z}, (struct demo_point){back, wide, z}, thread, thread, net);
    }
}

static void build_goal(struct demo_figure *goal)
{
    static const struct demo_colour frame = {252, 252, 252}, board = {58, 30, 46};
    const float x = demo_goal_line_m, wide = demo_goal_half_width_m, high = demo_goal_height_m, back_m = 1.3F,
                post = 0.04F;
    goal->count = 0;
    demo_figure_add(goal, (struct demo_point){x, -wide, 0}, (struct demo_point){x, -wide, high}, post, post, frame);
    demo_figure_add(goal, (struct demo_point){x, wide, 0}, (struct demo_point){x, wide, high}, post, post, frame);
    demo_figure_add(goal, (struct demo_point){x, -wide, high}, (struct demo_point){x, wide, high}, post, post, frame);
    demo_figure_add(goal, (struct demo_point){x + back_m, -wide, 0.23F}, (struct demo_point){x + back_m, wide, 0.23F},
                    0.23F, 0.23F, board);
    demo_figure_add(goal, (struct demo_point){x, -wide, 0.23F}, (struct demo_point){x + back_m, -wide, 0.23F}, 0.23F,
                    0.23F, board);
    demo_figure_add(goal, (struct demo_point){x, wide, 0.23F}, (struct demo_point){x + back_m, wide, 0.23F}, 0.23F,
                    0.23F, board);
    build_net(goal, back_m);
}

static void build_ball(struct demo_figure *ball, const struct demo_world *world)
{
    static const struct demo_colour yellow = {252, 244, 120}, drop = {226, 238, 250};
    ball->count = 0;
    demo_figure_add(ball, world->ball, world->ball, 0.042F, 0.042F, yellow);
    if (world->spray < 0 || world->spray > 0.5F)
        return;
    struct demo_random random = demo_random_of(0, "spray", 0);
    for (int i = 0; i < 60; i++) {
        float ahead = (float)demo_random_range(&random, 0.2, 4.5), side = (float)demo_random_range(&random, -0.8, 0.8);
        float up = (float)demo_random_range(&random, 0.3, 2.4), age = world->spray;
        struct demo_point at = {world->spray_at.x + ahead * age, world->spray_at.y + side * age,
                                0.03F + up * age - 4.9F * age * age};
        if (at.z > 0)
            demo_figure_add(ball, at, at, 0.012F, 0.012F, drop);
    }
}

struct actor {
    float depth_m;
    struct demo_figure figure;
};

static int far_first(const void *a, const void *b)
{
    const struct actor *const *x = a, *const *y = b;
    if ((*x)->depth_m != (*y)->depth_m)
        return (*x)->depth_m > (*y)->depth_m ? -1 : 1;
    return *x < *y ? -1 : 1;
}

static unsigned cast(struct actor *actors, const struct demo_world *world)
{
    unsigned count = 0;
    for (; count < world->person_count; count++)
        demo_figure_pose(&actors[count].figure, &world->people[count], &world->view);
    build_ball(&actors[count++].figure, world);
    build_goal(&actors[count++].figure);
    for (unsigned i = 0; i < count; i++)
        actors[i].depth_m = demo_view_depth(&world->view, actors[i].figure.limbs[0].from);
    return count;
}

static void draw_world(struct demo_scene *scene, const struct demo_world *world)
{
    struct actor actors[DEMO_MOST_PEOPLE + 2], *order[DEMO_MOST_PEOPLE + 2];
    unsigned count = cast(actors, world);
    for (unsigned i = 0; i < count; i++)
        order[i] = &actors[i];
    qsort(order, count, sizeof *order, far_first);
    for (unsigned i = 0; i < count; i++)
        demo_figure_draw_shadow(&order[i]->figure, &world->view, &scene->frame, &scene->layer, &scene->spare);
    for (unsigned i = 0; i < count; i++)
        demo_figure_draw(&order[i]->figure, &world->view, &scene->frame, &scene->layer, &scene->spare);
}

const struct demo_canvas *demo_scene_draw(struct demo_scene *scene, const struct demo_moment *moment, char body,
                                          int width, int height)
{
    struct demo_world world;
    bool portrait = moment->is_portrait;
    demo_canvas_start(&scene->frame, 0, 0, portrait ? height : width, portrait ? width : height);
    demo_world_at(&world, moment, body, scene->frame.width, scene->frame.height);
    demo_pitch_draw(&scene->pitch, &world.view, &scene->frame);
    demo_stand_draw(&scene->stand, &world.view, &scene->frame);
    draw_world(scene, &world);
    if (!portrait)
        return &scene->frame;
    demo_canvas_turn(&scene->turned, &scene->frame);
    return &scene->turned;
}
