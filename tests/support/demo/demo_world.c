/* SPDX-License-Identifier: ISC */
#include "demo_world.h"

#include <math.h>

#include "demo_random.h"

/* What chance decided about one attack. */
struct attack {
    double length_s, shot_s; /* the shot comes at shot_s */
    float speed, from_x, from_y, shot_x, shot_y, target_y, weave;
    bool is_goal;
    unsigned team; /* that attacks */
    unsigned first_number;
};

static const float shot_speed = 19, pi = 3.14159265F;

static struct attack attack_of(const struct demo_moment *moment)
{
    struct demo_random random = demo_random_of(moment->seed, "attack", 0);
    struct attack attack = {.length_s = moment->length_s, .team = demo_random_index(&random, 2)};
    attack.shot_s = fmax(0.45 * attack.length_s, attack.length_s - 1.5);
    attack.speed = (float)demo_random_range(&random, 4.0, 5.6);
    attack.shot_x = demo_goal_line_m - (float)demo_random_range(&random, 7, 13);
    attack.shot_y = (float)demo_random_range(&random, -6, 6);
    attack.from_x = fmaxf(attack.shot_x - attack.speed * (float)attack.shot_s, -40);
    attack.from_y = attack.shot_y + (float)demo_random_range(&random, -0.3, 0.3) * (attack.shot_x - attack.from_x);
    attack.from_y = fmaxf(-22, fminf(22, attack.from_y));
    attack.target_y = (float)demo_random_range(&random, -1.6, 1.6);
    attack.weave = (float)demo_random_range(&random, 0.3, 1.1);
    attack.is_goal = demo_random_unit(&random) < 0.55;
    attack.first_number = demo_random_index(&random, 20);
    return attack;
}

/* Where the ball is led at `at_s`, before the shot. */
static struct demo_point led_ball(const struct attack *attack, double at_s)
{
    float part = (float)(at_s / fmax(attack->shot_s, 0.01));
    float weave = attack->weave * sinf((float)at_s * 2.1F) * fminf(1, fmaxf(0, 1.2F - part));
    return (struct demo_point){attack->from_x + (attack->shot_x - attack->from_x) * part,
                               attack->from_y + (attack->shot_y - attack->from_y) * part + weave,
                               0.04F + 0.03F * fabsf(sinf((float)at_s * 9))};
}

static struct demo_point shot_ball(const struct attack *attack, double since_s)
{
    float end_x = attack->is_goal ? demo_goal_line_m + 0.9F : demo_goal_line_m - 0.7F;
    float way = fminf(shot_speed * (float)since_s, end_x - attack->shot_x);
    float part = way / (end_x - attack->shot_x), since_stop = (float)since_s - (end_x - attack->shot_x) / shot_speed;
    struct demo_point ball = {attack->shot_x + way, attack->shot_y + (attack->target_y - attack->shot_y) * part, 0.04F};
    ball.z += 1.6F * part * (1 - part) + 0.45F * part * fmaxf(0, 1 - 3 * fmaxf(0, since_stop));
    if (since_stop > 0 && !attack->is_goal)
        ball.x -= fminf(2.5F, 5 * since_stop);
    return ball;
}

static struct demo_point ball_at(const struct attack *attack, double at_s)
{
    return at_s < attack->shot_s ? led_ball(attack, at_s) : shot_ball(attack, at_s - attack->shot_s);
}

static struct demo_person *add(struct demo_world *world, struct demo_person person)
{
    struct demo_person *added = &world->people[world->person_count++];
    *added = person;
    return added;
}

static void add_carrier(struct demo_world *world, const struct attack *attack, double at_s)
{
    double since_s = at_s - attack->shot_s, ahead_s = fmin(at_s, attack->shot_s);
    struct demo_point now = led_ball(attack, ahead_s), before = led_ball(attack, ahead_s - 0.08);
    float heading = atan2f(now.y - before.y, now.x - before.x),
          on = (float)fmax(0, fmin(since_s, 1.2)) * attack->speed * 0.6F;
    struct demo_person *carrier = add(world, (struct demo_person){.heading = heading,
                                                                  .speed = attack->speed,
                                                                  .action = DEMO_DRIBBLE,
                                                                  .team = attack->team,
                                                                  .number = 7 + attack->first_number % 4,
                                                                  .reach = 1,
                                                                  .stride = (float)at_s * attack->speed * 2.1F});
    carrier->x = now.x - 0.62F * cosf(heading) - 0.22F * sinf(heading) + on;
    carrier->y = now.y - 0.62F * sinf(heading) + 0.22F * cosf(heading);
    if (since_s > -0.25) {
        carrier->action = DEMO_HIT;
        carrier->speed = 1.5F;
        carrier->swing = (float)(since_s < 0 ? -1 + (since_s + 0.25) * 4 : fmin(1, since_s * 6));
    }
    if (since_s > 0.55)
        carrier->action = attack->is_goal ? DEMO_CHEER : DEMO_RUN;
}

