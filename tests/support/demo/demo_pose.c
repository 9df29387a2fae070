/* SPDX-License-Identifier: ISC */
#include <math.h>

#include "demo_figure.h"
#include "demo_glyphs.h"

struct kit {
    struct demo_colour shirt, shorts, socks, trim;
};

static const struct kit kits[] = {
    {{196, 30, 48}, {245, 245, 242}, {196, 30, 48}, {255, 255, 255}}, /* Northmere: red and white */
    {{247, 206, 62}, {26, 32, 60}, {26, 32, 60}, {20, 24, 46}},       /* the visitors: yellow and dark blue */
    {{64, 186, 108}, {34, 40, 44}, {236, 236, 232}, {255, 255, 255}}, /* Northmere's goalkeeper */
    {{250, 128, 42}, {34, 40, 44}, {66, 70, 78}, {255, 255, 255}},    /* the visitors' goalkeeper */
};
static const struct demo_colour skins[] = {{238, 190, 160}, {224, 168, 130}, {172, 116, 82}, {120, 78, 54}};
static const struct demo_colour hairs[] = {{52, 34, 24}, {30, 24, 22}, {150, 98, 48}, {206, 166, 96}, {110, 52, 30}};
static const struct demo_colour stick_colour = {232, 226, 210}, grip_colour = {38, 38, 44};

/* The directions of the body, and where its joints are. */
struct body {
    struct demo_point forward, left, up;
    struct demo_point hips, chest, hip[2], shoulder[2], knee[2], ankle[2], toe[2], head,
        hand[2]; /* [0] left, [1] right */
    struct demo_point stick_top, stick_end;
    float lean;
};

static struct demo_point offset(const struct body *body, struct demo_point from, float forward, float left, float up)
{
    from = demo_point_add(from, body->forward, forward);
    from = demo_point_add(from, body->left, left);
    return demo_point_add(from, body->up, up);
}

static struct demo_point between(struct demo_point a, struct demo_point b, float part)
{
    return (struct demo_point){a.x + (b.x - a.x) * part, a.y + (b.y - a.y) * part, a.z + (b.z - a.z) * part};
}

static void pose_leg(struct body *body, int side, float thigh, float knee)
{
    float shin = thigh - knee, foot = shin * 0.6F;
    body->knee[side] = offset(body, body->hip[side], 0.44F * sinf(thigh), 0, -0.44F * cosf(thigh));
    body->ankle[side] = offset(body, body->knee[side], 0.44F * sinf(shin), 0, -0.44F * cosf(shin));
    body->toe[side] = offset(body, body->ankle[side], 0.17F * cosf(foot), 0, 0.17F * sinf(foot) - 0.03F);
}

static void pose_legs(struct body *body, const struct demo_person *person)
{
    float swing = fminf(0.85F, 0.16F * person->speed), low = person->action == DEMO_DRIBBLE ? 0.35F : 0.12F;
    if (person->action == DEMO_GUARD)
        low = 0.5F;
    for (int side = 0; side < 2; side++) {
        float phase = person->stride + (side ? 3.14159265F : 0);
        float wide = person->action == DEMO_GUARD || person->action == DEMO_HIT ? 0.20F : 0.10F;
        body->hip[side] = offset(body, body->hips, 0, side ? -wide : wide, 0);
        float thigh = swing * sinf(phase) + low, knee = 2 * low + 2.0F * swing * fmaxf(0, cosf(phase - 0.4F));
        if (person->action == DEMO_HIT)
            thigh = side ? -0.35F : 0.75F;
        pose_leg(body, side, thigh, knee);
    }
}

/* The lower foot stands on the ground. */
static void stand(struct body *body)
{
    float lowest = fminf(fminf(body->ankle[0].z, body->ankle[1].z) - 0.05F, fminf(body->toe[0].z, body->toe[1].z));
    struct demo_point *joints[] = {&body->hips,     &body->hip[0],   &body->hip[1], &body->knee[0], &body->knee[1],
                                   &body->ankle[0], &body->ankle[1], &body->toe[0], &body->toe[1]};
    for (unsigned i = 0; i < sizeof joints / sizeof *joints; i++)
        joints[i]->z -= lowest - 0.03F;
}

