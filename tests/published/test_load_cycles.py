"""Load cycles: the example of ASTM E1049-85 and Miner's rule."""

from __future__ import annotations

import numpy as np

from analysis.pins.duty.cycles import counted, cycles_of, damage, equivalent_range, miner, ranges_of, reached

EXAMPLE = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]
KN = 1e3  # counted as kN: bins begin at 10 N
ASTM = {
    "source": "ASTM E1049-85 §5.4.4, Figure 6, as public code quotes it and the package rainflow 3.2.0 counts it",
    "status": "seen",
}
MINER = {"source": "Miner's rule on that example, slope m", "status": "computed from a rule seen"}


def example():
    return cycles_of(counted(np.array(EXAMPLE) * KN))


def test_the_example_of_the_standard(published):
    found = example()
    for size, times in ((3, 0.5), (4, 1.5), (6, 0.5), (8, 1.0), (9, 0.5)):
        ours = found.counts[np.isclose(found.ranges, size * KN)].sum()
        published(f"rainflow example: cycles of range {size}", value=times, ours=ours, within=1e-12, **ASTM)
    published("rainflow example: cycles in all", value=4.0, ours=found.counts.sum(), within=1e-12, **ASTM)
    assert reached(found, [0.5]).tolist() == [9.0 * KN]


def test_damage_of_the_example(published):
    found = ranges_of(counted(np.array(EXAMPLE) * KN))
    for slope, value, rel in ((1, 23.0, 1e-12), (3, 1094.0, 1e-12), (5, 67838.0, 1e-5)):
        published(
            f"rainflow example: sum of n R^m, m = {slope}", value=value, ours=damage(found, slope) / KN**slope,
            rel=rel, **MINER,
        )  # fmt: skip
    for slope, value in ((3, 6.491), (5, 7.013)):
        published(
            f"rainflow example: equivalent range over its 4 cycles, m = {slope}", value=value,
            ours=equivalent_range(found, slope) / KN, rel=1e-4, **MINER,
        )  # fmt: skip


def test_miners_sum(published):
    published(
        "Miner's sum of 10 and 20 cycles at lives of 1000 and 5000", value=0.014, ours=miner([10, 20], [1000, 5000]),
        rel=1e-12, source="Miner 1945, example in public code", status="seen",
    )  # fmt: skip
