#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "program/graph.h"

/// tinyDG of R. Sedgewick and K. Wayne, "Algorithms", 4th edition, section 4.2: 13 vertices, 22 edges, five strong
/// components.
static const fid_edge tiny[] = {{4, 2},  {2, 3},  {3, 2}, {6, 0},   {0, 1},  {2, 0}, {11, 12}, {12, 9},
                                {9, 10}, {9, 11}, {7, 9}, {10, 12}, {11, 4}, {4, 3}, {3, 5},   {6, 8},
                                {8, 6},  {5, 4},  {0, 5}, {6, 4},   {6, 9},  {7, 6}};

static fid_graph graph_of(int32_t nodes, const fid_edge *edges, int32_t count) {
    fid_graph graph = {.node_count = nodes};
    for (int32_t i = 0; i < count; i++) {
        assert_true(fid_array_push(&graph.edges, edges[i]));
    }
    return graph;
}

static void components_of_the_published_graph_come_out_in_the_published_order(void **state) {
    (void)state;
    fid_graph graph = graph_of(13, tiny, 22);
    int32_t component[13];
    assert_int_equal(fid_graph_components(&graph, component), 5);
    // Emitted order {1} {0,2,3,4,5} {9,10,11,12} {6,8} {7}.
    static const int32_t expected[13] = {1, 0, 1, 1, 1, 1, 3, 4, 3, 2, 2, 2, 2};
    for (int i = 0; i < 13; i++) {
        assert_int_equal(component[i], expected[i]);
    }
    fid_array_clear(&graph.edges);
}

static void sorting_stalls_exactly_where_there_is_a_cycle(void **state) {
    (void)state;
    fid_graph graph = graph_of(13, tiny, 22);
    int32_t order[13];
    // 7 needs nothing; 6 and 8 need each other, and everything else lies behind them.
    assert_int_equal(fid_graph_sort(&graph, order), 1);
    assert_int_equal(order[0], 7);
    fid_array_clear(&graph.edges);
}

static void sorted_edges_lead_forward_and_small_numbers_come_first(void **state) {
    (void)state;
    static const fid_edge edges[] = {{5, 0}, {5, 2}, {2, 3}, {3, 1}, {4, 0}, {4, 1}, {4, 1}};
    fid_graph graph = graph_of(6, edges, 7);
    int32_t order[6];
    static const int32_t expected[6] = {4, 5, 0, 2, 3, 1};
    assert_int_equal(fid_graph_sort(&graph, order), 6);
    for (int i = 0; i < 6; i++) {
        assert_int_equal(order[i], expected[i]);
    }
    fid_array_clear(&graph.edges);
}

static void the_shortest_cycle_through_a_node_is_named_in_order(void **state) {
    (void)state;
    fid_graph graph = graph_of(13, tiny, 22);
    int32_t component[13], path[13];
    (void)fid_graph_components(&graph, component);
    assert_int_equal(fid_graph_cycle(&graph, component, 2, path), 2);
    assert_int_equal(path[0], 2);
    assert_int_equal(path[1], 3);
    // 9 -> 11 -> 12 -> 9 and 9 -> 10 -> 12 -> 9 are equally short.
    assert_int_equal(fid_graph_cycle(&graph, component, 9, path), 3);
    assert_int_equal(path[0], 9);
    assert_int_equal(path[2], 12);
    assert_int_equal(fid_graph_cycle(&graph, component, 1, path), 0);
    fid_array_clear(&graph.edges);
}

static void a_node_that_needs_itself_is_a_cycle(void **state) {
    (void)state;
    static const fid_edge edges[] = {{0, 1}, {1, 1}};
    fid_graph graph = graph_of(2, edges, 2);
    int32_t order[2], component[2], path[2];
    assert_int_equal(fid_graph_sort(&graph, order), 1);
    assert_int_equal(fid_graph_components(&graph, component), 2);
    assert_int_equal(fid_graph_cycle(&graph, component, 1, path), 1);
    assert_int_equal(path[0], 1);
    fid_array_clear(&graph.edges);
}

static void a_chain_of_a_hundred_thousand_needs_no_deep_stack(void **state) {
    (void)state;
    enum { COUNT = 100000 };
    fid_graph graph = {.node_count = COUNT};
    for (int32_t i = 0; i < COUNT; i++) {
        fid_edge edge = {i, (i + 1) % COUNT};
        assert_true(fid_array_push(&graph.edges, edge));
    }
    int32_t *room = fid_memory_get_zero(2 * COUNT, sizeof *room);
    assert_non_null(room);
    assert_int_equal(fid_graph_sort(&graph, room), 0);
    assert_int_equal(fid_graph_components(&graph, room), 1);
    assert_int_equal(fid_graph_cycle(&graph, room, 77, room + COUNT), COUNT);
    fid_memory_free(room);
    fid_array_clear(&graph.edges);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(components_of_the_published_graph_come_out_in_the_published_order),
        cmocka_unit_test(sorting_stalls_exactly_where_there_is_a_cycle),
        cmocka_unit_test(sorted_edges_lead_forward_and_small_numbers_come_first),
        cmocka_unit_test(the_shortest_cycle_through_a_node_is_named_in_order),
        cmocka_unit_test(a_node_that_needs_itself_is_a_cycle),
        cmocka_unit_test(a_chain_of_a_hundred_thousand_needs_no_deep_stack),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
