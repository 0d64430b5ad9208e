"""What is placed in plan but lies outside all passes is a fault; what is too small to be told of is said."""

from __future__ import annotations

import paddocks
import pytest
from every import every

from scenarios.format.errors import ScenarioError

ZONE = '[[zones]]\nname = "clay"\nstart_m = [{}, {}]\nend_m = [{}, {}]\n'


def faults_of(folder, tables=None, more=""):
    with pytest.raises(ScenarioError) as caught:
        paddocks.small(folder, tables, more)
    return caught.value.faults


def notes_of(folder, word, more):
    return [note for note in paddocks.small(folder, more=more).warnings if word in note]


@every("corners", [(21, 0, 40, 3), (-30, 0, -1, 3), (5, 4, 15, 8), (5, -8, 15, -0.1), (15, 8, 5, 4)])
def test_a_zone_outside_all_passes_is_told(tmp_path, corners):
    """Three passes of 20 m, 1.25 m wide: x 0 to 20 m, y 0 to 3.75 m. Fewer passes than zones may be meant."""
    (said,) = notes_of(tmp_path, "zone clay", ZONE.format(*corners))
    assert "lies outside all passes and counts for nothing; they run over x 0 to 20 m, y 0 to 3.75 m" in said
    assert "x along it, y to its left from its right-hand edge" in said


def test_a_zone_without_an_area(tmp_path):
    (found,) = faults_of(tmp_path, more=ZONE.format(5, 3, 5, 1))
    assert "zones[0] (clay): no area (x 5 to 5 m" in found


def test_a_zone_that_reaches_into_the_passes_is_taken(tmp_path):
    assert [n for n in paddocks.small(tmp_path, more=ZONE.format(-50, -50, 6, 1)).warnings if "zone" in n] == []


def test_a_zone_too_small_for_a_section_is_told(tmp_path):
    (said,) = [n for n in paddocks.small(tmp_path, more=ZONE.format(6, 0, 7, 3)).warnings if "zone" in n]
    assert said.startswith("zone clay holds the middle of no section (sections are 5 m long, rows 0.25 m apart)")


def test_a_zone_under_a_later_one_is_told(tmp_path):
    twice = ZONE.format(5, 0, 10, 2) + ZONE.format(0, 0, 20, 3).replace("clay", "sand")
    (said,) = [n for n in paddocks.small(tmp_path, more=twice).warnings if "zone" in n]
    assert said.startswith("zone clay lies wholly in zone sand")


@every(
    ("feature", "word"),
    [
        ('kind = "hump"\nat_m = [200, 1]\nheight_mm = 100\nlength_m = 3\nwidth_m = 3', "hump (feature 1), x 198.5"),
        ('kind = "bank"\nstart_m = [0, 20]\nend_m = [9, 30]\nheight_mm = 100\nbase_m = 4', "bank (feature 1), x -4"),
        (
            'kind = "stone_patch"\nat_m = [5, -9]\nlength_m = 3\nwidth_m = 3\nstones_per_ha = 9',
            "stone patch",
        ),
        (
            'kind = "ruts"\ntracks_m = [0.2, 5]\ndepth_mm = 30\nwidth_m = 0.4',
            "no row or wheel runs in its rut",
        ),
    ],
)
def test_features_outside_all_passes_are_told(tmp_path, feature, word):
    assert len(notes_of(tmp_path, word, f"[[ground.features]]\n{feature}\n")) == 1


def strengths(folder, points):
    (folder / "s.csv").write_text("x_m,y_m,strength_MPa\n" + "".join(f"{x},{y},1.5\n" for x, y in points))
    return {"measured": 'strength_file = "s.csv"'}


def test_strengths_nowhere_near_the_passes(tmp_path):
    far = strengths(tmp_path, [(5000, 0), (5100, 0), (5000, 90), (5100, 90)])
    (found,) = faults_of(tmp_path, far)
    assert "points at x 5000 to 5100 m, y 0 to 90 m, none near the passes" in found


def test_strengths_on_one_line_are_told_before_anything_runs(tmp_path):
    (found,) = faults_of(tmp_path, strengths(tmp_path, [(1, 1), (2, 2), (3, 3), (9, 9)]))
    assert "points on one straight line" in found


def test_a_latitude_without_a_longitude(tmp_path):
    (found,) = faults_of(tmp_path, {"passes": "length_m = 20\nlatitude = -33"})
    assert "passes.longitude: missing beside latitude" in found
