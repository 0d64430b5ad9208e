"""A name or a file → a checked paddock."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from scenarios.consistency import limits_faults, settings_faults, unit_faults
from scenarios.format.build import build, build_soil
from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.inherit import inherited
from scenarios.format.library import FOLDER, Entry
from scenarios.format.messages import Fault
from scenarios.format.read import read_text, read_toml
from scenarios.ground.lay import reach
from scenarios.ground.profile import warnings_of
from scenarios.paddock.paddock import COARSE, Paddock
from scenarios.paddock.plan_input import AHEAD, LineInput, PlanInput, SurfaceInput, read_grid, read_surface
from scenarios.paddock.plan_input_csv import MeasuredLine, StrengthPoints, read_line, read_strengths
from scenarios.paddock.spec import Passes
from scenarios.paddock.surface import rough_surface
from scenarios.paddock.tables import PADDOCK, check_paddock

PADDOCKS = FOLDER / "paddocks"
PARTS = ("settings", "limits", "machine", "passes", "ground", "stones", "measured", "search", "keep")
LEAST = 5.0  # shortest pass [m]


def paddock_library() -> list[Entry]:
    """The named paddocks that come with the program."""
    found = []
    for path in sorted(PADDOCKS.glob("*.toml")):
        document = read_toml(path)
        found.append(Entry(path.stem, path, str(document.get("title", "")), str(document.get("shows", ""))))
    return found


def find_paddock(source: str) -> Path:
    """The file that a name of the library or a path means. Raises ScenarioError if there is no such name."""
    path = Path(source)
    if source.endswith(".toml") or "/" in source or path.is_file():
        return path
    named = PADDOCKS / f"{source}.toml"
    if named.is_file():
        return named
    names = [entry.name for entry in paddock_library()]
    near = closest(source, names)
    raise ScenarioError(
        [fault("paddock", f"given {shown(source)}, which is no paddock of the library",
               f"a path to a file, or {', '.join(names)}", f'"{near or names[0]}"')]
    )  # fmt: skip


def load_paddock(source: str | Path) -> Paddock:
    """A paddock by its name in the library or the path of its file.

    Raises ScenarioError with every fault of the file and of the files that it names.
    """
    path = source if isinstance(source, Path) else find_paddock(source)
    document = read_toml(path)
    faults = check_paddock(document, str(path))
    whole = dict(document)
    whole["unit"] = inherited(document, "unit", path, faults)
    whole["soil"] = inherited(document, "soil", path, faults)
    return _Assembly(path, whole, faults).paddock()


class _Assembly:
    """Builds a paddock out of a checked document and goes on past faults, to find them all."""

    def __init__(self, path: Path, document: dict[str, Any], faults: list[Fault]) -> None:
        self.path, self.document = path, document
        self.texts = [item.text for item in faults]
        self.broken = {item.path[0] for item in faults if item.path}
        self.files: dict[str, str] = {}
        self.notes: list[str] = []

    def paddock(self) -> Paddock:
        """The paddock; raises ScenarioError with all faults."""
        unit = self._part("unit")
        soil, variation = build_soil({} if "soil" in self.broken else self.document["soil"])
        parts = {name: self._part(name) for name in PARTS}
        wanted = parts.pop("measured")
        zones = () if "zones" in self.broken else tuple(
            build(PADDOCK.lists["zones"].tables[""], item) for item in self.document.get("zones", [])
        )  # fmt: skip
        checks: list[tuple[set[str], Callable[[], Any]]] = [
            ({"unit"}, lambda: unit_faults(unit, str(self.path))),
            ({"settings", "unit"}, lambda: settings_faults(parts["settings"], unit, str(self.path))),
            ({"limits"}, lambda: limits_faults(parts["limits"], str(self.path))),
        ]
        for tables, found in checks:
            if not tables & self.broken:
                self.texts += found()
        self._roughness(parts["ground"])
        measured = None
        if not {"measured", "passes", "machine", "unit"} & self.broken:
            measured = self._measured(wanted, parts, unit)
        strengths = self._strengths(wanted.strength_file, parts["passes"], measured) if wanted.strength_file else None
        if self.texts:
            raise ScenarioError(self.texts)
        if isinstance(measured, LineInput):
            parts["passes"] = replace(parts["passes"], count=len(measured.lines), direction="one_way")
        elif isinstance(measured, SurfaceInput):
            parts["passes"] = replace(parts["passes"], count=1)
        text = read_text(self.path, "a paddock file (TOML)")
        title, shows = str(self.document["title"]), str(self.document.get("shows", ""))
        return Paddock(
            name=self.path.stem, path=self.path, text=text, title=title, shows=shows, unit=unit, soil=soil,
            variation=variation, zones=zones, measured=measured, strengths=strengths, files=self.files,
            warnings=tuple(self.notes), **parts,
        )  # fmt: skip

    def _part(self, name: str) -> Any:
        document = {} if name in self.broken else self.document.get(name, {})
        return build(PADDOCK.tables[name], document)

    def _roughness(self, ground: Any) -> None:
        rough = ground.roughness
        if rough is None or "ground" in self.broken:
            return
        if (rough.letter is None) == (rough.gd_n0 is None):
            given = "both class and gd_n0_m3" if rough.letter else "neither class nor gd_n0_m3"
            self._add("ground.roughness", given, "one of the two", 'class = "D"')
        elif rough_surface(rough).highest > 0.5 / COARSE:
            self._add(
                "ground.roughness.band_c_per_m", f"given up to {rough.band[1]:g}", f"up to {0.5 / COARSE:g}", "10"
            )

    def _measured(self, wanted: Any, parts: dict[str, Any], unit: Any) -> PlanInput | None:
        """The measured ground, if one is asked for."""
        kinds = [name for name in ("lines", "grid", "surface") if getattr(wanted, name)]
        if len(kinds) > 1:
            self._add("measured", f"given {' and '.join(kinds)}", "one of lines, grid and surface", "drop the others")
            return None
        passes: Passes = parts["passes"]
        if kinds in ([], ["grid"]) and passes.length is None:
            self._add("passes.length_m", "missing", "5 to 20000 m (measured length)", "add length_m = 300")
            return None
        run_out = reach(unit)[1]
        try:
            if kinds == ["lines"]:
                return self._lines(wanted, run_out)
            if kinds == ["grid"]:
                return self._grid(wanted, passes, parts["machine"].width)
            if kinds == ["surface"]:
                path = self._file(wanted.surface.file)
                wide = max(map(abs, (*parts["machine"].front_wheels, *parts["machine"].rear_wheels)))
                found = read_surface(path, run_out, max(0.5 * parts["machine"].width, wide))
                return self._long_enough(found, 0, path)
        except ScenarioError as error:
            self.texts += error.faults
        return None

    def _lines(self, wanted: Any, run_out: float) -> LineInput | None:
        lines: list[MeasuredLine] = []
        faults: list[str] = []
        for item in wanted.lines:
            try:
                lines.append(read_line(self._file(item.file)))
            except ScenarioError as error:
                faults += error.faults
        self.texts += faults
        found = LineInput(tuple(lines), run_out)
        for i, line in enumerate(lines):
            self.notes += warnings_of(line.profile)
            self._long_enough(found, i, line.profile.path)
        return found

    def _long_enough(self, found: Any, number: int, path: Path) -> Any:
        length = found.length(number)
        if length < LEAST:
            needed = AHEAD + found.run_out + LEAST
            parts = f"{AHEAD:g} m lead-in, {found.run_out:g} m to run out, {LEAST:g} m to measure"
            self.texts.append(fault(str(path), f"{length + AHEAD + found.run_out:.4g} m of ground",
                                    f"at least {needed:g} m ({parts})", "a longer pass"))  # fmt: skip
        return found

    def _grid(self, wanted: Any, passes: Passes, width: float) -> PlanInput | None:
        if passes.latitude is None or passes.longitude is None:
            self._add("passes.latitude and longitude", "missing", "where place (0, 0) lies, needed with a grid",
                      "latitude = -33.1 and longitude = 148.2")  # fmt: skip
            return None
        path = self._file(wanted.grid.file)
        origin = (passes.latitude, passes.longitude)
        assert passes.length is not None
        found = read_grid(path, wanted.grid.band, origin, passes.heading, passes.length, passes.count * width)
        self.notes.append(f"{path.name}: cells of {found.cell:.3g} m hold no wave shorter than {2 * found.cell:.3g} m")
        return found

    def _strengths(self, file: str, passes: Passes, measured: PlanInput | None) -> StrengthPoints | None:
        try:
            found = read_strengths(self._file(file))
        except ScenarioError as error:
            self.texts += error.faults
            return None
        placed = isinstance(measured, LineInput) or (passes.latitude is not None and passes.longitude is not None)
        if found.by_position and not placed:
            given, allowed = "strengths by latitude and longitude", "latitude and longitude in [passes]"
            self._add("measured.strength_file", given, allowed, "add them, or give x_m and y_m")
        return found

    def _file(self, name: str) -> Path:
        """Path of an input file, whose digest is kept."""
        path = self.path.parent / name
        try:
            with path.open("rb") as stream:
                self.files[name] = hashlib.file_digest(stream, "sha256").hexdigest()
        except OSError as error:
            reason = error.strerror or str(error)
            raise ScenarioError([fault(f"{self.path}: {name}", f"cannot be read ({reason})", "a file that is there",
                                       "check the path; it counts from this file's folder")]) from None  # fmt: skip
        return path

    def _add(self, key: str, given: str, allowed: str, hint: str) -> None:
        self.texts.append(fault(f"{self.path}: {key}", given, allowed, hint))
