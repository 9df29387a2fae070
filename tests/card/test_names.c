/* SPDX-License-Identifier: ISC */
#include <stdio.h>
#include <string.h>

#include "card/clash.h"
#include "card/kind.h"
#include "card_fixture.h"
#include "suite.h"

START_TEST(knows_a_kind_by_its_extension_in_any_case)
{
    static const struct {
        const char *path;
        enum hr_card_file_kind kind;
    } cases[] = {
        {"A/N1.JPG", HR_KIND_JPEG},     {"N1.jpeg", HR_KIND_JPEG},   {"N1.Jpe", HR_KIND_JPEG},
        {"N1.HIF", HR_KIND_HEIF},       {"N1.heic", HR_KIND_HEIF},   {"N1.DNG", HR_KIND_RAW},
        {"N1.nef", HR_KIND_RAW},        {"N1.CR3", HR_KIND_RAW},     {"N1.3FR", HR_KIND_RAW},
        {"N1.MOV", HR_KIND_CLIP},       {"N1.m2ts", HR_KIND_CLIP},   {"N1.WAV", HR_KIND_SOUND},
        {"N1.xmp", HR_KIND_SIDECAR},    {"N1.THM", HR_KIND_SIDECAR}, {"N1.JPG.XMP", HR_KIND_SIDECAR},
        {"N1.XMP.JPG", HR_KIND_JPEG},   {"N1.TXT", HR_KIND_OTHER},   {"N1", HR_KIND_OTHER},
        {"N1.", HR_KIND_OTHER},         {"", HR_KIND_OTHER},         {"JPG", HR_KIND_OTHER},
        {".JPG", HR_KIND_OTHER},        {"A/.JPG", HR_KIND_OTHER},   {"A.JPG/N1", HR_KIND_OTHER},
        {"N1.JPGX", HR_KIND_OTHER},     {"N1.JP", HR_KIND_OTHER},    {"N1.JPG ", HR_KIND_OTHER},
        {"N1.\xff\xfe", HR_KIND_OTHER}, {"..JPG", HR_KIND_JPEG},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_msg(hr__kind_of_path(cases[i].path) == cases[i].kind, "%s is taken for %s", cases[i].path,
                      hr_card_file_kind_name(hr__kind_of_path(cases[i].path)));
}
END_TEST

START_TEST(ends_a_stem_before_the_extension_of_the_frame)
{
    static const struct {
        const char *path, *stem;
    } cases[] = {
        {"A/N1.JPG", "A/N1"},
        {"A/N1.JPG.XMP", "A/N1"},
        {"A/N1.JPG.THM", "A/N1"},
        {"A/N1.TXT.XMP", "A/N1.TXT"},
        {"A/N1.XMP.XMP", "A/N1.XMP"},
        {"A/N1.WAV.XMP", "A/N1.WAV"},
        {"A/N1.JPG.WAV", "A/N1.JPG"},
        {"A/N1.DNG.JPG.XMP", "A/N1.DNG"},
        {"A/.XMP", "A/.XMP"},
        {"A/.JPG.XMP", "A/.JPG"},
        {"A.B/N1", "A.B/N1"},
        {"A.JPG/N1.XMP", "A.JPG/N1"},
        {"A.JPG/.XMP", "A.JPG/.XMP"},
        {"N1", "N1"},
        {"", ""},
        {"N1.", "N1"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_msg(hr__stem_length(cases[i].path) == strlen(cases[i].stem), "%s: %zu bytes", cases[i].path,
                      hr__stem_length(cases[i].path));
}
END_TEST

START_TEST(names_each_kind_and_each_reason)
{
    static const char *const kinds[] = {"other", "jpeg", "heif", "raw", "clip", "sound", "sidecar"};
    for (int i = HR_KIND_OTHER; i <= HR_KIND_SIDECAR; i++)
        ck_assert_str_eq(hr_card_file_kind_name((enum hr_card_file_kind)i), kinds[i]);
    for (int i = HR_SKIP_LINK; i <= HR_SKIP_DUPLICATE; i++)
        for (int j = HR_SKIP_LINK; j < i; j++)
            ck_assert_str_ne(hr_card_skip_text((enum hr_card_skip_reason)i),
                             hr_card_skip_text((enum hr_card_skip_reason)j));
}
END_TEST

/* ---- Clashes ---- */

static int sign(int number)
{
    return (number > 0) - (number < 0);
}

START_TEST(sorts_a_path_right_before_what_is_below_it)
{
    static const char *const sorted[] = {"",      "A",       "A/", "A/\x01", "A/B",   "A/B/C", "A\n",     "A B",
                                         "A.JPG", "A.JPG/B", "AB", "A\x7f",  "A\x80", "A\xff", "A\xff/A", "a"};
    enum { COUNT = sizeof sorted / sizeof *sorted };
    for (int i = 0; i < COUNT; i++)
        for (int j = 0; j < COUNT; j++)
            ck_assert_msg(sign(hr__clash_compare(sorted[i], sorted[j])) == sign(i - j), "%d and %d", i, j);
}
END_TEST

START_TEST(knows_the_folder_of_a_path)
{
    ck_assert(hr__clash_is_folder_of("A", "A/B"));
    ck_assert(hr__clash_is_folder_of("A", "A/B/C"));
    ck_assert(hr__clash_is_folder_of("A/B", "A/B/C"));
    ck_assert(!hr__clash_is_folder_of("A", "A"));
    ck_assert(!hr__clash_is_folder_of("A", "AB"));
    ck_assert(!hr__clash_is_folder_of("A", "AB/C"));
    ck_assert(!hr__clash_is_folder_of("A/B", "A"));
    ck_assert(!hr__clash_is_folder_of("a", "A/B"));
}
END_TEST

/* ---- Twins ---- */

/* Two names of one card; are they twins? Foldings of CaseFolding.txt with status C and F (full: sharp s is ss), not T
 * (Turkic), canonical and not compatible equivalence; each row of UTF-8 was held against Python's str.casefold and
 * unicodedata (Unicode 14). */
START_TEST(finds_names_a_folding_volume_cannot_tell_apart)
{
    static const struct {
        const char *a, *b;
        bool are_twins;
    } cases[] = {
        {"N1.JPG", "n1.jpg", true},
        {"A/N1.JPG", "a/N1.JPG", true},
        {"N1.JPG", "N2.JPG", false},
        {"A/N1.JPG", "B/N1.JPG", false},
        {"caf\xc3\xa9", "cafe\xcc\x81", true}, /* U+00E9 is U+0065 U+0301 */
        {"CAF\xc3\x89", "cafe\xcc\x81", true}, /* U+00C9 folds to U+00E9 */
        {"cafe", "caf\xc3\xa9", false},
        {"\xe2\x84\xab", "a\xcc\x8a", true}, /* U+212B ANGSTROM SIGN is U+00C5 */
        {"\xce\xa3", "\xcf\x82", true},      /* U+03A3 and final sigma U+03C2 fold to U+03C3 */
        {"STRASSE",
         "stra\xc3\x9f"
         "e",
         true},                                                         /* U+00DF; F */
        {"\xef\xac\x81n", "fin", true},                                 /* U+FB01; F */
        {"\xd0\x96", "\xd0\xb6", true},                                 /* U+0416, U+0436 */
        {"I", "\xc4\xb1", false},                                       /* U+0131; T */
        {"\xef\xbc\xa1", "A", false},                                   /* U+FF21 is compatible, not canonical */
        {"\xed\x95\x9c", "\xe1\x84\x92\xe1\x85\xa1\xe1\x86\xab", true}, /* U+D55C, Hangul */
        {"q\xcc\x87\xcc\xa3", "q\xcc\xa3\xcc\x87", true},               /* marks in another order */
        {"CAF\xe9", "caf\xe9", true},                                   /* no UTF-8: its ASCII letters */
        {"caf\xe9", "caf\xc9", false},
        {"A", "a/N1.JPG", true}, /* a file, and a folder of that name */
        {"A", "AB/N1.JPG", false},
        {"a b", "A B", true},
        {"A/B", "a.b", false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        for (int swapped = 0; swapped < 2; swapped++) {
            struct hr_card_file files[2] = {{.path = swapped ? cases[i].b : cases[i].a},
                                            {.path = swapped ? cases[i].a : cases[i].b}};
            const struct hr_inventory inventory = {.files = files, .file_count = 2};
            struct hr_name_twin *twins = NULL;
            size_t count = 0;
            ck_assert_int_eq(hr_inventory_twins(&twins, &count, &inventory, NULL), HR_OK);
            ck_assert_msg(count == cases[i].are_twins, "%s and %s", cases[i].a, cases[i].b);
            ck_assert(!count || (twins[0].a + twins[0].b == 1));
            free(twins);
        }
}
END_TEST

START_TEST(finds_twins_on_a_card_that_tells_them_apart)
{
    struct slot slot;
    struct hr_name_twin *twins = NULL;
    size_t count = 0;
    slot_begin(&slot);
    slot_text(&slot, "card/DCIM/100NMERE/NMA_0001.JPG", "x");
    slot_text(&slot, "card/DCIM/100NMERE/NMA_0002.JPG", "x");
    slot_text(&slot, "card/DCIM/100NMERE/nma_0002.jpg", "x");
    slot_text(&slot, "card/dcim/100nmere/NMA_0002.JPG", "x");
    slot_insert(&slot, "card");
    ck_assert_int_eq(hr_inventory_twins(&twins, &count, slot.inventory, NULL), HR_OK);
    ck_assert_uint_eq(count, 2); /* three alike: each with its neighbour */
    for (size_t i = 0; i < count; i++)
        ck_assert(strcasecmp(slot.inventory->files[twins[i].a].path, slot.inventory->files[twins[i].b].path) == 0);
    free(twins);
    slot_end(&slot);
}
END_TEST

HR_SUITE("card/names", knows_a_kind_by_its_extension_in_any_case, ends_a_stem_before_the_extension_of_the_frame,
         names_each_kind_and_each_reason, sorts_a_path_right_before_what_is_below_it, knows_the_folder_of_a_path,
         finds_names_a_folding_volume_cannot_tell_apart, finds_twins_on_a_card_that_tells_them_apart)
