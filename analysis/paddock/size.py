"""How large a paddock is to compute and to keep, told before it starts; over a stated limit it is refused."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from analysis.crossing.measures import by_section
from analysis.paddock.result import section_kind, sections_of
from analysis.parallel import usable_cores
from scenarios.format.errors import fault
from scenarios.paddock.paddock import Paddock

RATE = 10_000.0  # unit-seconds that one core does in a second (measured: 14,000 of 36 rows, 9,000 where it is stony)
LONG = 600.0  # from here on it is worth a word [s]
MUCH = 500e6  # the same of memory [bytes]
MOST_WORK = 3e10  # unit-seconds: some 17 days on two cores
MOST_MEMORY = 4e9  # of the result, which is read back whole [bytes]


class Size(NamedTuple):
    """What a paddock takes."""

    unit_seconds: float  # time of travel of all rows at all settings, added up [s]
    sections: int  # rows × settings × sections of all passes
    memory: float  # of the whole result [bytes]

    def seconds(self, cores: int) -> float:
        """About how long so many cores take [s]."""
        return self.unit_seconds / (RATE * cores)

    @property
    def large(self) -> bool:
        """Whether it is worth a word before it starts."""
        return self.seconds(usable_cores()) > LONG or self.memory > MUCH


def size_of(paddock: Paddock) -> Size:
    """Estimate from lengths, rows and settings alone."""
    rows, lengths = paddock.machine.rows, [paddock.length(i) for i in range(paddock.count)]
    work = rows * sum(lengths) * sum(1.0 / s.speed for s in paddock.tried)
    longest = max(sections_of(length, paddock.passes.section) for length in lengths)
    sections = rows * paddock.count * longest * len(paddock.tried)
    each = sum(np.dtype(section_kind(m)).itemsize for m in by_section().values())
    return Size(work, sections, float(sections * each + rows * paddock.count * longest * 17))


def size_faults(paddock: Paddock) -> list[str]:
    """What is too large to be started, with what makes it so."""
    size, file = size_of(paddock), str(paddock.path)
    made = (
        f"{paddock.count} passes × {paddock.machine.rows} rows × {len(paddock.tried)} settings of up to "
        f"{max(paddock.length(i) for i in range(paddock.count)):g} m"
    )
    faults = []
    if size.unit_seconds > MOST_WORK:
        faults.append(fault(file, f"{made}: {size.unit_seconds:.2g} s of travel of all rows and settings",
                            f"up to {MOST_WORK:g} s", "fewer settings in [search], or fewer passes"))  # fmt: skip
    if size.memory > MOST_MEMORY:
        faults.append(fault(file, f"{made}: a result of {size.memory / 1e9:.3g} GB", f"up to {MOST_MEMORY / 1e9:g} GB",
                            "a larger section_m in [passes], or fewer settings in [search]"))  # fmt: skip
    return faults


def size_text(size: Size, cores: int) -> str:
    """About how long and how large, in words."""
    seconds = size.seconds(cores)
    time = f"{seconds / 60:.0f} min" if seconds < 7200 else f"{seconds / 3600:.0f} h"
    kept = f"{size.memory / 1e6:.0f} MB" if size.memory < 1e9 else f"{size.memory / 1e9:.1f} GB"
    return f"about {time} on {cores} cores and a result of about {kept}; what is finished is kept if you stop it"
