/* SPDX-License-Identifier: ISC */
/* Choosing what of a volume is on the medium after a cut, and making a folder of it. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recorded_volume.h"

enum { PAGE = 4096, SECTOR = 512 };

uint64_t recorded_draw(struct recorded_chance *chance, uint64_t below)
{
    uint64_t mixed = chance->state += UINT64_C(0x9e3779b97f4a7c15);
    mixed = (mixed ^ mixed >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    mixed = (mixed ^ mixed >> 27) * UINT64_C(0x94d049bb133111eb);
    return (mixed ^ mixed >> 31) % below;
}

static size_t draw_between(struct recorded_chance *chance, size_t from, size_t to)
{
    return from + (size_t)recorded_draw(chance, to - from + 1);
}

/* ---- Names ---- */

/* In order: all up to some call, which is none before the last that is durable. */
static void keep_in_order(const struct recorded_volume *volume, struct recorded_chance *chance)
{
    size_t last = 0;
    for (size_t i = 0; i < volume->name_count; i++)
        last = volume->names[i].is_synced ? volume->names[i].call : last;
    last = draw_between(chance, last, volume->calls);
    for (size_t i = 0; i < volume->name_count; i++)
        volume->names[i].is_kept = volume->names[i].call <= last;
}

/* `percent` of them; those of one call together unless they may be torn apart. */
static void keep_some(const struct recorded_volume *volume, struct recorded_chance *chance, bool is_torn)
{
    uint64_t percent = recorded_draw(chance, 5) * 25;
    bool keeps = false;
    for (size_t i = 0; i < volume->name_count; i++) {
        struct recorded_name *name = &volume->names[i];
        bool is_of_last = i > 0 && volume->names[i - 1].call == name->call && name->call > 0;
        if (!is_of_last || is_torn)
            keeps = recorded_draw(chance, 100) < percent;
        name->is_kept = keeps || name->is_synced;
        /* A call whose second name is durable is so as a whole. */
        if (!is_torn && is_of_last && name->is_synced)
            volume->names[i - 1].is_kept = keeps = true;
        if (!is_torn && !is_of_last && name->is_synced)
            keeps = true;
    }
}

static void keep_names(const struct recorded_volume *volume, enum recorded_freedom freedom,
                       struct recorded_chance *chance)
{
    for (size_t i = 0; i < volume->name_count; i++)
        volume->names[i].is_kept = freedom == RECORDED_DONE || volume->names[i].is_synced;
    if (freedom == RECORDED_ORDERED)
        keep_in_order(volume, chance);
    else if (freedom == RECORDED_FREE || freedom == RECORDED_TORN)
        keep_some(volume, chance, freedom == RECORDED_TORN);
}

/* ---- Bytes ---- */

/* How large it was after so many changes. */
static uint64_t size_after(const struct recorded_node *node, size_t changes)
{
    uint64_t size = 0;
    for (size_t i = 0; i < changes; i++) {
        const struct recorded_change *change = &node->changes[i];
        uint64_t end = change->offset + change->size;
        size = !change->bytes || end > size ? end : size;
    }
    return size;
}

struct content {
    unsigned char *bytes;
    uint64_t size;
};

/* Puts one block as it was after so many changes over what is there. */
static void put_block(struct content *content, uint64_t from, uint64_t to, const struct recorded_node *node,
                      size_t changes)
{
    for (size_t i = 0; i < changes; i++) {
        const struct recorded_change *change = &node->changes[i];
        uint64_t begin = change->offset > from ? change->offset : from, end = change->offset + change->size;
        if (!change->bytes && begin < to)
            memset(content->bytes + begin, 0, to - begin);
        end = end < to ? end : to;
        if (change->bytes && begin < end)
            memcpy(content->bytes + begin, change->bytes + (begin - change->offset), end - begin);
    }
}

/* Which version of its blocks and its size a file has; `least` is the oldest its blocks may have. */
struct versions {
    size_t size, least, most;
    uint64_t block;
    bool has_garbage; /* what was never written and yet is within the size: bytes of others, else zeros */
};

