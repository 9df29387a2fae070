/* SPDX-License-Identifier: ISC */
/* xmp:Rating (ISO 16684-1): a real; -1 rejected, 0 unrated, 1..5; absent is absent. */
#include "media/xmp.h"

#include <stdio.h>
#include <string.h>

#include "suite.h"

#define HEAD                                                                                                           \
    "<?xpacket begin='\xef\xbb\xbf' id='W5M0MpCehiHzreSzNTczkc9d'?>"                                                   \
    "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>"
#define TAIL "</rdf:RDF></x:xmpmeta><?xpacket end='w'?>"
#define XMP " xmlns:xmp='http://ns.adobe.com/xap/1.0/'"
#define RATED HEAD "<rdf:Description" XMP " xmp:Rating='3'/>" TAIL

static int rating_of(const void *packet, size_t size)
{
    struct hr_media_facts facts = {.rating = HR_RATING_UNKNOWN};
    hr__xmp_read(&facts, packet, size);
    return facts.rating;
}

static const struct {
    const char *packet;
    int rating;
} packets[] = {
    {RATED, 3},
    {HEAD "<rdf:Description" XMP "><xmp:Rating>4</xmp:Rating></rdf:Description>" TAIL, 4},
    {HEAD "<rdf:Description" XMP "><xmp:Rating>\n -1 </xmp:Rating></rdf:Description>" TAIL, -1},
    {HEAD "<rdf:Description xmlns:p='http://ns.adobe.com/xap/1.0/' p:Rating='2'/>" TAIL, 2},
    {HEAD "<rdf:Description/><rdf:Description" XMP " xmp:Rating='1'/>" TAIL, 1},
    /* without the wrapper, which is optional */
    {"<r:RDF xmlns:r='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><r:Description" XMP " xmp:Rating='5'/></r:RDF>", 5},
    /* the same word from elsewhere */
    {HEAD "<rdf:Description xmlns:xmp='http://example.org/' xmp:Rating='3'/>" TAIL, HR_RATING_UNKNOWN},
    {HEAD "<rdf:Description Rating='3'/>" TAIL, HR_RATING_UNKNOWN},
    /* the rating of another picture, which this one was made from */
    {HEAD "<rdf:Description" XMP " xmlns:s='http://example.org/'><s:From><rdf:Description xmp:Rating='3'/></s:From>"
          "<s:From rdf:parseType='Resource'><xmp:Rating>3</xmp:Rating></s:From></rdf:Description>" TAIL,
     HR_RATING_UNKNOWN},
    {HEAD "<rdf:Description" XMP "><xmp:Rating><b>3</b></xmp:Rating></rdf:Description>" TAIL, HR_RATING_UNKNOWN},
    {HEAD "<rdf:Description" XMP " xmp:Rating='6'/>" TAIL, HR_RATING_UNKNOWN},
    {HEAD "<rdf:Description" XMP " xmp:Rating=''/>" TAIL, HR_RATING_UNKNOWN},
    {HEAD "<rdf:Description/>" TAIL, HR_RATING_UNKNOWN},
    {"", HR_RATING_UNKNOWN},
    {"not xml", HR_RATING_UNKNOWN},
    /* torn after the rating, torn before it */
    {HEAD "<rdf:Description" XMP " xmp:Rating='3'><x", 3},
    {HEAD "<rdf:Description" XMP " xmp:Rating='3'", HR_RATING_UNKNOWN},
    /* no packet has a document type; entities need one */
    {"<!DOCTYPE x [<!ENTITY r '3'>]>" RATED, HR_RATING_UNKNOWN},
};

START_TEST(ratings_stand_as_attribute_or_element_of_the_own_description)
{
    for (size_t i = 0; i < sizeof packets / sizeof *packets; i++) {
        int rating = rating_of(packets[i].packet, strlen(packets[i].packet));
        ck_assert_msg(rating == packets[i].rating, "%d instead of %d: %s", rating, packets[i].rating,
                      packets[i].packet);
    }
}
END_TEST

static const struct {
    const char *text;
    bool is_there;
    int rating;
} ratings[] = {
    {"0", true, 0},
    {"5", true, 5},
    {"-1", true, -1},
    {"+2", true, 2},
    {"3.9", true, 3},
    {"5.5", true, 5},
    {"-0.5", true, 0},
    {"-1.0", true, -1},
    {"04", true, 4},
    {" 4\n", true, 4},
    {"-2", false, 0},
    {"6", false, 0},
    {"99999999999999999999", false, 0},
    {"", false, 0},
    {" ", false, 0},
    {"-", false, 0},
    {".", false, 0},
    {"3,5", false, 0},
    {"3 4", false, 0},
    {"0x3", false, 0},
    {"1e0", false, 0},
    {"nan", false, 0},
    {"--1", false, 0},
};

START_TEST(ratings_are_reals_rounded_towards_zero)
{
    for (size_t i = 0; i < sizeof ratings / sizeof *ratings; i++) {
        int8_t rating = 0;
        ck_assert_msg(hr__xmp_rating(&rating, ratings[i].text, strlen(ratings[i].text)) == ratings[i].is_there, "%s",
                      ratings[i].text);
        ck_assert_int_eq(rating, ratings[i].rating);
    }
}
END_TEST

START_TEST(packets_in_utf_16_are_read)
{
    char wide[2 * sizeof RATED] = {0};
    static const char plain[] =
        "<r:RDF xmlns:r='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><r:Description" XMP " xmp:Rating='5'/></r:RDF>";
    wide[0] = '\xfe';
    wide[1] = '\xff';
    for (size_t i = 0; plain[i]; i++)
        wide[2 * i + 3] = plain[i];
    ck_assert_int_eq(rating_of(wide, 2 * sizeof plain), 5);
}
END_TEST

START_TEST(deep_nesting_and_endless_tags_are_given_up)
{
    enum { SIZE = 256 << 10 };
    char *packet = malloc(SIZE + sizeof RATED);
    ck_assert_ptr_nonnull(packet);
    for (size_t i = 0; i < SIZE; i += 3)
        memcpy(packet + i, "<a>", 3);
    ck_assert_int_eq(rating_of(packet, SIZE), HR_RATING_UNKNOWN);
    size_t size = (size_t)sprintf(packet, "%s", HEAD "<rdf:Description" XMP " xmp:Rating='3' a='");
    memset(packet + size, 'a', SIZE - size);
    memcpy(packet + SIZE - 3, "'/>", 3);
    ck_assert_int_eq(rating_of(packet, SIZE), HR_RATING_UNKNOWN);
    /* a long comment is no endless tag when it is within bounds */
    size = (size_t)sprintf(packet, "<!--%20000s-->%s", "", RATED);
    ck_assert_int_eq(rating_of(packet, size), 3);
    free(packet);
}
END_TEST

HR_SUITE("media/xmp", ratings_stand_as_attribute_or_element_of_the_own_description,
         ratings_are_reals_rounded_towards_zero, packets_in_utf_16_are_read, deep_nesting_and_endless_tags_are_given_up)
