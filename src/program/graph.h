#ifndef FID_PROGRAM_GRAPH_H
#define FID_PROGRAM_GRAPH_H

#include "base/array.h"

/// A directed graph of nodes 0 to node_count - 1: an edge says that `to` needs `from`.
typedef struct fid_edge {
    int32_t from, to;
} fid_edge;

typedef struct fid_graph {
    int32_t node_count;
    FID_ARRAY(fid_edge) edges; ///< in any order; the same edge may stand there twice
} fid_graph;

/// Sorts the nodes so that every edge leads forward; among those that are free the smallest comes first. `order` has
/// room for node_count. Returns how many were sorted: fewer than node_count exactly where there is a cycle. -1: no
/// memory. A. B. Kahn, "Topological sorting of large networks", CACM 5(11), 1962.
int32_t fid_graph_sort(const fid_graph *graph, int32_t *order);

/// The strongly connected components: `component[node]` numbers them from 0 in the order in which they are completed
/// (what a component needs ... is numbered by reachability along edges: a component is completed after all that it
/// leads to). Returns their number, -1: no memory. R. Tarjan, "Depth-first search and linear graph algorithms", SIAM J.
/// Comput. 1(2), 1972. Iterative.
int32_t fid_graph_components(const fid_graph *graph, int32_t *component);

/// One cycle inside the component of `start`, from `start` along edges back to it; the shortest there is. Writes the
/// nodes to `path` (room for node_count) and returns their number, 0 if there is none, -1: no memory.
int32_t fid_graph_cycle(const fid_graph *graph, const int32_t *component, int32_t start, int32_t *path);

#endif