static void add_company(struct demo_world *world, const struct attack *attack, const struct demo_moment *moment)
{
    /* Where the others run beside the ball: ahead, to the left, with or against. */
    static const struct {
        float ahead, left;
        bool attacks;
    } others[] = {{-0.7F, 1.5F, false}, {3.8F, -1.2F, false}, {-2.4F, -3.4F, true},
                  {5.0F, 5.5F, true},   {-6.5F, 2.6F, false}, {7.5F, -5.5F, false},
                  {-11, -1.5F, true},   {-15, 6, false},      {-18, -5, true}};
    double at_s = moment->elapsed_s, led_s = fmin(at_s, attack->shot_s), since_s = at_s - attack->shot_s;
    for (unsigned i = 0; i < sizeof others / sizeof *others; i++) {
        uint64_t own = moment->seed + i * 977;
        float drift = (float)demo_random_curve(own, at_s * 0.7), lag = (float)demo_random_curve(own + 1, at_s * 0.5);
        struct demo_point ball = led_ball(attack, led_s - 0.15);
        bool backs_up = others[i].ahead > 3 && !others[i].attacks;
        struct demo_person *person =
            add(world,
                (struct demo_person){.x = fminf(ball.x + others[i].ahead * (1 + 0.15F * lag), demo_goal_line_m - 1.5F),
                                     .y = ball.y + others[i].left + 0.9F * drift,
                                     .speed = attack->speed * (backs_up ? 0.55F : 0.95F),
                                     .action = i == 0 ? DEMO_DRIBBLE : DEMO_RUN,
                                     .reach = i == 0 ? 0.8F : 0.3F,
                                     .team = others[i].attacks ? attack->team : 1 - attack->team,
                                     .number = 11 + (attack->first_number + 2 * i) % 18,
                                     .looks = (unsigned)own,
                                     .stride = (float)at_s * attack->speed * 2.1F + (float)i * 1.7F});
        person->heading = backs_up ? atan2f(ball.y - person->y, ball.x - person->x) + 0.7F : 0.25F * drift;
        if (since_s > 0) {
            person->x += fminf((float)since_s, 1.5F) * 1.6F;
            person->speed = fmaxf(1, person->speed * (1 - 0.5F * (float)since_s));
        }
        if (since_s > 0.7 && attack->is_goal)
            person->action = others[i].attacks ? DEMO_CHEER : DEMO_STAND;
    }
}

static void add_keeper(struct demo_world *world, const struct attack *attack, double at_s)
{
    struct demo_point ball = ball_at(attack, fmin(at_s, attack->shot_s));
    float since = (float)(at_s - attack->shot_s) - 0.12F, dive = fmaxf(0, fminf(1, since * 2.6F));
    float side = attack->target_y > 0 ? 1 : -1;
    add(world, (struct demo_person){.x = demo_goal_line_m - 1.1F,
                                    .y = ball.y * 0.08F + dive * side * 0.7F,
                                    .action = DEMO_GUARD,
                                    .heading = atan2f(ball.y, ball.x - demo_goal_line_m),
                                    .swing = -side * dive,
                                    .speed = 0.4F,
                                    .stride = (float)at_s * 3,
                                    .team = 3 - attack->team,
                                    .number = 1,
                                    .looks = 3});
}

