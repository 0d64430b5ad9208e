"""A name or a file → a checked scenario."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from scenarios.changed.put_in import PutIn, asked_fault, put_in, put_twice, said
from scenarios.consistency import check_together, flat_note, ground_faults, meant_flat, profile_faults
from scenarios.doubt.told import told_doubt
from scenarios.format.assembly import Assembly
from scenarios.format.errors import ScenarioError, closest_name, fault, shown
from scenarios.format.library import find, is_librarys, library
from scenarios.format.override import on_the_profile, without_shapes
from scenarios.format.read import Chain, Source, parse_toml, read_text, read_toml
from scenarios.format.tables import SCENARIO
from scenarios.format.whole import whole_document
from scenarios.ground.measured.treat import survey_faults, treatment
from scenarios.ground.profile import Profile, added_notes, warnings_of
from scenarios.ground.profile_read import read_profile
from scenarios.ground.spec_ground import Survey
from scenarios.ground.stones import stones_faults
from scenarios.scenario import Scenario
from scenarios.spec import Ground, Surface

__all__ = ["Scenario", "ScenarioError", "library", "load", "load_again", "load_document", "load_text", "load_unit"]


def load(
    source: str | Path,
    *,
    profile: str | Path | None = None,
    changes: Mapping[str, Any] | None = None,
    told: bool = True,
) -> Scenario:
    """A scenario by its name in the library or by the path of its file.

    profile: a CSV file whose ground takes the place of the scenario's ground (shapes, roughness, length, and the
    strength too if it has a column for it); stones, stone fields, patches and `roughness_class` stay.
    changes: values by dotted name in edge units, in place of the file's: {"settings.oil_pressure_bar": 45}; also a
    coordinate of a point ("unit.disc.hub_m.x") and parts that move together ("together.arm_m").
    told: whether the title says them.
    Raises ScenarioError with every fault of the file, of the files it takes values from, and of the profile.
    """
    path = find(source, "scenario", where="scenario")
    text = Source(read_text(path, "a scenario file (TOML)"))
    made = _loaded(path, text, None, None if profile is None else Path(profile), changes or {})
    return replace(made, title=f"{made.title}{said(made.replaced)}") if told else made


def load_again(
    path: Path,
    source: Source,
    *,
    profile: Profile | None = None,
    kept: Mapping[str, Any] | None = None,
    changes: Mapping[str, Any] | None = None,
) -> Scenario:
    """A scenario from texts that were kept, whatever became of their files: none is read.

    path: where the texts were kept, for messages; profile: the ground as it was laid, lead-in and all, with `laid`
    saying where its measures began and ended; kept: the changes that were kept with the texts; changes: on top of them,
    as `load`. Raises ScenarioError with every fault of the texts,
    and for one that names a profile where none is given.
    """
    ground = parse_toml(source.text, path).get("ground")
    if profile is None and isinstance(ground, dict) and "profile" in ground:
        raise ScenarioError(
            [fault(f"{path}: ground.profile", "a measured profile that was not kept", "the ground that the text names",
                   "make it again from the scenario file")]
        )  # fmt: skip
    faults = [
        fault(name, f"changed to {shown(value)}", "what the stored texts take over", "the scenario's own file")
        for name, value in (changes or {}).items()
        if name in ("unit.base", "soil.base")
    ]
    if faults:
        raise ScenarioError(faults)
    made = _loaded(path, source, source.chains, profile, changes or {}, kept or {})
    return replace(made, title=f"{made.title}{said(made.replaced)}")


def _loaded(
    path: Path, source: Source, chains: Mapping[str, Chain] | None, profile: Path | Profile | None,
    changes: Mapping[str, Any], kept: Mapping[str, Any] | None = None,
) -> Scenario:  # fmt: skip
    def laid(document: dict[str, Any]) -> dict[str, Any]:
        return whole_document(document, path, SCENARIO, chains)

    put = put_twice(parse_toml(source.text, path), laid, kept or {}, changes)
    try:
        made = _assembled(path, put.document, profile, chains)
        made = replace(made, **_whose(path, source, put, made.source.chains if made.source else {}))
    except ScenarioError as error:
        raise ScenarioError([*put.faults, *(asked_fault(text, path, put) for text in error.faults)]) from None
    if put.faults:
        raise ScenarioError(put.faults)
    made = replace(made, replaced=put.changes, source=replace(made.source, text=source.text) if made.source else None)
    return _with_flat_note(made, put.document)


def _with_flat_note(made: Scenario, document: Mapping[str, Any]) -> Scenario:
    """The scenario with a warning where its ground was left without roughness, perhaps unmeant."""
    if made.profile is not None or "roughness" in document["ground"]:
        return made
    shapes = any(isinstance(feature, Surface) for feature in made.ground.features)
    return replace(made, warnings=(*made.warnings, flat_note(shapes)))


def load_text(text: str, path: Path) -> Scenario:
    """A scenario from the text of a file as if it stood at `path`. Raises ScenarioError as `load` does."""
    return _loaded(path, Source(text), None, None, {})


def load_document(document: dict[str, Any], path: Path) -> Scenario:
    """A scenario from a document as if it stood in a file at `path`: what it takes from files counts from there.

    Raises ScenarioError as `load` does.
    """
    made = _assembled(path, document, None)
    return _with_flat_note(made, document)


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
            near = closest_name(name, known)
            allowed = f"a path to a file, or {', '.join(known)}"
            hint = shown(near) if near else "rowbench library: it lists them"
            raise ScenarioError([fault(where, given, allowed, hint)]) from None
        path = units[name]
    document = read_toml(path)
    if "ground" not in document:
        document = {"title": path.stem, **document, "ground": {"length_m": 20.0}}
    return _assembled(path, document, None)


def _whose(path: Path, source: Source, put: PutIn, chains: Mapping[str, Chain]) -> dict[str, Any]:
    """Whether a file is the library's (or a copy of it), and which values of unit and soil its user stated."""
    from scenarios.format.inherit import stated  # noqa: PLC0415 (brings pydantic along, which is in use by now)

    copied = is_librarys("scenario", path.name, source.text)
    own = put_in({}, {}, put.spelled).document if copied else put.document
    return {"made_up": copied, "stated": stated(own, chains)}


