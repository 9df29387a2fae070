/* SPDX-License-Identifier: ISC */
#include "demo_exif.h"

#include <stdio.h>
#include <time.h>

#include "demo_match.h"
#include "demo_random.h"

enum {
    TAG_MAKE = 0x010F,
    TAG_MODEL = 0x0110,
    TAG_ORIENTATION = 0x0112,
    TAG_X_RESOLUTION = 0x011A,
    TAG_Y_RESOLUTION = 0x011B,
    TAG_RESOLUTION_UNIT = 0x0128,
    TAG_SOFTWARE = 0x0131,
    TAG_DATE_TIME = 0x0132,
    TAG_COMPRESSION = 0x0103,
    TAG_THUMBNAIL = 0x0201,
    TAG_THUMBNAIL_SIZE = 0x0202,
    TAG_POSITIONING = 0x0213,
    TAG_EXPOSURE_TIME = 0x829A,
    TAG_F_NUMBER = 0x829D,
    TAG_PROGRAM = 0x8822,
    TAG_ISO = 0x8827,
    TAG_EXIF_VERSION = 0x9000,
    TAG_TIME_ORIGINAL = 0x9003,
    TAG_TIME_DIGITIZED = 0x9004,
    TAG_OFFSET = 0x9010,
    TAG_OFFSET_ORIGINAL = 0x9011,
    TAG_OFFSET_DIGITIZED = 0x9012,
    TAG_COMPONENTS = 0x9101,
    TAG_FOCAL_LENGTH = 0x920A,
    TAG_SUBSEC = 0x9290,
    TAG_SUBSEC_ORIGINAL = 0x9291,
    TAG_SUBSEC_DIGITIZED = 0x9292,
    TAG_FLASHPIX = 0xA000,
    TAG_COLOUR_SPACE = 0xA001,
    TAG_PIXEL_WIDTH = 0xA002,
    TAG_PIXEL_HEIGHT = 0xA003,
    TAG_SERIAL = 0xA431,
    TAG_LENS_MODEL = 0xA434
};

enum { TIME_SIZE = 20 };

static void stamp_text(char text[TIME_SIZE], const struct demo_frame *frame)
{
    time_t seconds = frame->stamp_ns / 1000000000;
    struct tm day;
    gmtime_r(&seconds, &day);
    strftime(text, TIME_SIZE, "%Y:%m:%d %H:%M:%S", &day);
}

/* As many digits as the clock has; none for a clock of whole seconds. */
static void add_subseconds(struct demo_ifd *ifd, const struct demo_frame *frame, unsigned resolution_ms)
{
    static const unsigned tags[] = {TAG_SUBSEC, TAG_SUBSEC_ORIGINAL, TAG_SUBSEC_DIGITIZED};
    int digits = resolution_ms == 1 ? 3 : resolution_ms == 10 ? 2 : 1;
    unsigned steps = (unsigned)(frame->stamp_ns / 1000000 % 1000) / resolution_ms;
    char text[8];
    snprintf(text, sizeof text, "%0*u", digits, steps);
    for (unsigned i = 0; i < 3 && resolution_ms < 1000; i++)
        demo_ifd_add_text(ifd, tags[i], text);
}

static void add_times(struct demo_ifd *ifd, const struct demo_frame *frame, unsigned resolution_ms)
{
    char time[TIME_SIZE], offset[12];
    stamp_text(time, frame);
    snprintf(offset, sizeof offset, "+%02d:%02d", DEMO_OFFSET_MINUTES / 60, DEMO_OFFSET_MINUTES % 60);
    demo_ifd_add_text(ifd, TAG_TIME_ORIGINAL, time);
    demo_ifd_add_text(ifd, TAG_TIME_DIGITIZED, time);
    demo_ifd_add_text(ifd, TAG_OFFSET, offset);
    demo_ifd_add_text(ifd, TAG_OFFSET_ORIGINAL, offset);
    demo_ifd_add_text(ifd, TAG_OFFSET_DIGITIZED, offset);
    add_subseconds(ifd, frame, resolution_ms);
}

void demo_exif_add_camera(struct demo_ifd *ifd, const struct demo_frame *frame)
{
    static const int per_inch[] = {300, 1};
    enum { ROTATE_90_CLOCKWISE = 6 };
    char time[TIME_SIZE];
    stamp_text(time, frame);
    demo_ifd_add_text(ifd, TAG_MAKE, "Northmere Works");
    demo_ifd_add_text(ifd, TAG_MODEL, frame->body == 'A' ? "Field One" : "Field Two");
    demo_ifd_add_number(ifd, TAG_ORIENTATION, DEMO_SHORT, frame->moment.is_portrait ? ROTATE_90_CLOCKWISE : 1);
    demo_ifd_add_rationals(ifd, TAG_X_RESOLUTION, DEMO_RATIONAL, per_inch, 1);
    demo_ifd_add_rationals(ifd, TAG_Y_RESOLUTION, DEMO_RATIONAL, per_inch, 1);
    demo_ifd_add_number(ifd, TAG_RESOLUTION_UNIT, DEMO_SHORT, 2);
    demo_ifd_add_text(ifd, TAG_SOFTWARE, "demo card 1.0");
    demo_ifd_add_text(ifd, TAG_DATE_TIME, time);
}

