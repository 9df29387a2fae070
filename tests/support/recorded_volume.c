/* SPDX-License-Identifier: ISC */
/* Playing a recording: what stands, and how much of it is durable. */
#include "recorded_volume.h"

#include <dirent.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recorded_calls.h"

_Noreturn void recorded_refuse(const char *what, const char *path)
{
    fprintf(stderr, "power_cut: %s: %s\n", what, path);
    exit(2);
}

/* Room for one more of `size` bytes. */
static void *with_room(void *array, size_t *capacity, size_t count, size_t size)
{
    if (count < *capacity)
        return array;
    *capacity = *capacity ? *capacity * 2 : 16;
    array = realloc(array, *capacity * size);
    if (!array)
        recorded_refuse("no memory", "");
    return array;
}

/* ---- Nodes and names ---- */

static struct recorded_node *add_node(struct recorded_volume *volume, bool is_folder)
{
    struct recorded_node *node = calloc(1, sizeof *node);
    volume->nodes =
        with_room(volume->nodes, &volume->node_capacity, volume->node_count, sizeof(struct recorded_node *));
    if (!node)
        recorded_refuse("no memory", "");
    node->is_folder = is_folder;
    return volume->nodes[volume->node_count++] = node;
}

static void add_name(struct recorded_volume *volume, struct recorded_node *folder, const char *name,
                     struct recorded_node *node)
{
    volume->names = with_room(volume->names, &volume->name_capacity, volume->name_count, sizeof(struct recorded_name));
    volume->names[volume->name_count++] =
        (struct recorded_name){.folder = folder, .node = node, .name = strdup(name), .call = volume->calls};
}

static void add_change(struct recorded_node *node, struct recorded_change change)
{
    node->changes = with_room(node->changes, &node->change_capacity, node->change_count, sizeof *node->changes);
    node->changes[node->change_count++] = change;
}

/* What a name stands for now; NULL: nothing. */
static struct recorded_node *find(const struct recorded_volume *volume, const struct recorded_node *folder,
                                  const char *name)
{
    for (size_t i = volume->name_count; i-- > 0;)
        if (volume->names[i].folder == folder && !strcmp(volume->names[i].name, name))
            return volume->names[i].node;
    return NULL;
}

/* The folder that a path ends in, and the last name; "" for the root itself. */
struct place {
    struct recorded_node *folder;
    char name[NAME_MAX + 1];
};

static struct place place_of(const struct recorded_volume *volume, const char *path)
{
    struct place place = {.folder = volume->nodes[0]};
    for (const char *at = path; *at;) {
        size_t length = strcspn(at, "/");
        if (*place.name)
            place.folder = find(volume, place.folder, place.name);
        if (!place.folder || length > NAME_MAX)
            recorded_refuse("a path through nothing", path);
        memcpy(place.name, at, length);
        place.name[length] = '\0';
        at += length + (at[length] == '/');
    }
    return place;
}

static struct recorded_node *node_of(const struct recorded_volume *volume, const char *path)
{
    struct place place = place_of(volume, path);
    struct recorded_node *node = *place.name ? find(volume, place.folder, place.name) : place.folder;
    if (!node)
        recorded_refuse("nothing stands there", path);
    return node;
}

static void sync_node(struct recorded_volume *volume, struct recorded_node *node)
{
    node->synced = node->change_count;
    for (size_t i = 0; node->is_folder && i < volume->name_count; i++)
        volume->names[i].is_synced |= volume->names[i].folder == node;
}

static void sync_all(struct recorded_volume *volume)
{
    for (size_t i = 0; i < volume->node_count; i++)
        sync_node(volume, volume->nodes[i]);
}

/* ---- What stood there first ---- */

static void load_file(struct recorded_node *node, int descriptor, const char *path)
{
    struct stat facts;
    if (descriptor < 0 || fstat(descriptor, &facts) != 0)
        recorded_refuse("cannot read", path);
    size_t size = (size_t)facts.st_size;
    node->loaded = malloc(size + 1);
    if (!node->loaded || read(descriptor, node->loaded, size) != (ssize_t)size)
        recorded_refuse("cannot read", path);
    add_change(node, (struct recorded_change){.size = size, .bytes = node->loaded});
}

static void load_folder(struct recorded_volume *volume, struct recorded_node *folder, int descriptor, const char *path)
{
    DIR *entries = descriptor < 0 ? NULL : fdopendir(descriptor);
    if (!entries)
        recorded_refuse("cannot list", path);
    for (const struct dirent *entry; (entry = readdir(entries));) {
        if (!strcmp(entry->d_name, ".") || !strcmp(entry->d_name, ".."))
            continue;
        struct recorded_node *node = add_node(volume, entry->d_type == DT_DIR);
        int below = openat(dirfd(entries), entry->d_name, O_RDONLY | O_CLOEXEC);
        add_name(volume, folder, entry->d_name, node);
        if (node->is_folder) {
            load_folder(volume, node, below, entry->d_name);
        } else {
            load_file(node, below, entry->d_name);
            close(below);
        }
    }
    closedir(entries);
}

