"""The words of screens, pages, figures and files, each with its meaning: `rowbench words`, and README's table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Entry(NamedTuple):
    """Words of one meaning: as they stand in the table, and what they mean."""

    words: str
    meaning: str

    @property
    def names(self) -> tuple[str, ...]:
        """Each of the words alone.

        >>> Entry("set depth, depth setting", "").names
        ('set depth', 'depth setting')
        """
        return tuple(self.words.split(", "))


GLOSSARY = (
    Entry("oil pressure", "set from the cab and read on the gauge, bar"),
    Entry("nitrogen precharge", "nitrogen pressure in the accumulator with no oil in it, bar at a temperature"),
    Entry("downforce", "vertical force at the disc from the cylinder at the nominal arm angle, kgf a row"),
    Entry("set depth, depth setting", "depth on flat reference ground, mm; what the depth actuator is set to"),
    Entry("reference setting", "pressure, speed and soil at which the depth setting was made"),
    Entry("depth error", "depth − set depth, mm, positive where the slot is too deep"),
    Entry(
        "on-depth share",
        "share of travel within the tolerance, with the depth set again at each pressure and speed as a grower would; "
        "with the setting left alone it is a second figure",
    ),
    Entry(
        "wheel-off share, episode",
        "share of travel with no load on the gauge wheel; an episode is 0.10 m of it or more, with its cause",
    ),
    Entry("gauge load", "load on the gauge wheel, N"),
    Entry(
        "breakout",
        "a stone or another obstacle pushes the unit up until depth is below half the set depth or the arm passes a "
        "stated angle",
    ),
    Entry("ground shape", "part of the depth error: the ground under the disc is not the ground under the wheel"),
    Entry("tyre and sinkage", "part: tyre and soil give more or less under the wheel than at the setting"),
    Entry("linkage", "part: the depth linkage moves the wheel as the arms swing"),
    Entry("toolbar pitch", "part: what the toolbar's pitch adds to that"),
    Entry("lift-off", "part: the gap under the wheel while it is off the ground"),
    Entry(
        "share of variance",
        "how much of the depth's scatter a part makes; all parts together make 100 %, and one below 0 % moves against "
        "the others and makes the error smaller",
    ),
    Entry("SD", "standard deviation: how far a value usually lies from its mean; two thirds lie within it"),
    Entry("RMS", "root mean square of a load along the run, N: its level with peaks counted more than in the mean"),
    Entry("pin load", "size of a pin's reaction, N"),
    Entry("bush pressure", "load on one bush over its diameter × length, MPa; the edge of a tilted one bears more"),
    Entry("play", "bore less pin, mm: how far a worn pin can move in its bush"),
    Entry("span", "distance between the middles of a pin's two bushes, mm"),
    Entry("equivalent", "the one range of a load that does the damage of all its cycles if it came once a metre, N"),
    Entry("wear factor", "how deep a bush wears per pressure and way slid, mm³/(N m); nobody has measured it here"),
    Entry(
        "damping",
        "share of the damping at which a swing dies without crossing its middle: 0.1 rings on, 1 does not swing",
    ),
    Entry("stuck", "a swing while the cylinder's seals do not slip at all: the least it can move"),
    Entry(
        "contact stiffness",
        "how stiffly a stone, the disc and its mounting meet, MN/m: the stiffer, the harder the knock; nobody has a "
        "measured value, so three are tried",
    ),
    Entry("speed term", "how much the soil's force on the disc rises with speed, per km/h"),
    Entry(
        "Gd",
        "how rough ground is, m³: strength of its waves at 0.1 cycles/m (ISO 8608); classes A to H, each four times "
        "the one before",
    ),
    Entry("ground, track, lane", "a profile; a profile with soil and stones; one row's track"),
    Entry("ground number", "number that random ground starts from: the same number gives the same ground; `--seed`"),
    Entry("window", "the pressures and speeds that meet all limits"),
)


def named(word: str) -> Entry | None:
    """The entry of a word, whatever its capitals; None where there is none.

    >>> named("rms").words, named("depth setting").words, named("nonsense")
    ('RMS', 'set depth, depth setting', None)
    """
    return next((entry for entry in GLOSSARY if word.lower() in [name.lower() for name in entry.names]), None)


def markdown(entries: Iterable[Entry] = GLOSSARY) -> str:
    """The table as README holds it."""
    rows = [f"| {entry.words} | {entry.meaning} |" for entry in entries]
    return "\n".join(["| word | meaning |", "| --- | --- |", *rows])
