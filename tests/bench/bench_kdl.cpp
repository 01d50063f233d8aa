// Chains beside Orocos KDL (Debian package liborocos-kdl-dev): forward kinematics of a chain of 200 joints, and ik of a
// plane chain to the same reachable goals, ours with the whole rig around it and KDL's Levenberg-Marquardt position
// solver begun at rest. Both sides run in turn in one process. Prints one line of JSON for each case.

#include <kdl/chain.hpp>
#include <kdl/chainfksolverpos_recursive.hpp>
#include <kdl/chainiksolverpos_lma.hpp>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <vector>

extern "C" {
#include "base/clock.h"
#include "bench/chain.h"
}

static double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

/// Each joint turns about x; rest bends by `bend` degrees, the end lies along +z of the base.
static KDL::Chain make_chain(int count, double length) {
    KDL::Chain chain;
    for (int i = 0; i < count; i++) {
        chain.addSegment(KDL::Segment(KDL::Joint(KDL::Joint::RotX), KDL::Frame(KDL::Vector(0, 0, length))));
    }
    return chain;
}

static void bench_forward() {
    const int joints = 200;
    KDL::Chain chain = make_chain(joints, 0.1);
    KDL::ChainFkSolverPos_recursive forward(chain);
    KDL::JntArray angles(joints);
    bench_chain *ours = bench_chain_new(joints, 0.1, 0);
    for (int i = 0; i < joints; i++) {
        angles(i) = 0.01 * (i % 7);
        bench_chain_turn(ours, i, 0.01 * (i % 7));
    }
    std::vector<double> mine, theirs;
    double end[3];
    KDL::Frame frame;
    for (int round = 0; round < 15; round++) {
        double start = fid_clock_seconds();
        for (int i = 0; i < 2000; i++) {
            bench_chain_solve(ours);
        }
        double middle = fid_clock_seconds();
        for (int i = 0; i < 2000; i++) {
            forward.JntToCart(angles, frame);
        }
        mine.push_back((middle - start) / 2000 / joints);
        theirs.push_back((fid_clock_seconds() - middle) / 2000 / joints);
    }
    bench_chain_end(ours, end);
    double apart = std::hypot(std::hypot(end[0] - frame.p.x(), end[1] - frame.p.y()), end[2] - frame.p.z());
    std::printf(
        "{\"case\": \"forward kinematics\", \"joints\": %d, \"fid_ns_per_joint\": %.1f, \"kdl_ns_per_joint\": %.1f, "
        "\"times_as_fast\": %.2f, \"ends_apart_m\": %.1e}\n",
        joints, 1e9 * median(mine), 1e9 * median(theirs), median(theirs) / median(mine), apart);
    bench_chain_free(ours);
}

static void bench_ik(int count) {
    const double total = 1, bend = 20;
    const int goals = 1000, repeat = 8; // a look at the clock takes as long as a bone
    bench_chain *ours = bench_chain_new(count, total / count, bend);
    KDL::Chain chain = make_chain(count, total / count);
    Eigen::Matrix<double, 6, 1> weights;
    weights << 1, 1, 1, 0, 0, 0;
    KDL::ChainIkSolverPos_LMA solver(chain, weights, 1e-6, 500);
    KDL::ChainFkSolverPos_recursive forward(chain);
    KDL::JntArray rest(count), out(count);
    for (int i = 0; i < count; i++) {
        rest(i) = (i > 0 ? bend : -bend * (count - 1) / 2) * M_PI / 180;
    }
    std::mt19937_64 random(11);
    std::uniform_real_distribution<double> distance(0.3, 0.95), angle(-2.6, 2.6);
    std::vector<double> mine, theirs;
    int met = 0, met_theirs = 0;
    for (int i = 0; i < goals; i++) {
        double d = distance(random), a = angle(random), goal[3] = {0, -d * std::sin(a), d * std::cos(a)}, end[3];
        double best = 1e9, other = 1e9;
        for (int again = 0; again < 5; again++) {
            double start = fid_clock_seconds();
            for (int j = 0; j < repeat; j++) {
                bench_chain_reach(ours, goal);
            }
            double middle = fid_clock_seconds();
            for (int j = 0; j < repeat; j++) {
                solver.CartToJnt(rest, KDL::Frame(KDL::Vector(goal[0], goal[1], goal[2])), out);
            }
            best = std::min(best, (middle - start) / repeat);
            other = std::min(other, (fid_clock_seconds() - middle) / repeat);
        }
        mine.push_back(best);
        theirs.push_back(other);
        bench_chain_end(ours, end);
        met += std::hypot(std::hypot(end[0] - goal[0], end[1] - goal[1]), end[2] - goal[2]) <= 1e-4 * total;
        KDL::Frame frame;
        forward.JntToCart(out, frame);
        met_theirs +=
            std::hypot(std::hypot(frame.p.x() - goal[0], frame.p.y() - goal[1]), frame.p.z() - goal[2]) <= 1e-4 * total;
    }
    std::printf("{\"case\": \"ik\", \"segments\": %d, \"goals\": %d, \"fid_us\": %.3f, \"kdl_us\": %.3f, "
                "\"times_as_fast\": %.1f, "
                "\"fid_met\": %d, \"kdl_met\": %d}\n",
                count, goals, 1e6 * median(mine), 1e6 * median(theirs), median(theirs) / median(mine), met, met_theirs);
    bench_chain_free(ours);
}

int main() {
    bench_forward();
    bench_ik(2);
    bench_ik(3);
    bench_ik(10);
    return 0;
}