static void stand_portrait(struct demo_world *world, const struct demo_moment *moment)
{
    struct demo_random random = demo_random_of(moment->seed, "portrait", 0);
    float x = (float)demo_random_range(&random, 24, 34), y = (float)demo_random_range(&random, -12, 4);
    for (unsigned i = 0; i < 4; i++) {
        float back = (float)i * 5.5F;
        struct demo_person *person = add(world, (struct demo_person){.x = x - back, .speed = 1.2F, .reach = 0.2F});
        person->y = y + (float)demo_random_range(&random, -1, 1) * back * 0.5F;
        person->heading = (float)demo_random_range(&random, -0.9, 0.9);
        person->stride = (float)demo_random_range(&random, 0, 2 * pi);
        person->action = i == 0 && demo_random_unit(&random) < 0.4 ? DEMO_STAND : DEMO_RUN;
        person->team = demo_random_index(&random, 2);
        person->number = 2 + demo_random_index(&random, 21);
        person->looks = demo_random_index(&random, 64);
    }
    world->ball = (struct demo_point){x + 0.9F, y + 0.3F, 0.04F};
}

/* How far in front of (or behind) the subject the lens is set: hunting as the finger goes down, then held, lost at
 * times. */
static float focus_error_m(const struct demo_moment *moment)
{
    uint64_t seed = moment->seed + 31;
    double settling = exp(-moment->burst_elapsed_s / 0.18) * 5 *
                      demo_random_curve(seed, floor(moment->elapsed_s - moment->burst_elapsed_s));
    double drift = demo_random_curve(seed + 1, moment->elapsed_s * 1.1), lost = fmax(0, fabs(drift) - 0.55) * 12;
    return (float)(settling + (drift > 0 ? lost : -lost) + 0.12 * demo_random_curve(seed + 2, moment->elapsed_s * 6));
}

static void aim(struct demo_world *world, const struct demo_moment *moment, char body, int width, int height)
{
    const struct demo_person *subject = &world->people[0];
    struct demo_view *view = &world->view;
    bool portrait = moment->is_portrait;
    double wobble = moment->elapsed_s * 1.7;
    float toward_ball = portrait ? 0 : 0.4F * fmaxf(-2, fminf(2, world->ball.y - subject->y));
    view->eye = body == 'A' ? (struct demo_point){demo_goal_line_m + 6, 7.5F, 1.7F}
                            : (struct demo_point){30, -demo_side_line_m - 5, 2.2F};
    float to_x = subject->x + (float)demo_random_curve(moment->seed + 5, wobble) * 0.45F - view->eye.x;
    float to_y = subject->y + toward_ball + (float)demo_random_curve(moment->seed + 6, wobble) * 0.45F - view->eye.y;
    float away = sqrtf(to_x * to_x + to_y * to_y);
    view->forward_x = to_x / away;
    view->forward_y = to_y / away;
    world->subject_m = demo_view_depth(view, (struct demo_point){subject->x, subject->y, 1});
    float wide_m = portrait ? 1.9F : 4.7F + 0.8F * (float)demo_random_curve(moment->seed + 7, moment->elapsed_s * 0.4);
    view->focal_pixels = (float)width * world->subject_m / wide_m;
    view->centre_column = (float)width / 2;
    view->horizon_row = (float)height * 0.52F - view->focal_pixels * (view->eye.z - 0.92F) / world->subject_m +
                        (float)demo_random_curve(moment->seed + 8, wobble) * (float)height * 0.03F;
    view->focus_m = fmaxf(6, world->subject_m + focus_error_m(moment) * world->subject_m / 25);
}

void demo_world_at(struct demo_world *world, const struct demo_moment *moment, char body, int width, int height)
{
    *world = (struct demo_world){.spray = -1};
    if (moment->is_portrait) {
        stand_portrait(world, moment);
    } else {
        struct attack attack = attack_of(moment);
        add_carrier(world, &attack, moment->elapsed_s);
        add_company(world, &attack, moment);
        add_keeper(world, &attack, moment->elapsed_s);
        world->ball = ball_at(&attack, moment->elapsed_s);
        world->spray = (float)(moment->elapsed_s - attack.shot_s);
        world->spray_at = led_ball(&attack, attack.shot_s);
    }
    aim(world, moment, body, width, height);
}

double demo_world_blur(const struct demo_moment *moment, char body)
{
    struct demo_world world;
    bool portrait = moment->is_portrait;
    demo_world_at(&world, moment, body, portrait ? 640 : 960, portrait ? 960 : 640);
    return (double)demo_view_blur_pixels(&world.view, world.subject_m);
}
