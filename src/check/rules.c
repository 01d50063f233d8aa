#include "check/rules.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const fid_rule fid_rules[] = {
    {"N101",
     "A name that is not rendered from the rig's naming, has a character that loaders refuse, is over 64 bytes, or is "
     "not unique",
     "Loaders rename such bones, and what was bound to the name is lost.",
     "Change the part, id or index of the bone, or the naming of the rig, so that the name is rendered anew.",
     "common practice, no source", FID_ERROR},
    {"N102", "The side in a bone's name disagrees with where the bone is",
     "Tools that mirror by name put poses and weights on the wrong side.",
     "Give the side on which the bone lies (left is +X), or move its guide.", "common practice, no source",
     FID_WARNING},
    {"S201", "A cycle of bones that wait for each other, or a reference to nothing",
     "No order of evaluation exists: an importer would lag a frame behind, or hang.",
     "Take away one of the constraints that the finding names, or let one act from a bone that stands outside the "
     "cycle.",
     "A. B. Kahn 1962; R. Tarjan 1972", FID_ERROR},
    {"S202", "A bone of no length, or points that lie on each other (closer than 1e-4 of the height)",
     "Without a direction a bone cannot aim, and a chain cannot bend there.",
     "Move the points apart, or leave one of them out.", "common practice, no source", FID_ERROR},
    {"S203", "A deform bone aims past its only child by more than 1 degree (warning) or 5 degrees (error)",
     "Twist and stretch act along the aim axis: past the child they bend the limb.",
     "Aim the bone at the child's base, or give it the tag free_aim where that is meant.", "common practice, no source",
     FID_ERROR},
    {"S204", "An ik chain that rests straight (under 3 degrees), or so nearly straight that its softening has no room",
     "A straight chain cannot tell which way it bends; one without room snaps as it reaches full length.",
     "Bend the guides by 3 degrees or more (two equal bones: 23 degrees for a softening of 2 %), give bend_axis, or "
     "lower soft.",
     "calculated from the chain at rest", FID_ERROR},
    {"S205", "An ik chain that cannot fold, or that has too many segments",
     "Its end comes no nearer to its base, so that most goals cannot be met.",
     "Bend the guides less, or change bend_shares.", "calculated from the chain at rest", FID_ERROR},
    {"S206", "A rest frame that is scaled or mirrored, or a channel that cannot stand at its neutral value",
     "Skin weights are bound to neutral frames, and engines cannot keep a mirrored one.",
     "Give rest frames by points or frames, and ranges that contain 0 (scale: 1).", "common practice, no source",
     FID_ERROR},
    {"S207", "Left and right differ at rest: positions by more than 5e-4 of the height, axes by more than 0.1 degrees",
     "Mirrored poses and weights do not fit, and animators see one side drift.",
     "Build one side with rig:mirror from the other.", "common practice, no source", FID_WARNING},
    {"S208", "A control that nothing depends on, or a deform bone that nothing moves",
     "Animators pose a control that does nothing, or the skin stays behind.", "Connect it, or leave it out.",
     "common practice, no source", FID_WARNING},
    {"S209", "Rest is not rest: a bone moves although every channel is at its default",
     "Skin and animation are bound to the rest frames: the model would jump as soon as the rig is solved.",
     "Place the source of the constraint where it belongs at rest (the goal of an ik on the end of its chain), or use "
     "offset \"rest\"; let the channel of a pose layer rest at 0, and what a drive reads where the drive does nothing.",
     "the contract of the mathematics: 1e-5 of the height, 0.01 degrees; as much for scales", FID_ERROR},
    {"C301", "The same motion arrives twice: a bone that hangs from a control moves farther than the control",
     "Parts run away from the body as soon as it is moved.",
     "Let the bone follow in own space something that does not carry it, or hang it elsewhere.",
     "common practice, no source", FID_WARNING},
    {"C302", "A constraint that listens to how a bone departs, though that bone is only carried by its parent",
     "The constraint never does anything.", "Listen to the bone that is posed or constrained.",
     "common practice, no source", FID_WARNING},
    {"C303",
     "A weight or another share fed from outside 0 to 1, a drive without effect, or a slider that nothing reads",
     "Animators turn what does nothing, or only a part of its range does something.",
     "Give the slider the range 0 to 1, connect it, or leave it out.", "common practice, no source", FID_WARNING},
    {"C304",
     "A control without a channel that may be posed; one that a constraint after the pose overwrites, or a drive "
     "replaces; a match of a slider that is driven or may not be posed",
     "What the animator keys or switches is lost.",
     "Name the channels of the control, let the constraint act before the pose, let the drive add, or give the match "
     "to the slider that the drive reads.",
     "common practice, no source", FID_WARNING},
    {"P410",
     "The mirrored pose does not give the mirror image: a bone differs by more than 1e-5 of the height, 0.01 degrees "
     "or 1e-4 of its scale",
     "Animators mirror poses from one side to the other, and walk cycles limp.",
     "Build one side with rig:mirror from the other, and give both sides what the one has.",
     "calculated; tried in up to 20 moderate poses; a slider in the center that sways, and so has its image at as much "
     "to the other side, stays at rest there",
     FID_WARNING},
    {"C305",
     "Spaces, or a follow with a share or weight that is a channel, that close a cycle in one of their settings",
     "The rig works until an animator makes that choice; then no order of evaluation exists.",
     "Leave out the space that the finding names, or let it ride on a bone that stands outside the cycle.",
     "A. B. Kahn 1962; R. Tarjan 1972", FID_ERROR},
    {"P411", "A bone jumps where a slider switches what it rides on, though its pose makes up for it",
     "What an animator switches in the middle of a shot is seen to pop.",
     "Let the channels of the bone be posed that the switch needs, and keep ranges and limits out of its way; where "
     "that "
     "is meant, raise the threshold.",
     "common practice, no source", FID_ERROR},
    {"P413", "A pose that gives what is not a finite number, or depends on the poses before it",
     "One broken matrix makes the whole character vanish, and a result that depends on history cannot be reproduced.",
     "Keep the finding's pose and report it with the rig: this is a fault of the program.",
     "the contract of the mathematics", FID_ERROR},
};

