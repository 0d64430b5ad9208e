"""What is not alike between designs, or could not be done: told under the table."""

from __future__ import annotations

from analysis.compare.compare import Comparison
from analysis.compare.designs import Design
from analysis.present.edge import mm
from analysis.present.sentences import SCREEN, joined, setting
from analysis.present.texts import short


def notes_of(found: Comparison) -> list[str]:
    """Sentences without a full stop."""
    return [*ground_note(found), *notes_below(found)]


def ground_note(found: Comparison) -> list[str]:
    """Whose ground was not used."""
    others = [one.design.name for one in found.results if one.design.own_ground]
    first = found.results[0].design.name
    return (
        [f"the ground of {joined(others)} is another one and was not used: all crossed that of {first}"]
        if others
        else []
    )


def notes_below(found: Comparison) -> list[str]:
    """Those that stand under the table."""
    return [*_unlike(found), *_settings(found), *_edges(found), *_problems(found)]


def _unlike(found: Comparison) -> list[str]:
    """Set depth, tolerance and limits."""
    designs = [one.design for one in found.results]
    first, notes = designs[0], []
    depths = [one.scenario.settings.set_depth for one in designs]
    if len(set(depths)) > 1:
        told = joined([f"{short(mm(depth))} mm of {one.name}" for one, depth in zip(designs, depths, strict=True)])
        notes.append(f"set depths differ ({told}): on depth counts against each one's own, and a deeper slot costs "
                     "more load and draught by itself")  # fmt: skip
    tolerances = [one.scenario.limits.depth_tolerance for one in designs]
    if len(set(tolerances)) > 1:
        told = joined([f"±{short(mm(one))} mm" for one in tolerances])
        notes.append(f"depth tolerances differ ({told}): shares on depth are not like for like")
    if any(one.scenario.limits != first.scenario.limits for one in designs):
        notes.append("limits differ: each pick keeps those of its own file")
    return notes


def _settings(found: Comparison) -> list[str]:
    """Settings of the files, what was tried, values in doubt."""
    designs, notes = [one.design for one in found.results], []
    held = [(one.scenario.settings.oil_pressure, one.scenario.settings.speed) for one in designs]
    if found.as_set:
        return ["pressure and speed are what is compared: no pick was looked for (rowbench window finds it)"]
    if len(set(held)) > 1:
        told = joined([setting(*one, SCREEN, ", ") for one in held])
        notes.append(f"the files' own settings differ ({told}) and are not compared: each is at its pick, and all at "
                     "one setting; --vary settings.oil_pressure_bar=… compares them")  # fmt: skip
    if any(_tried(one) != _tried(designs[0]) for one in designs):
        notes.append("pressures or speeds tried differ: a pick can only be one that was tried")
    if any(one.scenario.uncertain is not None for one in designs):
        notes.append("values in doubt ([uncertain]) are taken as the file has them: rowbench window picks by chance, "
                     "and may pick otherwise")  # fmt: skip
    return notes


def _tried(design: Design) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return design.scenario.search.pressures, design.scenario.search.speeds


def _edges(found: Comparison) -> list[str]:
    """Picks at the end of what was tried: they may go faster still."""
    at = [one.design.name for one in found.results if one.pick is not None and "highest_speed" in one.pick.at_edge]
    return [f"picked at the highest speed tried, so more may go: {joined(at)} (--speeds tries more)"] if at else []


def _problems(found: Comparison) -> list[str]:
    """Grounds that could not be crossed."""
    told = []
    for one in found.results:
        for at in (one.own, one.common):
            if at is not None and at.problems:
                seed, why = next(iter(at.problems.items()))
                many = f" (and {len(at.problems) - 1} more)" if len(at.problems) > 1 else ""
                where = f"{one.design.name} at {setting(at.oil_pressure, at.speed, SCREEN, ', ')}"
                told.append(f"ground {seed}{many} could not be crossed by {where}, and counts for none there: {why}")
    return list(dict.fromkeys(told))
