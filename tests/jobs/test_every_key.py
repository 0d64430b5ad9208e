"""Every key of a scenario and of a paddock file does something: changed a little, it changes an answer.

Each key is moved in files that make it matter (stones for the stones' contact, a fall of the ground for the travel
stops, a low pressure for the oil column …), and the answers are compared: one crossing with all series and pins, the
window with limits and machine, the pressure chart, a turn of the turnbuckle; of a paddock all that a pass keeps, and
what is told of the whole. A key that changes nothing is dead weight that a user trusts: it goes onto the list below
with its reason, or gets a meaning.
"""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.crossing.summary import run_summary
from analysis.levelling.turns import turnbuckle
from analysis.paddock.batch import run_batch
from analysis.paddock.passes.crossing import run_pass
from analysis.paddock.summary import summarise, to_dict
from analysis.paddock.table import load_table
from analysis.pins.wear.life import pin_lives
from analysis.pins.wear.stretch import stretch_of
from analysis.setting_up.pressure_chart import chart
from analysis.storage import structure, trial
from analysis.window.advice import advise
from analysis.window.advice_document import advice_document
from analysis.window.cross_grid import search
from scenarios.doubt.belief import belief, draws
from scenarios.format.errors import ScenarioError
from scenarios.format.keys import Key
from scenarios.format.tables import ROOT, Table, walk
from scenarios.load import load
from scenarios.paddock.load import load_paddock
from scenarios.paddock.tables import PADDOCK
from sim.run import RunError, simulate

TOLD_ONLY = "a name or sentence that is shown as it stands"
NO_EFFECT = {("title",): TOLD_ONLY, ("shows",): TOLD_ONLY, ("zones", "name"): TOLD_ONLY}
NO_EFFECT |= {("uncertain", "version"): TOLD_ONLY}
READINGS = "what readings are fitted with (rowbench fit)"
NO_EFFECT |= {("prior", name): READINGS for name in ("dig_error_mm", "cone_factor", "cone_factor_times")}
OWN = "has to be what the file's own values are, else it is refused (tests/unit/scenarios/doubt)"
NO_EFFECT |= {("uncertain", name): OWN for name in ("keys", "centre")}
# read from files of a size or kind of their own: tested where those are made (tests/unit/scenarios/paddock)
OTHER_FILES = {
    ("measured", "grid", "file"), ("measured", "grid", "band"), ("measured", "surface", "file"),
    ("measured", "strength_file"),
}  # fmt: skip

LONG = {"ground": {"length_m": 25.0}, "search": {"pressures_bar": [40], "speeds_kmh": [9], "seeds": 1}}
LIMITS: dict[str, Any] = {"pin_peak_max_N": 2e4, "gas_pressure_max_bar": 90.0, "gas_pressure_warning_bar": 43.0}
LIMITS |= {"breakouts_per_km_max": 20.0, "max_oil_pressure_bar": 80}
STONES = {"rate_per_100m": 60.0, "length_m": [0.2, 0.35], "top_mm": [-20, 45], "contact": {"give_way_kN": 6.0}}
ROUGH = {"ground": {"length_m": 25.0, "roughness": {"class": "D"}}, "stones": STONES, "limits": LIMITS}
FALL = {"ground": {"length_m": 25.0, "features": [{"kind": "drop", "at_m": 8, "depth_mm": 600, "length_m": 1.2}]}}
CLIMB = {"ground": {"length_m": 25.0, "features": [{"kind": "ramp", "at_m": 8, "rise_mm": 700, "run_m": 1.0}]}}
EMPTY = {"settings": {"oil_pressure_bar": 30, "precharge_bar": 45, "reference_pressure_bar": 30}, **FALL}
HELD = {
    "settings": {
        "oil": "held",
        "press_notch": 1,
        "setting": "unchanged",
        "reference_speed_kmh": 7,
        "reference_pressure_bar": 55,
    }
}
STOPS = {"unit": {"press_wheel": {"stop_down_deg": -18.0, "stop_up_deg": 3.0}, "main_links": {"stop_up_deg": 8.0}}}
OWN_PIN = {
    "unit": {
        "pins": {
            "cylinder": {"span_mm": 60},
            "linkage": {"span_mm": 60},
            "own": [{"pin": "main_lower_front", "diameter_mm": 35, "span_mm": 150, "length_mm": 25, "material": "steel",
                     "lubrication": "starved"}]
        }
    }
}  # fmt: skip
DENSITY = {"ground": {"length_m": 25.0, "roughness": {"gd_n0_m3": 1e-3}}}
PROFILE = {"ground": {"profile": {"file": "walked.csv", "roughness_class": "C"}}}


