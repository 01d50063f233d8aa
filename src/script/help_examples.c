#include "script/help_examples.h"

#include <string.h>

/// What examples begin with: a rig; a body with a lamp on it; a leg of two segments with what leads it.
#define RIG "rig = fid.rig { name = \"wader\", height = 2 }\n"
#define BODY                                                                                 \
    RIG "body = rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5 }\n"             \
        "lamp = rig:bone { part = \"lamp\", parent = body, at = { 0, 1.5, 0.3 }, to = { 0, " \
        "1.7, 0.3 }, up = { 0, 0, 1 } }\n"
#define LEG                                                                                  \
    RIG "goal = rig:control { part = \"goal\", at = { 0, 0, 0 }, size = 0.2 }\n"             \
        "leg = rig:chain { part = \"leg\", points = { { 0, 1.4, 0 }, { 0, 0.8, 0.3 }, { 0, " \
        "0, 0 } }, with_end = true, parenting = \"fan\" }\n"
#define POINTS "points = { { 0, 1, 0 }, { 0, 0.5, 0.2 }, { 0, 0, 0 } }\n"

static const struct {
    const char *name, *text;
} examples[] = {
    {"rig", RIG},
    {"bone",
     RIG "rig:bone { part = \"neck\", role = \"deform\", at = { 0, 1, 0 }, to = { 0, 1.4, 0.2 }, up = { 0, 0, 1 } }\n"},
    {"control",
     RIG "rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5, rotation_range = { x = { -40, 40 } } }\n"},
    {"chain", RIG "tail = rig:chain { part = \"tail\", role = \"control\", points = { { 0, 1, 0 }, { 0, 1.1, -0.3 }, { "
                  "0, 1, -0.6 } } }\n"
                  "tail.last\n"},
    {"span_chain", LEG "skin = rig:span_chain { part = \"skin\", along = leg, keep_volume = 0.8 }\n"},
    {"follow", BODY "rig:follow { bone = lamp, source = \"world\", channels = { \"rotation\" }, weight = 0.5 }\n"},
    {"aim", BODY "rig:aim { bone = lamp, source = body, axis = \"-z\" }\n"},
    {"span", BODY "rig:span { bone = lamp, source = \"world\", longest = 2 }\n"},
    {"ik", LEG "bend = rig:ik { chain = leg, goal = goal, soft = 0.05 }\n"
               "rig:solve({ [goal] = { translation = { 0, 0.3, 0 } } }):report(bend)\n"},
    {"limit", BODY "rig:limit { bone = body, rotation = { x = { -20, 40 } }, translation = { y = { 0, 0.5 } } }\n"},
    {"twist", BODY "rig:twist { bone = lamp, source = body, gain = 0.5 }\n"},
    {"spline", RIG "bones = rig:chain { part = \"back\", points = { { 0, 1, -0.6 }, { 0, 1.1, -0.2 }, { 0, 1.1, 0.2 }, "
                   "{ 0, 1, 0.6 } } }\n"
                   "ends = {}\n"
                   "for i, place in ipairs(bones:split(1)) do ends[i] = rig:control { part = \"end\", index = i, at = "
                   "place, size = 0.3 } end\n"
                   "rig:spline { chain = bones, through = ends }\n"},
    {"spaces", BODY "rig:spaces { bone = lamp, among = { { \"body\", body }, { \"world\", \"world\" } } }\n"},
    {"add", BODY "rig:spaces { bone = lamp, among = { { \"body\", body } } }\n"
                 "lamp.spaces:add { among = { { \"world\", \"world\" } } }\n"},
    {"slider",
     BODY "glow = rig:slider { on = body, name = \"glow\", default = 0.5, doc = \"how bright the lamp is\" }\n"},
    {"pose_layer", BODY "lean = rig:slider { on = body, name = \"lean\" }\n"
                        "rig:pose_layer { name = \"lean\", by = lean, poses = { { at = 1, pose = { [lamp] = { rotation "
                        "= { 30, 0, 0 } } } } } }\n"},
    {"drive", BODY "nod = rig:slider { on = body, name = \"nod\", min = -1, max = 1 }\n"
                   "rig:drive { to = lamp.channel[\"rotation.x\"], from = nod, gain = 25 }\n"},
    {"display_set", BODY "rig:display_set { name = \"main\", color = \"#E69F00\" }\n"},
    {"use", RIG "leg = rig:use(\"stretch_leg\", { id = \"leg\", side = \"left\", guides = { { 0.3, 1, 0 }, { 0.4, 0.5, "
                "0.2 }, { 0.4, 0, 0 } } })\n"},
    {"mirror", RIG "leg = rig:use(\"stretch_leg\", { id = \"leg\", side = \"left\", guides = { { 0.3, 1, 0 }, { 0.4, "
                   "0.5, 0.2 }, { 0.4, 0, 0 } } })\n"
                   "rig:mirror(leg)\n"},
    {"fail", "fid.module {\n"
             "  name = \"post\", version = \"1.0.0\", summary = \"a post\", params = { height = { type = \"number\", "
             "unit = \"m\", doc = \"how high it stands\" } },\n"
             "  build = function(rig, p)\n"
             "    if p.height <= 0 then rig:fail { param = \"height\", message = \"a post stands up: give a height "
             "above 0\" } end\n"
             "  end,\n"
             "}\n"},
    {"find", BODY "rig:find(\"body_control\").length\n"},
    {"bones", BODY "#rig:bones { role = \"control\" }\n"},
    {"pose", BODY "raised = rig:pose { [body] = { translation = { 0, 0.2, 0 }, rotation = { 15, 0, 0 } } }\n"
                  "rig:solve(raised):base(lamp)\n"},
    {"solve", BODY "solved = rig:solve { [body] = { rotation = { 0, 90, 0 } } }\n"
                   "solved:base(lamp), solved:rotation(lamp)\n"},
    {"match", BODY "held = rig:slider { on = lamp, name = \"held\", default = 1 }\n"
                   "rig:follow { bone = lamp, source = \"world\", weight = held }\n"
                   "rig:match { slider = held, value = 0, set = { { lamp, like = lamp } } }\n"},
    {"switch", BODY "rig:spaces { bone = lamp, among = { { \"body\", body }, { \"world\", \"world\" } } }\n"
                    "turned = { [body] = { rotation = { 0, 90, 0 } } }\n"
                    "rig:switch(turned, lamp.channel[\"space\"], \"world\")\n"},
    {"check", BODY "for _, finding in ipairs(rig:check { poses = 50 }) do print(finding.code, finding.message) end\n"},
    {"copy", LEG "leg:copy { part = \"skin\", role = \"deform\", under = \"each\" }\n"},
    {"module", "fid.module {\n"
               "  name = \"post\", version = \"1.0.0\", summary = \"a post\", params = { at = { type = \"point\", doc "
               "= \"where it stands\" } },\n"
               "  build = function(rig, p)\n"
               "    local post = rig:control { part = \"post\", at = p.at, size = 0.2 }\n"
               "    return { controls = { post = post } }\n"
               "  end,\n"
               "}\n"},
    {"recipe", "fid.recipe {\n"
               "  params = { height = { type = \"number\", unit = \"m\", default = 2, doc = \"how tall it is\" } },\n"
               "  build = function(p)\n"
               "    local rig = fid.rig { name = \"wader\", height = p.height }\n"
               "    rig:control { part = \"body\", at = { 0, p.height / 2, 0 }, size = 0.5 }\n"
               "    return rig\n"
               "  end,\n"
               "}\n"},
    {"tests", "fid.tests {\n"
              "  module = \"post\",\n"
              "  example = { id = \"post\", at = { 0, 0, 0 } },\n"
              "  cases = { { \"it has no findings\", function(t) t:use() t:clean() end } },\n"
              "}\n"},
    {"vec", "(fid.vec(0, 3, 4) * 2):length()\n"},
    {"frame", "seat = fid.frame { at = { 0, 1, 0 }, aim = { 1, 0, 0 }, up = { 0, 1, 0 } }\n"
              "seat * fid.vec(0, 0, 0.5)\n"},
    {"curve", "fid.curve { points = { { 0, 0 }, { 0.5, 0.2 }, { 1, 1 } } }:at(0.5)\n"},
    {"data", "guides = fid.data(\"guides.json\") -- a file beside the recipe\n"},
    {"random", "fid.random(7):integer(1, 6)\n"},
    {"zip", LEG "skin = leg:copy { part = \"skin\", role = \"deform\" }\n"
                "for from, to in fid.zip(leg, skin) do rig:follow { bone = to, source = from } end\n"},
    {"name.parse", "fid.name.parse(\"leg1_foot_left_control\")\n"},
    {"points.plane", POINTS "fid.points.plane(points).bend\n"},
    {"points.mirror", "fid.points.mirror { { 0.3, 1, 0 }, { 0.4, 0, 0 } }\n"},
    {"points.line", "fid.points.line { from = { 0, 0, 0 }, to = { 0, 1, 0 }, count = 5 }\n"},
    {"points.arc",
     "fid.points.arc { from = { 1, 0, 0 }, center = { 0, 0, 0 }, axis = { 0, 1, 0 }, degrees = 90, count = 4 }\n"},
    {"points.resample", POINTS "fid.points.resample(points, 6)\n"},
    {"points.split", POINTS "fid.points.split(points, 2)\n"},
    {"outline.circle", RIG
     "rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5, outline = fid.outline.circle { size = 0.5 } }\n"},
    {"outline.square", RIG
     "rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5, outline = fid.outline.square { size = 0.5 } }\n"},
    {"outline.box",
     RIG "rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5, outline = fid.outline.box { size = 0.5 } }\n"},
    {"outline.arrow", RIG "rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5, outline = fid.outline.arrow { "
                          "size = 0.5, axis = \"z\" } }\n"},
    {"outline.line", RIG "rig:control { part = \"body\", at = { 0, 1, 0 }, size = 0.5, outline = fid.outline.line { "
                         "points = { { -0.2, 0, 0 }, { 0.2, 0, 0 } } } }\n"},
    {"Bone", BODY "lamp.parent.name, lamp.length, lamp:point(0.5)\nlamp.channel[\"rotation.x\"].default\n"},
    {"Chain", LEG "#leg, leg[1].name, leg:at(0.5)\n"},
    {"Channel", BODY "body.channel[\"rotation.x\"].default\n"},
    {"Constraint", BODY "held = rig:follow { bone = lamp, source = \"world\" }\nheld.kind, held.weight.default\n"},
    {"Pose",
     BODY "leaning = rig:pose { [body] = { rotation = { 0, 0, 20 } } }\nrig:solve(leaning:mirrored()):base(lamp)\n"},
    {"Solved",
     BODY "solved = rig:solve { [body] = { translation = { 0, 0.2, 0 } } }\nsolved:base(lamp), solved:matrix(lamp)\n"},
    {"Instance", RIG "leg = rig:use(\"stretch_leg\", { id = \"leg\", side = \"left\", guides = { { 0.3, 1, 0 }, { 0.4, "
                     "0.5, 0.2 }, { 0.4, 0, 0 } } })\nleg.controls.foot.name, #leg.bones\n"},
    {"Recipe", "wader = fid.recipe {\n  params = { height = { type = \"number\", unit = \"m\", default = 2, doc = "
               "\"how tall it is\" } },\n  build = function(p) return fid.rig { name = \"wader\", height = p.height } "
               "end,\n}\nwader.build { height = 3 }\n"},
    {"Test", "fid.tests {\n  module = \"post\",\n  example = { id = \"post\", at = { 0, 0, 0 } },\n  cases = {\n    { "
             "\"it stands where it is told\", function(t)\n      local post = t:use()\n      "
             "t:near(t:solve():base(post.controls.post), { 0, 0, 0 }, 1e-6, \"its foot\")\n    end },\n  },\n}\n"},
    {"Rig", RIG "rig.name, rig.height\n"},
};

enum { COUNT = sizeof examples / sizeof *examples };

const char *fid_help_example_name(int32_t index) { return index >= 0 && index < COUNT ? examples[index].name : NULL; }

void fid_help_add_example(const char *name, const char *indent, fid_text *out) {
    for (int i = 0; i < COUNT; i++) {
        if (strcmp(examples[i].name, name) != 0) {
            continue;
        }
        for (const char *at = examples[i].text; *at; at += strcspn(at, "\n") + 1) {
            fid_text_add(out, indent);
            fid_text_add_bytes(out, at, strcspn(at, "\n") + 1);
        }
    }
}
