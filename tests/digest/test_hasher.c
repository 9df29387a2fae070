/* SPDX-License-Identifier: ISC */
/* Digests against published vectors, and streaming against one shot. */
#include <headrace/digest.h>

#include <openssl/crypto.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"

static struct hr_hasher *new_hasher(enum hr_digest_kind kind)
{
    struct hr_hasher *hasher = NULL;
    struct hr_fault fault = {0};
    ck_assert_msg(hr_hasher_create(&hasher, kind, &fault) == HR_OK, "%s", fault.text);
    return hasher;
}

static struct hr_digest digest_of(enum hr_digest_kind kind, const void *bytes, size_t size)
{
    struct hr_hasher *hasher = new_hasher(kind);
    hr_hasher_update(hasher, bytes, size);
    struct hr_digest digest = hr_hasher_finish(hasher);
    hr_hasher_destroy(hasher);
    return digest;
}

static void assert_hex(const struct hr_digest *digest, const char *expected)
{
    char hex[HR_DIGEST_HEX_SIZE];
    ck_assert_str_eq(hr_digest_to_hex(hex, digest), expected);
}

/* The test buffer of the xxHash repository, cli/xsum_sanity_check.c at commit b2e9dbb. */
static void fill(unsigned char *buffer, size_t size)
{
    uint64_t generator = 2654435761u;
    for (size_t i = 0; i < size; i++) {
        buffer[i] = (unsigned char)(generator >> 56);
        generator *= 11400714785074694797u;
    }
}

