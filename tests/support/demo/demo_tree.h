/* SPDX-License-Identifier: ISC */
/* The card as a tree of files: makes folders, writes files with their time, protects them. Paths are below the card's
 * root. */
#ifndef DEMO_TREE_H
#define DEMO_TREE_H

#include <stdbool.h>
#include <stdint.h>

#include "demo_bytes.h"

struct demo_tree {
    const char *root;
    bool fat_times;
};

enum { DEMO_PATH_SIZE = 4096 };

void demo_tree_make_folder(const struct demo_tree *tree, const char *path);
void demo_tree_write(const struct demo_tree *tree, const char *path, const struct demo_bytes *bytes, int64_t time_ns);
/* Takes the write bits away. True when the volume really keeps that. */
bool demo_tree_protect(const struct demo_tree *tree, const char *path);

#endif
