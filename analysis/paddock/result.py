"""What is kept of one pass: measures by setting, row and section, totals by row, events, perhaps thinned series."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.episodes import CAUSES_IN_ORDER
from analysis.crossing.heed import row_heeds
from analysis.crossing.measures import by_row, by_section, by_setting
from analysis.paddock.heeds import Found, Warned, put
from analysis.paddock.series import Sampler, sample_count
from analysis.rows.reduced import Reduced
from analysis.storage.paddock_layout import BREAKOUT, EPISODE, SERIES, SIZES, row_kind, section_kind
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_shapes import zone_number
from scenarios.paddock.rows import Lanes
from sim.march.rows import Group
from sim.record import PINS
from sim.unit import Settings

Members = Mapping[int, tuple[int, int]]  # by row of a group: setting and row of the pass, for those that are of it


@dataclass
class PassResult:
    """One pass. Arrays: `sections[name]` (settings, rows, sections), `totals[name]` (settings, rows, …), by dataset of
    `analysis.crossing.measures`; `by_setting[name]` (settings,), NaN where a setting is not known.
    """

    number: int
    length: float
    sections: dict[str, NDArray[Any]]
    totals: dict[str, NDArray[Any]]
    section_x: NDArray[np.float64]  # place of each section's middle in plan along the passes [m]
    section_length: NDArray[np.float64]  # (sections,) [m]
    row_y: NDArray[np.float64]  # place of each row across the paddock [m]
    zone: NDArray[np.int8]  # (rows, sections) zone of each section's middle, 0: none
    episodes: NDArray[np.float32]  # (n, EPISODE)
    breakouts: NDArray[np.float32]  # (n, BREAKOUT)
    series: NDArray[np.float32]  # (settings, rows, SERIES, samples)
    by_setting: dict[str, NDArray[np.float64]]
    problems: dict[tuple[int, int], str] = field(default_factory=dict)  # by (setting, row)
    heeds: Found = field(default_factory=dict)  # what rows warn of, by (setting, kind)

    @property
    def nbytes(self) -> int:
        """What its arrays take [bytes], but for lists of events."""
        return sum(values.nbytes for values in (*self.sections.values(), *self.totals.values(), self.zone, self.series))

    def check(self, settings: int, rows: int) -> None:
        """Raises ValueError where arrays are not those of a pass with so many settings and rows, or not finite."""
        sections, shape = self.section_x.size, (settings, rows)
        wanted: dict[str, tuple[Any, tuple[int, ...], str]] = {
            **{
                name: (self.sections.get(name), (*shape, sections), section_kind(m)) for name, m in by_section().items()
            },
            **{
                name: (self.totals.get(name), (*shape, *(SIZES[d] for d in m.dims)), row_kind(m))
                for name, m in by_row().items()
            },
            **{name: (self.by_setting.get(name), (settings,), "f8") for name in by_setting()},
            "section_x": (self.section_x, (sections,), "f8"),
            "section_length": (self.section_length, (sections,), "f8"),
            "row_y": (self.row_y, (rows,), "f8"),
            "zone": (self.zone, (rows, sections), "i1"),
            "episodes": (self.episodes, (len(self.episodes), len(EPISODE)), "f4"),
            "breakouts": (self.breakouts, (len(self.breakouts), len(BREAKOUT)), "f4"),
            "series": (self.series, (*shape, len(SERIES), *self.series.shape[3:4]), "f4"),
        }
        for name, (values, size, kind) in wanted.items():
            if values is None or values.shape != size or values.dtype != np.dtype(kind) or np.isinf(values).any():
                raise ValueError(f"{name} is not that of a pass")

    def note_setting(self, members: Members, group: Group) -> None:
        """Keep what the depth settings of a group are."""
        for k, (i, _) in members.items():
            for name, values in self.by_setting.items():
                values[i] = by_setting()[name].of_setting(group.ready[k])

    def put_group(self, members: Members, reduced: Reduced, sampler: Sampler | None) -> None:
        """Put in the measures of a group's rows."""
        whole = reduced.whole()
        sections = {name: m.of_rows(reduced) for name, m in by_section().items()}
        totals = {name: m.of_rows(whole)[0] for name, m in by_row().items()}
        episodes, breakouts = [self.episodes], [self.breakouts]
        for k, (i, j) in members.items():
            for name, value in sections.items():
                self.sections[name][i, j] = value[:, k]
            for name, value in totals.items():
                self.totals[name][i, j] = value[..., k]
            episodes.append(_table([
                (i, j, e.start, e.length, e.rise, e.gap, e.shallow, CAUSES_IN_ORDER.index(e.cause))
                for e in reduced.episodes[k]
            ], len(EPISODE)))  # fmt: skip
            breakouts.append(_table([
                (i, j, b.position, b.rise, np.nan if b.regain is None else b.regain, b.disc_peak, PINS.index(b.pin),
                 b.pin_peak, b.pressure_max)
                for b in reduced.breakouts[k]
            ], len(BREAKOUT)))  # fmt: skip
            if sampler is not None:
                n = min(self.series.shape[3], sampler.samples.shape[2])
                self.series[i, j, :, :n] = sampler.samples[:, k, :n]
        self.episodes, self.breakouts = np.concatenate(episodes), np.concatenate(breakouts)

    def sort_events(self) -> None:
        """Events by setting and row, those of a row as it meets them, whatever groups they came from."""
        self.episodes, self.breakouts = _in_order(self.episodes), _in_order(self.breakouts)

    def note_heeds(self, paddock: Paddock, members: Members, group: Group, reduced: Reduced) -> None:
        """Keep what the rows of a group warn of; not by the file's limits, which may change."""
        for k, (i, j) in members.items():
            settings, ready = paddock.tried[i], group.ready[k]
            met = reduced.met(k, ready.setting, 0.0, settings.speed)
            for heed in row_heeds(paddock.unit, paddock.soil, paddock.stones.contact, settings, ready, met):
                put(self.heeds, Warned(i, heed, self.number, j))


