/* SPDX-License-Identifier: ISC */
/* The value itself: names, hex, equality. */
#include <headrace/digest.h>

#include <string.h>

#include "suite.h"

START_TEST(every_kind_is_found_by_its_name_in_either_case)
{
    for (int kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++) {
        char upper[16] = "";
        const char *name = hr_digest_kind_name((enum hr_digest_kind)kind);
        ck_assert_ptr_nonnull(name);
        for (size_t i = 0; name[i]; i++)
            upper[i] = name[i] >= 'a' ? (char)(name[i] - 'a' + 'A') : name[i];
        ck_assert_int_eq(hr_digest_kind_of_name(name), kind);
        ck_assert_int_eq(hr_digest_kind_of_name(upper), kind);
    }
}
END_TEST

START_TEST(unknown_names_and_kinds_are_none)
{
    static const char *const names[] = {"", "sha", "sha2566", "sha-256", "crc32", " md5"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        ck_assert_int_eq(hr_digest_kind_of_name(names[i]), HR_DIGEST_NONE);
    ck_assert_ptr_null(hr_digest_kind_name(HR_DIGEST_NONE));
    ck_assert_ptr_null(hr_digest_kind_name(HR_DIGEST_KIND_COUNT));
    ck_assert_uint_eq(hr_digest_kind_size(HR_DIGEST_NONE), 0);
    ck_assert_uint_eq(hr_digest_kind_size(HR_DIGEST_KIND_COUNT), 0);
}
END_TEST

START_TEST(hex_comes_back_as_it_went_for_every_kind)
{
    for (int kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++) {
        struct hr_digest digest = {.kind = (uint8_t)kind};
        struct hr_digest back = {0};
        char hex[HR_DIGEST_HEX_SIZE];
        digest.size = (uint8_t)hr_digest_kind_size((enum hr_digest_kind)kind);
        for (size_t i = 0; i < digest.size; i++)
            digest.bytes[i] = (unsigned char)(i * 37 + 0x9f);
        hr_digest_to_hex(hex, &digest);
        ck_assert_uint_eq(strlen(hex), 2u * digest.size);
        ck_assert(hr_digest_from_hex(&back, (enum hr_digest_kind)kind, hex, strlen(hex)));
        ck_assert(hr_digest_equal(&digest, &back));
        for (size_t i = 0; hex[i]; i++)
            hex[i] = hex[i] >= 'a' ? (char)(hex[i] - 'a' + 'A') : hex[i];
        ck_assert(hr_digest_from_hex(&back, (enum hr_digest_kind)kind, hex, strlen(hex)));
        ck_assert(hr_digest_equal(&digest, &back));
    }
}
END_TEST

START_TEST(hex_of_wrong_length_or_letters_is_refused_and_nothing_written)
{
    static const char good[] = "d41d8cd98f00b204e9800998ecf8427e";
    struct hr_digest digest = {0};
    ck_assert(!hr_digest_from_hex(&digest, HR_DIGEST_MD5, good, 31));
    ck_assert(!hr_digest_from_hex(&digest, HR_DIGEST_MD5, "d41d8cd98f00b204e9800998ecf8427e0", 33));
    ck_assert(!hr_digest_from_hex(&digest, HR_DIGEST_SHA256, good, 32));
    ck_assert(!hr_digest_from_hex(&digest, HR_DIGEST_NONE, "", 0));
    for (size_t at = 0; at < 32; at++)
        for (const char *bad = "g/:@G`\xff x"; *bad; bad++) {
            char hex[sizeof good];
            memcpy(hex, good, sizeof good);
            hex[at] = *bad;
            ck_assert(!hr_digest_from_hex(&digest, HR_DIGEST_MD5, hex, 32));
        }
    ck_assert_uint_eq(digest.kind, HR_DIGEST_NONE);
    ck_assert_uint_eq(digest.size, 0);
}
END_TEST

START_TEST(digests_are_equal_only_with_same_kind_and_bytes)
{
    struct hr_digest none = {0}, a = {0}, b = {0};
    ck_assert(!hr_digest_equal(&none, &none));
    ck_assert(hr_digest_from_hex(&a, HR_DIGEST_MD5, "d41d8cd98f00b204e9800998ecf8427e", 32));
    ck_assert(hr_digest_from_hex(&b, HR_DIGEST_XXH128, "d41d8cd98f00b204e9800998ecf8427e", 32));
    ck_assert(hr_digest_equal(&a, &a));
    ck_assert(!hr_digest_equal(&a, &b));
    b = a;
    b.bytes[15] ^= 1;
    ck_assert(!hr_digest_equal(&a, &b));
    ck_assert(!hr_digest_equal(&a, &none));
}
END_TEST

HR_SUITE("digest/digest", every_kind_is_found_by_its_name_in_either_case, unknown_names_and_kinds_are_none,
         hex_comes_back_as_it_went_for_every_kind, hex_of_wrong_length_or_letters_is_refused_and_nothing_written,
         digests_are_equal_only_with_same_kind_and_bytes)
