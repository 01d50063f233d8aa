#include "base/threads.h"
#include "solve/solve.h"

typedef struct batch {
    const fid_program *program;
    fid_pose *const *poses;
} batch;

static void solve_one(void *user, int64_t i) {
    const batch *of = user;
    fid_solve(of->program, of->poses[i]);
}

void fid_solve_many(const fid_program *program, fid_pose *const *poses, int32_t count, int32_t threads) {
    batch of = {program, poses};
    fid_threads_each(count, threads, solve_one, &of);
}