def sections_of(length: float, section: float) -> int:
    """Number of sections of a pass; the last one takes what is left, if that is half of one or more."""
    return max(1, round(length / section))


def section_ends(length: float, section: float) -> NDArray[np.float64]:
    """Where sections begin and end along a pass [m], (sections + 1,)."""
    return np.append(np.arange(sections_of(length, section)) * section, length)


def middles(ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """Middles between ends [m]."""
    return np.asarray(0.5 * (ends[1:] + ends[:-1]))


def empty_result(paddock: Paddock, lanes: Lanes, settings: Sequence[Settings]) -> PassResult:
    """A result with nothing in it yet: NaN, and 0 for whole numbers."""
    rows, count = paddock.machine.rows, len(settings)
    number = sections_of(lanes.length, paddock.passes.section)
    ends = section_ends(lanes.length, paddock.passes.section)
    x, y = lanes.places(middles(ends), np.zeros(1))[0], lanes.places(np.zeros(rows), lanes.rows)[1]
    every = paddock.keep.series_every
    samples = 0 if every is None else sample_count(lanes.length, every)
    return PassResult(
        number=lanes.number,
        length=lanes.length,
        sections={name: _blank((count, rows, number), section_kind(m)) for name, m in by_section().items()},
        totals={name: _blank((count, rows, *(SIZES[d] for d in m.dims)), row_kind(m)) for name, m in by_row().items()},
        section_x=x,
        section_length=np.diff(ends),
        row_y=y,
        zone=zone_number(paddock.zones, x[None, :], y[:, None]).astype(np.int8),
        episodes=np.empty((0, len(EPISODE)), dtype=np.float32),
        breakouts=np.empty((0, len(BREAKOUT)), dtype=np.float32),
        series=np.full((count, rows, len(SERIES), samples), np.nan, dtype=np.float32),
        by_setting={name: np.full(count, np.nan) for name in by_setting()},
    )


def _blank(shape: tuple[int, ...], kind: str) -> NDArray[Any]:
    return np.full(shape, np.nan, dtype=kind) if kind.startswith("f") else np.zeros(shape, dtype=kind)


def _in_order(events: NDArray[np.float32]) -> NDArray[np.float32]:
    return events[np.lexsort((events[:, 1], events[:, 0]))]


def _table(rows: list[tuple[Any, ...]], width: int) -> NDArray[np.float32]:
    return np.array(rows, dtype=np.float32).reshape(-1, width)
