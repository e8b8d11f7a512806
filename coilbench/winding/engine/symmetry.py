"""Which numberings of a network are the same to a meter, so that each distinct one is listed once."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.intp]


def automorphisms(colour: NDArray[np.integer]) -> Numbers:
    """All renumberings that leave a symmetric matrix of colours as it is: (how many, size), in ascending order."""
    size = len(colour)
    places = np.arange(size)
    images = np.zeros((1, 0), dtype=np.intp)
    for place in places:
        fits = (colour[images[:, :, None], places] == colour[place, :place, None]).all(axis=1)
        fits &= np.diag(colour) == colour[place, place]
        fits[np.arange(len(images))[:, None], images] = False
        row, image = np.nonzero(fits)
        images = np.concatenate([images[row], image[:, None]], axis=1)
    return images


def distinct_assignments(colour: NDArray[np.integer]) -> NDArray[np.uint8]:
    """Every distinct way to lay numbered leads on terminals: (ways, size), the terminal of each lead.

    Two ways are the same when an automorphism of the colours carries one into the other; the least of each kind is
    given, in ascending order.
    """
    _, flat = np.unique(colour, return_inverse=True)
    return _distinct(len(colour), flat.astype(np.uint8).tobytes())


@lru_cache(maxsize=256)
def _distinct(size: int, flat: bytes) -> NDArray[np.uint8]:
    colour = np.frombuffer(flat, dtype=np.uint8).reshape(size, size)
    if not (colour[0, 0] != colour).any() or not (colour != 0).any():
        return np.arange(size, dtype=np.uint8)[None, :]
    least = _least_images(size, automorphisms(colour))
    places = np.arange(size)
    way = np.zeros((1, 0), dtype=np.uint8)
    taken = np.zeros(1, dtype=np.intp)
    for _ in places:
        # A terminal is taken only if no automorphism that keeps those taken so far turns it into a lesser one.
        row, place = np.nonzero((least[taken] == places) & (taken[:, None] >> places & 1 == 0))
        way = np.concatenate([way[row], place[:, None].astype(np.uint8)], axis=1)
        taken = taken[row] | 1 << place
    return way


def _least_images(size: int, group: Numbers) -> Numbers:
    """For each mask of terminals the least image of every terminal under the automorphisms that keep all of them."""
    kept = ((group == np.arange(size)) << np.arange(size)).sum(axis=1)
    least = np.tile(np.arange(size), (1 << size, 1))
    np.minimum.at(least, kept, group)
    for bit in range(size):  # what keeps more terminals keeps fewer as well
        split = least.reshape(-1, 2, 1 << bit, size)
        np.minimum(split[:, 0], split[:, 1], out=split[:, 0])
    return least
