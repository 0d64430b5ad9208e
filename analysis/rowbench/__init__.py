"""Which oil pressure and which speed hold the depth on this ground, and why: the test bench from Python.

Names and units of keywords are those of a scenario file; objects hold SI units, and their `summary()` is the
document that the command of the same job prints with `--json`, each value with its unit in its key. What a crossing
needs is compiled once per installation, with a word on standard error (logger "rowbench").

>>> import rowbench as rb

**A scenario** comes from a file or by its name in the library. Keywords stand in place of the file's values: those of
[settings] and `seed` by their own names, all others in their table. They are checked as the file is, all at once.

>>> [entry.name for entry in rb.library()][:4]
['bank', 'coarse_log', 'gilgai', 'gully']
>>> rough = rb.load("rough", seed=2, ground={"length_m": 60}, soil={"strength_MPa": 1.4})
>>> rough
Scenario rough: Rough field, firm soil
  60 m, 40 bar, 8 km/h, set depth 40 mm, seed 2
>>> try:
...     rb.load("rough", oil_pressure_bar=600, stregnth_MPa=1.4)
... except rb.ScenarioError as error:
...     print(len(error.faults), "faults:", error.faults[1])
2 faults: settings.oil_pressure_bar (in place of the file's): given 600; allowed: 1 to 250 bar (...

**One crossing.** `run` takes the same keywords, and the scenario stays as it is.

>>> run = rough.run(oil_pressure_bar=70, speed_kmh=9)
>>> run
Run: 70 bar, 9 km/h, set depth 40 mm, 60 m (compiled)
  rough: on depth (±10 mm) ... %, wheel off ... %
>>> found = run.summary()
>>> found["settings"]["oil_pressure_bar"], found["settings"]["downforce_kgf"] > 200
(70.0, True)
>>> run.series["depth"].shape == run.series["gauge_load"].shape  # every channel as an array, SI units
True

With xarray installed, all of it as one labelled dataset:

>>> data = run.to_xarray()
>>> data.depth.attrs["units"], data.pins.sizes["pin"], data.oil_pressure_bar
('m', 14, 70.0)
>>> peak = abs(data.pins.sel(pin="crank", axis="z")).max()

**Which setting?** The same grounds are crossed at every pressure and speed. `pick` is the fastest setting that meets
every limit of the file; where none does it is None: none of them is to be set, and `nearest` tells which fails least.

>>> window = rb.window(rough, pressures_bar=[50, 60, 70], speeds_kmh=[7, 8, 9], seeds=2)
>>> window.grids["on_depth_share"].shape  # pressures, speeds, seeds
(3, 3, 2)
>>> best = window.pick or window.nearest
>>> best.oil_pressure_bar in (50.0, 60.0, 70.0), len(best.checks) >= 4
(True, True)
>>> window.to_xarray().gauge_load_mean.sel(oil_pressure_bar=60, speed_kmh=8).dims
('seed',)

`window.advice` adds what the pick buys and how sure it is, which takes longer than the window;
`print(window.text())` is then the screen of `rowbench window`.

**Why does the depth move?** `explain` crosses the ground, tells the worst places with their causes, and tries what
could help.

>>> why = rb.explain(rough, from_m=10, to_m=40)
>>> why.places[0].what.number, len(why.tried) > 3
(1, True)

**What does a pressure give?** Nothing is simulated for the pressure chart.

>>> rb.pressures(rough, pressures_bar=[50, 60])
Pressures: 2 oil pressures, cold and hot; the file's 40 bar give 139 kgf a row

**Your unit and ground** are fitted to readings: `found = rb.fit(rough, "measured.csv")` holds each value with its doubt
before and after, `found.next` what to measure next, and `found.save("fitted.toml")` writes the scenario with both.

**A whole machine over a paddock** is kept pass by pass; the same call goes on where it was stopped, and a stored
result opens by its file alone: `rb.paddock("two_soils", out="two_soils.h5")`, `rb.paddock("two_soils.h5").pick`.

**What does it cost the pins?** `run.wear(hectares_a_year=3000, width_m=12)` tells bush pressures, wear and years of
all pins as `rowbench pins` does: `.text()`, `.summary()`, `.figure()`, and `.pins.first`, which wears out first.

**Figures** are those of matplotlib: `run.figure().savefig("run.png")`, `window.figure()`, `why.figure("pins")`,
`rb.pressures(rough).figure()`, `rough.figure()` (the unit to scale).

A setting that a unit cannot be crossed with raises `rb.SimulationError`, whose text says what, where and why.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any


def _check_own() -> None:
    """Raise ImportError where `analysis`, `scenarios` or `sim` would be somebody else's package."""
    import sys  # noqa: PLC0415
    from importlib.util import find_spec  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    here = Path(__file__).resolve().parent
    in_sources = here.parent.name == "analysis" and (here.parent / "__init__.py").is_file()
    root = here.parents[1] if in_sources else here.parent
    for name in ("analysis", "scenarios", "sim"):
        loaded = sys.modules.get(name)
        spec = None if loaded is not None else find_spec(name)
        found = getattr(loaded, "__file__", None) if loaded is not None else getattr(spec, "origin", None)
        if found is not None and Path(found).resolve() == root / name / "__init__.py":
            continue
        if found is None:
            raise ImportError(f"rowbench is not whole: its package {name!r} is missing; install it again", name=name)
        raise ImportError(
            f"{found} is in the way: rowbench has a package {name!r} of its own, and Python takes yours for it. Rename "
            "yours; or, where it lies beside the script or notebook that you start, set PYTHONSAFEPATH=1 (for a script "
            "also: python -P script.py)",
            name=name,
            path=found,
        )