/* ---- Playing ---- */

struct one_call {
    struct recorded_call head;
    char path[PATH_MAX], other[PATH_MAX]; /* below the volume; "" for its root */
    const unsigned char *bytes;
};

/* The end of the recording is the first record that is not whole: a program that was killed may leave one. */
static const unsigned char *take_call(struct one_call *call, const unsigned char *at, const unsigned char *end)
{
    struct recorded_call *head = &call->head;
    if ((size_t)(end - at) < sizeof *head)
        return NULL;
    memcpy(head, at, sizeof *head);
    at += sizeof *head;
    if (head->kind >= RECORDED_KIND_COUNT || head->path_size >= PATH_MAX || head->other_size >= PATH_MAX ||
        (size_t)(end - at) < (size_t)head->path_size + head->other_size + head->byte_count)
        return NULL;
    snprintf(call->path, sizeof call->path, "%.*s", (int)head->path_size, (const char *)at);
    snprintf(call->other, sizeof call->other, "%.*s", (int)head->other_size, (const char *)at + head->path_size);
    call->bytes = at + head->path_size + head->other_size;
    return call->bytes + head->byte_count;
}

/* False for what is of another volume. */
static bool cut_to_volume(char path[PATH_MAX], const char *name)
{
    size_t length = strlen(name);
    if (strncmp(path, name, length) != 0 || (path[length] && path[length] != '/'))
        return false;
    length += path[length] == '/';
    memmove(path, path + length, strlen(path + length) + 1);
    return true;
}

static void rename_node(struct recorded_volume *volume, const struct one_call *call)
{
    struct recorded_node *node = node_of(volume, call->path);
    struct place from = place_of(volume, call->path), to = place_of(volume, call->other);
    add_name(volume, to.folder, to.name, node);
    add_name(volume, from.folder, from.name, NULL);
}

static void play(struct recorded_volume *volume, const struct one_call *call)
{
    const struct recorded_call *head = &call->head;
    struct place place = place_of(volume, head->kind == RECORDED_LINK ? call->other : call->path);
    switch (head->kind) {
    case RECORDED_MAKE:
    case RECORDED_FOLDER:
        add_name(volume, place.folder, place.name, add_node(volume, head->kind == RECORDED_FOLDER));
        break;
    case RECORDED_WRITE:
        add_change(node_of(volume, call->path),
                   (struct recorded_change){.offset = head->offset, .size = head->byte_count, .bytes = call->bytes});
        break;
    case RECORDED_CUT:
        add_change(node_of(volume, call->path), (struct recorded_change){.offset = head->offset});
        break;
    case RECORDED_SYNC:
        sync_node(volume, node_of(volume, call->path));
        break;
    case RECORDED_SYNCFS:
        sync_all(volume);
        break;
    case RECORDED_RENAME:
        rename_node(volume, call);
        break;
    case RECORDED_LINK:
        add_name(volume, place.folder, place.name, node_of(volume, call->path));
        break;
    default:
        add_name(volume, place.folder, place.name, NULL);
    }
}

static void load_recording(struct recorded_volume *volume, const char *path)
{
    struct recorded_node whole = {0};
    int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    load_file(&whole, descriptor, path);
    close(descriptor);
    volume->recording_size = whole.changes[0].size;
    volume->recording = whole.loaded;
    free(whole.changes);
}

size_t recorded_calls_in(const char *recording)
{
    static struct one_call call;
    struct recorded_volume volume = {0};
    size_t count = 0;
    load_recording(&volume, recording);
    const unsigned char *at = volume.recording, *end = at + volume.recording_size;
    while ((at = take_call(&call, at, end)))
        count++;
    recorded_volume_finish(&volume);
    return count;
}

void recorded_volume_init(struct recorded_volume *volume, const char *recording, const char *name, const char *before,
                          size_t calls)
{
    static struct one_call call;
    *volume = (struct recorded_volume){0};
    struct recorded_node *root = add_node(volume, true);
    if (before)
        load_folder(volume, root, open(before, O_RDONLY | O_DIRECTORY | O_CLOEXEC), before);
    sync_all(volume);
    load_recording(volume, recording);
    const unsigned char *at = volume->recording, *end = at + volume->recording_size;
    while (volume->calls < calls && (at = take_call(&call, at, end))) {
        volume->calls++;
        if (cut_to_volume(call.path, name) && (!*call.other || cut_to_volume(call.other, name)))
            play(volume, &call);
    }
}

void recorded_volume_finish(struct recorded_volume *volume)
{
    for (size_t i = 0; i < volume->node_count; i++) {
        free(volume->nodes[i]->changes);
        free(volume->nodes[i]->loaded);
        free(volume->nodes[i]);
    }
    for (size_t i = 0; i < volume->name_count; i++)
        free(volume->names[i].name);
    free(volume->nodes);
    free(volume->names);
    free(volume->recording);
}