def merged(*documents: dict[str, Any]) -> dict[str, Any]:
    """Documents laid over each other, tables within tables too."""
    made: dict[str, Any] = {}
    for document in documents:
        for name, value in document.items():
            inner = made.get(name)
            made[name] = merged(inner, value) if isinstance(value, dict) and isinstance(inner, dict) else value
    return copy.deepcopy(made)


def shown(table: Table) -> dict[str, Any]:
    """An item of a list with the values that the starter file shows."""
    return {key.name: key.example if key.example is not None else key.default for key in table.keys.values()}


def placed(kind: str, table: Table, at: float, height: float = 0.2) -> dict[str, Any]:
    """One feature on a short track: shown values, its place moved to where it is crossed, and not too large."""
    item = {"kind": kind, **shown(table)}
    for name, value in item.items():
        key = table.keys.get(name)
        if name in ("at_m", "start_m"):
            item[name] = at if key.kind == "number" else [at, 0.6]
        elif name == "end_m":
            item[name] = at + 8.0 if key.kind == "number" else [at + 4.0, 2.0]
        elif name.startswith("angle"):
            item[name] = 60.0
        elif isinstance(value, tuple):
            item[name] = list(value)
    return {name: value for name, value in item.items() if value is not None}


def features() -> Iterator[dict[str, Any]]:
    """A file for each kind of feature."""
    for kind, table in ROOT.tables["ground"].lists["features"].tables.items():
        item = placed(kind, table, 8.0)
        more = {"roughness": {"class": "C"}} if kind in ("patch", "patches") else {}
        if kind == "stone_field":
            item |= {"stones_per_ha": 200000.0, "start_m": 3.0, "end_m": 20.0, "length_m": [0.2, 0.35]}
        yield merged(LONG, {"ground": {"features": [item], **more}})


UNCERTAIN = {
    "keys": ["soil.strength_MPa", "soil.sinkage_exponent"], "centre": [1.2, 0.6], "spread": [1.2, 0.1],
    "correlation": [[1, 0.5], [0.5, 1]], "readings": 3,
}  # fmt: skip

SCENARIOS = [
    merged(LONG, ROUGH),
    merged(LONG, ROUGH, HELD),
    merged(LONG, ROUGH, OWN_PIN),
    merged(LONG, {"search": {"draws": 4}, "uncertain": UNCERTAIN}),
    merged(LONG, FALL),
    merged(LONG, EMPTY),
    merged(LONG, ROUGH, FALL, STOPS),
    merged(LONG, CLIMB, STOPS),
    merged(LONG, DENSITY),
    merged(LONG, {"stones": {"placed": [{"at_m": 9.0, "length_m": 0.3, "top_mm": 30}]}}),
    {"search": LONG["search"], **PROFILE},
    merged(LONG, ROUGH, {"limits": {"gas_pressure_warning_bar": 62.0}}),
    *features(),
]

MACHINE = {"rows": 2, "row_spacing_m": 0.5, "front_wheels_m": [-0.6, 0.7], "rear_wheels_m": [-0.5, 0.5]}
PASSES = {"count": 2, "length_m": 12.0, "section_m": 4.0}
TRIED = {"pressures_bar": [60], "speeds_kmh": [9]}
PLAIN = {"machine": MACHINE, "passes": PASSES, "search": TRIED, "ground": {"roughness": {"class": "C"}}}
ZONE = {"zones": [{"name": "rise", "start_m": [2, 0.2], "end_m": [6, 0.9], "strength_MPa": 2.0}]}
FIELD = {
    "stones": {"stones_per_ha": 40000.0, "length_m": [0.2, 0.35], "top_mm": [-10, 45], "contact": {"give_way_kN": 6.0}}
}
PLACED = {"passes": {**PASSES, "latitude": -33.1, "longitude": 148.2}}
LINES = {"passes": {"section_m": 4.0}, "measured": {"lines": [{"file": "line.csv"}, {"file": "line_2.csv"}]}}


def plan_features() -> Iterator[dict[str, Any]]:
    """A paddock for each kind of feature in plan."""
    for kind, table in PADDOCK.tables["ground"].lists["features"].tables.items():
        item = placed(kind, table, 6.0)
        if kind == "stone_patch":
            item |= {"length_m": 8.0, "width_m": 1.0, "stones_per_ha": 200000.0}
        if "tracks_m" in item:
            item["tracks_m"] = [-0.25, 0.25]
        yield merged(PLAIN, FIELD, {"ground": {"features": [item]}})


