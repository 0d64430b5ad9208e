"""What a crossing can fail with. Anything else that comes out of `sim` is a fault of the program, not of its input."""

from __future__ import annotations

from collections.abc import Sequence


class SimulationError(Exception):
    """Base: this unit cannot make this crossing. The text says what, where, and what to try."""


class LinkageError(SimulationError):
    """A depth linkage that cannot be closed or set, or comes near a change point; the text names part and angle."""


class LawError(SimulationError):
    """Gas or soil beyond the range of the law that describes it."""


class EquilibriumError(SimulationError):
    """A unit that does not come to rest between its travel stops."""


class GridError(SimulationError):
    """Tracks that cannot be crossed together: their samples lie on unlike grids."""


class StepError(SimulationError):
    """A unit, soil or stone too stiff to be followed in time; the text names the keys of the scenario file."""


class RunError(SimulationError):
    """A march that could not be begun or finished; the text says when, where and why."""


class RowsError(RunError):
    """A march of rows that could not be finished; `rows` of the group are at fault, `at` [s] after its start."""

    reason = "the arm was pressed far into a travel stop, or the gas too small"

    def __init__(self, rows: Sequence[int], at: float):
        super().__init__(
            f"{self.reason}, {at:.3f} s after the start in row "
            f"{', '.join(str(j) for j in rows)} of its group; allowed: the arm's travel, the gas law's range; "
            "try: less settings.speed_kmh or more settings.precharge_bar; that row alone tells the exact place"
        )
        self.rows, self.at = list(rows), at

    def __reduce__(self) -> tuple[type, tuple[list[int], float]]:
        """Pickle by the rows, so that a worker process can hand the error back."""
        return (type(self), (self.rows, self.at))
