"""What is reached along a lineage, beside scipy's search of the same graph.

Source: scipy.sparse.csgraph.breadth_first_order, an implementation of its own.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import breadth_first_order

from hygiene.tracing.lineage import Lineage, Link, Node

START = datetime(2026, 3, 2, tzinfo=UTC)


def a_graph(chance: Random, size: int) -> list[tuple[int, int]]:
    """Pairs of numbers, the smaller one first, so that nothing runs in a ring."""
    pairs = ((a, b) for a in range(size) for b in range(a + 1, size))
    return [pair for pair in pairs if chance.random() < 1.5 / size]


def links(pairs: list[tuple[int, int]]) -> list[Link]:
    return [
        Link(
            Node("batch", f"{a}"),
            Node("batch", f"{b}"),
            "sown",
            START + timedelta(hours=n),
            f"shed/{n}",
        )
        for n, (a, b) in enumerate(pairs)
    ]


@pytest.mark.parametrize("seed", range(12))
def test_forward_and_back_reach_what_scipy_reaches(seed: int) -> None:
    """From every node of a random graph, in both directions."""
    chance, size = Random(f"lineage {seed}"), 24
    pairs = a_graph(chance, size)
    lineage = Lineage(links(pairs))
    matrix = np.zeros((size, size))
    for a, b in pairs:
        matrix[a, b] = 1
    for node in range(size):
        for graph, found in (
            (matrix, {n.target for n in lineage.forward(Node("batch", f"{node}"))}),
            (matrix.T, {n.source for n in lineage.back(Node("batch", f"{node}"))}),
        ):
            reached = breadth_first_order(
                csr_matrix(graph), node, return_predecessors=False
            )
            assert {int(n.code) for n in found} == {int(n) for n in reached} - {node}
