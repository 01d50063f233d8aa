#ifndef FID_TESTS_BENCH_CHAIN_H
#define FID_TESTS_BENCH_CHAIN_H

/// A chain of bones as a rig, for benchmarks that are written in C++.
typedef struct bench_chain bench_chain;

/// `count` bones of `length` m along +z, each turned by `bend` degrees from the one before. 0: a plain hierarchy.
/// Otherwise the chain is turned so that its end lies along +z, and has a bone at its end and an ik to a goal.
bench_chain *bench_chain_new(int count, double length, double bend);
void bench_chain_free(bench_chain *chain);

/// Turns bone `i` of a plain hierarchy by so many radians about x.
void bench_chain_turn(bench_chain *chain, int i, double radians);

/// Puts the goal there and solves.
void bench_chain_reach(bench_chain *chain, const double goal[3]);

void bench_chain_solve(bench_chain *chain);

/// Where the end is.
void bench_chain_end(const bench_chain *chain, double out[3]);

#endif