const int32_t fid_rule_count = sizeof fid_rules / sizeof fid_rules[0];

const fid_rule *fid_rule_find(const char *code) {
    for (int32_t i = 0; i < fid_rule_count; i++) {
        if (strcmp(fid_rules[i].code, code) == 0) {
            return &fid_rules[i];
        }
    }
    return NULL;
}

static void add(fid_check *check, const char *code, const char *subject, int32_t origin, const fid_check_detail *detail,
                const char *message) {
    fid_place places[16];
    fid_text pose = {0};
    if (detail->pose && check->options->write_pose) {
        fid_error err;
        check->failed |= check->options->write_pose(check->rig, detail->pose, &pose, &err) != FID_OK;
    }
    fid_finding finding = {
        .code = code,
        .severity = detail->severity,
        .subject = subject,
        .message = message,
        .hint = detail->hint ? detail->hint : fid_rule_find(code)->mend,
        .has_value = detail->has_value,
        .value = detail->value,
        .threshold = detail->threshold,
        .places = places,
        .place_count = fid_rig_places(check->rig, origin, places, 16),
        .pose = pose.count > 0 ? pose.at : NULL,
    };
    fid_report_add(check->report, &finding);
    check->failed |= check->report->failed;
    fid_text_clear(&pose);
}

void fid_check_tried(fid_check *check, int32_t poses) {
    check->report->poses_tried = poses > check->report->poses_tried ? poses : check->report->poses_tried;
}

void fid_check_add(fid_check *check, const char *code, const char *subject, int32_t origin, const char *format, ...) {
    char message[FID_ERROR_MESSAGE_SIZE];
    fid_check_detail detail = {.severity = fid_rule_find(code)->worst};
    va_list args;
    va_start(args, format);
    (void)vsnprintf(message, sizeof message, format, args);
    va_end(args);
    add(check, code, subject, origin, &detail, message);
}

void fid_check_add_detail(fid_check *check, const char *code, const char *subject, int32_t origin,
                          const fid_check_detail *detail, const char *format, ...) {
    char message[FID_ERROR_MESSAGE_SIZE];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(message, sizeof message, format, args);
    va_end(args);
    add(check, code, subject, origin, detail, message);
}
