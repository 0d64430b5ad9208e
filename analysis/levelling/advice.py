"""Rows levelled: from depths dug across a machine to turns of each row's turnbuckle, with what backs them.

A row gets advice only if it was dug often enough: at least LEAST_DIGS times, and as often as it takes to place it
within ± the difference that matters (3 mm by default) at the spread found, which itself has to rest on at least
LEAST_FREEDOM degrees of freedom. A row is turned if its 95 % interval leaves out the target; else it is left alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from analysis.levelling.digs import Digs
from analysis.levelling.spread import (
    CONFIDENCE,
    MOST_DIGS,
    POWER,
    Doubt,
    Offsets,
    Spread,
    digs_to_place,
    digs_to_tell,
    offsets,
    pooled,
    stray_dig,
    unequal_rows,
)
from analysis.levelling.tracks import Tracks, given_tracks, searched_tracks
from analysis.levelling.turns import Turnbuckle, outward, quarters
from analysis.present.edge import mm

DIFFERENCE = 0.003  # [m]
LEAST_DIGS = 3
LEAST_FREEDOM = 10  # the true spread then lies between 0.70 and 1.75 of the one found (chi-square, 95 %)
TURN, LEAVE, DIG = "turn", "leave", "dig"


@dataclass(frozen=True)
class RowAdvice:
    """One row: what was dug, how far it is off the target [m], and what to do. Turns: longer positive."""

    row: int
    digs: int
    mean: float
    offset: float
    low: float  # 95 % interval of the offset
    high: float
    turns: float  # that take the offset away, with their 95 % interval
    turns_low: float
    turns_high: float
    more: int  # digs that are missing before it gets advice
    track: bool  # behind a wheel track, given or found

    @property
    def quarter_turns(self) -> float:
        """Turns to the nearest quarter."""
        return quarters(self.turns)

    @property
    def stated(self) -> tuple[float, float]:
        """The interval as it is told: outwards to whole quarters."""
        return outward(self.turns_low, self.turns_high)

    @property
    def advice(self) -> str:
        """TURN, LEAVE or DIG."""
        if self.more:
            return DIG
        shown_off = self.low > 0.0 or self.high < 0.0
        return TURN if shown_off and self.quarter_turns != 0.0 else LEAVE

    def to_dict(self) -> dict[str, Any]:
        """JSON form; no turns where there is no advice."""
        document: dict[str, Any] = {
            "row": self.row,
            "digs": self.digs,
            "mean_mm": mm(self.mean),
            "offset_mm": mm(self.offset),
            "offset_low_mm": mm(self.low),
            "offset_high_mm": mm(self.high),
            "behind_track": self.track,
            "advice": self.advice,
            "more_digs": self.more,
        }
        if self.advice != DIG:
            document |= {
                "turns": self.turns,
                "turns_low": self.turns_low,
                "turns_high": self.turns_high,
                "quarter_turns": self.quarter_turns if self.advice == TURN else 0.0,
            }
        return document


@dataclass(frozen=True, eq=False)
class Levelling:
    """A machine's rows, levelled."""

    digs: Digs
    spread: Spread
    offsets: Offsets
    turnbuckle: Turnbuckle
    difference: float  # that matters [m]
    to_place: int  # digs a row for ± difference; MOST_DIGS: out of reach
    to_tell: int  # digs a row that show the difference with the chance POWER
    rows: tuple[RowAdvice, ...]
    tracks: Tracks | None
    unequal: Doubt | None
    stray: Doubt | None

    @property
    def needed(self) -> int:
        """Digs that a row needs before it gets advice."""
        return max(LEAST_DIGS, self.to_place, _for_freedom(self.digs))

    @property
    def target(self) -> str:
        """What the rows are levelled to: wanted, machine_mean or mean_outside_tracks."""
        if not self.offsets.mean_of:
            return "wanted"
        return "machine_mean" if self.offsets.mean_of == self.digs.rows else "mean_outside_tracks"

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "rows_dug": len(self.rows),
            "digs": int(sum(self.digs.counts)),
            "target": self.target,
            "target_mm": mm(self.offsets.target),
            "difference_mm": mm(self.difference),
            "confidence": CONFIDENCE,
            "power": POWER,
            "within_row_sd_mm": mm(self.spread.sd),
            "within_row_freedom": self.spread.freedom,
            "digs_needed": self.needed,
            "digs_to_place": self.to_place if self.to_place < MOST_DIGS else None,
            "digs_to_tell": self.to_tell if self.to_tell < MOST_DIGS else None,
            "turnbuckle": {
                "pitch_mm": mm(self.turnbuckle.pitch),
                "depth_mm_per_mm": self.turnbuckle.depth_per_length,
                "depth_mm_per_turn_longer": mm(self.turnbuckle.depth_per_turn),
                "arriving_share": self.turnbuckle.arrives,
                "at_set_depth_mm": mm(self.turnbuckle.set_depth),
            },
            "rows": [row.to_dict() for row in self.rows],
            "rows_not_dug": list(self.digs.undug),
            "tracks": None if self.tracks is None else tracks_dict(self.tracks),
            "unequal_spread": _doubt_dict(self.unequal),
            "stray_dig": _doubt_dict(self.stray),
        }


