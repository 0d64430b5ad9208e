"""Rows reduced while they march, against the measures of the same crossings made and kept one at a time."""

from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every

from analysis.crossing.breakouts import breakouts
from analysis.crossing.depth import causes, depth_measures
from analysis.crossing.episodes import wheel_off_episodes
from analysis.crossing.loads import gas, pin_loads, stone_peak, wheel_load
from analysis.crossing.measures import MEASURES, Join
from analysis.crossing.peaks import peaks
from analysis.crossing.places import places
from analysis.rows.reduced import ERROR_BINS, GAUGE_BINS
from analysis.rows.reducer import Reducer, reduce_group, sections, stack_stones, whole_run
from sim.errors import RowsError
from sim.ground_tables import ground_tables
from sim.march.rows import Case, Grounds, march_group, prepare_group, stack_tables, toolbar_paths
from sim.record import CAUSES, PINS
from sim.run import simulate, start_position
from sim.step import usual_step
from sim.unit import ATMOSPHERE

TOLERANCE = 0.010


class Laid:
    """A scenario's ground of two seeds, its toolbar paths, and rows over it at one speed."""

    def __init__(self, name, length=25.0, kmh=11.0, pressures=(35e5, 60e5, 80e5), settings=("redone", "unchanged")):
        self.scenario = invented.short_scenario(name, length)
        self.unit, self.soil = self.scenario.unit, self.scenario.soil
        self.speed = kmh / 3.6
        self.step = usual_step(self.speed)
        self.tracks = [self.scenario.track(seed) for seed in (1, 2)]
        self.tables = [ground_tables(self.unit, t, self.scenario.settings.set_depth) for t in self.tracks]
        self.bounds = whole_run(self.tracks[0], self.speed, self.step)
        self.x_start = start_position(self.unit, self.tracks[0].x_from)
        self.stones = stack_stones(self.tracks)
        base = replace(self.scenario.settings, speed=self.speed)
        self.cases = [
            Case(k, replace(base, oil_pressure=p, setting=s)) for k in (0, 1) for p in pressures for s in settings
        ]
        table, stone = stack_tables(self.tables)
        steps = int(self.bounds[-1])
        paths = toolbar_paths(self.unit, self.tracks, self.speed, self.step, steps, base.toolbar == "carried")
        self.grounds = Grounds(table, stone, self.tables[0].x0, self.tables[0].dx, paths)

    def group(self, cases):
        return prepare_group(self.unit, self.soil, self.tracks[0].rock, cases)

    def reduced(self, cases, bounds=None, **others):
        return reduce_group(
            self.group(cases), self.grounds, self.stones, self.x_start, self.step,
            self.bounds if bounds is None else bounds, TOLERANCE, **others,
        )  # fmt: skip

    def alone(self, case):
        return simulate(
            self.unit, self.soil, self.tracks[case.track], case.settings, step=self.step, tables=self.tables[case.track]
        )


@pytest.fixture(scope="module")
def stony():
    return Laid("stony")


def same_bits(a, b):
    return all(a.values[name].tobytes() == b.values[name].tobytes() for name in a.values)


