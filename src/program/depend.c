#include "program/lower.h"

#include <string.h>

/// Turns pairs (from, to) into a table: `first` has count + 1 entries, what belongs to i stands in `list` from first[i]
/// to first[i + 1].
static bool make_table(const fid_edge *pairs, int32_t pair_count, int32_t count, int32_t *first, int32_t *list) {
    memset(first, 0, ((size_t)count + 1) * sizeof *first);
    for (int32_t i = 0; i < pair_count; i++) {
        first[pairs[i].from + 1]++;
    }
    for (int32_t i = 0; i < count; i++) {
        first[i + 1] += first[i];
    }
    int32_t *next = fid_memory_get(((size_t)count + 1) * sizeof *next);
    if (!next) {
        return false;
    }
    memcpy(next, first, ((size_t)count + 1) * sizeof *next);
    for (int32_t i = 0; i < pair_count; i++) {
        list[next[pairs[i].from]++] = pairs[i].to;
    }
    fid_memory_free(next);
    return true;
}

static bool reserve(fid_lowered_table *table, int32_t count, int32_t pairs) {
    table->first = fid_memory_get(((size_t)count + 1) * sizeof *table->first);
    table->list = fid_memory_get(((size_t)pairs + 1) * sizeof *table->list);
    table->count = count;
    table->pairs = pairs;
    return table->first && table->list;
}

void fid_lowered_table_clear(fid_lowered_table *table) {
    fid_memory_free(table->first);
    fid_memory_free(table->list);
    table->first = table->list = NULL;
}

/// True where what happens at `from` never changes what `to` reads: in rig space the placement rests, whatever hangs
/// from it.
static bool is_still(const fid_lowering *lowering, int32_t edge) {
    return lowering->why.at[edge] == FID_WHY_PARENT &&
           lowering->graph.edges.at[edge].from == fid_rig_bone_index(lowering->rig, lowering->rig->placement);
}

void fid_lower_dependents(fid_lowering *lowering, const int32_t *order, int32_t channel_count) {
    int32_t nodes = lowering->graph.node_count, bones = lowering->rig->bones.count, edges = 0;
    int32_t most =
        lowering->graph.edges.count + lowering->reads.count + lowering->driven.count + bones * FID_AXIS_COUNT;
    int32_t *position = fid_memory_get(((size_t)nodes + 1) * sizeof *position);
    fid_edge *pairs = fid_memory_get(((size_t)most + 1) * sizeof *pairs);
    bool done = position && pairs;
    for (int32_t i = 0; i < nodes && done; i++) {
        position[order[i]] = i;
    }
    for (int32_t i = 0; i < lowering->graph.edges.count && done; i++) {
        fid_edge edge = lowering->graph.edges.at[i];
        if (!is_still(lowering, i)) {
            pairs[edges++] = (fid_edge){position[edge.from], position[edge.to]};
        }
    }
    done = done && reserve(&lowering->dependents, nodes, edges) &&
           make_table(pairs, edges, nodes, lowering->dependents.first, lowering->dependents.list);
    // A bone reads its own nine channels, a driven channel what was posed on it.
    int32_t reads = 0;
    for (int32_t i = 0; i < channel_count && done; i++) {
        int32_t driven = lowering->driven_of[i];
        if (driven >= 0) {
            pairs[reads++] = (fid_edge){i, position[bones + driven]};
        } else if (i < bones * FID_AXIS_COUNT) {
            pairs[reads++] = (fid_edge){i, position[i / FID_AXIS_COUNT]};
        }
    }
    for (int32_t i = 0; i < lowering->reads.count && done; i++) {
        fid_edge read = lowering->reads.at[i];
        pairs[reads++] = (fid_edge){read.from, position[read.to]};
    }
    done = done && reserve(&lowering->readers, channel_count, reads) &&
           make_table(pairs, reads, channel_count, lowering->readers.first, lowering->readers.list);
    lowering->failed |= !done;
    fid_memory_free(position);
    fid_memory_free(pairs);
}