def tracks_dict(tracks: Tracks) -> dict[str, Any]:
    """JSON form of a group of rows."""
    return {
        "rows": list(tracks.rows),
        "given": tracks.given,
        "tried": tracks.tried,
        "stands_out": tracks.found,
        "difference_mm": mm(tracks.difference),
        "difference_half_interval_mm": mm(tracks.half),
        "p": None if math.isnan(tracks.p) else tracks.p,
    }


def _doubt_dict(doubt: Doubt | None) -> dict[str, Any] | None:
    return None if doubt is None else {"row": doubt.row, "value_mm": mm(doubt.value), "p": doubt.p}


def _for_freedom(digs: Digs) -> int:
    """Digs that every row needs for the spread to rest on LEAST_FREEDOM degrees of freedom; 0: it does."""
    freedom = int(sum(digs.counts)) - len(digs.rows)
    if freedom >= LEAST_FREEDOM:
        return 0
    n = int(min(digs.counts))
    while sum(max(int(count), n) for count in digs.counts) - len(digs.rows) < LEAST_FREEDOM:
        n += 1
    return n


def level(
    digs: Digs,
    buckle: Turnbuckle,
    *,
    wanted: float | None = None,
    tracks: Sequence[int] = (),
    difference: float = DIFFERENCE,
) -> Levelling:
    """Advice for every row.

    wanted: depth to level to [m]; None: the mean of the rows' means, without rows behind wheel tracks that stand out.
    tracks: rows behind wheel tracks, of those dug and not all of them (none given: they are searched for).
    difference: offset that matters [m].
    """
    spread = pooled(digs)
    group = given_tracks(digs, spread, tuple(sorted(set(tracks)))) if tracks else searched_tracks(digs, spread)
    aside = group.rows if group is not None and group.found else ()
    off = offsets(digs, spread, wanted, tuple(row for row in digs.rows if row not in aside))
    count = len(digs.rows)
    spreads = spread.sd > 0.0  # else all digs of each row are the same, and two would do
    to_place = digs_to_place(spread, count, difference, off.worst) if spreads else 2
    to_tell = digs_to_tell(spread, count, difference, off.worst) if spreads else 2
    behind = group.rows if group is not None and (group.given or group.found) else ()
    needed = max(LEAST_DIGS, to_place, _for_freedom(digs))
    known = spread.freedom >= LEAST_FREEDOM
    more = [max(needed - int(n), 0 if known else 1) for n in digs.counts]
    rows = tuple(_row(digs, off, i, buckle, more[i], behind) for i in range(count))
    doubts = unequal_rows(digs), stray_dig(digs, spread)
    return Levelling(digs, spread, off, buckle, difference, to_place, to_tell, rows, group, *doubts)


def _row(digs: Digs, off: Offsets, i: int, buckle: Turnbuckle, more: int, behind: tuple[int, ...]) -> RowAdvice:
    low, high = float(off.low[i]), float(off.high[i])
    turns = [buckle.turns(-offset) for offset in (low, high)]
    return RowAdvice(
        row=digs.rows[i],
        digs=int(digs.counts[i]),
        mean=float(digs.means[i]),
        offset=float(off.value[i]),
        low=low,
        high=high,
        turns=buckle.turns(-float(off.value[i])),
        turns_low=min(turns),
        turns_high=max(turns),
        more=more,
        track=digs.rows[i] in behind,
    )
