"""A name or a file → a checked paddock."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from scenarios.changed.put_in import asked_fault, put_in, said
from scenarios.consistency import check_together, feature_limit_faults, flat_note, meant_flat, roughness_faults
from scenarios.doubt.told import told_doubt
from scenarios.format.assembly import Assembly
from scenarios.format.errors import ScenarioError, fault
from scenarios.format.library import find, named
from scenarios.format.read import read_text, read_toml
from scenarios.format.tables import ROOT
from scenarios.format.whole import whole_document
from scenarios.ground.measured.local_plane import maps_module
from scenarios.ground.measured.record_spectrum import Spectrum
from scenarios.ground.measured.treat import survey_faults, treatment
from scenarios.ground.profile import warnings_of
from scenarios.paddock.extent import feature_notes, passes_extent, zone_faults, zone_notes
from scenarios.paddock.origin import origin_note
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_input import LineInput, PlanInput, SurfaceInput, read_grid, read_surface
from scenarios.paddock.plan_input_csv import MeasuredLine, StrengthPoints, read_line, read_strengths
from scenarios.paddock.spec import LineFile, Measured, PaddockMachine, Passes
from scenarios.paddock.strength_places import strength_faults
from scenarios.paddock.tables import PADDOCK, PADDOCK_FILE

PARTS = ("settings", "limits", "machine", "passes", "ground", "stones", "measured", "search", "keep")
LEAST, MOST = 5.0, 20_000.0  # shortest and longest pass [m]


def find_paddock(source: str | Path) -> Path:
    """The file that a name of the library or a path means. Raises ScenarioError if there is no such name."""
    return find(source, "paddock", where="paddock")


def is_paddock(source: str | Path) -> bool:
    """Whether a name or a path means a paddock's file, not a scenario's: by tables that only a paddock has.

    A file that cannot be read is none: whoever loads it tells why.
    """
    if named("scenario", str(source)) is not None:
        return False
    try:
        given = read_toml(find_paddock(source))
    except ScenarioError:
        return False
    return bool(given.keys() & (PADDOCK.tables.keys() - ROOT.tables.keys()))


def load_paddock(source: str | Path, changes: Mapping[str, Any] | None = None) -> Paddock:
    """A paddock by its name in the library or the path of its file.

    changes: values by dotted name in edge units, in place of the file's, as `scenarios.load.load` takes them.
    Raises ScenarioError with every fault of the file and of the files that it names.
    """
    path = find_paddock(source)
    document = read_toml(path)
    laid = whole_document(document, path, PADDOCK_FILE) if changes else {}
    put = put_in(document, laid, changes or {}, PADDOCK)
    try:
        made = _made(path, put.document)
    except ScenarioError as error:
        raise ScenarioError([*put.faults, *(asked_fault(text, path, put) for text in error.faults)]) from None
    if put.faults:
        raise ScenarioError(put.faults)
    return replace(made, title=f"{made.title}{said(put.changes)}")


def _made(path: Path, document: dict[str, Any]) -> Paddock:
    """The paddock that a document means; raises ScenarioError with all its faults."""
    found = Assembly(path, document, PADDOCK_FILE)
    unit, (soil, variation) = found.part("unit"), found.soil()
    parts = {name: found.part(name) for name in PARTS}
    wanted = parts.pop("measured")
    if meant_flat(parts["ground"].roughness):
        parts["ground"] = replace(parts["ground"], roughness=None)
    check_together(found, unit, parts["settings"], parts["limits"])
    found.check({"limits"}, lambda: feature_limit_faults(found.given.get("limits", {}), str(path)))
    found.check({"ground"}, lambda: roughness_faults(parts["ground"].roughness, str(path)))
    found.check({"measured"}, lambda: survey_faults(wanted.survey, f"{path}: measured"))
    _check_place(found, parts["passes"])
    held = SimpleNamespace(**parts, unit=unit, soil=soil, variation=variation)
    parts["prior"], parts["uncertain"] = told_doubt(found, held)
    inputs = Inputs(found, wanted)
    if not (wanted.lines or wanted.grid or wanted.surface or "roughness" in found.document.get("ground", {})):
        found.notes.append(flat_note(bool(parts["ground"].features)))
    measured = strengths = None
    if not {"measured", "passes", "machine"} & found.broken:
        measured = inputs.measured(parts["passes"], parts["machine"])
    if wanted.strength_file:
        strengths = inputs.strengths(parts["passes"], measured)
    found.finish()
    if isinstance(measured, LineInput):
        parts["passes"] = replace(parts["passes"], count=len(measured.lines), direction="one_way")
    elif isinstance(measured, SurfaceInput):
        parts["passes"] = replace(parts["passes"], count=1)
    zones = found.items("zones")
    made = Paddock(
        name=path.stem, path=path, text=read_text(path, "a paddock file (TOML)"), title=found.said("title"),
        shows=found.said("shows"), unit=unit, soil=soil, variation=variation, zones=zones, measured=measured,
        strengths=strengths, files=inputs.files, origin=origin_note(found),
        read_from=(*found.files, *(path.parent / name for name in inputs.files)), **parts,
    )  # fmt: skip
    _check_plan(found, made)
    found.finish()
    return replace(made, warnings=tuple(found.notes))


def _check_place(found: Assembly, passes: Passes) -> None:
    """Where place (0, 0) lies: in full or not at all, and only with what turns it into places on a map."""
    if (passes.latitude is None) != (passes.longitude is None) and "passes" not in found.broken:
        there, other = ("latitude", "longitude") if passes.longitude is None else ("longitude", "latitude")
        found.add(f"passes.{other}", f"missing beside {there}", "both or neither", f"add {other}, or drop {there}")
    elif passes.latitude is not None:
        found.read(lambda: maps_module("pyproj", f"{found.path}: passes.latitude and longitude"))


def _check_plan(found: Assembly, made: Paddock) -> None:
    """What is placed in plan against where the passes run."""
    passes = passes_extent([made.length(i) for i in range(made.count)], made.machine.width)
    found.texts += zone_faults(made.zones, str(found.path))
    found.texts += strength_faults(made, passes)
    found.notes += feature_notes(made.ground.features, passes, made.machine)
    found.notes += zone_notes(made.zones, passes, made.machine, made.passes.section)


class Inputs:
    """The files that a paddock file names, read into what is being assembled; `files`: name → SHA-256."""

    def __init__(self, found: Assembly, wanted: Measured) -> None:
        self.found, self.wanted = found, wanted
        self.files: dict[str, str] = {}

    def measured(self, passes: Passes, machine: PaddockMachine) -> PlanInput | None:
        """The measured ground, if one is asked for and nothing is wrong with it."""
        wanted = self.wanted
        kinds = [name for name in ("lines", "grid", "surface") if getattr(wanted, name)]
        if len(kinds) > 1:
            given, allowed = f"given {' and '.join(kinds)}", "one of lines, grid and surface"
            self.found.add("measured", given, allowed, "drop the others")
            return None
        if kinds in ([], ["grid"]) and passes.length is None:
            self.found.add("passes.length_m", "missing", "5 to 20000 m (measured length)", "add length_m = 300")
            return None
        readers: dict[str, Callable[[], PlanInput | None]] = {
            "lines": lambda: self._lines(wanted.lines),
            "grid": lambda: self._grid(passes, machine.width),
            "surface": lambda: self._surface(machine),
        }
        return self.found.read(readers[kinds[0]]) if kinds else None

    def strengths(self, passes: Passes, measured: PlanInput | None) -> StrengthPoints | None:
        """Soil strengths at points."""
        points = self.found.read(lambda: read_strengths(self._file(self.wanted.strength_file)))
        placed = isinstance(measured, LineInput) or (passes.latitude is not None and passes.longitude is not None)
        if points is not None and points.by_position and not placed:
            given, allowed = "strengths by latitude and longitude", "latitude and longitude in [passes]"
            self.found.add("measured.strength_file", given, allowed, "add them, or give x_m and y_m")
        return points

    def _lines(self, wanted: tuple[LineFile, ...]) -> LineInput:
        def read(item: LineFile) -> MeasuredLine | None:
            return self.found.read(lambda: read_line(self._file(item.file)))

        lines = [self._treated(line) for line in map(read, wanted) if line is not None]
        made = LineInput(tuple(lines))
        for i, line in enumerate(lines):
            self.found.notes += warnings_of(line.profile)
            self._check_length(made, i, line.profile.path)
        return made

    def _treated(self, line: MeasuredLine) -> MeasuredLine:
        """A line without the waves that are to be taken out; what is found of noise is noted."""
        profile = line.profile
        shortest = self._shortest(profile.path, profile.spectrum, profile.spacing)
        return line if shortest is None else line.without_waves(shortest)

    def _shortest(self, path: Path, found: Spectrum | None, spacing: float) -> float | None:
        """Shortest wave to keep in a file's heights [m], None: all; what is found of noise is noted."""
        treated = treatment(path.name, found, spacing, self.wanted.survey, "measured")
        self.found.notes += treated.notes
        return treated.shortest

    def _grid(self, passes: Passes, width: float) -> PlanInput | None:
        wanted = self.wanted.grid
        assert wanted is not None
        if passes.latitude is None or passes.longitude is None:
            self.found.add("passes.latitude and longitude", "missing", "where place (0, 0) lies, needed with a grid",
                           "latitude = -33.1 and longitude = 148.2")  # fmt: skip
            return None
        path = self._file(wanted.file)
        origin = (passes.latitude, passes.longitude)
        assert passes.length is not None
        made = read_grid(path, wanted.band, origin, passes.heading, passes.length, passes.count * width)
        held = f"cells of {made.cell:.3g} m hold no wave shorter than {2 * made.cell:.3g} m"
        self.found.notes.append(f"{path.name}: {held}")
        shortest = self._shortest(path, made.spectrum, made.cell)
        return made if shortest is None else made.without_waves(shortest)

    def _surface(self, machine: PaddockMachine) -> PlanInput:
        assert self.wanted.surface is not None
        path = self._file(self.wanted.surface.file)
        wide = max(map(abs, (*machine.front_wheels, *machine.rear_wheels)))
        made = read_surface(path, max(0.5 * machine.width, wide))
        self._check_length(made, 0, path)
        return replace(made, kept=self._shortest(path, made.spectrum, made.spacing) or 0.0)

    def _check_length(self, made: LineInput | SurfaceInput, number: int, path: Path) -> None:
        length = made.length(number)
        if not LEAST <= length <= MOST:
            hint = "a longer pass" if length < LEAST else "are the distances in metres? cut it into several passes"
            given, allowed = f"{length:.6g} m of ground", f"{LEAST:g} to {MOST:g} m in one pass"
            self.found.texts.append(fault(str(path), given, allowed, hint))

    def _file(self, name: str) -> Path:
        """Path of an input file, whose digest is kept. Raises ScenarioError if it cannot be read."""
        path = self.found.path.parent / name
        try:
            with path.open("rb") as stream:
                self.files[name] = hashlib.file_digest(stream, "sha256").hexdigest()
        except OSError as error:
            given = f"cannot be read ({error.strerror or error})"
            hint = "check the path; it counts from this file's folder"
            raise ScenarioError([fault(f"{self.found.path}: {name}", given, "a file that is there", hint)]) from None
        return path
