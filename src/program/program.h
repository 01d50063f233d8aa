#ifndef FID_PROGRAM_PROGRAM_H
#define FID_PROGRAM_PROGRAM_H

#include "math/bend.h"
#include "math/frame.h"
#include "math/spline.h"
#include "rig/rig.h"

/// A number that is fixed (channel -1) or read from an effective channel and clamped to [lo, hi].
typedef struct fid_input {
    int32_t channel;
    float value;
    float lo, hi;
} fid_input;

/// A lowered source. For points the offsets along the bones are metres on +Z.
typedef struct fid_program_source {
    fid_source_kind kind; ///< FID_SOURCE_NONE: not there
    int32_t a, b;         ///< bones
    float along_a, along_b;
    float f;
    fid_frame rest; ///< rigid, rig space (fid_rig_source_rest)
} fid_program_source;

typedef struct fid_follow_source {
    fid_program_source source;
    fid_input share;
    fid_frame relation; ///< rigid: Rest_S^-1 Rest_b, identity with offset none
    fid_vec3 back;      ///< origin of Rest_b^-1 Rest_S, 0 with offset none
} fid_follow_source;

typedef struct fid_program_follow {
    fid_input weight;
    bool straight, own;
    fid_input gain;       ///< of own space
    int32_t first, count; ///< in follow_sources
    uint32_t channels;
} fid_program_follow;

typedef struct fid_program_aim {
    fid_input weight;
    fid_program_source source;
    fid_vec3 direction; ///< unit, in F: what is carried onto the source's direction
    bool has_up;
    int32_t up_bone;    ///< -1: the vector
    fid_vec3 up_vector; ///< rig space
    fid_quat relation;  ///< with up: q_b = A_now relation
} fid_program_aim;

typedef struct fid_program_span {
    fid_input weight;
    fid_program_source source;
    fid_vec3 direction; ///< unit, in F
    float distance;     ///< at rest, metres
    fid_input keep_volume;
    float shortest, longest;
} fid_program_span;

/// A chain that ik or a spline lays.
typedef struct fid_program_chain {
    fid_input weight;
    int32_t first, count; ///< in chain_bones: `count` bones, with the end bone if there is one
    bool linked, with_end;
} fid_program_chain;

/// A bent chain. `bend` and all points are in the rest space of the first bone.
typedef struct fid_program_ik {
    int32_t chain; ///< in chains
    fid_program_source goal, pole;
    fid_input swivel, soft, reach, length, match_rotation;
    float swivel_gain;
    fid_bend bend;
    double longest, rest, shortest; ///< distances base to end, metres: at k = 0, 1, k_top (bend axis: 0, 0, k_top)
    double k_top;
    fid_vec3d axis;        ///< unit: rest direction base to goal
    fid_vec3d normal;      ///< of the bend plane
    int32_t steady;        ///< the joint that rests farthest off the axis
    fid_vec3d steady_off;  ///< its rest direction off the axis, unit
    fid_vec3d pole_off;    ///< rest direction of the pole off the axis, unit; zero without pole
    fid_quat end_relation; ///< Rest_G^-1 Rest_end
} fid_program_ik;

/// A point of a curve.
typedef struct fid_spline_control {
    int32_t bone;
    double width; ///< of the piece of the curve behind it: the distance to the next at rest
} fid_spline_control;

/// A joint of a chain on its curve, in the frame of the curve at rest.
typedef struct fid_spline_joint {
    double arc;       ///< where it rests: arc length of the curve
    double chord;     ///< from the curve at the joint before to that at this one; 0 of the first
    fid_vec3d offset; ///< off the curve
    fid_quatd rest;   ///< rotation of its bone against the frame that aims at the next joint
} fid_spline_joint;

/// A chain that lies along a curve.
typedef struct fid_program_spline {
    int32_t chain; ///< in chains
    fid_input fill, end_twist;
    int32_t first_control, control_count; ///< in spline_controls
    int32_t first_joint, joint_count;     ///< in spline_joints: without an end bone one more than bones
    double length;                        ///< of the curve at rest
    fid_vec3d tangent[2], up[2]; ///< at the start, in the first control's own space at rest; at the end, in the last's
    double twist;                ///< at rest, radians: from the up that the curve carries to its end to the last's
} fid_program_spline;