static void pose_trunk(struct body *body, const struct demo_person *person)
{
    static const float leans[] = {[DEMO_RUN] = 0.28F,   [DEMO_DRIBBLE] = 0.75F, [DEMO_HIT] = 0.5F,
                                  [DEMO_CHEER] = -0.1F, [DEMO_STAND] = 0.06F,   [DEMO_GUARD] = 0.45F};
    float lean = body->lean = leans[person->action], twist = 0.13F * sinf(person->stride) * fminf(1, person->speed / 4);
    body->chest = offset(body, body->hips, 0.47F * sinf(lean), 0, 0.47F * cosf(lean));
    body->shoulder[0] = offset(body, body->chest, -twist, 0.18F, 0);
    body->shoulder[1] = offset(body, body->chest, twist, -0.18F, 0);
    body->head = offset(body, body->chest, 0.25F * sinf(lean * 0.75F), 0, 0.25F * cosf(lean * 0.75F) + 0.02F);
}

static void pose_stick(struct body *body, const struct demo_person *person)
{
    float beat = sinf(person->stride);
    body->hand[0] = offset(body, body->hips, 0.30F + 0.10F * beat, 0.10F, 0.20F);
    body->hand[1] = offset(body, body->hips, 0.28F - 0.12F * beat, -0.28F, 0.16F);
    struct demo_point end = offset(body, body->hips, 0.75F, -0.55F, -0.10F + 0.1F * beat);
    if (person->action == DEMO_DRIBBLE || person->action == DEMO_GUARD || person->action == DEMO_STAND) {
        body->hand[0] = offset(body, body->hips, 0.38F, 0.06F, 0.08F);
        end = offset(body, body->hips, 0.30F + 0.35F * person->reach, -0.22F, 0);
        end.z = 0.05F;
        body->hand[1] = between(body->hand[0], end, 0.36F);
    } else if (person->action == DEMO_HIT) {
        float angle = person->swing * 2.1F;
        body->hand[0] =
            offset(body, body->chest, 0.34F + 0.12F * sinf(angle), -0.06F, -0.38F + 0.25F * fabsf(person->swing));
        end = offset(body, body->hand[0], 0.92F * sinf(angle), -0.2F, -0.9F * cosf(angle));
        body->hand[1] = between(body->hand[0], end, 0.12F);
    } else if (person->action == DEMO_CHEER) {
        body->hand[0] = offset(body, body->chest, 0.08F, 0.34F, 0.42F);
        body->hand[1] = offset(body, body->chest, 0.08F, -0.32F, 0.44F + 0.05F * beat);
        end = offset(body, body->hand[1], -0.1F, -0.3F, 0.75F);
    }
    bool is_in_left = person->action != DEMO_RUN && person->action != DEMO_CHEER;
    body->stick_top = is_in_left ? body->hand[0] : body->hand[1];
    body->stick_end = end;
}

static struct demo_point elbow(const struct body *body, int side)
{
    struct demo_point shoulder = body->shoulder[side], hand = body->hand[side], middle = between(shoulder, hand, 0.5F);
    float x = hand.x - shoulder.x, y = hand.y - shoulder.y, z = hand.z - shoulder.z;
    float bend = sqrtf(fmaxf(0.02F, 0.29F * 0.29F - (x * x + y * y + z * z) / 4));
    return offset(body, middle, -0.45F * bend, (side ? -0.75F : 0.75F) * bend, -0.5F * bend);
}

