/* SPDX-License-Identifier: ISC */
/* media_seeds FOLDER: writes one input of media_fuzz for each built picture, byte order and way of feeding. */
#include <stdio.h>
#include <stdlib.h>

#include "../media/built_pictures.h"

static struct built_file built;

int main(int count, char **arguments)
{
    for (int i = 0; count == 2 && i < 2 * BUILT_PICTURE_COUNT; i++) {
        char path[4096];
        built_pictures[i / 2].build(&built, i % 2);
        snprintf(path, sizeof path, "%s/built-%d", arguments[1], i);
        FILE *file = fopen(path, "wb");
        if (!file)
            return EXIT_FAILURE;
        fputc(i % 8, file);
        fwrite(built.bytes, 1, built.size, file);
        if (fclose(file) != 0)
            return EXIT_FAILURE;
    }
    return count == 2 ? EXIT_SUCCESS : EXIT_FAILURE;
}
