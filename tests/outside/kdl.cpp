#include "outside/kdl.h"

#include <kdl/chain.hpp>
#include <kdl/chainfksolverpos_recursive.hpp>
#include <kdl/chainiksolverpos_lma.hpp>

struct kdl_chain {
    KDL::Chain chain;
};

static const KDL::Joint::JointType shifts[] = {KDL::Joint::TransX, KDL::Joint::TransY, KDL::Joint::TransZ};
static const KDL::Joint::JointType turns[] = {KDL::Joint::RotX, KDL::Joint::RotY, KDL::Joint::RotZ};

kdl_chain *kdl_chain_new(void) { return new kdl_chain; }

void kdl_chain_free(kdl_chain *chain) { delete chain; }

void kdl_chain_add_frame(kdl_chain *chain, const double t[3], const double q[4]) {
    KDL::Frame frame(KDL::Rotation::Quaternion(q[0], q[1], q[2], q[3]), KDL::Vector(t[0], t[1], t[2]));
    chain->chain.addSegment(KDL::Segment(KDL::Joint(KDL::Joint::None), frame));
}

void kdl_chain_add_shift(kdl_chain *chain, int axis) {
    chain->chain.addSegment(KDL::Segment(KDL::Joint(shifts[axis])));
}

void kdl_chain_add_turn(kdl_chain *chain, int axis) { chain->chain.addSegment(KDL::Segment(KDL::Joint(turns[axis]))); }

int kdl_chain_count(const kdl_chain *chain) { return static_cast<int>(chain->chain.getNrOfSegments()); }

static KDL::JntArray joints_of(const kdl_chain *chain, const double *values) {
    KDL::JntArray out(chain->chain.getNrOfJoints());
    for (unsigned i = 0; i < out.rows(); i++) {
        out(i) = values[i];
    }
    return out;
}

void kdl_chain_forward(const kdl_chain *chain, const double *values, int count, double matrix[16]) {
    KDL::ChainFkSolverPos_recursive solver(chain->chain);
    KDL::Frame frame;
    solver.JntToCart(joints_of(chain, values), frame, count);
    for (int column = 0; column < 4; column++) {
        for (int row = 0; row < 4; row++) {
            matrix[4 * column + row] = frame(row, column);
        }
    }
}

bool kdl_chain_reach(const kdl_chain *chain, const double goal[3], double *values) {
    Eigen::Matrix<double, 6, 1> weights;
    weights << 1, 1, 1, 0, 0, 0;
    KDL::ChainIkSolverPos_LMA solver(chain->chain, weights, 1e-8, 500);
    KDL::JntArray out(chain->chain.getNrOfJoints());
    KDL::Vector place(goal[0], goal[1], goal[2]);
    solver.CartToJnt(joints_of(chain, values), KDL::Frame(place), out);
    for (unsigned i = 0; i < out.rows(); i++) {
        values[i] = out(i);
    }
    double matrix[16];
    kdl_chain_forward(chain, values, kdl_chain_count(chain), matrix);
    return (KDL::Vector(matrix[12], matrix[13], matrix[14]) - place).Norm() <= 1e-7;
}