/* A goalkeeper's dive: everything turns about the feet to one side. */
static struct demo_point fall(const struct body *body, struct demo_point feet, struct demo_point joint, float angle)
{
    float left = (joint.x - feet.x) * body->left.x + (joint.y - feet.y) * body->left.y, up = joint.z;
    float new_left = left * cosf(angle) - up * sinf(angle), new_up = left * sinf(angle) + up * cosf(angle);
    joint = demo_point_add(joint, body->left, new_left - left);
    joint.z = fmaxf(0.08F, new_up);
    return joint;
}

static void add_limbs(struct demo_figure *figure, const struct body *body, const struct demo_person *person)
{
    const struct kit *kit = &kits[person->team];
    struct demo_colour skin = skins[(person->looks + person->number) % 4];
    bool guard = person->action == DEMO_GUARD;
    for (int side = 0; side < 2; side++) {
        struct demo_point bent = elbow(body, side), mid_thigh = between(body->hip[side], body->knee[side], 0.62F);
        struct demo_point sock_top = between(body->knee[side], body->ankle[side], 0.12F),
                          sleeve = between(body->shoulder[side], bent, 0.6F);
        demo_figure_add(figure, between(body->hip[side], body->knee[side], 0.5F), body->knee[side], 0.092F, 0.062F,
                        skin);
        demo_figure_add(figure, body->knee[side], sock_top, 0.058F, 0.058F, guard ? kit->socks : skin);
        demo_figure_add(figure, sock_top, body->ankle[side], guard ? 0.135F : 0.066F, guard ? 0.12F : 0.042F,
                        kit->socks);
        demo_figure_add(figure, body->hip[side], mid_thigh, 0.125F, 0.118F, kit->shorts);
        demo_figure_add(figure, body->ankle[side], body->toe[side], 0.05F, 0.04F,
                        guard ? kit->socks : (struct demo_colour){240, 240, 246});
        demo_figure_add(figure, body->shoulder[side], bent, 0.052F, 0.042F, skin);
        demo_figure_add(figure, body->shoulder[side], sleeve, 0.070F, 0.066F, kit->shirt);
        demo_figure_add(figure, bent, body->hand[side], 0.040F, 0.030F, skin);
        demo_figure_add(figure, body->hand[side], body->hand[side], 0.045F, 0.045F, guard ? kit->socks : skin);
        demo_figure_add(figure, offset(body, body->hips, 0, side ? -0.05F : 0.05F, 0.12F),
                        between(body->shoulder[side], body->chest, 0.35F), 0.125F, 0.115F, kit->shirt);
    }
    demo_figure_add(figure, body->hip[0], body->hip[1], 0.125F, 0.125F, kit->shorts);
    demo_figure_add(figure, body->shoulder[0], body->shoulder[1], 0.068F, 0.068F, kit->shirt);
    demo_figure_add(figure, body->chest, body->head, 0.06F, 0.05F, skin);
}

static void add_head(struct demo_figure *figure, const struct body *body, const struct demo_person *person)
{
    struct demo_colour skin = skins[(person->looks + person->number) % 4],
                       hair = hairs[(person->looks * 3 + person->number) % 5];
    if (person->action == DEMO_GUARD) {
        demo_figure_add(figure, body->head, offset(body, body->head, 0.02F, 0, 0.02F), 0.15F, 0.15F,
                        kits[person->team].shirt);
        demo_figure_add(figure, offset(body, body->head, 0.10F, 0.04F, -0.02F),
                        offset(body, body->head, 0.10F, -0.04F, -0.02F), 0.07F, 0.07F,
                        (struct demo_colour){40, 42, 48});
        return;
    }
    demo_figure_add(figure, offset(body, body->head, 0.015F, 0, 0.02F), offset(body, body->head, 0.03F, 0, -0.05F),
                    0.100F, 0.075F, skin);
    demo_figure_add(figure, offset(body, body->head, -0.03F, 0.02F, 0.055F),
                    offset(body, body->head, -0.03F, -0.02F, 0.055F), 0.100F, 0.100F, hair);
    if ((person->looks + person->number) % 3)
        demo_figure_add(figure, offset(body, body->head, -0.13F, 0, 0.03F),
                        offset(body, body->head, -0.22F, 0.05F * sinf(person->stride), -0.12F), 0.045F, 0.02F, hair);
}

