"""A name or a file → a checked scenario."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from scenarios.consistency import (
    ground_faults,
    limits_faults,
    profile_faults,
    profile_stretch,
    settings_faults,
    stones_faults,
    unit_faults,
)
from scenarios.format.build import build, build_soil
from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.library import find, library
from scenarios.format.messages import Fault
from scenarios.format.override import on_the_profile, without_shapes
from scenarios.format.read import read_toml
from scenarios.format.tables import ROOT
from scenarios.ground.profile import Profile, added_notes, warnings_of
from scenarios.ground.profile_read import read_profile
from scenarios.scenario import Scenario
from scenarios.spec import Ground

__all__ = ["Scenario", "ScenarioError", "library", "load", "load_unit"]


def load(
    source: str | Path, *, profile: str | Path | None = None, changes: Mapping[str, Any] | None = None
) -> Scenario:
    """A scenario by its name in the library or by the path of its file.

    profile: a CSV file whose ground takes the place of the scenario's ground (shapes, roughness, length, and the
    strength too if it has a column for it); stones, stone fields, patches and `roughness_class` stay.
    changes: values by dotted key in edge units, in place of the file's: {"settings.oil_pressure_bar": 45}.
    Raises ScenarioError with every fault of the file, of the files it takes values from, and of the profile.
    """
    path = find(source, "scenario", where="scenario")
    document = _changed(read_toml(path), changes or {})
    try:
        return _assembled(path, document, None if profile is None else Path(profile))
    except ScenarioError as error:
        raise ScenarioError(_asked(text, path, changes or {}) for text in error.faults) from None


def load_unit(source: str | Path, *, where: str = "unit") -> Scenario:
    """A scenario to take a unit and its settings from: by name or path, a scenario or a unit alone.

    A file without [ground] is a unit (or settings, or soil) alone: it is put on 20 m of flat ground. A name is that
    of a scenario or else of a unit in the library; `where` names what asked for it.
    Raises ScenarioError as `load` does.
    """
    units, name = {entry.name: entry.path for entry in library("unit")}, str(source)
    known = [*units, *(entry.name for entry in library())]
    try:
        path = find(source, "scenario", where=where)
    except ScenarioError:
        if name not in units:
            given = f"given {shown(name)}, which is neither unit nor scenario of the library"
            near = closest(name, known) or known[0]
            allowed = f"a path to a file, or {', '.join(known)}"
            raise ScenarioError([fault(where, given, allowed, shown(near))]) from None
        path = units[name]
    document = read_toml(path)
    if "ground" not in document:
        document = {"title": path.stem, **document, "ground": {"length_m": 20.0}}
    return _assembled(path, document, None)


def _assembled(path: Path, document: dict[str, Any], profile: Path | None) -> Scenario:
    """The scenario that a document means; raises ScenarioError with all its faults."""
    # The schema brings pydantic along: import it only when a file is read.
    from scenarios.format.inherit import inherited  # noqa: PLC0415
    from scenarios.format.schema import check  # noqa: PLC0415

    faults = check(document, str(path))
    whole = dict(document)
    whole["unit"] = inherited(document, "unit", path, faults)
    whole["soil"] = inherited(document, "soil", path, faults)
    return _Assembly(path, whole, faults, profile).scenario()


def _changed(document: dict[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a document with single values put in by their dotted keys."""
    result = copy.deepcopy(document)
    for dotted, value in changes.items():
        *tables, key = dotted.split(".")
        place = result
        for name in tables:
            inner = place.setdefault(name, {})
            if not isinstance(inner, dict):
                raise ScenarioError(
                    [fault(dotted, f"changed to {shown(value)}", f"a key in a table; {name} is none", "another key")]
                )
            place = inner
        place[key] = value
    return result


def _asked(text: str, path: Path, changes: Mapping[str, Any]) -> str:
    """A fault of a value that came from outside does not blame the file."""
    for dotted in changes:
        if text.startswith(f"{path}: {dotted}:"):
            return text.replace(f"{path}: {dotted}:", f"{dotted} (in place of the file's):", 1)
    return text