static const struct {
    enum hr_digest_kind kind;
    const char *text;
    unsigned repeat;
    const char *hex;
} published[] = {
    /* RFC 1321 A.5; coreutils 9.1 */
    {HR_DIGEST_MD5, "", 1, "d41d8cd98f00b204e9800998ecf8427e"},
    /* RFC 1321 A.5 */
    {HR_DIGEST_MD5, "a", 1, "0cc175b9c0f1b6a831c399e269772661"},
    /* RFC 1321 A.5; coreutils 9.1 */
    {HR_DIGEST_MD5, "abc", 1, "900150983cd24fb0d6963f7d28e17f72"},
    /* RFC 1321 A.5 */
    {HR_DIGEST_MD5, "message digest", 1, "f96b697d7cb7938d525a2f31aaf161d0"},
    /* RFC 1321 A.5 */
    {HR_DIGEST_MD5, "1234567890", 8, "57edf4a22be3c955ac49da2e2107b67a"},
    /* coreutils 9.1 */
    {HR_DIGEST_MD5, "a", 1000000, "7707d6ae4e027c70eea2a935c2296f21"},
    /* coreutils 9.1 */
    {HR_DIGEST_SHA256, "", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    /* FIPS 180-2/-4 examples, RFC 6234; coreutils 9.1 */
    {HR_DIGEST_SHA256, "abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    /* FIPS 180-2/-4 examples, RFC 6234; coreutils 9.1 */
    {HR_DIGEST_SHA256, "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    /* FIPS 180-2/-4 examples, RFC 6234; coreutils 9.1 */
    {HR_DIGEST_SHA256, "a", 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
    /* coreutils 9.1 */
    {HR_DIGEST_SHA512, "", 1,
     "cf83e1357eefb8bdf1542850d66d8007d620e4050b5715dc83f4a921d36ce9ce47d0d13c5d85f2b0ff8318d2877eec2f63b931bd47417a81a"
     "538327af927da3e"},
    /* FIPS 180-2/-4, RFC 6234; coreutils 9.1 */
    {HR_DIGEST_SHA512, "abc", 1,
     "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2"
     "a9ac94fa54ca49f"},
    /* FIPS 180-2/-4, RFC 6234; coreutils 9.1 */
    {HR_DIGEST_SHA512,
     "abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu",
     1,
     "8e959b75dae313da8cf4f72814fc143f8f7779c6eb9f7fa17299aeadb6889018501d289e4900f7e4331b99dec4b5433ac7d329eeb6dd26545"
     "e96e55b874be909"},
    /* FIPS 180-2/-4, RFC 6234; coreutils 9.1 */
    {HR_DIGEST_SHA512, "a", 1000000,
     "e718483d0ce769644e2e42c7bc15b4638e1f98b13b2044285632a803afa973ebde0ff244877ea60a4cb0432ce577c31beb009c5c2c49aa2e4"
     "eadb217ad8cc09b"},
    /* FIPS 180-4 example, RFC 3174 test 1; coreutils 9.1 */
    {HR_DIGEST_SHA1, "abc", 1, "a9993e364706816aba3e25717850c26c9cd0d89d"},
    /* RFC 3174 test 2; coreutils 9.1 */
    {HR_DIGEST_SHA1, "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "84983e441c3bd26ebaae4aa1f95129e5e54670f1"},
    /* coreutils 9.1 */
    {HR_DIGEST_SHA224, "abc", 1, "23097d223405d8228642a477bda255b32aadbce4bda0b3f7e36c9da7"},
    /* coreutils 9.1 */
    {HR_DIGEST_SHA384, "abc", 1,
     "cb00753f45a35e8bb5a03d699ac65007272c32ab0eded1631a8b605a43ff5bed8086072ba1e7cc2358baeca134c825a7"},
    /* xxhsum 0.8.1 */
    {HR_DIGEST_XXH64, "abc", 1, "44bc2cf5ad770999"},
    {HR_DIGEST_XXH3_64, "abc", 1, "78af5f94892f3950"},
    {HR_DIGEST_XXH128, "abc", 1, "06b05ab6733a618578af5f94892f3950"},
};

START_TEST(makes_the_published_digests)
{
    for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
        struct hr_hasher *hasher = new_hasher(published[i].kind);
        for (unsigned n = 0; n < published[i].repeat; n++)
            hr_hasher_update(hasher, published[i].text, strlen(published[i].text));
        struct hr_digest digest = hr_hasher_finish(hasher);
        hr_hasher_destroy(hasher);
        assert_hex(&digest, published[i].hex);
    }
}
END_TEST

static const enum hr_digest_kind xxhash_kinds[] = {HR_DIGEST_XXH64, HR_DIGEST_XXH3_64, HR_DIGEST_XXH128};

/* xxHash repository, cli/xsum_sanity_check.c at commit b2e9dbb, seed 0, except where a row says otherwise. */
static const struct {
    size_t size;
    const char *hex[3]; /* XXH64, XXH3-64, XXH128 */
} xxhash_rows[] = {
    {0, {"ef46db3751d8e999", "2d06800538d394c2", "99aa06d3014798d86001c324468d497f"}},
    {1, {"e934a84adb052768", "c44bdff4074eecdb", "a6cd5e9392000f6ac44bdff4074eecdb"}},
    {12,
     {"0723bf50086ead9a", "a713daf0dfbb77e7", "6e3efd8fc7802b18061a192713f69ad9"}}, /* first column: libxxhash 0.8.1 */
    {48,
     {"fd0feeac7a939933", "397da259ecba1f11", "a002ac4e5478227ef942219aed80f67b"}}, /* first column: libxxhash 0.8.1 */
    {222,
     {"b641ae8cb691c174", "b9163b558664d356", "337e09641b948717f1aebd597cec6b3a"}}, /* second column: libxxhash 0.8.1 */
    {403,
     {"d99858fee82283df", "cdeb804d65c6dea4", "1b6de21e332dd73dcdeb804d65c6dea4"}}, /* first column: libxxhash 0.8.1 */
    {512,
     {"4358d2fdd62b58a7", "617e49599013cb6b", "18d2d110dcc9bca1617e49599013cb6b"}}, /* first column: libxxhash 0.8.1 */
    {2048,
     {"5940f2752bc04387", "dd59e2c3a5f038e0", "f736557fd47073a5dd59e2c3a5f038e0"}}, /* first column: libxxhash 0.8.1 */
    {2367,
     {"a82418ddec0ea581", "cb37aeb9e5d361ed", "e89c0f6ff369b427cb37aeb9e5d361ed"}}, /* first column: libxxhash 0.8.1 */
};

START_TEST(makes_the_digests_of_the_xxhash_repository)
{
    unsigned char buffer[2367];
    fill(buffer, sizeof buffer);
    ck_assert_mem_eq(buffer, "\x00\x52\x92\x9b\xb7\x32\xa3\x24", 8);
    for (size_t i = 0; i < sizeof xxhash_rows / sizeof *xxhash_rows; i++)
        for (size_t k = 0; k < 3; k++) {
            struct hr_digest digest = digest_of(xxhash_kinds[k], buffer, xxhash_rows[i].size);
            assert_hex(&digest, xxhash_rows[i].hex[k]);
        }
}
END_TEST

enum { STREAM_SIZE = 20000, SPLIT_ROUNDS = 50 };

START_TEST(byte_by_byte_equals_one_shot)
{
    static unsigned char buffer[STREAM_SIZE];
    fill(buffer, sizeof buffer);
    for (int kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++) {
        struct hr_digest whole = digest_of((enum hr_digest_kind)kind, buffer, sizeof buffer);
        struct hr_hasher *hasher = new_hasher((enum hr_digest_kind)kind);
        for (size_t i = 0; i < sizeof buffer; i++)
            hr_hasher_update(hasher, buffer + i, 1);
        struct hr_digest digest = hr_hasher_finish(hasher);
        hr_hasher_destroy(hasher);
        ck_assert(hr_digest_equal(&digest, &whole));
    }
}
END_TEST

START_TEST(random_splits_and_restarts_equal_one_shot)
{
    static unsigned char buffer[STREAM_SIZE];
    fill(buffer, sizeof buffer);
    srand(2);
    for (int kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++) {
        struct hr_hasher *hasher = new_hasher((enum hr_digest_kind)kind);
        for (int round = 0; round < SPLIT_ROUNDS; round++) {
            size_t size = (size_t)rand() % STREAM_SIZE;
            struct hr_digest whole = digest_of((enum hr_digest_kind)kind, buffer, size);
            /* What was fed before a restart must leave no trace, finished or not. */
            hr_hasher_update(hasher, buffer, (size_t)rand() % 300);
            hr_hasher_restart(hasher);
            for (size_t at = 0, step; at < size; at += step) {
                step = (size_t)rand() % 700;
                step = step < size - at ? step : size - at;
                hr_hasher_update(hasher, buffer + at, step);
            }
            struct hr_digest digest = hr_hasher_finish(hasher);
            ck_assert(hr_digest_equal(&digest, &whole));
            hr_hasher_restart(hasher);
        }
        hr_hasher_destroy(hasher);
    }
}
END_TEST

START_TEST(feeding_nothing_changes_nothing)
{
    for (int kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++) {
        struct hr_digest empty = digest_of((enum hr_digest_kind)kind, NULL, 0);
        struct hr_digest also_empty = digest_of((enum hr_digest_kind)kind, "", 0);
        ck_assert(hr_digest_equal(&empty, &also_empty));
    }
}
END_TEST

START_TEST(no_hasher_of_no_kind)
{
    struct hr_hasher *hasher = NULL;
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr_hasher_create(&hasher, HR_DIGEST_NONE, &fault), HR_INVALID);
    ck_assert_int_eq(fault.status, HR_INVALID);
    ck_assert_int_eq(hr_hasher_create(&hasher, HR_DIGEST_KIND_COUNT, NULL), HR_INVALID);
    ck_assert_ptr_null(hasher);
    hr_hasher_destroy(NULL);
}
END_TEST

static bool memory_is_out;

static void *take(size_t size, const char *file, int line)
{
    (void)file, (void)line;
    return memory_is_out ? NULL : malloc(size);
}

static void *take_more(void *memory, size_t size, const char *file, int line)
{
    (void)file, (void)line;
    return memory_is_out ? NULL : realloc(memory, size);
}

static void give_back(void *memory, const char *file, int line)
{
    (void)file, (void)line;
    free(memory);
}

/* Met by the cryptography library's own allocations, each made to fail (tests/faults/calls_rounds.sh). */
START_TEST(a_hasher_without_memory_for_a_new_beginning_makes_no_digest)
{
    ck_assert_int_eq(CRYPTO_set_mem_functions(take, take_more, give_back), 1);
    struct hr_hasher *hasher = new_hasher(HR_DIGEST_SHA256);
    memory_is_out = true;
    hr_hasher_restart(hasher);
    memory_is_out = false;
    hr_hasher_update(hasher, "Northmere", 9);
    ck_assert_int_eq(hr_hasher_finish(hasher).kind, HR_DIGEST_NONE);
    hr_hasher_restart(hasher);
    hr_hasher_update(hasher, "abc", 3);
    struct hr_digest digest = hr_hasher_finish(hasher);
    assert_hex(&digest, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"); /* FIPS 180-4, example */
    hr_hasher_destroy(hasher);
}
END_TEST

HR_SUITE("digest/hasher", makes_the_published_digests, makes_the_digests_of_the_xxhash_repository,
         byte_by_byte_equals_one_shot, random_splits_and_restarts_equal_one_shot, feeding_nothing_changes_nothing,
         no_hasher_of_no_kind, a_hasher_without_memory_for_a_new_beginning_makes_no_digest)
