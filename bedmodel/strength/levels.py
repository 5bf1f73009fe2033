"""Solve a frame's equations level by level, for a small part of what a full solution costs.

Nodes are sorted by how many members lead from a node at one end of the frame to them.
Each level then meets only the one before and the one after, so elimination goes from
level to level in small blocks. A bed is long and thin in this sense: twenty-odd levels
of a few nodes. Small blocks also keep the linear algebra library on one thread, where
it is quickest for this.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def levels(count: int, links: Iterable[tuple[int, int]]) -> list[list[int]]:
    """Sort nodes into levels, each linked only to itself and its neighbours.

    Parts of the frame that no member joins follow one after another.
    """
    near: list[list[int]] = [[] for _ in range(count)]
    for a, b in links:
        near[a].append(b)
        near[b].append(a)
    found: list[list[int]] = []
    placed: set[int] = set()
    for first in range(count):
        if first in placed:
            continue
        # The far end of a first walk is a good place to start the second.
        start = min(_walk(first, near)[-1])
        walk = _walk(start, near)
        placed.update(node for level in walk for node in level)
        found += walk
    return found


def _walk(start: int, near: Sequence[Sequence[int]]) -> list[list[int]]:
    seen, level, walk = {start}, [start], []
    while level:
        walk.append(level)
        following = []
        for node in level:
            for other in near[node]:
                if other not in seen:
                    seen.add(other)
                    following.append(other)
        level = following
    return walk


def solve_levels(matrix: Array, right: Array, blocks: Sequence[Array]) -> Array:
    """Solve ``matrix @ x = right`` for a symmetric matrix that is block tridiagonal.

    ``blocks`` are the indices of each level in order; rows in none of them stay zero.
    Raises numpy's LinAlgError for a singular matrix.
    """
    import numpy as np

    solved = np.zeros_like(right)
    blocks = [block for block in blocks if len(block)]
    done: list[tuple[Array, Array, Array]] = []
    for i, block in enumerate(blocks):
        own = matrix[np.ix_(block, block)]
        given = right[block]
        if i:
            link, passed = done[-1][1], done[-1][2]
            own = own - link.T @ passed[:, : len(block)]
            given = given - link.T @ passed[:, len(block) :]
        if i + 1 < len(blocks):
            link = matrix[np.ix_(block, blocks[i + 1])]
            passed = np.linalg.solve(own, np.concatenate([link, given], axis=1))
        else:
            link = np.zeros((len(block), 0))
            passed = np.linalg.solve(own, given)
        done.append((block, link, passed))
    after = None
    for block, link, passed in reversed(done):
        wide = link.shape[1]
        x = passed[:, wide:]
        if after is not None:
            x = x - passed[:, :wide] @ after
        solved[block] = x
        after = x
    return solved
