#include "program/graph.h"

/// Edges grouped by one of their ends: those of node n stand in other[start[n]] to other[start[n + 1] - 1].
typedef struct adjacency {
    int32_t *start;
    int32_t *other;
} adjacency;

static bool adjacency_make(const fid_graph *graph, adjacency *out) {
    int32_t nodes = graph->node_count, edges = graph->edges.count;
    out->start = fid_memory_get_zero((size_t)nodes + 2, sizeof *out->start);
    out->other = fid_memory_get_zero((size_t)edges + 1, sizeof *out->other);
    if (!out->start || !out->other) {
        fid_memory_free(out->start);
        fid_memory_free(out->other);
        return false;
    }
    for (int32_t i = 0; i < edges; i++) {
        out->start[graph->edges.at[i].from + 2]++;
    }
    for (int32_t i = 2; i < nodes + 2; i++) {
        out->start[i] += out->start[i - 1];
    }
    for (int32_t i = 0; i < edges; i++) {
        out->other[out->start[graph->edges.at[i].from + 1]++] = graph->edges.at[i].to;
    }
    return true;
}

static void adjacency_free(adjacency *list) {
    fid_memory_free(list->start);
    fid_memory_free(list->other);
}

/// A binary heap of node numbers, the smallest on top.
static void heap_add(int32_t *heap, int32_t *count, int32_t node) {
    int32_t i = (*count)++;
    while (i > 0 && heap[(i - 1) / 2] > node) {
        heap[i] = heap[(i - 1) / 2];
        i = (i - 1) / 2;
    }
    heap[i] = node;
}

static int32_t heap_take(int32_t *heap, int32_t *count) {
    int32_t top = heap[0], last = heap[--(*count)], i = 0;
    for (int32_t child = 1; child < *count; child = 2 * i + 1) {
        if (child + 1 < *count && heap[child + 1] < heap[child]) {
            child++;
        }
        if (heap[child] >= last) {
            break;
        }
        heap[i] = heap[child];
        i = child;
    }
    heap[i] = last;
    return top;
}

int32_t fid_graph_sort(const fid_graph *graph, int32_t *order) {
    int32_t nodes = graph->node_count, sorted = -1, free_count = 0;
    adjacency list = {NULL, NULL};
    int32_t *waits = fid_memory_get_zero((size_t)nodes + 1, sizeof *waits);
    int32_t *heap = fid_memory_get_zero((size_t)nodes + 1, sizeof *heap);
    if (waits && heap && adjacency_make(graph, &list)) {
        for (int32_t i = 0; i < graph->edges.count; i++) {
            waits[graph->edges.at[i].to]++;
        }
        for (int32_t i = 0; i < nodes; i++) {
            if (waits[i] == 0) {
                heap_add(heap, &free_count, i);
            }
        }
        sorted = 0;
        while (free_count > 0) {
            int32_t node = heap_take(heap, &free_count);
            order[sorted++] = node;
            for (int32_t i = list.start[node]; i < list.start[node + 1]; i++) {
                if (--waits[list.other[i]] == 0) {
                    heap_add(heap, &free_count, list.other[i]);
                }
            }
        }
        adjacency_free(&list);
    }
    fid_memory_free(waits);
    fid_memory_free(heap);
    return sorted;
}

int32_t fid_graph_components(const fid_graph *graph, int32_t *component) {
    int32_t nodes = graph->node_count, found = -1;
    adjacency list = {NULL, NULL};
    // Per node: when it was met, the earliest it leads back to, the next edge to look at, and the two stacks (path of
    // the walk, open nodes).
    int32_t *work = fid_memory_get_zero(5 * ((size_t)nodes + 1), sizeof *work);
    if (work && adjacency_make(graph, &list)) {
        int32_t *met = work, *low = met + nodes, *next = low + nodes, *path = next + nodes, *open = path + nodes;
        int32_t clock = 0, path_count = 0, open_count = 0;
        found = 0;
        for (int32_t i = 0; i < nodes; i++) {
            component[i] = -1;
            next[i] = list.start[i];
        }
        for (int32_t root = 0; root < nodes; root++) {
            if (met[root] != 0) {
                continue;
            }
            path[path_count++] = root;
            open[open_count++] = root;
            met[root] = low[root] = ++clock;
            while (path_count > 0) {
                int32_t node = path[path_count - 1];
                if (next[node] < list.start[node + 1]) {
                    int32_t to = list.other[next[node]++];
                    if (met[to] == 0) {
                        met[to] = low[to] = ++clock;
                        path[path_count++] = to;
                        open[open_count++] = to;
                    } else if (component[to] < 0 && met[to] < low[node]) {
                        low[node] = met[to];
                    }
                    continue;
                }
                path_count--;
                if (path_count > 0 && low[node] < low[path[path_count - 1]]) {
                    low[path[path_count - 1]] = low[node];
                }
                if (low[node] == met[node]) {
                    int32_t member;
                    do {
                        member = open[--open_count];
                        component[member] = found;
                    } while (member != node);
                    found++;
                }
            }
        }
        adjacency_free(&list);
    }
    fid_memory_free(work);
    return found;
}

int32_t fid_graph_cycle(const fid_graph *graph, const int32_t *component, int32_t start, int32_t *path) {
    int32_t nodes = graph->node_count, length = -1;
    adjacency list = {NULL, NULL};
    int32_t *work = fid_memory_get_zero(2 * ((size_t)nodes + 1), sizeof *work);
    if (work && adjacency_make(graph, &list)) {
        // Breadth first from `start` inside its component; the first edge back to it closes the shortest cycle.
        int32_t *before = work, *queue = work + nodes, head = 0, tail = 0, last = -1;
        for (int32_t i = 0; i < nodes; i++) {
            before[i] = -1;
        }
        queue[tail++] = start;
        while (head < tail && last < 0) {
            int32_t node = queue[head++];
            for (int32_t i = list.start[node]; i < list.start[node + 1] && last < 0; i++) {
                int32_t to = list.other[i];
                if (to == start) {
                    last = node;
                } else if (component[to] == component[start] && before[to] < 0) {
                    before[to] = node;
                    queue[tail++] = to;
                }
            }
        }
        length = 0;
        for (int32_t node = last; node >= 0; node = node == start ? -1 : before[node]) {
            path[length++] = node;
        }
        for (int32_t i = 0; i < length / 2; i++) {
            int32_t swap = path[i];
            path[i] = path[length - 1 - i];
            path[length - 1 - i] = swap;
        }
        adjacency_free(&list);
    }
    fid_memory_free(work);
    return length;
}
