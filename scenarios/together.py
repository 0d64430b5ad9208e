"""Parts of a unit that have to move together, each set under one name.

Rod, crank and bell crank are a parallelogram beside the main links (`scenarios.depth_linkage`): an arm made longer with
the rod left as it is makes the depth drift as the arms swing. A move changes all its members by as much, so that what
differed on purpose goes on differing. Its name stands wherever a value is put in place of a file's
(`--set together.arm_m=0.6`), not in a file: there every part has a key of its own.
"""

from __future__ import annotations

from typing import NamedTuple

TABLE = "together"
_LINKS, _DEPTH = "unit.main_links", "unit.depth_linkage"


class Move(NamedTuple):
    """Keys that change by as much as each other: `members` by dotted name, first the one whose value is given."""

    name: str
    members: tuple[str, ...]
    doc: str


MOVES: dict[str, Move] = {
    move.name: move
    for move in (
        Move(f"{TABLE}.arm_m", (f"{_LINKS}.length_m", f"{_DEPTH}.rod_m"),
             "length of the main links, the rod of the depth linkage made longer by as much"),
        Move(f"{TABLE}.crank_m", (f"{_DEPTH}.crank_m", f"{_DEPTH}.bell_first_m"),
             "length of the crank, the bell crank's arm beside it made longer by as much"),
        Move(f"{TABLE}.linkage_x_m", (f"{_DEPTH}.crank_pivot_m.x", f"{_DEPTH}.bell_pivot_m.x"),
             "crank's pivot ahead of the front pin, the bell crank's moved by as much"),
        Move(f"{TABLE}.linkage_z_m", (f"{_DEPTH}.crank_pivot_m.z", f"{_DEPTH}.bell_pivot_m.z"),
             "crank's pivot over the front pin, the bell crank's moved by as much"),
    )
}  # fmt: skip


def moved_with(name: str) -> Move | None:
    """The move that a key is a member of, None: it may change alone.

    >>> moved_with("unit.depth_linkage.rod_m").name, moved_with("unit.disc.radius_m")
    ('together.arm_m', None)
    """
    return next((move for move in MOVES.values() if name in move.members), None)
