"""Who descends from whom, and what is refused."""

import itertools

import networkx
import pytest
from hypothesis import given, settings

from crosses.calc.errors import BadInput
from crosses.calc.pedigree.graph import Parentage, Pedigree
from crosses.calc.pedigree.lineage import (
    ancestors,
    descendants,
    generation_depth,
    would_make_loop,
)
from tests.calc.pedigrees import brapi_tree, parent_pairs, pedigrees


def refusal(*rows):
    with pytest.raises(BadInput) as refused:
        Pedigree.build(rows)
    return refused.value


def test_a_loop_is_refused_by_name():
    refused = refusal(
        Parentage("N-17", "N-3", (("Lemon", 1),)), Parentage("N-3", "N-17"), Parentage("Lemon")
    )
    assert refused.message == "N-17 would be its own ancestor: N-17 -> N-3 -> N-17."


def test_a_plant_below_a_loop_is_not_named_in_it():
    refused = refusal(
        Parentage("below", "a"), Parentage("a", "b"), Parentage("b", None, (("a", 1),))
    )
    assert "below" not in refused.message


def test_a_loop_through_a_clone_is_refused():
    refused = refusal(
        Parentage("mother", "offset"),
        Parentage("offset", clone_of="daughter"),
        Parentage("daughter", "mother"),
    )
    assert {"mother", "offset", "daughter"} <= set(
        refused.message.rstrip(".").replace(":", "").split()
    )


def test_two_clones_of_each_other_are_a_loop():
    assert (
        "its own ancestor"
        in refusal(Parentage("a", clone_of="b"), Parentage("b", clone_of="a")).message
    )


def test_a_plant_that_is_its_own_parent_is_a_loop():
    assert refusal(Parentage("a", "a")).message == "a would be its own ancestor: a -> a."


@pytest.mark.parametrize(
    ("rows", "field"),
    [
        ([Parentage("a"), Parentage("a")], "plant"),
        ([Parentage("a", "b")], "seed_parent"),
        ([Parentage("a", None, (("b", 1),))], "pollen"),
        ([Parentage("a", clone_of="b")], "clone_of"),
        ([Parentage("a"), Parentage("b"), Parentage("c", "a", clone_of="b")], "clone_of"),
        ([Parentage("a"), Parentage("b", "a", stated_inbreeding=0.5)], "stated_inbreeding"),
        ([Parentage("a", stated_inbreeding=1.5)], "stated_inbreeding"),
        ([Parentage("a", ploidy=0)], "ploidy"),
        ([Parentage("a"), Parentage("b"), Parentage("c", "a", (("a", 0.7), ("b", 0.7)))], "pollen"),
        ([Parentage("a"), Parentage("c", "a", (("a", 0.5), ("a", 0.5)))], "pollen"),
        ([Parentage("a"), Parentage("c", "a", (("a", 0),))], "pollen"),
        ([Parentage("a", taxon="elatior"), Parentage("b", clone_of="a", taxon="veris")], "taxon"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(rows, field):
    assert refusal(*rows).field == field


def test_a_clone_brings_what_was_stated_of_it_to_its_genotype():
    pedigree = Pedigree.build([Parentage("a"), Parentage("b", clone_of="a", taxon="veris")])
    assert pedigree.taxa == ("veris",)


def test_an_empty_pedigree_is_no_error():
    assert Pedigree.build([]).genotypes == ()


# The worked examples of the BrAPI v2.1 documentation (best practices, pedigree tree).
def test_the_published_tree_gives_the_published_neighbours():
    tree = brapi_tree()
    assert ancestors(tree, "01", 1) | descendants(tree, "01", 1) == {"05", "06"}
    both = descendants(tree, "03", 1) | descendants(tree, "04", 1)
    assert both == {"07", "08"}
    assert ancestors(tree, "12", 2) == {"09", "10", "05", "06", "07"}
    assert descendants(tree, "03", 2) == {"07", "08", "10", "11", "13"}
    assert ancestors(tree, "07") | descendants(tree, "07") == {"03", "04", "10", "11", "12", "13"}


@settings(max_examples=60, deadline=None)
@given(pedigrees())
def test_ancestors_and_descendants_are_those_of_a_general_graph_library(rows):
    pedigree = Pedigree.build(rows)
    graph = networkx.DiGraph()
    graph.add_nodes_from(row.plant for row in rows)
    graph.add_edges_from(parent_pairs(rows))
    for row in rows:
        assert ancestors(pedigree, row.plant) == networkx.ancestors(graph, row.plant)
        assert descendants(pedigree, row.plant) == networkx.descendants(graph, row.plant)
        longest = networkx.dag_longest_path_length(
            graph.subgraph(networkx.ancestors(graph, row.plant) | {row.plant})
        )
        assert generation_depth(pedigree, row.plant) == longest


@settings(max_examples=60, deadline=None)
@given(pedigrees())
def test_a_form_refuses_exactly_the_parents_that_a_general_library_finds_to_close_a_loop(rows):
    graph = networkx.DiGraph()
    graph.add_nodes_from(row.plant for row in rows)
    graph.add_edges_from(parent_pairs(rows))
    above = {plant: list(graph.predecessors(plant)) for plant in graph}
    child = rows[len(rows) // 2].plant
    for row in rows:
        loop = would_make_loop(above, child, row.plant)
        assert bool(loop) == (row.plant == child or networkx.has_path(graph, child, row.plant))
        if loop:
            assert loop[0] == loop[-1] == child
            assert loop[1] == row.plant
            assert all(graph.has_edge(up, down) for down, up in itertools.pairwise(loop[1:]))


def test_a_long_line_needs_no_recursion():
    line = [Parentage(number, number - 1 if number else None) for number in range(5000)]
    pedigree = Pedigree.build(reversed(line))
    assert generation_depth(pedigree, 4999) == 4999
    assert would_make_loop({n: [n - 1] for n in range(1, 5000)}, 0, 4999)[:2] == (0, 4999)
