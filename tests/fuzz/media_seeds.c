/* SPDX-License-Identifier: ISC */
/* media_seeds FOLDER: writes one input of media_fuzz for each built picture, byte order and way of feeding, and one of
 * a packet by itself. */
#include <stdio.h>
#include <stdlib.h>

#include "../media/built_pictures.h"

static struct built_file built;

static bool write_seed(const char *folder, int number, int way, const void *bytes, size_t size)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/built-%d", folder, number);
    FILE *file = fopen(path, "wb");
    if (!file)
        return false;
    fputc(way, file);
    fwrite(bytes, 1, size, file);
    return fclose(file) == 0;
}

int main(int count, char **arguments)
{
    bool done = count == 2 && write_seed(arguments[1], 0, 192, xmp_packet, sizeof xmp_packet - 1);
    for (int i = 0; done && i < 2 * BUILT_PICTURE_COUNT; i++) {
        built_pictures[i / 2].build(&built, i % 2);
        done = write_seed(arguments[1], i + 1, i % 8, built.bytes, built.size);
    }
    return done ? EXIT_SUCCESS : EXIT_FAILURE;
}