static void add_light(struct demo_ifd *ifd, const struct demo_frame *frame)
{
    static const unsigned speeds[] = {1000, 1250, 1600, 2000, 2500}, sensitivities[] = {400, 500, 640, 800, 1000};
    struct demo_random random = demo_random_of(frame->moment.seed, "light", (uint64_t)frame->body);
    unsigned step = demo_random_index(&random, 5);
    const int exposure[] = {1, (int)speeds[step]}, aperture[] = {28, 10}, focal[] = {400, 1};
    demo_ifd_add_rationals(ifd, TAG_EXPOSURE_TIME, DEMO_RATIONAL, exposure, 1);
    demo_ifd_add_rationals(ifd, TAG_F_NUMBER, DEMO_RATIONAL, aperture, 1);
    demo_ifd_add_rationals(ifd, TAG_FOCAL_LENGTH, DEMO_RATIONAL, focal, 1);
    demo_ifd_add_number(ifd, TAG_PROGRAM, DEMO_SHORT, 1);
    demo_ifd_add_number(ifd, TAG_ISO, DEMO_SHORT, sensitivities[step]);
}

void demo_exif_add_exposure(struct demo_ifd *ifd, const struct demo_frame *frame, const struct demo_exposure *exposure)
{
    add_times(ifd, frame, exposure->clock_resolution_ms);
    add_light(ifd, frame);
    demo_ifd_add_bytes(ifd, TAG_EXIF_VERSION, DEMO_UNDEFINED, "0232", 4);
    demo_ifd_add_bytes(ifd, TAG_COMPONENTS, DEMO_UNDEFINED, "\1\2\3\0", 4);
    demo_ifd_add_bytes(ifd, TAG_FLASHPIX, DEMO_UNDEFINED, "0100", 4);
    demo_ifd_add_number(ifd, TAG_COLOUR_SPACE, DEMO_SHORT, 1);
    demo_ifd_add_number(ifd, TAG_PIXEL_WIDTH, DEMO_LONG, exposure->width_pixels);
    demo_ifd_add_number(ifd, TAG_PIXEL_HEIGHT, DEMO_LONG, exposure->height_pixels);
    demo_ifd_add_text(ifd, TAG_SERIAL, demo_plan_serial(frame->body));
    demo_ifd_add_text(ifd, TAG_LENS_MODEL, "Northmere 400 mm f/2.8");
}

void demo_exif_block(struct demo_bytes *out, const struct demo_frame *frame, const struct demo_exposure *exposure,
                     const struct demo_bytes *thumbnail)
{
    static const int per_inch[] = {72, 1};
    struct demo_ifd main = {0}, exif = {0}, small = {0};
    demo_tiff_begin(out);
    demo_exif_add_camera(&main, frame);
    demo_ifd_add_number(&main, TAG_POSITIONING, DEMO_SHORT, 1);
    demo_ifd_add_number(&main, DEMO_TAG_EXIF, DEMO_LONG, 0);
    size_t main_at = demo_ifd_write(out, &main);
    demo_exif_add_exposure(&exif, frame, exposure);
    demo_ifd_set(out, main_at, DEMO_TAG_EXIF, demo_ifd_write(out, &exif));
    demo_ifd_add_number(&small, TAG_COMPRESSION, DEMO_SHORT, 6);
    demo_ifd_add_rationals(&small, TAG_X_RESOLUTION, DEMO_RATIONAL, per_inch, 1);
    demo_ifd_add_rationals(&small, TAG_Y_RESOLUTION, DEMO_RATIONAL, per_inch, 1);
    demo_ifd_add_number(&small, TAG_RESOLUTION_UNIT, DEMO_SHORT, 2);
    demo_ifd_add_number(&small, TAG_THUMBNAIL, DEMO_LONG, 0);
    demo_ifd_add_number(&small, TAG_THUMBNAIL_SIZE, DEMO_LONG, (uint32_t)thumbnail->size);
    size_t small_at = demo_ifd_write(out, &small);
    demo_ifd_set_next(out, main_at, small_at);
    demo_ifd_set(out, small_at, TAG_THUMBNAIL, out->size);
    demo_bytes_add(out, thumbnail->data, thumbnail->size);
}

void demo_exif_xmp(char xmp[DEMO_XMP_SIZE], const struct demo_frame *frame)
{
    *xmp = '\0';
    if (frame->rating != DEMO_NO_RATING)
        snprintf(xmp, DEMO_XMP_SIZE,
                 "<?xpacket begin=\"\xEF\xBB\xBF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
                 "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n"
                 " <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
                 "  <rdf:Description rdf:about=\"\" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\">\n"
                 "   <xmp:Rating>%d</xmp:Rating>\n"
                 "  </rdf:Description>\n"
                 " </rdf:RDF>\n"
                 "</x:xmpmeta>\n"
                 "<?xpacket end=\"w\"?>",
                 frame->rating);
}
