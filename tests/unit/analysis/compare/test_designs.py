"""Names and the common ground of designs."""

from __future__ import annotations

from pathlib import Path

from analysis.cli.parts.set_option import split
from analysis.compare.designs import apart, designs_of, same
from scenarios.load import load


def test_names_are_never_alike():
    paths = [Path("/a/x.toml"), Path("/b/x.toml"), Path("/a/x.toml"), Path("/a/y.toml")]
    assert apart(paths) == ["a/x", "b/x", "a/x (2)", "y"]
    assert len(set(apart([Path("/p/a/x.toml"), Path("/q/a/x.toml")]))) == 2


def test_a_measured_ground_brings_its_strength_to_all(tmp_path):
    rows = "".join(f"{0.1 * i:.1f},{0.01 * (i % 7):.3f},{1.0 + 0.1 * (i % 3):.2f}\n" for i in range(200))
    (tmp_path / "line.csv").write_text(f"distance_m,height_m,strength_MPa\n{rows}", encoding="utf-8")
    first, other = load("rough", profile=tmp_path / "line.csv"), load("hard_ground")
    designs = designs_of([first, other], ["a", "b"])
    assert designs[1].scenario.soil.strength == first.soil.strength != other.soil.strength
    assert (
        designs[1].scenario.soil.bearing_exponent == other.soil.bearing_exponent
        if hasattr(other.soil, "bearing_exponent")
        else True
    )
    assert (designs[1].scenario.x_from, designs[1].scenario.x_to) == (first.x_from, first.x_to)
    assert designs[1].own_ground


def test_the_same_values_are_the_same_design_whatever_they_are_called():
    one, other = load("rough"), load("rough", changes={"unit.carrier.mass_kg": 95})
    assert same(*designs_of([one, other], ["a", "b"]))
    assert not same(*designs_of([one, load("rough", changes={"soil.variation_cv": 0.1})], ["a", "b"]))


def test_values_with_commas_between_them():
    assert split("1, 2") == ["1", " 2"]
    assert split("[0, 1],[0, 2]") == ["[0, 1]", "[0, 2]"]
    assert split("") == [""]
