"""Damaged files of readings, and `fit` on them."""

from __future__ import annotations

import numpy as np

from scenarios.format.tables import ROOT

from .case import Case
from .sheets import _harmed
from .texts import SHORT, UNCERTAIN
from .values import pick

Rng = np.random.Generator

HEAD = ["what", "value", "n", "sd", "oil_pressure_bar", "speed_kmh", "setting", "length_m", "at_m", "row", "where"]
STANDING = (
    ["scale_kg", "214", "3", "2.1", "40", "", "A", "", "", "", "gauge"],
    ["scale_kg", "27", "3", "0.4", "40", "", "A", "", "", "", "press"],
    ["penetrometer_MPa", "1.3", "1", "", "", "", "", "", "2", "", ""],
    ["penetrometer_MPa", "1.1", "1", "", "", "", "", "", "3", "", ""],
    ["penetrometer_MPa", "1.5", "1", "", "", "", "", "", "4", "", ""],
)
TRAVELLING = (
    ["depth_mm", "41", "1", "", "40", "8", "A", "", "1", "2", ""],
    ["depth_mm", "38", "1", "", "40", "8", "A", "", "3", "2", ""],
    ["depth_mm", "44", "1", "", "40", "8", "A", "", "6", "2", ""],
    ["wheel_off_share", "0.02", "1", "", "40", "8", "A", "50", "", "", ""],
    ["gauge_load_N", "950", "1", "", "40", "8", "A", "50", "", "", ""],
)
# few values in doubt, that a fit ends soon
LEFT = ("soil_strength_times", "edge_width_times", "cone_factor_times", "cone_factor")
PRIOR = "[prior]\n" + "".join(
    f"{name} = {0 if '_plus' in name else 1}\n"
    for name in ROOT.tables["prior"].keys
    if name not in LEFT and ("_plus" in name or name.endswith("_times"))
)
CROSSED = 0.1  # share of cases with readings that take crossings: those are slow


def readings_case(rng: Rng) -> Case:
    """A damaged file of readings, and a command that fits to it or prints a sheet for more."""
    rows = [HEAD, *STANDING, *(TRAVELLING if rng.random() < CROSSED else ())]
    name, data = _harmed(rng, [list(row) for row in rows])
    words = ["fit", "a.toml", "--measured", "g.csv"]
    if rng.random() < 0.9:
        words += ["--out", "f.toml"]
    words += pick(rng, ([], [], [], ["--json"], ["--sheet", "s.html"], ["--figure", "f.png"]))
    text = SHORT + PRIOR + (UNCERTAIN if rng.random() < 0.3 else "")
    return Case(f"readings, {name}", tuple(words), {"a.toml": text.encode(), "g.csv": data})
