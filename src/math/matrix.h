#ifndef FID_MATH_MATRIX_H
#define FID_MATH_MATRIX_H

#include "math/vec3.h"

/// 4x4 matrices in single precision, column-major, multiplying column vectors. They are for the doors (files, skins,
/// pictures): the solve works on frames. `out` may be one of the operands.

/// out = a b.
void fid_matrix_mul(const float a[16], const float b[16], float out[16]);

/// Where the affine matrix `a` takes a point; its last row is taken for 0 0 0 1.
fid_vec3 fid_matrix_point(const float a[16], fid_vec3 p);

/// The inverse. False where there is none in single precision (a determinant of 0, or entries that are not finite);
/// `out` unchanged.
bool fid_matrix_inverse(const float a[16], float out[16]);

#endif