PADDOCKS = [
    merged(PLAIN, ZONE, FIELD),
    merged(PLAIN, PLACED),
    {**PLAIN, "ground": {"roughness": {"gd_n0_m3": 1e-3}}},
    merged(PLAIN, {"keep": {"series_every_m": 1.0}}),
    {"machine": MACHINE, "search": TRIED, **LINES},
    *plan_features(),
]


def moved(key: Key, given: Any) -> Any:
    """Another value of a key, close by."""
    if key.kind == "choice":
        return next(word for word in key.choices if word != given)
    if key.kind == "whole":
        return given + 1 if given + 1 <= key.high else given - 1
    if key.kind == "numbers":
        return [*given[:-1], 1.011 * given[-1]]
    if key.kind == "rows":
        return [[0.9 * v if i != j else v for j, v in enumerate(row)] for i, row in enumerate(given)]
    if key.kind in ("pair", "series"):
        values = [float(v) for v in given]
        return [*values[:-1], nudged(key, values[-1])]
    return nudged(key, float(given))


def nudged(key: Key, value: float) -> float:
    """A little more, or less where more is not allowed: a hundredth of lengths of the unit, a tenth of places."""
    share = 0.1 if key.high > 1e3 or key.edge in ("mm", "1/ha") else 0.011
    step = share * abs(value) or 0.003 * min(key.high - key.low, 10.0)
    return value + step if value + step <= key.high else value - step


def at(document: Any, path: tuple[str, ...]) -> Any:
    """The table at a path; of a list of tables the first of the kind; None where there is none."""
    for name in path:
        if isinstance(document, list):
            document = next((item for item in document if item.get("kind") == name), None)
        elif isinstance(document, dict):
            document = document.get(name, None if name not in document else {})
        if document is None:
            return None
    return document[0] if isinstance(document, list) else document


def changed(document: dict[str, Any], path: tuple[str, ...], key: Key) -> dict[str, Any] | None:
    """The document with one key moved; None where it has no place for it."""
    made = copy.deepcopy(document)
    table = at(made, path)
    if table is None and path and not any(isinstance(at(made, path[:n]), list) for n in range(1, len(path))):
        table = made
        for name in path:
            table = table.setdefault(name, {}) if isinstance(table, dict) else None
            if table is None:
                return None
    if table is None:
        return None
    given = table.get(key.name, key.default)
    if key.kind == "text":
        files = {"walked.csv": "walked_2.csv", "line.csv": "line_3.csv"}
        other = {"base": "heavy" if path == ("unit",) else "soft", "file": files.get(given)}.get(key.name)
        if other is None:
            return None
        table[key.name] = other
        return made
    if given is None:
        given = key.example
    if given is None:
        return None
    table[key.name] = moved(key, given)
    return made


def plain(value: Any) -> Any:
    """Anything as text that differs where a bit differs."""
    if isinstance(value, np.ndarray):
        return [value.dtype.str, value.shape, hashlib.sha256(value.tobytes()).hexdigest()]
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, dict):
        return {str(name): plain(inner) for name, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(inner) for inner in value]
    return repr(value)


def crossed(scenario: Any) -> Any:
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    told = {name: value for name, value in run_summary(run, scenario).items() if name != "run"}
    return [plain(run.series), plain(run.pins), plain(run.actuator), told, list(scenario.warnings)]


def worn(scenario: Any) -> Any:
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    return plain(pin_lives(stretch_of(run), scenario.machine.width))


ANSWERS = (
    worn,
    crossed,
    lambda scenario: chart(scenario).to_dict(),
    lambda scenario: asdict(turnbuckle(scenario)),
    lambda scenario: advice_document(advise(scenario, search(scenario, workers=1), 1, sure=False)),
    lambda scenario: plain(draws(belief(scenario), scenario.search.draws, scenario.seed)),
)


def passed(paddock: Any) -> Any:
    return [plain(run_pass(paddock, number)) for number in range(paddock.count)]


def kept(paddock: Any, folder: Path) -> Any:
    out = folder / "kept.h5"
    out.unlink(missing_ok=True)
    run_batch(paddock, out, 1)
    table = load_table(out)
    return [to_dict(summarise(table)), plain(table.latitude), plain(table.longitude)]


def toml(document: dict[str, Any], name: str = "") -> str:
    """A document as the text of a file; tables in lists stand inline."""
    lines = [f"[{name}]"] if name else ['title = "Every key"']
    lines += [f"{key} = {inline(value)}" for key, value in document.items() if not isinstance(value, dict)]
    inner = [
        toml(value, f"{name}.{key}" if name else key) for key, value in document.items() if isinstance(value, dict)
    ]
    return "\n".join([*lines, *inner])