static void add_stick(struct demo_figure *figure, const struct body *body)
{
    struct demo_point grip = between(body->stick_top, body->stick_end, 0.32F),
                      top = between(body->stick_top, body->stick_end, -0.06F);
    struct demo_point hook = offset(body, body->stick_end, 0.06F, 0.07F, 0.02F);
    demo_figure_add(figure, grip, body->stick_end, 0.016F, 0.022F, stick_colour);
    demo_figure_add(figure, top, grip, 0.020F, 0.018F, grip_colour);
    demo_figure_add(figure, body->stick_end, hook, 0.024F, 0.026F, stick_colour);
}

/* The number, in dots on the front or back of the shirt, whichever is seen. */
static void add_number(struct demo_figure *figure, const struct body *body, const struct demo_person *person,
                       const struct demo_view *view)
{
    float to_x = view->eye.x - body->chest.x, to_y = view->eye.y - body->chest.y,
          away = sqrtf(to_x * to_x + to_y * to_y);
    float facing = (body->forward.x * to_x + body->forward.y * to_y) / away, front = facing > 0 ? 1 : -1;
    const float dot = 0.034F;
    unsigned digits = person->number > 9 ? 2 : 1;
    if (fabsf(facing) < 0.45F || view->focal_pixels / away < 25)
        return;
    for (unsigned digit = 0; digit < digits; digit++)
        for (int row = 0; row < DEMO_GLYPH_ROWS; row++)
            for (int column = 0; column < DEMO_GLYPH_COLUMNS; column++) {
                char sign = (char)('0' + (digits == 2 && digit == 0 ? person->number / 10 : person->number % 10));
                float across = ((float)column - 2 + ((float)digit - (float)(digits - 1) / 2) * 6) * dot *
                               (digits == 2 ? 0.72F : 1);
                float down = (float)(row + 1) * dot;
                if (!demo_glyph_dot(sign, column, row))
                    continue;
                struct demo_point at = offset(body, body->chest, front * 0.125F - down * sinf(body->lean),
                                              front * across, -down * cosf(body->lean));
                demo_figure_add(figure, at, at, dot * 0.62F, dot * 0.62F, kits[person->team].trim);
                figure->limbs[figure->count - 1].relief = 0;
            }
}

static void dive(struct body *body, const struct demo_person *person)
{
    struct demo_point feet = {person->x, person->y, 0};
    struct demo_point *joints[] = {
        &body->hips,     &body->hip[0],  &body->hip[1],  &body->knee[0],   &body->knee[1],     &body->ankle[0],
        &body->ankle[1], &body->toe[0],  &body->toe[1],  &body->chest,     &body->shoulder[0], &body->shoulder[1],
        &body->head,     &body->hand[0], &body->hand[1], &body->stick_top, &body->stick_end};
    for (unsigned i = 0; i < sizeof joints / sizeof *joints; i++)
        *joints[i] = fall(body, feet, *joints[i], person->swing * 1.25F);
}

void demo_figure_pose(struct demo_figure *figure, const struct demo_person *person, const struct demo_view *view)
{
    float x = cosf(person->heading), y = sinf(person->heading);
    struct body body = {
        .forward = {x, y, 0}, .left = {-y, x, 0}, .up = {0, 0, 1}, .hips = {person->x, person->y, 0.9F}};
    figure->count = 0;
    pose_legs(&body, person);
    stand(&body);
    pose_trunk(&body, person);
    pose_stick(&body, person);
    if (person->action == DEMO_GUARD)
        dive(&body, person);
    add_limbs(figure, &body, person);
    add_head(figure, &body, person);
    add_stick(figure, &body);
    add_number(figure, &body, person, view);
}
