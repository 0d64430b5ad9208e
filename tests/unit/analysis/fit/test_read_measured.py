"""Files of readings: what is read, and every fault at once with its line."""

from __future__ import annotations

import math

import pytest

from analysis.fit.reading.groups import groups_of
from analysis.fit.reading.read_measured import read_measured
from scenarios.format.errors import ScenarioError

HEAD = "what,value,n,sd,oil_pressure_bar,speed_kmh,setting,length_m,at_m,row,where"


def written(tmp_path, *lines: str, head: str = HEAD):
    path = tmp_path / "measured.csv"
    path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return path


def faults(tmp_path, *lines: str, head: str = HEAD) -> str:
    with pytest.raises(ScenarioError) as caught:
        read_measured(written(tmp_path, *lines, head=head))
    return "\n".join(caught.value.faults)


def test_lines_are_read_in_si(tmp_path):
    found = read_measured(written(tmp_path, "depth_mm,42,,,40,7.2,A,,3.5,2,", "scale_kg,240,3,4,40,,,,,,press"))
    dig, scale = found.readings
    assert (dig.value, dig.oil_pressure, dig.speed, dig.setting, dig.at, dig.row, dig.n) == (
        0.042,
        40e5,
        2.0,
        "A",
        3.5,
        2,
        1,
    )
    assert dig.held == "A, row 2"
    assert math.isnan(dig.sd)
    assert math.isnan(dig.length)
    assert scale.value == pytest.approx(240 * 9.80665)
    assert (scale.n, scale.where, scale.line) == (3, "press", 3)
    assert found.count == 4


def test_columns_may_be_left_out_and_stand_in_any_order(tmp_path):
    path = written(tmp_path, "1.3,penetrometer_MPa", "1.1,penetrometer_MPa", head="value,what")
    assert [r.value for r in read_measured(path).readings] == [1.3e6, 1.1e6]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("depth_mm,400,,,40,8,A,,,,", "line 2: depth_mm 400; allowed: 0 to 150 mm"),
        ("depht_mm,40,,,40,8,A,,,,", 'line 2: what "depht_mm"'),
        ("depth_mm,40,,,40,8,,,,,", "line 2: no setting"),
        ("depth_mm,40,,,40,,A,,,,", "line 2: no speed_kmh"),
        ("wheel_off_share,5,,,40,8,A,50,,,", "a share, not per cent"),
        ("wheel_off_share,0.05,,,40,8,A,,,,", "line 2: no length_m"),
        ("seed_depth_mm,35,,,40,8,A,,,,", "the depth of a seed"),
        ("scale_kg,240,,,,,,,,,", "line 2: no oil_pressure_bar"),
        ("scale_kg,240,,,40,,,,,,disc", 'where "disc"'),
        ("depth_mm,40,1,3,40,8,A,,,,", "sd without n"),
        ("depth_mm,forty,,,40,8,A,,,,", 'value "forty"'),
        ("depth_mm,40,,,0,8,A,,,,", "oil_pressure_bar 0"),
        ("penetrometer_MPa,1200,,,,,,,,,", "1 MPa = 1000 kPa"),
    ],
)
def test_a_fault_names_its_line_and_what_to_try(tmp_path, line, told):
    assert told in faults(tmp_path, line)


def test_all_faults_at_once(tmp_path):
    text = faults(
        tmp_path, "depth_mm,400,,,40,8,A,,,,", "depth_mm,40,,,40,8,A,,,,", "wheel,1,,,,,,,,,", "depth_mm,30,,,,,,,,,"
    )
    assert [f"line {n}" in text for n in (2, 3, 4, 5)] == [True, False, True, True]
    assert all(name in text for name in ("no oil_pressure_bar", "no speed_kmh", "no setting"))


def test_seed_depth_counts_with_how_much_deeper_the_slot_is(tmp_path):
    path = written(
        tmp_path, "seed_depth_mm,35,40,8,A,6", head="what,value,oil_pressure_bar,speed_kmh,setting,slot_deeper_mm"
    )
    (reading,) = read_measured(path).readings
    assert (reading.what, reading.value) == ("depth_mm", pytest.approx(0.041))


def test_said_that_a_setting_was_never_crossed_by_another_pressure_or_speed(tmp_path):
    alone = read_measured(written(tmp_path, *["depth_mm,40,,,40,8,A,,,,"] * 3))
    assert "second pressure or speed" in alone.notes[0]
    one_of_two = read_measured(
        written(tmp_path, "depth_mm,40,,,40,8,A,,,,", "depth_mm,44,,,50,8,A,,,,", "depth_mm,44,,,50,8,B,,,,")
    )
    assert "depth setting B" in one_of_two.notes[0]
    crossed = read_measured(written(tmp_path, "depth_mm,40,,,40,8,A,,,,", "depth_mm,44,,,50,8,A,,,,"))
    assert crossed.notes == ()


def test_one_reading_is_allowed_and_said_to_tell_little(tmp_path):
    assert read_measured(written(tmp_path, "scale_kg,240,,,40,,,,,,")).notes == ("one reading only: it narrows little",)


def test_no_reading_is_refused(tmp_path):
    assert "no reading" in faults(tmp_path)


def test_lines_of_one_group_make_one_mean_and_scatter(tmp_path):
    """30, 40 and 50 beside a summary of two with mean 45 and standard deviation 5."""
    lines = [f"depth_mm,{d},,,40,8,A,,,," for d in (30, 40, 50)]
    (group,) = groups_of(read_measured(written(tmp_path, *lines, "depth_mm,45,2,5,40,8,A,,,,")).readings)
    assert (group.n, group.freedom) == (5, 4)
    assert group.mean == pytest.approx(0.042)
    assert group.variance == pytest.approx((25e-6 + (12**2 + 2**2 + 8**2 + 2 * 3**2) * 1e-6) / 4)
    assert group.places is None


LOG = "what,value,latitude_deg,longitude_deg,at_m"
NORTH = 1.0 / 111_195.0  # a metre north on a sphere of 6371 km [degrees]


def test_a_log_of_pushes_stands_along_its_way(tmp_path):
    """Ten metres north, then ten back: what counts is how far one is from the next."""
    steps = (0.0, 10.0, 25.0, 15.0)
    lines = [f"penetrometer_MPa,1.2,{-33.0 + step * NORTH:.9f},148.0," for step in steps]
    found = read_measured(written(tmp_path, *lines, head=LOG)).readings
    assert [reading.at for reading in found] == pytest.approx([0.0, 10.0, 25.0, 35.0], abs=0.01)
    plain = read_measured(written(tmp_path, *[f"penetrometer_MPa,1.2,,,{at}" for at in (0, 10, 25, 35)], head=LOG))
    a, b = (groups_of(made)[0] for made in (found, plain.readings))
    assert len(a.readings) == len(b.readings) == 4


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("penetrometer_MPa,1.2,-33,,", "one of latitude_deg and longitude_deg"),
        ("penetrometer_MPa,1.2,0,0,", "latitude 0, longitude 0"),
        ("penetrometer_MPa,1.2,-33,148,4", "at_m beside a latitude"),
        ("penetrometer_MPa,1.2,-99,148,", "-84 to 84 degrees north"),
    ],
)
def test_a_place_that_cannot_be_is_told_by_line(tmp_path, line, told):
    assert "line 2" in (said := faults(tmp_path, line, head=LOG))
    assert told in said
