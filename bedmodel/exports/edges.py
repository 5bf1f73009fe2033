"""Where a draughtsman would put a line: found between the pixels of a finished view.

A line stands where one piece ends and another or the background begins, where a
piece passes in front of itself, and along the arris between two faces. A
rounded arris gets one line along its middle, like a sharp one, so that two
edges a few millimetres apart never run together.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bedmodel.exports.raster import Singles
from bedmodel.exports.scene import Buffers

_JUMP = 8.0  # depth (mm) by which a piece must pass in front of itself
_BEND = (0.29, 0.85)  # 1 - cosine between two faces: no line yet, and the full line
_OUTSIDE, _MEETING, _ARRIS = 250, 230, 150  # how dark, of 255


def strengths(buffers: Buffers, line: int) -> NDArray[np.uint8]:
    """How dark the line in each pixel is (0 to 255), for lines of ``line`` pixels."""
    across = _along_rows(buffers.piece, buffers.depth, buffers.normal, line)
    turned = np.swapaxes(buffers.normal, 0, 1)
    down = _along_rows(buffers.piece.T, buffers.depth.T, turned, line)
    return _softened(np.maximum(across, down.T))


def owners(piece: NDArray[np.int16], line: int) -> NDArray[np.int16]:
    """The piece that a line in each pixel belongs to: its own, or one beside it."""
    own = np.maximum(piece, -1)
    for _ in range(line + 1):
        for side in (own, own.T):
            np.copyto(side[:, 1:], side[:, :-1], where=side[:, 1:] < 0)
            np.copyto(side[:, :-1], side[:, 1:], where=side[:, :-1] < 0)
    return own


def _along_rows(
    piece: NDArray[np.int16], depth: Singles, normal: Singles, line: int
) -> NDArray[np.uint8]:
    """Lines between neighbours in each row."""
    own = np.maximum(piece, -1)
    left, right = own[:, :-1], own[:, 1:]
    changed = left != right
    dark = np.zeros(changed.shape, dtype=np.uint8)
    dark[:, line:-line] = _bent(own, normal, line)
    dark[:, 1:-1][_jumps(own, depth)] = _MEETING
    dark[changed] = _MEETING
    dark[changed & ((left < 0) | (right < 0))] = _OUTSIDE
    return _widened(dark, line)


def _jumps(own: NDArray[np.int16], depth: Singles) -> NDArray[np.bool_]:
    """Say for each inner pair of neighbours whether the depth leaps within one piece."""
    a, b, c, d = (depth[:, i : depth.shape[1] - 3 + i] for i in range(4))
    with np.errstate(invalid="ignore"):
        leap = np.minimum(np.abs(c - 2 * b + a), np.abs(b - 2 * c + d)) > _JUMP
    jumps: NDArray[np.bool_] = leap & (own[:, 1:-2] == own[:, 2:-1]) & (own[:, 1:-2] >= 0)
    return jumps


def _bent(own: NDArray[np.int16], normal: Singles, reach: int) -> NDArray[np.uint8]:
    """How dark the arris is, if any, whose middle is between each inner pair of neighbours.

    The normals ``reach`` pixels to either side are compared. An arris rounded
    wider than that fades, and is left to the shading.
    """
    count = own.shape[1] - 2 * reach - 1
    first, last = normal[:, :count], normal[:, 2 * reach + 1 :]
    whole = own[:, :count] >= 0
    for shift in range(1, 2 * reach + 2):
        whole &= own[:, :count] == own[:, shift : shift + count]
    cosine = first[..., 0] * last[..., 0]
    for axis in (1, 2):
        cosine += first[..., axis] * last[..., axis]
    bend = np.where(whole, 1.0 - cosine, np.float32(0.0))
    wide = np.pad(bend, ((0, 0), (reach + 1, reach + 1)))
    hill = np.zeros((len(bend), count + 2), dtype=np.float32)
    for k in range(2 * reach + 1):
        hill += np.float32(reach + 1 - abs(k - reach)) * wide[:, k : k + count + 2]
    hill /= np.float32((reach + 1) ** 2)
    peak = (hill[:, 1:-1] > hill[:, :-2]) & (hill[:, 1:-1] >= hill[:, 2:])
    # The mean over the hill, not its height: an arris of some three pixels would else be dotted.
    fade = np.clip((hill[:, 1:-1] - _BEND[0]) / (_BEND[1] - _BEND[0]), 0.0, 1.0)
    return np.where(peak, np.float32(_ARRIS) * fade * fade, np.float32(0.0)).astype(np.uint8)


def _widened(dark: NDArray[np.uint8], line: int) -> NDArray[np.uint8]:
    """Spread what stands between pixels i and i + 1 over the ``line`` pixels about it."""
    height, gaps = dark.shape
    out = np.zeros((height, gaps + 1), dtype=np.uint8)
    for shift in range(-((line - 1) // 2), line // 2 + 1):
        start, stop = max(0, shift), min(gaps + 1, gaps + shift)
        put = out[:, start:stop]
        np.maximum(put, dark[:, start - shift : stop - shift], out=put)
    return out


def _softened(dark: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Blur by 1, 2, 1 both ways, so that slanted lines do not look like stairs."""
    soft = dark.astype(np.uint16)
    for _ in range(2):
        wide = np.pad(soft, ((0, 0), (1, 1)), mode="edge")
        soft = ((wide[:, :-2] + 2 * wide[:, 1:-1] + wide[:, 2:]) // 4).T
    return soft.astype(np.uint8)
