"""A row of a pass crossed with everything recorded against the same row of the whole pass, marched in lanes."""

from __future__ import annotations

import pytest

from analysis.crossing.loads import pin_loads
from analysis.paddock.passes.crossing import run_rows
from analysis.paddock.rows.runs import row_runs
from scenarios.paddock.load import load_paddock
from scenarios.paddock.row_file import with_setting

FIELD = """title = "Two rows"
[machine]
rows = 5
row_spacing_m = 0.5
[passes]
count = 2
length_m = 30
[ground]
roughness = { class = "D" }
[stones]
stones_per_ha = 900
[search]
pressures_bar = [40]
speeds_kmh = [7]
"""


@pytest.fixture(scope="module", params=["carried", "level"])
def paddock(request, tmp_path_factory):
    place = tmp_path_factory.mktemp("rows") / "mine.toml"
    place.write_text(f'{FIELD}[settings]\ntoolbar = "{request.param}"\n', encoding="utf-8")
    return with_setting(load_paddock(place), 40e5, 7.0 / 3.6)


def test_a_row_crossed_alone_is_that_of_the_pass(paddock):
    settings, rows = paddock.tried[0], (1, 4)
    whole = run_rows(paddock, 1, rows)
    for run, row in zip(row_runs(paddock, 1, rows, settings), rows, strict=True):
        length = whole.section_length
        mean = float((whole.sections["error_mean"][0, row] * length).sum() / length.sum())
        assert run.series["depth"].mean() - settings.set_depth == pytest.approx(mean, abs=2e-6)
        peak = float(whole.sections["pin_peak"][0, row].max())
        assert max(load.peak for load in pin_loads(run).values()) == pytest.approx(peak, rel=1e-5)
        assert (run.track.x_from, run.track.x_to) == (0.0, 30.0)