/// A bone of a chain in the order of fid_program_chain.
typedef struct fid_chain_bone {
    int32_t bone;
    fid_frame relation; ///< rest frame relative to that of the bone before; of the first bone the identity
    fid_quat rest;      ///< rotation relative to the first bone's at rest
} fid_chain_bone;

typedef struct fid_program_limit {
    fid_axis_range translation, rotation, scale;
    uint32_t channels; ///< the axes that have a bound
    bool swings;       ///< swing and twist are bounded
    float swing;       ///< degrees
    float twist[2];    ///< degrees
} fid_program_limit;

typedef struct fid_program_twist {
    fid_input weight, gain;
    int32_t source; ///< bone
    float center;   ///< degrees
} fid_program_twist;

/// What a pose layer does to one bone: keys over the values of its channel, the identity among them at 0.
typedef struct fid_program_layer {
    int32_t by;           ///< channel
    int32_t first, count; ///< in layer_keys
    bool smooth;
} fid_program_layer;

typedef struct fid_layer_key {
    float at;
    fid_frame delta;
    fid_vec3 slope; ///< of the translation, where smooth
} fid_layer_key;

typedef struct fid_program_space {
    fid_program_source source;
    fid_frame relation; ///< rigid: of the bone to the source; of a grip its place and the bone's turn
    fid_vec3 grip;      ///< where the grip rests in the bone's own space, which is what lands there; else 0
    bool has_grip;
    fid_vec3 back;   ///< where the source rests in the bone's own space by that relation
    fid_input share; ///< where they are mixed
} fid_program_space;

typedef struct fid_program_spaces {
    int32_t by;           ///< channel; -1: mixed
    int32_t first, count; ///< in space_choices
} fid_program_spaces;

/// What a bone does in a match: see fid_match_step.
typedef struct fid_program_step {
    int32_t bone; ///< or -1: the swivel of `ik`
    int32_t like; ///< bone, or -1
    int32_t ik;   ///< whose plane the bone stands in, or -1
    bool neutral;
    fid_frame relation; ///< Rest_like^-1 Rest_bone
} fid_program_step;

typedef struct fid_program_match {
    int32_t slider; ///< channel
    float value;
    int32_t first, count; ///< in match_steps
} fid_program_match;

/// One factor of what a drive reads.
typedef struct fid_program_factor {
    fid_factor_kind kind;
    int32_t channel;         ///< of FID_FACTOR_CHANNEL
    fid_program_source a, b; ///< of a twist the bone is a.a
    fid_vec3 axis_a, axis_b; ///< unit, in the axes of a and b
} fid_program_factor;

/// A drive of a channel; those of one channel stand in order.
typedef struct fid_program_drive {
    int32_t factor_first, factor_count; ///< in factors
    int32_t curve_first, curve_count;   ///< in curve_x, curve_y, curve_slope
    bool smooth;
    float power, sign; ///< of a power; power 0: none
    fid_input gain;
    fid_combine combine;
} fid_program_drive;

typedef struct fid_driven {
    int32_t channel;
    int32_t first, count; ///< in drives
} fid_driven;

/// What acts on a bone. Ops of a bone stand in order, those before the pose first.
typedef enum fid_op_kind {
    FID_OP_FOLLOW,
    FID_OP_AIM,
    FID_OP_SPAN,
    FID_OP_LIMIT,
    FID_OP_SPACES,
    FID_OP_TWIST,
    FID_OP_LAYER,
    FID_OP_IK,     ///< on the first bone of a chain: solves the chain; `index` in iks
    FID_OP_SPLINE, ///< the same; `index` in splines
    FID_OP_CHAIN,  ///< on each later bone: takes its frame from the chain; `index` in chain_bones, `chain` in chains
} fid_op_kind;

typedef struct fid_op {
    int32_t kind;
    int32_t index;
    int32_t chain;      ///< of FID_OP_IK, FID_OP_SPLINE and FID_OP_CHAIN, else -1
    int32_t constraint; ///< of the rig
} fid_op;

enum { FID_TAKE_TRANSLATION = 1, FID_TAKE_ROTATION = 2, FID_TAKE_SCALE = 4 };

