#include "format/svg_element.h"

#include "base/number.h"

static const double most_pixels = 1e9;

void fid_svg_add_number(fid_text *out, double value) {
    char text[FID_NUMBER_SIZE];
    double inside = value > most_pixels ? most_pixels : value > -most_pixels ? value : -most_pixels;
    double hundredths = inside < 0 ? inside * 100 - 0.5 : inside * 100 + 0.5;
    fid_number_write_double(text, (double)(int64_t)hundredths / 100, 12);
    fid_text_add(out, text);
}

void fid_svg_add_attribute(fid_text *out, const char *key, double value) {
    fid_text_addf(out, " %s=\"", key);
    fid_svg_add_number(out, value);
    fid_text_add(out, "\"");
}

void fid_svg_add_line(fid_text *out, fid_paper a, fid_paper b, const char *color, double width) {
    fid_text_add(out, "<line");
    fid_svg_add_attribute(out, "x1", a.x);
    fid_svg_add_attribute(out, "y1", a.y);
    fid_svg_add_attribute(out, "x2", b.x);
    fid_svg_add_attribute(out, "y2", b.y);
    fid_text_addf(out, " stroke=\"%s\"", color);
    fid_svg_add_attribute(out, "stroke-width", width);
    fid_text_add(out, "/>\n");
}

void fid_svg_add_ring(fid_text *out, fid_paper at, double radius, const char *color) {
    fid_text_add(out, "<circle");
    fid_svg_add_attribute(out, "cx", at.x);
    fid_svg_add_attribute(out, "cy", at.y);
    fid_svg_add_attribute(out, "r", radius);
    fid_text_addf(out, " fill=\"#FFFFFF\" stroke=\"%s\" stroke-width=\"1.4\"/>\n", color);
}

void fid_svg_add_box(fid_text *out, const fid_box *box, const char *color) {
    fid_text_add(out, "<rect");
    fid_svg_add_attribute(out, "x", box->left);
    fid_svg_add_attribute(out, "y", box->top);
    fid_svg_add_attribute(out, "width", box->right - box->left);
    fid_svg_add_attribute(out, "height", box->bottom - box->top);
    fid_text_addf(out, " fill=\"none\" stroke=\"%s\"/>\n", color);
}

void fid_svg_add_words(fid_text *out, fid_paper at, fid_fastening fastening, double size, const char *color,
                       const char *words) {
    static const char *const anchors[] = {"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
    fid_text_add(out, "<text");
    fid_svg_add_attribute(out, "x", at.x);
    fid_svg_add_attribute(out, "y", at.y);
    fid_svg_add_attribute(out, "font-size", size);
    fid_text_addf(out, "%s fill=\"%s\" stroke=\"#FFFFFF\" stroke-width=\"2.4\" paint-order=\"stroke\">",
                  anchors[fastening], color);
    for (; *words; words++) {
        const char *escaped = *words == '<' ? "&lt;" : *words == '>' ? "&gt;" : *words == '&' ? "&amp;" : NULL;
        if (escaped) {
            fid_text_add(out, escaped);
        } else {
            fid_text_add_bytes(out, words, 1);
        }
    }
    fid_text_add(out, "</text>\n");
}
