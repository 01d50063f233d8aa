#include "math/matrix.h"

#include "math/scalar.h"

#include <cglm/mat4.h>
#include <string.h>

// The library takes no const pointers and wants its matrices aligned, hence the copies.

void fid_matrix_mul(const float a[16], const float b[16], float out[16]) {
    mat4 left, right, product;
    memcpy(left, a, sizeof left);
    memcpy(right, b, sizeof right);
    glm_mat4_mul(left, right, product);
    memcpy(out, product, sizeof product);
}

fid_vec3 fid_matrix_point(const float a[16], fid_vec3 p) {
    mat4 matrix;
    memcpy(matrix, a, sizeof matrix);
    vec3 point = {p.x, p.y, p.z}, moved;
    glm_mat4_mulv3(matrix, point, 1.0f, moved);
    return (fid_vec3){moved[0], moved[1], moved[2]};
}

bool fid_matrix_inverse(const float a[16], float out[16]) {
    mat4 matrix, inverse;
    memcpy(matrix, a, sizeof matrix);
    glm_mat4_inv(matrix, inverse); // divides by the determinant, whatever it is
    float values[16];
    memcpy(values, inverse, sizeof values);
    for (int i = 0; i < 16; ++i) {
        if (!fid_is_finite(values[i])) {
            return false;
        }
    }
    memcpy(out, values, sizeof values);
    return true;
}