enum {
    FID_DRIVEN_TRANSLATION = 1,
    FID_DRIVEN_ROTATION = 2,
    FID_DRIVEN_SCALE = 4,
    FID_EULER = 8, ///< its rotation is needed as angles: ranges or drives look at it
    FID_CARRIED =
        16, ///< nothing but its parent, which it turns with, and its pose moves it, and nobody asks by how much
};

typedef struct fid_program_bone {
    int32_t parent; ///< -1: none
    int32_t first_op;
    uint16_t before, layers, after; ///< numbers of ops
    uint8_t takes;
    uint8_t order; ///< fid_order
    uint8_t flags;
    int32_t departure; ///< its place in the pose's departures, or -1: nobody listens
} fid_program_bone;

/// A step of the evaluation: a bone, or (index >= bone_count) the driven channel `index - bone_count`.
typedef int32_t fid_step;

/// What is solved: immutable, one block of memory, shared by threads. Bones have the indices of the rig.
///
/// Channels are numbered: bone * 9 + axis, then sliders, then weights of constraints.
typedef struct fid_program {
    size_t size;
    float height;
    int32_t bone_count, slider_count, constraint_count, channel_count;
    int32_t placement; ///< bone, or -1
    const fid_program_bone *bones;
    const fid_frame *local; ///< rest relative to the parent's rest, rigid
    const fid_frame *rest;  ///< rest in rig space, rigid
    const float *length;
    const fid_step *steps;
    int32_t step_count;
    const int32_t *dependent_first, *dependents; ///< by step: the later steps that read what it makes, from
                                                 ///< dependent_first[i] to dependent_first[i + 1]
    const int32_t *reader_first, *readers;       ///< by channel: the steps that read its posed value, in the same way
    const fid_op *ops;
    const fid_program_follow *follows;
    const fid_follow_source *follow_sources;
    const fid_program_aim *aims;
    const fid_program_span *spans;
    const fid_program_ik *iks;
    int32_t ik_count;
    const fid_program_spline *splines;
    const fid_spline_control *spline_controls;
    const fid_spline_joint *spline_joints;
    const fid_program_chain *chains;
    const fid_chain_bone *chain_bones;
    int32_t chain_bone_count;
    const fid_program_limit *limits;
    const fid_program_twist *twists;
    const fid_program_layer *layers;
    const fid_layer_key *layer_keys;
    int32_t departure_count;
    const fid_program_spaces *spaces;
    const fid_program_space *space_choices;
    const fid_program_match *matches;
    int32_t match_count;
    const fid_program_step *match_steps;
    const fid_driven *driven;
    int32_t driven_count;
    const fid_program_drive *drives;
    const fid_program_factor *factors;
    int32_t factor_count;
    const float *curve_x, *curve_y, *curve_slope;
    const float *channel_rest; ///< by channel
    const float *channel_min, *channel_max;
    const bool *animatable;
} fid_program;

/// The number of a living channel of the rig that the program was compiled from.
static inline int32_t fid_program_channel(const fid_program *program, fid_channel channel) {
    int32_t slot = (int32_t)channel.owner.slot;
    switch (channel.kind) {
    case FID_CHANNEL_BONE:
        return slot * FID_AXIS_COUNT + (int32_t)channel.axis;
    case FID_CHANNEL_SLIDER:
        return program->bone_count * FID_AXIS_COUNT + slot;
    case FID_CHANNEL_WEIGHT:
        return program->bone_count * FID_AXIS_COUNT + program->slider_count + slot;
    case FID_CHANNEL_NONE:
        break;
    }
    return -1;
}

/// Whether a drive gives a channel its value.
static inline bool fid_program_is_driven(const fid_program *program, int32_t channel) {
    bool found = false;
    for (int32_t i = 0; i < program->driven_count && !found; i++) {
        found = program->driven[i].channel == channel;
    }
    return found;
}

/// The channel of the rig that has the number `channel`.
fid_channel fid_program_channel_of(const fid_program *program, const fid_rig *rig, int32_t channel);

/// Compiles a rig. All problems are added to `report`; with an error among them no program is made.
///
/// @return FID_OK, FID_UNSOUND (see the report: S201 cycles and dead references, S202 a source on its own bone, S204
/// and S205 chains that cannot bend), FID_NO_MEMORY
FID_NODISCARD fid_code fid_program_compile(const fid_rig *rig, fid_report *report, fid_program **out, fid_error *err);

void fid_program_free(fid_program *program);

#endif
