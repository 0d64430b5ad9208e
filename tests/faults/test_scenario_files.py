"""Bad scenario files: one message with all faults, each naming where, what was given, what is allowed, what to try."""

from __future__ import annotations

import os
import pickle
import re
import subprocess
import sys

import pytest
from every import every
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.tables import walk
from scenarios.load import Scenario, load

HEAD = 'title = "t"\n[ground]\nlength_m = 50\n'


@pytest.fixture
def faults(tmp_path):
    """faults(text) → the faults of a file with that text."""

    def of(text):
        path = tmp_path / "bad.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        with pytest.raises(ScenarioError) as caught:
            load(path)
        for line in caught.value.faults:
            assert str(tmp_path) in line, line
            assert "allowed: " in line, line
            assert "try: " in line, line
        return caught.value.faults

    return of


# Text after HEAD; then parts that the single fault has to hold.
SINGLE = [
    ("[settings]\noil_pressure_bar = 400", ["settings.oil_pressure_bar", "given 400", "1 to 250 bar", "40"]),
    ("[settings]\noil_pressure_bar = -1", ["given -1", "1 to 250 bar"]),
    ("[settings]\nspeed_kmh = nan", ["settings.speed_kmh", "given nan", "1 to 30 km/h", "8 (the default)"]),
    ("[settings]\nspeed_kmh = inf", ["given inf", "1 to 30 km/h"]),
    ("[settings]\nspeed_kmh = -inf", ["given -inf", "1 to 30 km/h"]),
    ('[settings]\nspeed_kmh = "8"', ['given "8"', "1 to 30 km/h"]),
    ("[settings]\nspeed_kmh = true", ["given true", "1 to 30 km/h"]),
    ("[settings]\nspeed_kmh = 2024-01-01", ["given 2024-01-01"]),
    ("[settings]\nspeed_kmh = [8]", ["given [8]"]),
    ("[settings]\nspeed = 8", ["settings.speed", "unknown key", "speed_kmh"]),
    ("[settings]\nsped_kmh = 8", ["settings.sped_kmh", "unknown key", '"speed_kmh"']),
    ("[settings]\nrows = 8", ["unknown key", "rows belongs in [machine]"]),
    ("[settings]\nxyzzy = 8", ["unknown key", "remove the key"]),
    ('[settings]\nsetting = "Unchanged"', ['given "Unchanged"', '"redone" or "unchanged"', 'try: "unchanged"']),
    ("[settings]\npress_notch = 1.5", ["given 1.5", "a whole number, -10 to 10"]),
    ("[settings]\npress_notch = true", ["given true", "a whole number"]),
    ("[settings]\nset_depth_mm = 0.04", ["given 0.04", "5 to 150 mm", "40 mm (is it in the wrong unit?)"]),
    ("[machine]\nrows = 0", ["machine.rows", "given 0", "a whole number, 1 to 200"]),
    ("[unit.disk]\nradius_m = 0.3", ["unit.disk", "unknown key", '"disc"']),
    ("[unit]\ndisc = 3", ["unit.disc", "given 3", "a table [unit.disc]"]),
    ("[unit.disc]\nradius_m = 0.9", ["unit.disc.radius_m", "given 0.9", "0.1 to 0.6 m", "0.28 (the default)"]),
    ("[unit.disc]\nhub_m = [1, 2, 3]", ["unit.disc.hub_m", "[x, z], each -3 to 3 m", "[-0.2, -0.55]"]),
    ("[unit.disc]\nhub_m = [1, 9]", ["unit.disc.hub_m[1]", "given 9", "each -3 to 3 m"]),
    ("[unit.disc]\nhub_m = 1", ["unit.disc.hub_m", "given 1", "[x, z]"]),
    ("[unit.gauge_wheel]\ntyre_stiffness = 200e3", ["unknown key", '"tyre_stiffness_kN_per_m"']),
    ('[soil]\nbase = "frim"', ["soil.base", 'given "frim"', "firm, hard, soft", '"firm"']),
    ("[soil]\nbase = 3", ["soil.base", "given 3", "a text in quotes"]),
    ("[soil]\nvariation_cv = 25", ["soil.variation_cv", "given 25", "0 to 0.6"]),
    ("[soils]\nstrength_MPa = 1", ["soils: unknown key", '"soil"']),
    ("[ground.roughness]", ["ground.roughness", "neither class nor gd_n0_m3", 'class = "D"']),
    ('[ground.roughness]\nclass = "D"\ngd_n0_m3 = 1e-3', ["ground.roughness", "both class and gd_n0_m3"]),
    ('[ground.roughness]\nclass = "d"', ["ground.roughness.class", 'given "d"', 'try: "D"']),
    ('[ground.roughness]\nclass = "D"\nband_c_per_m = [10, 0.1]', ["band_c_per_m", "the first is above the second"]),
    ('[ground.roughness]\nclass = "D"\nband_c_per_m = [0.1, nan]', ["band_c_per_m[1]", "given nan"]),
    (
        '[ground.roughness]\nclass = "D"\nband_c_per_m = [0.05, 50]',
        ["ground.roughness.band_c_per_m[1]", "given 50", "0.01 to 40 c/m", "[0.05, 10]"],
    ),
    ('[ground.roughness]\nclass = "D"\nband_c_per_m = [0.005, 40]', ["band_c_per_m[0]", "given 0.005", "0.01 to 40"]),
    ("[[ground.features]]\nat_m = 3", ["ground.features[0].kind", "missing", '"hump"']),
    ('[[ground.features]]\nkind = "hunp"', ["ground.features[0].kind", 'given "hunp"', 'try: "hump"']),
    ("[ground.features]\nat_m = 3", ["ground.features", "tables [[ground.features]]"]),
    (
        '[[ground.features]]\nkind = "hump"\nat_m = 500\nheight_mm = 9\nlength_m = 2',
        ["ground.features[0].at_m", "given 500", "0 to 50 m"],
    ),
    (
        '[[ground.features]]\nkind = "hump"\nat_m = 5\ndepth_mm = 9\nheight_mm = 9\nlength_m = 2',
        ["ground.features[0].depth_mm", "unknown key", "at_m, height_mm, length_m"],
    ),
    (
        '[[ground.features]]\nkind = "drop"\nat_m = 5\ndepth_mm = 9',
        ["ground.features[0].length_m", "missing", "0.1 to 200 m"],
    ),
    (
        '[[ground.features]]\nkind = "sine"\namplitude_mm = 9\nwavelength_m = 2\nstart_m = 30\nend_m = 20',
        ["ground.features[0].end_m", "room for one wave"],
    ),
    ('[ground.profile]\nfile = "none.csv"', ["ground.profile.file", "none.csv", "there is no such file"]),
    ("[stones]\nrate_per_100m = 20\ntop_mm = [0, 80]", ["stones.top_mm", "up to 0.3 of the shortest stone, 30 mm"]),
    (
        "[[stones.placed]]\nat_m = 0.1\nlength_m = 0.3\ntop_mm = 10",
        ["stones.placed[0].at_m", "given 0.1", "measured stretch, 0 to 50 m"],
    ),
    (
        "[[stones.placed]]\nat_m = 9\nlength_m = 0.1\ntop_mm = 50",
        ["stones.placed[0].top_mm", "up to 0.3 of its length, 30 mm"],
    ),
    ("[limits]\ngauge_load_min_N = 2000", ["limits.gauge_load_min_N", "gauge_load_max_N, 1200 N"]),
    (
        "[limits]\nset_depth_max_mm = 35",
        ["settings.set_depth_mm: given 40", "at most 35 mm", "set_depth_max_mm", "try: 35, or another range"],
    ),
    ("[limits]\nset_depth_min_mm = 45", ["settings.set_depth_mm: given 40", "at least 45 mm", "try: 45"]),
    (
        "[limits]\nset_depth_min_mm = 45\nset_depth_max_mm = 35",
        ["limits.set_depth_min_mm: given 45", "up to set_depth_max_mm, 35 mm"],
    ),
    ("[limits]\non_depth_share_min = 90", ["limits.on_depth_share_min", "given 90", "0 to 1"]),
    ('[search]\npressures_bar = "30:90"', ["search.pressures_bar", "not of the form first:last:count"]),
    ('[search]\nspeeds_kmh = "5:50:4"', ["search.speeds_kmh", "35 is out of range", "1 to 30 km/h"]),
    ("[search]\nseeds = 0", ["search.seeds", "given 0", "1 to 1000"]),
    ("[unit.main_links]\nangle_nominal_deg = 28\n", ["angle_nominal_deg", "between the stops, -28 to 28°"]),
    ("[unit.cylinder]\narm_m = 0.7", ["unit.cylinder.arm_m", "given 0.7", "up to the length of the link, 0.55 m"]),
    ("[unit.toolbar]\naxle_front_m = 0\naxle_rear_m = 0.1", ["unit.toolbar", "axles 0.1 m apart"]),
    (
        "[unit.press_wheel]\narm_inertia_kg_m2 = 0\narm_centre_m = 0",
        [
            "unit.press_wheel.arm_inertia_kg_m2 and arm_centre_m",
            "given 0 and 0",
            "at least 1e-09 kg m²",
            "0.25 and 0.28",
        ],
    ),
    (
        "[unit.cylinder]\nframe_m = [-0.26, 0]",
        ["unit.cylinder.frame_m and arm_m", "within 0 mm", "at least 10 mm apart", "[-0.05, 0.43] and 0.26"],
    ),
    ("[unit.cylinder]\nframe_m = [0, 0]", ["frame_m and arm_m", "hardly moves the unit", "1% of its force or more"]),
    ("[unit.cylinder]\nframe_m = [-0.05, -0.43]", ["frame_m and arm_m", "lifts the unit", "[-0.05, 0.43] and 0.26"]),
    ("[settings]\nset_depth_mm = 150\n[unit.disc]\nradius_m = 0.15", ["settings.set_depth_mm", "120 mm"]),
]