class _Assembly:
    """Builds a scenario out of a checked document and goes on past faults, to find them all."""

    def __init__(self, path: Path, document: dict[str, Any], faults: list[Fault], override: Path | None) -> None:
        self.path, self.document, self.override = path, document, override
        self.texts = [item.text for item in faults]
        self.broken = {item.path[0] for item in faults if item.path}

    def scenario(self) -> Scenario:
        """The scenario; raises ScenarioError with all faults."""
        unit = self._part("unit")
        soil, variation = build_soil({} if "soil" in self.broken else self.document["soil"])
        parts = {name: self._part(name) for name in ("settings", "ground", "stones", "machine", "limits", "search")}
        profile = self._profile(parts["ground"], unit)
        profile, notes = self._completed(parts["ground"], profile)
        if self.override is not None:
            parts["ground"] = Ground(seed=parts["ground"].seed, features=without_shapes(parts["ground"].features))
        stretch = self._stretch(parts["ground"], profile, unit)
        dropped: list[str] = []
        if self.override is not None and stretch is not None:
            parts["ground"], parts["stones"], dropped = on_the_profile(parts["ground"], parts["stones"], stretch)
        self._check(unit, parts, stretch)
        if self.texts or stretch is None:
            raise ScenarioError(self.texts)
        if profile is not None and profile.mean_strength is not None:
            soil = replace(soil, strength=profile.mean_strength)
        title, shows = str(self.document["title"]), str(self.document.get("shows", ""))
        return Scenario(
            name=self.path.stem, path=self.path, title=title, shows=shows, unit=unit, soil=soil, variation=variation,
            x_from=stretch[0], x_to=stretch[1], profile=profile,
            warnings=(*notes, *dropped, *_pressure_notes(parts)), **parts,
        )  # fmt: skip

    def _part(self, name: str) -> Any:
        """One table as a dataclass; its defaults where the table is at fault (nothing is returned then)."""
        document = {} if name in self.broken else self.document.get(name, {})
        return build(ROOT.tables[name], document)

    def _profile(self, ground: Any, unit: Any) -> Profile | None:
        """The measured profile, if one is asked for; its faults are kept with the others."""
        path = self.override
        if path is None and ground.profile is not None:
            path = self.path.parent / ground.profile.file
        if path is None:
            return None
        try:
            profile = read_profile(path)
        except ScenarioError as error:
            asked = "" if self.override else f"{self.path}: ground.profile.file: "
            self.texts += [asked + text for text in error.faults]
            self.broken.add("profile")
            return None
        faults = list(profile_faults(profile, unit))
        self.texts += faults
        if faults:
            self.broken.add("profile")
        return profile

    def _completed(self, ground: Ground, profile: Profile | None) -> tuple[Profile | None, list[str]]:
        """The profile with the roughness that stands for what its points cannot hold, and what is to be told of it."""
        if profile is None:
            return None, []
        letter = None if ground.profile is None else ground.profile.roughness_class
        if letter is not None:
            profile = profile.with_fine(letter)
        return profile, [
            *warnings_of(profile),
            *added_notes(profile, letter, ground if self.override is None else None),
        ]

    def _stretch(self, ground: Any, profile: Profile | None, unit: Any) -> tuple[float, float] | None:
        """Where measures begin and end [m]; None if that cannot be told."""
        if "profile" in self.broken or "ground" in self.broken:
            return None
        if profile is not None:
            start, end = profile_stretch(profile, unit)
            if ground.length is None or ground.length == end - start:
                return start, end
            if ground.length < end - start:
                return start, start + ground.length
            allowed = f"up to {end - start:.6g} m, what the profile leaves to measure"
            self._add("ground.length_m", f"given {ground.length:g}", allowed, "leave length_m out")
            return None
        if ground.length is None:
            self._add("ground.length_m", "missing", "5 to 20000 m (measured length)", "add length_m = 100")
            return None
        return 0.0, ground.length

    def _check(self, unit: Any, parts: dict[str, Any], stretch: tuple[float, float] | None) -> None:
        """Checks of several keys together, for tables without faults of their own."""
        file = str(self.path)
        checks: list[tuple[set[str], Callable[[], Iterator[str]]]] = [
            ({"unit"}, lambda: unit_faults(unit, file)),
            ({"settings", "unit"}, lambda: settings_faults(parts["settings"], unit, file)),
            ({"limits"}, lambda: limits_faults(parts["limits"], file)),
        ]
        if stretch is not None:
            span = stretch
            checks.append(({"ground"}, lambda: ground_faults(parts["ground"], span, file)))
            checks.append(({"stones"}, lambda: stones_faults(parts["stones"], span, file)))
        for tables, faults in checks:
            if not tables & self.broken:
                self.texts += faults()

    def _add(self, key: str, given: str, allowed: str, hint: str) -> None:
        self.texts.append(fault(f"{self.path}: {key}", given, allowed, hint))


def _pressure_notes(parts: Mapping[str, Any]) -> Iterable[str]:
    """A word when the settings lie over the file's own highest oil pressure."""
    settings, limits = parts["settings"], parts["limits"]
    if limits.max_oil_pressure is not None and settings.oil_pressure > limits.max_oil_pressure:
        high, given = limits.max_oil_pressure / 1e5, settings.oil_pressure / 1e5
        yield f"oil pressure {given:g} bar is over this file's max_oil_pressure_bar, {high:g} bar"
