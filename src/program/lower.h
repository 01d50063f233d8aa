#ifndef FID_PROGRAM_LOWER_H
#define FID_PROGRAM_LOWER_H

#include "program/graph.h"
#include "program/program.h"

/// Private to this room: a program under construction, as growing tables. fid_program_compile packs them into one
/// block.

/// When an op acts on its bone.
typedef enum fid_phase { FID_PHASE_BEFORE, FID_PHASE_LAYER, FID_PHASE_AFTER, FID_PHASES } fid_phase;

/// An op and the bone that it acts on; sorted by bone and phase before packing.
typedef struct fid_lowered_op {
    int32_t bone;
    fid_phase phase;
    fid_op op;
} fid_lowered_op;

/// What belongs to each of `count` things: from first[i] to first[i + 1] in `list`.
typedef struct fid_lowered_table {
    int32_t *first, *list;
    int32_t count, pairs;
} fid_lowered_table;

typedef struct fid_lowering {
    const fid_rig *rig;
    fid_report *report;
    bool failed; ///< no memory
    FID_ARRAY(fid_lowered_op) ops;
    FID_ARRAY(fid_program_follow) follows;
    FID_ARRAY(fid_follow_source) follow_sources;
    FID_ARRAY(fid_program_aim) aims;
    FID_ARRAY(fid_program_span) spans;
    FID_ARRAY(fid_program_ik) iks;
    FID_ARRAY(fid_program_spline) splines;
    FID_ARRAY(fid_spline_control) spline_controls;
    FID_ARRAY(fid_spline_joint) spline_joints;
    FID_ARRAY(fid_program_chain) chains;
    FID_ARRAY(fid_chain_bone) chain_bones;
    FID_ARRAY(double) bend_numbers;    ///< lengths, angles and shares of the bends, one after the other
    FID_ARRAY(fid_vec3d) bend_vectors; ///< directions and hinges
    FID_ARRAY(fid_program_limit) limits;
    FID_ARRAY(fid_program_twist) twists;
    FID_ARRAY(fid_program_layer) layers;
    FID_ARRAY(fid_layer_key) layer_keys;
    int32_t *departure_of; ///< by bone: its departure, or -1
    int32_t departure_count;
    FID_ARRAY(fid_program_spaces) spaces;
    FID_ARRAY(fid_program_space) space_choices;
    FID_ARRAY(fid_program_match) matches;
    FID_ARRAY(fid_program_step) match_steps;
    FID_ARRAY(fid_driven) driven;
    FID_ARRAY(fid_program_drive) drives;
    FID_ARRAY(fid_program_factor) factors;
    FID_ARRAY(float) curve_x;
    FID_ARRAY(float) curve_y;
    FID_ARRAY(float) curve_slope;
    int32_t *driven_of;           ///< by channel: index into driven, or -1
    fid_graph graph;              ///< bones, then driven channels
    FID_ARRAY(int32_t) why;       ///< by edge: the constraint that makes it, or FID_WHY_*
    FID_ARRAY(fid_edge) reads;    ///< from a channel to the node that reads it, besides those that are a bone's own
    fid_lowered_table dependents; ///< by step: the steps that read what it makes
    fid_lowered_table readers;    ///< by channel: the steps that read it
} fid_lowering;

enum {
    FID_WHY_PARENT = -1,
    FID_WHY_CHANNEL = -2,
    FID_WHY_CHAIN = -3,
    FID_WHY_DRIVE = -4, ///< this minus the number of a drive
};

/// Adds a finding about an element that was written at `origin`.
FID_PRINTF(7, 8)
void fid_lowering_report(fid_lowering *lowering, const char *code, fid_severity severity, const char *subject,
                         int32_t origin, const char *hint, const char *format, ...);

/// Gives the finding reported last the value that it is about, and its threshold.
void fid_lowering_measured(fid_lowering *lowering, double value, double threshold);

/// Number of a living channel of the rig.
int32_t fid_lowering_channel(const fid_lowering *lowering, fid_channel channel);

fid_input fid_lower_amount(const fid_lowering *lowering, fid_amount amount, float lo, float hi);

/// The weight of constraint `index`: the channel that feeds it, or its own.
fid_input fid_lower_weight(const fid_lowering *lowering, int32_t index);

fid_program_source fid_lower_source(const fid_lowering *lowering, const fid_source *source);

/// Notes that somebody listens to how a bone departs.
void fid_lower_departure(fid_lowering *lowering, int32_t bone);

/// Fills the two tables of who depends on whom, once the steps are sorted: `order` are the nodes of the steps.
void fid_lower_dependents(fid_lowering *lowering, const int32_t *order, int32_t channel_count);
void fid_lowered_table_clear(fid_lowered_table *table);

/// Adds the tables and ops of one constraint.
void fid_lower_constraint(fid_lowering *lowering, int32_t index);

/// Adds the drives, in the order of the channels that they drive, what they read, and their curves; fills `driven_of`.
void fid_lower_drives(fid_lowering *lowering, int32_t channel_count);

/// The unit vector of a fid_aim_axis.
fid_vec3 fid_lower_axis(int32_t axis);

/// Adds the keys and ops of one pose layer.
void fid_lower_layer(fid_lowering *lowering, int32_t index);

/// Adds the steps of one match, after all constraints.
void fid_lower_match(fid_lowering *lowering, int32_t index);

/// Adds the chain of constraint `index` with the ops of its bones, the first of them `solver`; the chain's place in
/// the table.
int32_t fid_lower_chain(fid_lowering *lowering, int32_t index, fid_op_kind solver, int32_t solved_by);

/// As fid_lower_constraint for a spline: the curve and where the joints lie on it; findings where it has no length.
void fid_lower_spline(fid_lowering *lowering, int32_t index);

/// As fid_lower_constraint for ik: the rest shape of the chain, its turns and distances; findings where it cannot bend.
void fid_lower_ik(fid_lowering *lowering, int32_t index);

#endif