def close(a, b):
    return a == pytest.approx(b, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("name", ["rough", "stony", "hollow", "no_cushion"])
def test_measures_are_those_of_single_crossings(name):
    laid = Laid(name, settings=("redone",))
    cases = laid.cases[1:6]
    found = laid.reduced(cases)
    for j, case in enumerate(cases):
        run = laid.alone(case)
        _compare(found, j, run)


def _compare(found, j, run):
    v = {name: value[0, ..., j] for name, value in found.values.items()}
    depth, share = depth_measures(run, TOLERANCE), causes(run)
    assert found.share("on_depth")[0, j] == depth.on_depth_share
    assert close(v["error_mean"], depth.error_mean)
    assert close(found.sd("error")[0, j], depth.error_sd)
    for cause in CAUSES:
        assert close(v[f"{cause}_mean"], share.parts[cause].mean)
        assert found.sd(cause)[0, j] == pytest.approx(share.parts[cause].sd, rel=1e-9, abs=1e-10)
        assert found.share_of_variance(cause)[0, j] == pytest.approx(share.parts[cause].share_of_variance, abs=1e-9)
    for channel in ("gauge_load", "press_load"):
        load = wheel_load(run, channel)
        assert close(v[f"{channel}_mean"], load.mean)
        assert close(found.sd(channel)[0, j], load.sd)
    assert found.share("wheel_off")[0, j] == wheel_load(run).off_share
    assert close((v["error_max"], v["error_min"]), (depth.error_max, depth.error_min))
    assert close(v["gauge_load_max"], wheel_load(run).peak)
    assert close((v["off_depth_most"] * found.travel, v["wheel_off_most"] * found.travel), places(run, TOLERANCE))
    assert found.share("disc_slip")[0, j] == run.series["disc_slip"].mean()
    assert (v["out_of_oil"] > 0) == gas(run).out
    assert v["out_of_oil"] == np.count_nonzero(run.series["gas_volume"] > run.unit.accumulator.volume)
    assert close(v["pressure_min"] - ATMOSPHERE, gas(run).pressure_min)
    assert close(v["pressure_max"] - ATMOSPHERE, gas(run).pressure_max)
    assert close(v["rock_peak"], stone_peak(run))
    assert v["stone_gave_way"] == run.series["stone_gives_way"].max()
    pins = pin_loads(run)
    assert close(v["pin_peak"], np.array([pins[name].peak for name in PINS]))
    assert close(np.sqrt(v["pin_square_mean"]), np.array([pins[name].rms for name in PINS]))
    _same_episodes(found.episodes[j], wheel_off_episodes(run, TOLERANCE))
    _same_breakouts(found.breakouts[j], breakouts(run, TOLERANCE))


def _same_episodes(found, expected):
    assert [(e.first, e.last, e.cause) for e in found] == [(e.first, e.last, e.cause) for e in expected]
    for a, b in zip(found, expected, strict=True):
        assert close((a.start, a.length, a.rise, a.gap, a.shallow), (b.start, b.length, b.rise, b.gap, b.shallow))


def _same_breakouts(found, expected):
    assert [(b.first, b.last, b.pin, b.regain) for b in found] == [(b.first, b.last, b.pin, b.regain) for b in expected]
    for a, b in zip(found, expected, strict=True):
        assert close(
            (a.position, a.rise, a.disc_peak, a.pin_peak, a.pressure_max),
            (b.position, b.rise, b.disc_peak, b.pin_peak, b.pressure_max),
        )


def test_the_crossings_compared_hold_events(stony):
    found = stony.reduced(stony.cases[:8])
    assert all(len(events) > 2 for events in found.breakouts)
    causes_met = {e.cause for events in found.episodes for e in events}
    assert {"rock", "too_hard"} <= causes_met


def test_a_row_is_the_same_bit_for_bit_alone_and_among_others(stony):
    together = stony.reduced(stony.cases[:8])
    for chosen in ([3], [3, 0], [5, 3, 1], [7, 6, 5, 4, 3, 2, 1, 0]):
        other = stony.reduced([stony.cases[i] for i in chosen])
        j = chosen.index(3)
        for name, value in together.values.items():
            assert value[..., 3].tobytes() == other.values[name][..., j].tobytes(), name
        assert together.episodes[3] == other.episodes[j]
        assert together.breakouts[3] == other.breakouts[j]


@every("chunk", [1, 3, 7, 64, 1000])
def test_chunks_of_any_size_give_the_same_bits(stony, chunk):
    cases, bounds = stony.cases[:3], sections(stony.tracks[0], stony.speed, stony.step, 5.0)
    whole = stony.reduced(cases, bounds, histograms="sections")
    parts = stony.reduced(cases, bounds, histograms="sections", chunk=chunk)
    assert same_bits(whole, parts)
    assert (whole.episodes, whole.breakouts) == (parts.episodes, parts.breakouts)
    assert (whole.error_counts == parts.error_counts).all()
    assert (whole.gauge_counts == parts.gauge_counts).all()


def test_chunks_from_the_march_give_the_same_bits(stony):
    cases = stony.cases[:4]
    group = stony.group(cases)
    reducer = Reducer(group, stony.x_start, stony.step, stony.bounds, TOLERANCE)
    for first, chunk in march_group(group, stony.grounds, stony.x_start, stony.step, int(stony.bounds[-1]), 50):
        reducer.feed(first, chunk, stony.grounds, stony.stones)
    fed, marched = reducer.finish(), stony.reduced(cases)
    assert same_bits(fed, marched)
    assert (fed.episodes, fed.breakouts) == (marched.episodes, marched.breakouts)


def test_ground_in_windows_gives_the_same_bits(stony):
    """Tables, stones and toolbar nodes cut into windows that hold no more than each stretch needs."""
    cases, g = stony.cases[:4], stony.grounds
    group = stony.group(cases)
    reducer = Reducer(group, stony.x_start, stony.step, stony.bounds, TOLERANCE)
    last, upto = int(stony.bounds[-1]), 0
    while upto < last:
        first, upto = upto, min(upto + 211, last)
        x = stony.x_start + np.array([first, upto]) * stony.step * stony.speed
        low, high = ((x - g.x0) / g.dx).astype(int) + np.array([-400, 200])
        low = max(low, 0)
        window = Grounds(
            g.tables[:, :, low:high].copy(), g.stones[:, low:high].copy(), g.x0 + low * g.dx, g.dx,
            g.paths[:, 2 * first : 2 * upto + 3].copy(), 2 * first,
        )  # fmt: skip
        reducer.march(group, window, stony.stones[:, low:high].copy(), upto)
    cut, whole = reducer.finish(), stony.reduced(cases)
    for name in whole.values:
        assert np.allclose(cut.values[name], whole.values[name], rtol=1e-9, atol=1e-12), name
    assert [len(e) for e in cut.episodes] == [len(e) for e in whole.episodes]
    assert [len(b) for b in cut.breakouts] == [len(b) for b in whole.breakouts]


def test_sections_put_together_are_the_whole(stony):
    cases = stony.cases[:5]
    bounds = sections(stony.tracks[0], stony.speed, stony.step, 4.0)
    cut, whole = stony.reduced(cases, bounds, histograms="sections"), stony.reduced(cases, histograms="whole")
    assert cut.steps.size == 6
    joined = cut.whole()
    assert joined.bounds.tolist() == whole.bounds.tolist()
    for name, value in whole.values.items():
        assert np.allclose(joined.values[name], value, rtol=1e-11, atol=1e-13), name
    assert cut.episodes == whole.episodes
    assert (joined.error_counts == whole.error_counts).all()
    assert (joined.gauge_counts == whole.gauge_counts).all()


def test_each_section_holds_the_measures_of_its_own_steps(stony):
    case = stony.cases[2]
    bounds = sections(stony.tracks[0], stony.speed, stony.step, 5.0)
    found, run = stony.reduced([case], bounds), stony.alone(case)
    squares = (run.pins**2).sum(axis=2)
    for i, (a, b) in enumerate(zip(bounds[:-1] - bounds[0], bounds[1:] - bounds[0], strict=True)):
        error = run.series["depth"][a:b] - run.settings.set_depth
        assert close(found.values["error_mean"][i, 0], error.mean())
        assert close(found.sd("error")[i, 0], error.std())
        assert found.values["on_depth"][i, 0] == np.count_nonzero(np.abs(error) <= TOLERANCE)
        assert close(found.values["rock_peak"][i, 0], peaks(run.series["rock_force"][:, None], a, b)[0])
        sampled = np.sqrt(squares[a:b].max(axis=0))
        assert (found.values["pin_peak"][i, :, 0] >= sampled * (1.0 - 1e-12)).all()
        assert (found.values["pin_peak"][i, :, 0] <= sampled * 1.12).all()


def test_percentiles_from_histograms_are_off_by_half_a_bin_at_most(stony):
    cases = stony.cases[:6]
    found = stony.reduced(cases, histograms="whole")
    shares = (5.0, 25.0, 50.0, 95.0)
    error, load = found.percentiles("error", shares), found.percentiles("gauge_load", shares)
    for j, case in enumerate(cases):
        run = stony.alone(case)
        exact = np.percentile(run.series["depth"] - run.settings.set_depth, shares)
        assert np.abs(error[:, 0, j] - exact).max() <= 0.5 * ERROR_BINS.width + 1e-12
        exact = np.percentile(run.series["gauge_load"], shares)
        assert np.abs(load[:, 0, j] - exact).max() <= 0.5 * GAUGE_BINS.width + 1e-9
    assert (load[0] == 0.0).any()


def test_no_histogram_no_percentiles(stony):
    with pytest.raises(ValueError, match="no histogram"):
        stony.reduced(stony.cases[:1]).percentiles("error", (5.0,))


def test_events_are_never_lost_for_want_of_room(stony):
    """Tables that begin empty and grow between the shortest of chunks."""
    case = replace(stony.cases[0], settings=replace(stony.cases[0].settings, oil_pressure=24e5))
    long = stony.reduced([case], chunk=5)
    assert len(long.episodes[0]) == len(wheel_off_episodes(stony.alone(case), TOLERANCE)) > 10


def test_rows_that_cannot_be_marched_are_named():
    laid = Laid("gully", kmh=12.0, pressures=(60e5,))
    laid.unit = replace(laid.unit, main_links=replace(laid.unit.main_links, stop_stiffness=2e3))  # far too soft
    with pytest.raises(RowsError) as error:
        laid.reduced(laid.cases[:2])
    assert set(error.value.rows) <= {0, 1}
    assert f"row {error.value.rows[0]}" in str(error.value)


def test_missing_and_repeated_chunks_are_refused(stony):
    group = stony.group(stony.cases[:1])
    reducer = Reducer(group, stony.x_start, stony.step, stony.bounds, TOLERANCE)
    chunks = [
        (first, chunk.copy())
        for first, chunk in march_group(group, stony.grounds, stony.x_start, stony.step, int(stony.bounds[-1]), 2000)
    ]
    reducer.feed(*chunks[0], stony.grounds, stony.stones)
    with pytest.raises(ValueError, match="is next"):
        reducer.feed(*chunks[2], stony.grounds, stony.stones)
    with pytest.raises(ValueError, match="were fed"):
        reducer.finish()


def test_bounds_must_rise(stony):
    with pytest.raises(ValueError, match="rise"):
        stony.reduced(stony.cases[:1], np.array([10, 10]))


def test_measures_of_stretches_join_as_their_descriptions_say(stony):
    """From the values of the sections alone, as a paddock joins them, to the value of the whole."""
    cases, bounds = stony.cases[:5], sections(stony.tracks[0], stony.speed, stony.step, 4.0)
    parts = stony.reduced(cases, bounds, histograms="sections")
    whole, weight = parts.whole(), parts.steps / parts.steps.sum()

    def mean(values):
        return np.tensordot(weight, values, 1)

    joins = {
        Join.MEAN: lambda m, v: mean(v), Join.HIGHEST: lambda m, v: v.max(axis=0),
        Join.LOWEST: lambda m, v: v.min(axis=0), Join.SUM: lambda m, v: v.sum(axis=0),
        Join.OVER_SET_DEPTH: lambda m, v: mean(MEASURES[m.partner].of_rows(parts)) + parts.set_depth,
    }  # fmt: skip

    def scatter(m, v):
        means = MEASURES[m.partner].of_rows(parts)
        return np.sqrt(mean(v**2 + means**2) - mean(means) ** 2)

    def with_highest(m, v):
        return np.take_along_axis(v, MEASURES[m.partner].of_rows(parts).argmax(axis=0)[None], axis=0)[0]

    joins |= {Join.SCATTER: scatter, Join.WITH_HIGHEST: with_highest}
    tried = {m.name for m in MEASURES.values() if m.rows is not None and m.join in joins}
    assert {"on_depth_share", "error_sd", "gauge_load_sd", "pin_worst", "pressure_min", "error_count"} <= tried
    for name in tried:
        m = MEASURES[name]
        found, expected = joins[m.join](m, m.of_rows(parts)), m.of_rows(whole)[0]
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9), name
        if m.unit != "1":
            assert np.ptp(np.asarray(m.of_rows(parts), dtype=float), axis=0).max() > 0.0, name