def _assembled(
    path: Path, document: dict[str, Any], override: Path | Profile | None, chains: Mapping[str, Chain] | None = None
) -> Scenario:
    """The scenario that a document means; raises ScenarioError with all its faults.

    override: measured ground in place of the document's, of a CSV file or as it was laid before; chains: texts in place
    of the files that unit and soil take over.
    """
    found = Assembly(path, document, SCENARIO, chains)
    unit, (soil, variation) = found.part("unit"), found.soil()
    parts = {name: found.part(name) for name in ("settings", "ground", "stones", "machine", "limits", "search")}
    if meant_flat(parts["ground"].roughness):
        parts["ground"] = replace(parts["ground"], roughness=None)
    held = SimpleNamespace(**parts, unit=unit, soil=soil, variation=variation)
    parts["prior"], parts["uncertain"] = told_doubt(found, held)
    profile = _profile(found, parts["ground"], override)
    if profile is None or profile.laid is None:
        profile = _completed(found, parts["ground"], profile, override)
    if override is not None:
        parts["ground"] = Ground(seed=parts["ground"].seed, features=without_shapes(parts["ground"].features))
    stretch = _stretch(found, parts["ground"], profile)
    if override is not None and stretch is not None:
        parts["ground"], parts["stones"], dropped = on_the_profile(parts["ground"], parts["stones"], stretch)
        found.notes += dropped
    check_together(found, unit, parts["settings"], parts["limits"])
    if stretch is None:
        raise ScenarioError(found.texts)
    found.check({"ground"}, lambda: ground_faults(parts["ground"], stretch, str(path)))
    found.check({"stones"}, lambda: stones_faults(parts["stones"], stretch, str(path)))
    if parts["ground"].profile is not None:
        survey = parts["ground"].profile.survey
        found.check({"ground"}, lambda: survey_faults(survey, f"{path}: ground.profile"))
    found.finish()
    if profile is not None and profile.mean_strength is not None:
        soil = replace(soil, strength=profile.mean_strength)
    return Scenario(
        name=path.stem, path=path, title=found.said("title"), shows=found.said("shows"), unit=unit, soil=soil,
        variation=variation, x_from=stretch[0], x_to=stretch[1], profile=profile,
        warnings=(*found.notes, *_pressure_notes(parts)), source=Source("", found.chains),
        files=(*found.files, *((profile.path,) if profile is not None else ())), **parts,
    )  # fmt: skip