def inline(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {inline(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(inline(inner) for inner in value) + "]"
    return json.dumps(value)


class Files:
    """Documents as loaded files and their answers, each answered once."""

    def __init__(self, folder: Path, read: Any, answers: Any) -> None:
        self.folder, self.read, self.answers = folder, read, answers
        self._telling: dict[int, int] = {}  # of each answer the place of the file in which it told of a key last
        x = np.arange(0.0, 40.1, 0.2)
        for name, height in (
            ("walked", 0.03),
            ("walked_2", 0.031),
            ("line", 0.03),
            ("line_2", 0.02),
            ("line_3", 0.031),
        ):
            rows = "".join(f"{a:.2f},{height * np.sin(a):.5f}\n" for a in x)
            (folder / f"{name}.csv").write_text(f"distance_m,height_m\n{rows}", encoding="utf-8")

    @cache  # noqa: B019 - one object a session
    def _loaded(self, text: str) -> Any:
        path = self.folder / "every.toml"
        path.write_text(text, encoding="utf-8")
        return self.read(path)

    @cache  # noqa: B019
    def _answer(self, text: str, number: int) -> str:
        try:
            return json.dumps(self.answers[number](self._loaded(text)), default=str)
        except (RunError, ValueError) as error:
            return f"fails: {error}"

    def matters(self, documents: list[dict[str, Any]], path: tuple[str, ...], key: Key) -> bool:
        """Whether moving a key changes an answer of any of the files."""
        pairs = []
        for place, document in enumerate(documents):
            other = changed(document, path, key)
            if other is not None:
                pairs += [(number, place, toml(document), toml(other)) for number in range(len(self.answers))]
        # first every answer of the file in which it told of a key last, then all others
        pairs.sort(key=lambda pair: (self._telling.get(pair[0]) != pair[1], pair[:2]))
        for number, place, before, after in pairs:
            if not self._loads(after) or self._answer(before, number) == self._answer(after, number):
                continue
            self._telling[number] = place
            return True
        return False

    def _loads(self, text: str) -> bool:
        try:
            self._loaded(text)
        except ScenarioError:
            return False
        return True


def dead(
    files: Files, documents: list[dict[str, Any]], table: Table, besides: tuple[str, ...] = ("",)
) -> list[str]:  # fmt: skip
    """Keys of a table that change nothing; besides: a table that is not looked at."""
    named = {*NO_EFFECT, *OTHER_FILES}
    return [
        ".".join([*path, key.name])
        for path, key in walk(table)
        if path[: len(besides)] != besides
        and (*path, key.name) not in named
        and not files.matters(documents, path, key)
    ]


def test_the_files_of_this_test_are_good_ones(tmp_path):
    scenarios, paddocks = Files(tmp_path, load, ANSWERS), Files(tmp_path, load_paddock, ())
    for document in SCENARIOS:
        scenarios._loaded(toml(document))
    for document in PADDOCKS:
        paddocks._loaded(toml(document))


def test_a_dead_key_is_found(tmp_path):
    """A key that the answers do not look at is told."""
    files = Files(tmp_path, load, (lambda scenario: scenario.settings.speed,))
    key = ROOT.tables["settings"].keys
    assert files.matters(SCENARIOS[:1], ("settings",), key["speed_kmh"])
    assert not files.matters(SCENARIOS[:1], ("settings",), key["set_depth_mm"])


def test_every_key_of_a_scenario_changes_an_answer(tmp_path):
    nothing = dead(Files(tmp_path, load, ANSWERS), SCENARIOS, ROOT)
    assert not nothing, nothing


def test_every_key_of_a_paddock_changes_an_answer(tmp_path, monkeypatch):
    """Tables that a paddock shares with a scenario are tried there; so are its unit's pins, which move no row and are
    told of the unit's own file (rowbench pins).
    """
    monkeypatch.setattr(trial, "_apart", lambda place: structure.unsound(str(place)))  # our own files, in this process
    own = Table(
        PADDOCK.doc, PADDOCK.keys,
        {name: table for name, table in PADDOCK.tables.items() if ROOT.tables.get(name) is not table}, PADDOCK.lists,
    )  # fmt: skip
    files = Files(tmp_path, load_paddock, (passed, lambda paddock: kept(paddock, tmp_path)))
    nothing = dead(files, PADDOCKS, own, besides=("unit", "pins"))
    assert not nothing, nothing


@pytest.mark.parametrize("path", sorted([*NO_EFFECT, *OTHER_FILES]), ids=".".join)
def test_the_list_of_exceptions_names_keys_that_are_there(path):
    known = {(*at, key.name) for table in (ROOT, PADDOCK) for at, key in walk(table)}
    assert path in known