static struct versions choose_versions(const struct recorded_node *node, enum recorded_freedom freedom,
                                       struct recorded_chance *chance)
{
    size_t synced = node->synced, newest = node->change_count;
    struct versions chosen = {.size = newest, .least = newest, .most = newest, .block = PAGE};
    if (freedom == RECORDED_DONE || synced == newest)
        return chosen;
    chosen.size = freedom == RECORDED_SYNCED ? synced : draw_between(chance, synced, newest);
    chosen.least = freedom == RECORDED_ORDERED ? chosen.size : synced;
    chosen.most = freedom == RECORDED_SYNCED ? synced : newest;
    if (freedom == RECORDED_FREE || freedom == RECORDED_TORN) {
        uint64_t all = recorded_draw(chance, 3); /* 0: none of what is pending, 1: all of it, 2: each block its own */
        chosen.size = recorded_draw(chance, 2) ? newest : chosen.size;
        chosen.most = all == 0 ? synced : newest;
        chosen.least = all == 1 ? newest : synced;
        chosen.has_garbage = recorded_draw(chance, 2);
        chosen.block = freedom == RECORDED_TORN ? SECTOR : PAGE;
    }
    return chosen;
}

/* Of a file that is synced whole nothing is left to choose. */
static struct content content_of(const struct recorded_node *node, enum recorded_freedom freedom,
                                 struct recorded_chance *chance)
{
    struct versions chosen = choose_versions(node, freedom, chance);
    struct content content = {.size = size_after(node, chosen.size)};
    content.bytes = calloc(content.size + 1, 1);
    if (!content.bytes)
        recorded_refuse("no memory", "");
    for (uint64_t i = 0; chosen.has_garbage && i < content.size; i++)
        content.bytes[i] = (unsigned char)(0x80 | i * 7);
    uint64_t block = chosen.least == chosen.most ? content.size : chosen.block;
    for (uint64_t from = 0; from < content.size; from += block) {
        uint64_t to = from + block < content.size ? from + block : content.size;
        put_block(&content, from, to, node, draw_between(chance, chosen.least, chosen.most));
    }
    return content;
}

/* ---- Making it ---- */

struct making {
    const struct recorded_volume *volume;
    enum recorded_freedom freedom;
    struct recorded_chance chance;
    uint64_t sum; /* FNV-1a of all that was made */
};

static void add_to_sum(struct making *making, const void *bytes, size_t size)
{
    for (size_t i = 0; i < size; i++)
        making->sum = (making->sum ^ ((const unsigned char *)bytes)[i]) * UINT64_C(0x100000001b3);
}

static void make_file(struct making *making, struct recorded_node *node, const char *path)
{
    if (node->made_as) {
        if (link(node->made_as, path) != 0)
            recorded_refuse("cannot link", path);
        return;
    }
    struct content content = content_of(node, making->freedom, &making->chance);
    int file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0 || write(file, content.bytes, content.size) != (ssize_t)content.size || close(file) != 0)
        recorded_refuse("cannot write", path);
    add_to_sum(making, content.bytes, content.size);
    node->made_as = strdup(path);
    free(content.bytes);
}

/* The last name kept counts; an earlier one of the same words is hidden by it. */
static bool is_hidden(const struct recorded_volume *volume, size_t at)
{
    const struct recorded_name *name = &volume->names[at];
    for (size_t i = at + 1; i < volume->name_count; i++)
        if (volume->names[i].is_kept && volume->names[i].folder == name->folder &&
            !strcmp(volume->names[i].name, name->name))
            return true;
    return false;
}

static void make_folder(struct making *making, const struct recorded_node *folder, const char *path)
{
    char *below = NULL;
    for (size_t i = 0; i < making->volume->name_count; i++) {
        const struct recorded_name *name = &making->volume->names[i];
        if (name->folder != folder || !name->is_kept || !name->node || is_hidden(making->volume, i))
            continue;
        if (asprintf(&below, "%s/%s", path, name->name) < 0)
            recorded_refuse("no memory", path);
        add_to_sum(making, below, strlen(below));
        if (!name->node->is_folder)
            make_file(making, name->node, below);
        else if (mkdir(below, 0777) != 0)
            recorded_refuse("cannot make", below);
        else
            make_folder(making, name->node, below);
        free(below);
    }
}

uint64_t recorded_state_make(const struct recorded_volume *volume, enum recorded_freedom freedom, uint64_t seed,
                             const char *to)
{
    struct making making = {
        .volume = volume, .freedom = freedom, .chance = {seed}, .sum = UINT64_C(0xcbf29ce484222325)};
    keep_names(volume, freedom, &making.chance);
    make_folder(&making, volume->nodes[0], to);
    for (size_t i = 0; i < volume->node_count; i++) {
        free(volume->nodes[i]->made_as);
        volume->nodes[i]->made_as = NULL;
    }
    return making.sum;
}