_check_own()

if TYPE_CHECKING:
    from analysis.door.compare import Comparison, compare
    from analysis.door.errors import ScenarioError, SimulationError
    from analysis.door.explanation import Explanation, explain
    from analysis.door.fit import Fit, fit
    from analysis.door.paddock import PaddockResult, paddock
    from analysis.door.pressures import Pressures, pressures
    from analysis.door.run import Run
    from analysis.door.scenario import Scenario, library, load
    from analysis.door.wear import Wear
    from analysis.door.window import Window, window
    from analysis.version import VERSION as __version__
    from analysis.window.pick import Nearest, Pick

__all__ = [
    "Comparison",
    "Explanation",
    "Fit",
    "Nearest",
    "PaddockResult",
    "Pick",
    "Pressures",
    "Run",
    "Scenario",
    "ScenarioError",
    "SimulationError",
    "Wear",
    "Window",
    "__version__",
    "compare",
    "explain",
    "fit",
    "library",
    "load",
    "paddock",
    "pressures",
    "window",
]

# where each name stands: loaded as it is first asked for, so that a notebook starts at once
_PLACES = {
    "Comparison": ("analysis.door.compare", "Comparison"),
    "Explanation": ("analysis.door.explanation", "Explanation"),
    "Fit": ("analysis.door.fit", "Fit"),
    "Nearest": ("analysis.window.pick", "Nearest"),
    "PaddockResult": ("analysis.door.paddock", "PaddockResult"),
    "Pick": ("analysis.window.pick", "Pick"),
    "Pressures": ("analysis.door.pressures", "Pressures"),
    "Run": ("analysis.door.run", "Run"),
    "Scenario": ("analysis.door.scenario", "Scenario"),
    "ScenarioError": ("analysis.door.errors", "ScenarioError"),
    "SimulationError": ("analysis.door.errors", "SimulationError"),
    "Wear": ("analysis.door.wear", "Wear"),
    "Window": ("analysis.door.window", "Window"),
    "__version__": ("analysis.version", "VERSION"),
    "compare": ("analysis.door.compare", "compare"),
    "explain": ("analysis.door.explanation", "explain"),
    "fit": ("analysis.door.fit", "fit"),
    "library": ("analysis.door.scenario", "library"),
    "load": ("analysis.door.scenario", "load"),
    "paddock": ("analysis.door.paddock", "paddock"),
    "pressures": ("analysis.door.pressures", "pressures"),
    "window": ("analysis.door.window", "window"),
}


def __getattr__(name: str) -> Any:
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, its_name = _PLACES[name]
    found = getattr(import_module(module), its_name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