@every(("text", "parts"), SINGLE, ids=[text.replace("\n", " ")[:60] for text, _ in SINGLE])
def test_one_fault(text, parts, faults):
    found = faults(HEAD + text + "\n")
    assert len(found) == 1, found
    for part in parts:
        assert part in found[0]


def test_ground_is_needed(faults):
    assert "ground: missing" in faults('title = "t"\n')[0]
    assert "ground.length_m: missing" in faults('title = "t"\n[ground]\n')[0]


def test_title_is_needed(faults):
    assert "title: missing" in faults("[ground]\nlength_m = 50\n")[0]
    assert 'title: given ""' in faults('title = ""\n[ground]\nlength_m = 50\n')[0]


def test_all_faults_at_once_over_all_kinds(faults, tmp_path):
    """Schema, base file, profile and checks of several keys together, in one message."""
    (tmp_path / "base.toml").write_text("[unit.carrier]\nmass_kg = 0\n", encoding="utf-8")
    (tmp_path / "p.csv").write_text("distance_m,height_m\n0,0\n1,x\n1,0\n", encoding="utf-8")
    found = faults(
        'titel = "t"\n[settings]\nspeed_kmh = 99\n[limits]\ngauge_load_min_N = 5000\n'
        '[unit]\nbase = "base.toml"\n[ground.profile]\nfile = "p.csv"\n[soil]\nbase = "mud"\n'
    )
    text = "\n".join(found)
    for part in (
        "title: missing", "titel: unknown key", "speed_kmh: given 99", "base.toml: unit.carrier.mass_kg",
        'soil.base: given "mud"', "p.csv: line 3", "limits.gauge_load_min_N: given 5000", "points: 3",
    ):  # fmt: skip
        assert part in text, part
    assert len(found) == 8


