/* SPDX-License-Identifier: ISC */
#include "media/xmp.h"

#include <expat.h>
#include <string.h>

/* Ceilings for expat's memory, which keeps each distinct name, each open element and each attribute of a tag. Its own
 * namespace mode is not used: it writes the namespace out before each attribute, which a hostile tag turns into many
 * megabytes. */
enum { SLICE_BYTES = 4 << 10, TAG_BYTES = 16 << 10, NAME_COUNT = 3000, DEPTH = 32 };
enum { RATING_BYTES = 32, BINDING_COUNT = 16, PREFIX_BYTES = 16 };

enum namespace { OTHER, RDF, XMP };

struct packet {
    XML_Parser parser;
    struct {
        int depth;
        char prefix[PREFIX_BYTES];
        enum namespace namespace;
    } bindings[BINDING_COUNT]; /* innermost last */
    int binding_count;
    int name_count, depth;
    int rdf_depth; /* depth of rdf:RDF, 0 outside */
    bool in_rating;
    char text[RATING_BYTES];
    size_t text_size;
    struct hr_media_facts *facts;
};

static bool is_blank(char byte)
{
    return byte == ' ' || byte == '\t' || byte == '\n' || byte == '\r';
}

bool hr__xmp_rating(int8_t *out, const char *text, size_t size)
{
    const char *end = text + size;
    int value = 0, digits = 0;
    while (text < end && is_blank(*text))
        text++;
    while (end > text && is_blank(end[-1]))
        end--;
    bool is_negative = text < end && *text == '-';
    if (text < end && (*text == '-' || *text == '+'))
        text++;
    for (; text < end && *text >= '0' && *text <= '9'; text++, digits++)
        value = value > 9 ? value : value * 10 + (*text - '0');
    if (text < end && *text == '.')
        for (text++; text < end && *text >= '0' && *text <= '9'; text++)
            digits++;
    if (is_negative)
        value = -value;
    if (text != end || digits == 0 || value < -1 || value > 5)
        return false;
    *out = (int8_t)value;
    return true;
}

static void set_rating(struct packet *packet, const char *text, size_t size)
{
    if (hr__xmp_rating(&packet->facts->rating, text, size))
        XML_StopParser(packet->parser, XML_FALSE);
}

static void bind_prefix(struct packet *packet, const char *prefix, const char *uri)
{
    if (packet->binding_count == BINDING_COUNT || strlen(prefix) >= PREFIX_BYTES)
        return;
    int i = packet->binding_count++;
    packet->bindings[i].depth = packet->depth;
    memcpy(packet->bindings[i].prefix, prefix, strlen(prefix) + 1);
    packet->bindings[i].namespace = strcmp(uri, "http://www.w3.org/1999/02/22-rdf-syntax-ns#") == 0 ? RDF
                                    : strcmp(uri, "http://ns.adobe.com/xap/1.0/") == 0              ? XMP
                                                                                                    : OTHER;
}

/* Does `name`, as written, mean `local` of `namespace`? */
static bool means(const struct packet *packet, const char *name, enum namespace namespace, const char *local)
{
    const char *colon = strchr(name, ':');
    if (!colon || strcmp(colon + 1, local) != 0)
        return false;
    size_t size = (size_t)(colon - name);
    for (int i = packet->binding_count; i-- > 0;)
        if (strncmp(packet->bindings[i].prefix, name, size) == 0 && !packet->bindings[i].prefix[size])
            return packet->bindings[i].namespace == namespace;
    return false;
}

/* rdf:Description elements right below rdf:RDF are the packet's own; deeper ones tell of other pictures. */
static void XMLCALL start_element(void *data, const char *name, const char **attributes)
{
    struct packet *packet = data;
    packet->depth++;
    packet->name_count += 1 + XML_GetSpecifiedAttributeCount(packet->parser) / 2;
    if (packet->depth > DEPTH || packet->name_count > NAME_COUNT)
        XML_StopParser(packet->parser, XML_FALSE);
    for (const char **at = attributes; *at; at += 2)
        if (strncmp(*at, "xmlns:", 6) == 0)
            bind_prefix(packet, *at + 6, at[1]);
    if (!packet->rdf_depth && means(packet, name, RDF, "RDF"))
        packet->rdf_depth = packet->depth;
    if (!packet->rdf_depth)
        return;
    packet->in_rating = packet->depth == packet->rdf_depth + 2 && means(packet, name, XMP, "Rating");
    packet->text_size = 0;
    if (packet->depth == packet->rdf_depth + 1 && means(packet, name, RDF, "Description"))
        for (const char **at = attributes; *at; at += 2)
            if (means(packet, *at, XMP, "Rating"))
                set_rating(packet, at[1], strlen(at[1]));
}

static void XMLCALL character_data(void *data, const char *bytes, int size)
{
    struct packet *packet = data;
    if (!packet->in_rating)
        return;
    if ((size_t)size > sizeof packet->text - packet->text_size) {
        packet->in_rating = false;
        return;
    }
    memcpy(packet->text + packet->text_size, bytes, (size_t)size);
    packet->text_size += (size_t)size;
}

static void XMLCALL end_element(void *data, const char *name)
{
    struct packet *packet = data;
    (void)name;
    if (packet->in_rating)
        set_rating(packet, packet->text, packet->text_size);
    packet->in_rating = false;
    if (packet->depth == packet->rdf_depth)
        packet->rdf_depth = 0;
    while (packet->binding_count > 0 && packet->bindings[packet->binding_count - 1].depth == packet->depth)
        packet->binding_count--;
    packet->depth--;
}

static void XMLCALL start_doctype(void *data, const char *name, const char *system, const char *public, int internal)
{
    struct packet *packet = data;
    (void)name, (void)system, (void)public, (void)internal;
    XML_StopParser(packet->parser, XML_FALSE);
}

void hr__xmp_read(struct hr_media_facts *facts, const unsigned char *bytes, size_t size)
{
    struct packet packet = {.parser = XML_ParserCreate(NULL), .facts = facts};
    if (!packet.parser)
        return;
    XML_SetUserData(packet.parser, &packet);
    XML_SetElementHandler(packet.parser, start_element, end_element);
    XML_SetCharacterDataHandler(packet.parser, character_data);
    XML_SetStartDoctypeDeclHandler(packet.parser, start_doctype);
    for (size_t at = 0; at < size;) {
        size_t slice = size - at < SLICE_BYTES ? size - at : SLICE_BYTES;
        if (XML_Parse(packet.parser, (const char *)bytes + at, (int)slice, at + slice == size) != XML_STATUS_OK)
            break;
        at += slice;
        XML_Index token = XML_GetCurrentByteIndex(packet.parser);
        size_t begun = token < 0 ? 0 : (size_t)token; /* -1: later parsers put short pieces off */
        if (at - begun > TAG_BYTES)
            break;
    }
    XML_ParserFree(packet.parser);
}

void hr__xmp_take(struct hr_media_reader *reader, const struct hr_media_context *context, const unsigned char *bytes,
                  size_t size)
{
    (void)context;
    hr__xmp_read(&reader->facts, bytes, size);
}
