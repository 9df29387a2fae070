/* SPDX-License-Identifier: ISC */
/* Prints the facts of the files named on stdin, one a line, tab between fields, "-" for what is absent: for
 * camera_files.sh. */
#include <headrace/media.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

static int read_facts(struct hr_media_facts *facts, FILE *file, uint64_t size_bytes)
{
    struct hr_media_reader *reader = NULL;
    unsigned char *bytes = NULL;
    uint64_t offset = 0;
    size_t size = 0;
    if (hr_media_reader_create(&reader, size_bytes, NULL) != HR_OK)
        return -1;
    while (hr_media_reader_wants(reader, &offset, &size)) {
        bytes = realloc(bytes, size);
        if (!bytes || fseek(file, (long)offset, SEEK_SET) != 0)
            abort();
        hr_media_reader_feed(reader, offset, bytes, fread(bytes, 1, size, file));
    }
    hr_media_reader_facts(reader, facts);
    hr_media_reader_destroy(reader);
    free(bytes);
    return 0;
}

static void print_facts(const struct hr_media_facts *facts)
{
    char text[32] = "-";
    time_t seconds = (time_t)facts->local_time_s;
    if (facts->has_time)
        strftime(text, sizeof text, "%Y:%m:%d %H:%M:%S", gmtime(&seconds));
    printf("%s\t", text);
    if (facts->fraction_digits) {
        snprintf(text, sizeof text, "%09u", (unsigned)facts->fraction_ns);
        printf("%.*s\t", facts->fraction_digits, text);
    } else {
        printf("-\t");
    }
    int minutes = abs(facts->offset_minutes);
    if (facts->has_offset)
        printf("%c%02d:%02d\t", facts->offset_minutes < 0 ? '-' : '+', minutes / 60, minutes % 60);
    else
        printf("-\t");
    printf("%s\t%s\t", facts->serial[0] ? facts->serial : "-", facts->model[0] ? facts->model : "-");
    printf(facts->rating == HR_RATING_UNKNOWN ? "-\t" : "%d\t", facts->rating);
    printf(facts->orientation ? "%u\t" : "-\t", facts->orientation);
    printf(facts->width_pixels ? "%ux%u\t" : "-\t", (unsigned)facts->width_pixels, (unsigned)facts->height_pixels);
    printf(facts->iso ? "%u\t" : "-\t", (unsigned)facts->iso);
    printf(facts->exposure_denominator ? "%u/%u\t" : "-\t", (unsigned)facts->exposure_numerator,
           (unsigned)facts->exposure_denominator);
    printf("%s\t", facts->maker_serial[0] ? facts->maker_serial : "-");
    printf(facts->run_number >= 0 ? "%d\t" : "-\t", (int)facts->run_number);
    printf("%s\t", facts->drive_mode[0] ? facts->drive_mode : "-");
    const char *trouble = hr_media_trouble_text((enum hr_media_trouble)facts->trouble);
    printf("%s\t", trouble ? trouble : "-");
    for (size_t i = 0; i < facts->preview_count; i++)
        printf("%s%llu+%llu", i > 0 ? " " : "", (unsigned long long)facts->previews[i].offset,
               (unsigned long long)facts->previews[i].size_bytes);
    printf(facts->preview_count ? "\n" : "-\n");
}

int main(void)
{
    char path[4096];
    while (fgets(path, sizeof path, stdin)) {
        struct hr_media_facts facts = {0};
        struct stat status;
        path[strcspn(path, "\n")] = '\0';
        FILE *file = fopen(path, "rb");
        if (!file || fstat(fileno(file), &status) != 0 || read_facts(&facts, file, (uint64_t)status.st_size) != 0)
            return EXIT_FAILURE;
        fclose(file);
        printf("%s\t", path);
        print_facts(&facts);
    }
    return EXIT_SUCCESS;
}
