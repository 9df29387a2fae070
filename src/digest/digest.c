/* SPDX-License-Identifier: ISC */
#include <headrace/digest.h>

#include <string.h>
#include <strings.h>

static const struct {
    const char *name;
    uint8_t size;
} kinds[HR_DIGEST_KIND_COUNT] = {
    [HR_DIGEST_XXH64] = {"xxh64", 8},    [HR_DIGEST_XXH3_64] = {"xxh3", 8},   [HR_DIGEST_XXH128] = {"xxh128", 16},
    [HR_DIGEST_MD5] = {"md5", 16},       [HR_DIGEST_SHA1] = {"sha1", 20},     [HR_DIGEST_SHA256] = {"sha256", 32},
    [HR_DIGEST_SHA224] = {"sha224", 28}, [HR_DIGEST_SHA384] = {"sha384", 48}, [HR_DIGEST_SHA512] = {"sha512", 64},
};

const char *hr_digest_kind_name(enum hr_digest_kind kind)
{
    return (unsigned)kind < HR_DIGEST_KIND_COUNT ? kinds[kind].name : NULL;
}

size_t hr_digest_kind_size(enum hr_digest_kind kind)
{
    return (unsigned)kind < HR_DIGEST_KIND_COUNT ? kinds[kind].size : 0;
}

enum hr_digest_kind hr_digest_kind_of_name(const char *name)
{
    for (unsigned kind = HR_DIGEST_NONE + 1; kind < HR_DIGEST_KIND_COUNT; kind++)
        if (strcasecmp(name, kinds[kind].name) == 0)
            return (enum hr_digest_kind)kind;
    return HR_DIGEST_NONE;
}

char *hr_digest_to_hex(char out[HR_DIGEST_HEX_SIZE], const struct hr_digest *digest)
{
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < digest->size; i++) {
        out[2 * i] = digits[digest->bytes[i] >> 4];
        out[2 * i + 1] = digits[digest->bytes[i] & 15];
    }
    out[2 * (size_t)digest->size] = '\0';
    return out;
}

/* -1 when it is none; isxdigit would ask the locale. */
static int hex_value(char digit)
{
    if (digit >= '0' && digit <= '9')
        return digit - '0';
    if (digit >= 'a' && digit <= 'f')
        return digit - 'a' + 10;
    if (digit >= 'A' && digit <= 'F')
        return digit - 'A' + 10;
    return -1;
}

bool hr_digest_from_hex(struct hr_digest *out, enum hr_digest_kind kind, const char *hex, size_t hex_size)
{
    struct hr_digest digest = {.size = (uint8_t)hr_digest_kind_size(kind), .kind = (uint8_t)kind};
    if (digest.size == 0 || hex_size != 2 * (size_t)digest.size)
        return false;
    for (size_t i = 0; i < digest.size; i++) {
        int high = hex_value(hex[2 * i]), low = hex_value(hex[2 * i + 1]);
        if (high < 0 || low < 0)
            return false;
        digest.bytes[i] = (unsigned char)(high * 16 + low);
    }
    *out = digest;
    return true;
}

bool hr_digest_equal(const struct hr_digest *a, const struct hr_digest *b)
{
    return a->kind != HR_DIGEST_NONE && a->kind == b->kind && a->size == b->size &&
           memcmp(a->bytes, b->bytes, a->size) == 0;
}
