#ifndef FID_TESTS_OUTSIDE_KDL_H
#define FID_TESTS_OUTSIDE_KDL_H

#include <stdbool.h>

/// What the tests in C take from Orocos KDL (Debian package liborocos-kdl-dev): a chain that is built up from its base.
#ifdef __cplusplus
extern "C" {
#endif

typedef struct kdl_chain kdl_chain;

kdl_chain *kdl_chain_new(void);
void kdl_chain_free(kdl_chain *chain);

/// A place that does not move: translation in metres, unit quaternion x, y, z, w.
void kdl_chain_add_frame(kdl_chain *chain, const double translation[3], const double quaternion[4]);

/// A joint that shifts along, or turns about, axis 0 to 2.
void kdl_chain_add_shift(kdl_chain *chain, int axis);
void kdl_chain_add_turn(kdl_chain *chain, int axis);

/// How many frames and joints there are so far.
int kdl_chain_count(const kdl_chain *chain);

/// The column-major matrix behind the first `count` of them; `values` are those of all joints: metres, radians.
void kdl_chain_forward(const kdl_chain *chain, const double *values, int count, double matrix[16]);

/// Looks for values that bring the end to `goal`, from `values` on, by the Levenberg-Marquardt solver; false where it
/// finds none within 1e-7 m.
bool kdl_chain_reach(const kdl_chain *chain, const double goal[3], double *values);

#ifdef __cplusplus
}
#endif

#endif
