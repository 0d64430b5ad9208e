"""Which of many passes or rows are taken to stand for all of them."""

from __future__ import annotations


def evenly(count: int, most: int) -> tuple[int, ...]:
    """Numbers up to `most` from 0 to count − 1, in the middles of as many equal parts.

    >>> evenly(6, 4), evenly(2, 4), evenly(10, 1)
    ((0, 2, 3, 5), (0, 1), (5,))
    """
    n = min(count, most)
    return tuple(int((k + 0.5) * count / n) for k in range(n))