def _profile(found: Assembly, ground: Ground, override: Path | Profile | None) -> Profile | None:
    """The measured profile, if one is asked for; "profile" counts as broken where it is at fault."""
    if isinstance(override, Profile):
        return override
    path, asked = override, ""
    if path is None and ground.profile is not None:
        path, asked = found.path.parent / ground.profile.file, f"{found.path}: ground.profile.file: "
    if path is None:
        return None
    profile = found.read(lambda: read_profile(path), asked)
    faults = [] if profile is None else list(profile_faults(profile))
    found.texts += faults
    if profile is None or faults:
        found.broken.add("profile")
    return profile


def _completed(
    found: Assembly, ground: Ground, profile: Profile | None, override: Path | Profile | None
) -> Profile | None:
    """The profile with the roughness that stands for what its points cannot hold; what is to be told of it is noted."""
    if profile is None:
        return None
    letter = None if ground.profile is None else ground.profile.roughness_class
    survey = Survey() if ground.profile is None else ground.profile.survey
    treated = treatment(profile.path.name, profile.spectrum, profile.spacing, survey, "ground.profile")
    if treated.shortest is not None:
        profile = profile.without_waves(treated.shortest)
    found.notes += treated.notes
    if letter is not None:
        profile = profile.with_fine(letter)
    found.notes += warnings_of(profile)
    found.notes += added_notes(profile, letter, ground if override is None else None)
    return profile


def _stretch(found: Assembly, ground: Ground, profile: Profile | None) -> tuple[float, float] | None:
    """Where measures begin and end [m]; None if that cannot be told. What length_m leaves out is noted."""
    if "profile" in found.broken or "ground" in found.broken:
        return None
    if profile is not None:
        start, end = profile.stretch
        if ground.length is None or ground.length == end - start:
            return start, end
        if ground.length < end - start:
            last = start + ground.length
            found.notes.append(
                f"{profile.path.name}: length_m = {ground.length:g} measures {start:.6g} to {last:.6g} m of the file; "
                f"the {end - last:.6g} m behind that, to {end:.6g} m, are left out"
            )
            return start, last
        allowed = f"up to {end - start:.6g} m, the length of the profile"
        found.add("ground.length_m", f"given {ground.length:g}", allowed, "leave length_m out")
        return None
    if ground.length is None:
        found.add("ground.length_m", "missing", "5 to 20000 m (measured length)", "add length_m = 100")
        return None
    return 0.0, ground.length


def _pressure_notes(parts: Mapping[str, Any]) -> Iterable[str]:
    """A word when the settings lie over the file's own highest oil pressure."""
    settings, limits = parts["settings"], parts["limits"]
    if limits.max_oil_pressure is not None and settings.oil_pressure > limits.max_oil_pressure:
        high, given = limits.max_oil_pressure / 1e5, settings.oil_pressure / 1e5
        yield f"oil pressure {given:g} bar is over this file's max_oil_pressure_bar, {high:g} bar"
