"""Which passes are crossed at once: so many that the rows left over of a machine, cut in eights, make whole eights.

A machine of 36 rows fills four marches of eight and half of one; two of its passes fill nine. Passes that are crossed
at once must be equally long, and take room for the ground of each: long ones of a wide machine go one by one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from analysis.paddock.passes.lines import blocks_of
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.rows import Lanes
from sim.arithmetic.simd import WIDTH

Job = tuple[int, ...]  # numbers of passes that are crossed at once

MOST = 4  # passes in a job
WORTH = 0.02  # share of all marches that a further pass at once must spare
ROOM = 15e6  # that random ground of several passes may take at once, of every worker [bytes]


def jobs(paddock: Paddock, todo: Sequence[int], workers: int) -> list[Job]:
    """Passes to do as jobs, each of passes of one length; the same number of larger ones for every worker, then single
    passes, so that no worker waits longer for the last one than it would for a pass.
    """
    many = passes_at_once(paddock, len(todo) // workers)
    alike: dict[float, list[int]] = {}
    for number in todo:
        alike.setdefault(paddock.length(number), []).append(number)
    large = [
        tuple(some[i : i + many]) for some in alike.values() for i in range(0, len(some) - many + 1, many) if many > 1
    ]
    large = large[: len(large) // workers * workers]
    taken = {number for job in large for number in job}
    return large + [(number,) for number in todo if number not in taken]


def passes_at_once(paddock: Paddock, most: int = MOST) -> int:
    """How many passes at once, `most` at the most, take fewest marches a pass, as far as there is ROOM."""
    settings = Counter(s.speed for s in paddock.tried).values()

    def marches(passes: int) -> float:
        """Of one pass."""
        blocks = blocks_of(range(paddock.machine.rows), passes)
        return sum(-(-len(lines) * count // WIDTH) for lines in blocks for count in settings) / passes

    best, each = 1, Lanes(paddock, 0).room
    for passes in range(2, min(most, MOST) + 1):
        if passes * each > ROOM:
            break
        if marches(passes) < (1.0 - WORTH) * marches(best):
            best = passes
    return best