def test_message_numbers_the_faults(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text("a = 1\nb = 2\n", encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        load(path)
    lines = str(caught.value).splitlines()
    assert lines[0] == "4 faults:"
    assert [line[:5] for line in lines[1:]] == ["  1. ", "  2. ", "  3. ", "  4. "]


DEEP = "not TOML|nested too deep"  # which of them, the version of Python tells


@every(
    ("data", "part"),
    [
        (b'title = "t\n', "not TOML"),
        (b"title = 1 2\n", "line 1"),
        (b"a = 1\na = 2\n", "not TOML"),
        (b"\xff\xfe\x00t", "not UTF-8"),
        (b'title = "\xe9"', "at byte 9"),
        (b"\x00", "not TOML"),
        (b"a = " + b"[" * 5000, DEEP),
        (b"a = " + b"[" * 100_000, DEEP),
    ],
    ids=["open text", "two values", "twice", "utf-16", "latin-1", "nul", "nested", "nested deep"],
)
def test_files_that_are_no_toml(data, part, faults):
    found = faults(data)
    assert len(found) == 1
    assert re.search(part, found[0]), found[0]


def test_files_that_cannot_be_read(tmp_path, monkeypatch):
    with pytest.raises(ScenarioError, match="there is no such file"):
        load(tmp_path / "none.toml")
    with pytest.raises(ScenarioError, match="a folder"):
        load(tmp_path)
    big = tmp_path / "big.toml"
    big.write_bytes(b"#" * 5_000_001)
    with pytest.raises(ScenarioError, match="a larger file"):
        load(big)
    with pytest.raises(ScenarioError, match="cannot be read"):
        load("bad\x00name.toml")

    def refuse(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    closed = tmp_path / "closed.toml"
    closed.write_text(HEAD, encoding="utf-8")
    monkeypatch.setattr("pathlib.Path.open", refuse)
    with pytest.raises(ScenarioError, match=r"closed.toml: cannot be read \(Permission denied\)"):
        load(closed)


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="no endless device here")
def test_an_endless_file_is_not_read_to_its_end():
    with pytest.raises(ScenarioError, match="a pipe or a device"):
        load("/dev/zero")


def test_a_pipe_that_nobody_writes_to_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(ScenarioError, match="a pipe or a device; allowed: a file"):
        load(tmp_path / "pipe.toml")


def test_a_huge_file_is_not_read_to_its_end(tmp_path):
    with (tmp_path / "huge.toml").open("wb") as stream:
        stream.truncate(10**11)
    with pytest.raises(ScenarioError, match="a larger file"):
        load(tmp_path / "huge.toml")


@every(
    ("line", "said"),
    [
        ("x = " + "9" * 400, "a whole number with too many figures"),
        ("x = " + "9" * 5000, "a whole number with too many figures"),
        (".".join("a" * 2000) + " = 1", "nested too deep"),
        ("[" + ".".join("a" * 2000) + "]", "nested too deep"),
        ("x = " + "[" * 25 + "]" * 25, "nested too deep"),
    ],
)
def test_what_no_reader_should_have_to_follow(line, said, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(f"{line}\n{HEAD}", encoding="utf-8")
    with pytest.raises(ScenarioError, match=said) as caught:
        load(path)
    assert "allowed: up to" in str(caught.value)


@every(("name", "part"), [("ruogh", 'try: "rough"'), ("qqqq", "gilgai"), ("", "a path ending in .toml")])
def test_names_that_the_library_does_not_hold(name, part):
    with pytest.raises(ScenarioError) as caught:
        load(name)
    assert part in str(caught.value)


@every("table", ['unit = { base = "a\\u0000b.toml" }', 'soil = { base = "a\\u0000" }'])
def test_a_base_whose_name_no_file_can_have(table, faults):
    (said,) = faults(f'title = "t"\n{table}\n[ground]\nlength_m = 20\n')
    assert ".base: given" in said
    assert "it holds control characters" in said


def test_the_error_survives_pickling():
    error = ScenarioError(["one", "two"])
    back = pickle.loads(pickle.dumps(error))
    assert (back.faults, str(back)) == (error.faults, str(error))
    with pytest.raises(ValueError, match="at least one fault"):
        ScenarioError([])


def test_words_of_a_fault():
    assert fault("f: k", "given 1", "2", "3") == "f: k: given 1; allowed: 2; try: 3"
    assert closest("speeed_kmh", ["speed_kmh", "rows"]) == "speed_kmh"
    assert closest("qq", ["speed_kmh"]) is None
    assert [shown(v) for v in ("a", True, {}, 1.5, "x" * 99)] == [
        '"a"',
        "true",
        "a table",
        "1.5",
        '"' + "x" * 56 + "...",
    ]


LISTED = {"features", "placed", "roughness"}
PLAIN = [(path, key) for path, key in walk() if key.kind == "number" and path and not LISTED & set(path)]


@every(("path", "key"), PLAIN, ids=[".".join((*path, key.name)) for path, key in PLAIN])
def test_every_number_refuses_what_lies_outside_its_range(path, key, faults):
    span = key.high - key.low
    for value in (key.low - 0.01 * span, key.high + 0.01 * span, "nan"):
        head = (
            HEAD.replace("length_m = 50", f"length_m = {value}")
            if key.name == "length_m" and path == ("ground",)
            else HEAD
        )
        needed = 'file = "p.csv"\n' if path == ("ground", "profile") else ""
        if path == ("unit", "pins", "own"):  # a list of tables, each for a pin that it names
            body = f'[[{".".join(path)}]]\npin = "main_lower_front"\n{key.name} = {value}\n'
        else:
            body = "" if head != HEAD else f"[{'.'.join(path)}]\n{needed}{key.name} = {value}\n"
        found = faults(head + body)
        assert len(found) == 1
        assert re.search(rf"{re.escape('.'.join(path))}(\[0\])?\.{key.name}: given", found[0])
        assert key.allowed in found[0]


VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-(10**6), 10**6), st.floats(), st.text(max_size=8), st.just([]), st.just({}),
    st.lists(st.floats(allow_nan=True), max_size=3), st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
)  # fmt: skip
DOTTED = st.sampled_from([".".join((*path, key.name)) for path, key in walk() if len(path) < 3])


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(st.dictionaries(DOTTED, VALUES, min_size=1, max_size=4))
def test_any_value_under_any_key_loads_or_is_told(changes):
    """Whatever stands in a file, the answer is a scenario or a ScenarioError, never another exception."""
    found: Scenario | ScenarioError
    try:
        found = load("rough", changes=changes)
    except ScenarioError as error:
        found = error
    if isinstance(found, ScenarioError):
        assert all("allowed: " in text and "try: " in text for text in found.faults)
    else:
        assert found.layout().samples > 1000


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.text(max_size=60))
def test_any_text_is_told(tmp_path_factory, text):
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
    with pytest.raises(ScenarioError):
        load(path)


def test_pydantic_waits_until_a_file_is_read():
    """Commands that read no file start without it; the physics never loads it."""
    code = (
        "import sys, scenarios.load, scenarios.paddock.load, scenarios.format.starters; "
        "print('pydantic' in sys.modules, 'scipy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
