/* SPDX-License-Identifier: ISC */
/* grouping_bench [FRAMES]: how long grouping takes once facts are in memory, for two bodies with bursts of 60 frames;
 * beside it a plain sort of as many times. */
#include <headrace/sequence.h>

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { BURST = 60 };

static double now_s(void)
{
    struct timespec now;
    timespec_get(&now, TIME_UTC);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static int compare_times(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

/* Bodies by turns, each at 30 a second, with a pause of two or six seconds after each burst. */
static void make_frames(struct hr_frame *frames, size_t count)
{
    static const char *const serials[] = {"NM-A-0417", "NM-B-0932"};
    int64_t at_ns[2] = {0, 3000000};
    size_t taken[2] = {0, 0};
    for (size_t i = 0; i < count; i++) {
        size_t body = i % 2, number = taken[body]++;
        at_ns[body] += number % BURST ? 33333333 : number / BURST % 3 ? 2000000000 : 6000000000;
        frames[i] = (struct hr_frame){.key = "",
                                      .job = "final",
                                      .serial = serials[body],
                                      .model = "body",
                                      .has_time = true,
                                      .local_ns = at_ns[body] / 10000000 * 10000000,
                                      .folder_number = (uint16_t)(100 + body + 2 * (number / 9999)),
                                      .counter = (uint16_t)(number % 9999 + 1),
                                      .size_bytes = 20000000};
    }
}

static double sort_s(const struct hr_frame *frames, size_t count)
{
    int64_t *times = calloc(count, sizeof *times);
    if (!times)
        abort();
    for (size_t i = 0; i < count; i++)
        times[i] = frames[count - 1 - i].local_ns;
    double began_s = now_s();
    qsort(times, count, sizeof *times, compare_times);
    double took_s = now_s() - began_s;
    free(times);
    return took_s;
}

int main(int argc, char **argv)
{
    size_t count = argc > 1 ? strtoul(argv[1], NULL, 10) : 100000;
    struct hr_frame *frames = calloc(count, sizeof *frames);
    struct hr_grouping *grouping = NULL;
    struct hr_fault fault = {0};
    if (!frames)
        abort();
    make_frames(frames, count);
    double began_s = now_s();
    if (hr_grouping_create(&grouping, frames, count, NULL, &fault)) {
        fprintf(stderr, "%s\n", fault.text);
        return 1;
    }
    double took_s = now_s() - began_s;
    printf("%zu frames: %zu sequences in %.3f s; a sort of their times takes %.3f s\n", count, grouping->sequence_count,
           took_s, sort_s(frames, count));
    hr_grouping_destroy(grouping);
    free(frames);
    return 0;
}
