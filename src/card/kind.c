/* SPDX-License-Identifier: ISC */
#include "card/kind.h"

#include <strings.h>

#include "base/path.h"

/* Extensions by container; which camera writes which is nobody's business here (common practice, no source). */
static const struct {
    const char *extension;
    enum hr_card_file_kind kind;
} known[] = {
    {"jpg", HR_KIND_JPEG},  {"jpeg", HR_KIND_JPEG},   {"hif", HR_KIND_HEIF},    {"heic", HR_KIND_HEIF},
    {"heif", HR_KIND_HEIF}, {"dng", HR_KIND_RAW},     {"cr2", HR_KIND_RAW},     {"cr3", HR_KIND_RAW},
    {"nef", HR_KIND_RAW},   {"nrw", HR_KIND_RAW},     {"arw", HR_KIND_RAW},     {"sr2", HR_KIND_RAW},
    {"raf", HR_KIND_RAW},   {"rw2", HR_KIND_RAW},     {"orf", HR_KIND_RAW},     {"pef", HR_KIND_RAW},
    {"srw", HR_KIND_RAW},   {"3fr", HR_KIND_RAW},     {"iiq", HR_KIND_RAW},     {"rwl", HR_KIND_RAW},
    {"x3f", HR_KIND_RAW},   {"mov", HR_KIND_CLIP},    {"mp4", HR_KIND_CLIP},    {"m4v", HR_KIND_CLIP},
    {"mxf", HR_KIND_CLIP},  {"mts", HR_KIND_CLIP},    {"avi", HR_KIND_CLIP},    {"wav", HR_KIND_SOUND},
    {"mp3", HR_KIND_SOUND}, {"xmp", HR_KIND_SIDECAR}, {"thm", HR_KIND_SIDECAR},
};

enum hr_card_file_kind hr__kind_of_path(const char *path)
{
    const char *extension = hr__path_extension(path);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (!strcasecmp(known[i].extension, extension))
            return known[i].kind;
    return HR_KIND_OTHER;
}

bool hr__kind_is_picture(enum hr_card_file_kind kind)
{
    return kind == HR_KIND_JPEG || kind == HR_KIND_HEIF || kind == HR_KIND_RAW || kind == HR_KIND_CLIP;
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
