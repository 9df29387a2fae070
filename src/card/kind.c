/* SPDX-License-Identifier: ISC */
#include "card/kind.h"

#include <string.h>
#include <strings.h>

#include "base/path.h"

enum { FOLDER_DIGITS = 3, COUNTER_DIGITS = 4 };

/* Extensions by container; which camera writes which is nobody's business here (common practice, no source). */
static const struct {
    const char *extension;
    enum hr_card_file_kind kind;
} known[] = {
    {"jpg", HR_KIND_JPEG},  {"jpeg", HR_KIND_JPEG}, {"jpe", HR_KIND_JPEG},    {"mpo", HR_KIND_JPEG},
    {"hif", HR_KIND_HEIF},  {"heic", HR_KIND_HEIF}, {"heif", HR_KIND_HEIF},   {"dng", HR_KIND_RAW},
    {"crw", HR_KIND_RAW},   {"cr2", HR_KIND_RAW},   {"cr3", HR_KIND_RAW},     {"nef", HR_KIND_RAW},
    {"nrw", HR_KIND_RAW},   {"arw", HR_KIND_RAW},   {"srf", HR_KIND_RAW},     {"sr2", HR_KIND_RAW},
    {"raf", HR_KIND_RAW},   {"rw2", HR_KIND_RAW},   {"orf", HR_KIND_RAW},     {"pef", HR_KIND_RAW},
    {"srw", HR_KIND_RAW},   {"3fr", HR_KIND_RAW},   {"fff", HR_KIND_RAW},     {"iiq", HR_KIND_RAW},
    {"rwl", HR_KIND_RAW},   {"x3f", HR_KIND_RAW},   {"gpr", HR_KIND_RAW},     {"mov", HR_KIND_CLIP},
    {"mp4", HR_KIND_CLIP},  {"m4v", HR_KIND_CLIP},  {"mxf", HR_KIND_CLIP},    {"mts", HR_KIND_CLIP},
    {"m2ts", HR_KIND_CLIP}, {"avi", HR_KIND_CLIP},  {"crm", HR_KIND_CLIP},    {"wav", HR_KIND_SOUND},
    {"mp3", HR_KIND_SOUND}, {"m4a", HR_KIND_SOUND}, {"xmp", HR_KIND_SIDECAR}, {"thm", HR_KIND_SIDECAR},
};

/* Where the extension's dot stands in the first `length` bytes of `path`; `length` when there is none. */
static size_t dot_of(const char *path, size_t length)
{
    size_t at = length;
    while (at > 0 && path[at - 1] != '.' && path[at - 1] != '/')
        at--;
    bool has_extension = at > 1 && path[at - 1] == '.' && path[at - 2] != '/';
    return has_extension ? at - 1 : length;
}

static enum hr_card_file_kind kind_of(const char *path, size_t length)
{
    size_t dot = dot_of(path, length), size = length - dot;
    for (size_t i = 0; size > 0 && i < sizeof known / sizeof *known; i++)
        if (strlen(known[i].extension) == size - 1 && !strncasecmp(known[i].extension, path + dot + 1, size - 1))
            return known[i].kind;
    return HR_KIND_OTHER;
}

enum hr_card_file_kind hr__kind_of_path(const char *path)
{
    return kind_of(path, strlen(path));
}

bool hr__kind_is_picture(enum hr_card_file_kind kind)
{
    return kind == HR_KIND_JPEG || kind == HR_KIND_HEIF || kind == HR_KIND_RAW || kind == HR_KIND_CLIP;
}

size_t hr__stem_length(const char *path)
{
    size_t length = strlen(path), stem = dot_of(path, length);
    if (kind_of(path, length) == HR_KIND_SIDECAR && hr__kind_is_picture(kind_of(path, stem)))
        return dot_of(path, stem);
    return stem;
}

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

/* The decimal number of at most `most` digits that `at` begins with, before `end`; 0 where there is none. */
static unsigned number_at(const char *at, const char *end, int most)
{
    unsigned number = 0;
    for (int i = 0; i < most && at < end && is_digit(*at); i++)
        number = number * 10 + (unsigned)(*at++ - '0');
    return number;
}

void hr__path_numbers(unsigned *folder_number, unsigned *counter, const char *path)
{
    const char *name = hr__path_last(path), *end = path + hr__stem_length(path), *digits = end;
    const char *folder = name > path ? name - 1 : name;
    while (folder > path && folder[-1] != '/')
        folder--;
    while (digits > name && end - digits < COUNTER_DIGITS && is_digit(digits[-1]))
        digits--;
    *folder_number = number_at(folder, name, FOLDER_DIGITS);
    *counter = number_at(digits, end, COUNTER_DIGITS);
}

const char *hr_card_file_kind_name(enum hr_card_file_kind kind)
{
    static const char *const names[] = {
        [HR_KIND_OTHER] = "other", [HR_KIND_JPEG] = "jpeg",   [HR_KIND_HEIF] = "heif",      [HR_KIND_RAW] = "raw",
        [HR_KIND_CLIP] = "clip",   [HR_KIND_SOUND] = "sound", [HR_KIND_SIDECAR] = "sidecar"};
    return names[kind];
}

const char *hr_card_skip_text(enum hr_card_skip_reason reason)
{
    static const char *const texts[] = {[HR_SKIP_LINK] = "a link, not followed",
                                        [HR_SKIP_SPECIAL] = "a device, pipe or socket",
                                        [HR_SKIP_UNREADABLE] = "cannot be read",
                                        [HR_SKIP_ESCAPES] = "its name leads out of the card",
                                        [HR_SKIP_DUPLICATE] = "its name stands there twice"};
    return texts[reason];
}
