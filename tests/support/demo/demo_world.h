/* SPDX-License-Identifier: ISC */
/* What happens on the pitch at one moment: where the ball and the players are, what each is doing, and how the
 * photographer follows. */
#ifndef DEMO_WORLD_H
#define DEMO_WORLD_H

#include "demo_plan.h"
#include "demo_view.h"

enum demo_action { DEMO_RUN, DEMO_DRIBBLE, DEMO_HIT, DEMO_CHEER, DEMO_STAND, DEMO_GUARD };

struct demo_person {
    float x, y;
    float heading; /* radians from +x to +y */
    float speed;   /* metres a second: how far the legs swing */
    float stride;  /* phase of the run, radians */
    float swing;   /* of DEMO_HIT, -1 drawn back to 1 followed through; of DEMO_GUARD, the dive to a side */
    float reach;   /* how far the stick is put forward, 0..1 */
    enum demo_action action;
    unsigned team;   /* 0 Northmere, 1 the visitors; goalkeepers 2 and 3 */
    unsigned number; /* on the shirt */
    unsigned looks;  /* hair and skin */
};

enum { DEMO_MOST_PEOPLE = 16 };

struct demo_world {
    struct demo_person people[DEMO_MOST_PEOPLE];
    unsigned person_count;
    struct demo_point ball;
    float spray; /* age of the water thrown up by the shot, seconds; negative when there is none */
    struct demo_point spray_at;
    struct demo_view view;
    float subject_m; /* distance of whom the picture is about */
};

/* `width`, `height`: of the picture as it is held, so the longer side is upright for a portrait. */
void demo_world_at(struct demo_world *world, const struct demo_moment *moment, char body, int width, int height);
/* Blur radius on the subject in pixels for a picture 960 wide. */
double demo_world_blur(const struct demo_moment *moment, char body);

/* The pitch and its goals (lengths from memory of the rules of hockey). */
static const float demo_goal_line_m = 45.7F, demo_side_line_m = 27.5F, demo_goal_half_width_m = 1.83F,
                   demo_goal_height_m = 2.14F;

#endif
