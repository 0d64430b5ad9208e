"""Passes crossed at once: the same bits as one by one, and which passes go together."""

from __future__ import annotations

import paddocks
import pytest
from every import every

from analysis.paddock.passes.batch_part import compute_parts
from analysis.paddock.passes.crossing import run_passes
from analysis.paddock.passes.jobs import ROOM, jobs, passes_at_once
from scenarios.paddock.rows import Lanes

STONY = "[stones]\nstones_per_ha = 30000\ntop_mm = [-20, 40]"
# a wall in the way of pass 2's third row, which shares a march with rows of pass 1
WALL = '[[ground.features]]\nkind = "hump"\nat_m = [10, 1.875]\nheight_mm = 1500\nlength_m = 1.2\nwidth_m = 0.2'


def alone(paddock, numbers) -> list[bytes]:
    return [compute_parts(paddock, [number], "x")[0] for number in numbers]


@every("more", [STONY, f"{WALL}\n{STONY}"])
@every("search", ["pressures_bar = [45]\nspeeds_kmh = [8]", "pressures_bar = [45, 60, 75]\nspeeds_kmh = [6, 9]"])
def test_passes_at_once_give_the_bytes_of_each_alone(tmp_path, more, search):
    paddock = paddocks.small(tmp_path, {"search": search, "keep": "series_every_m = 0.5"}, more)
    assert compute_parts(paddock, [0, 1, 2], "x") == alone(paddock, range(3))
    assert compute_parts(paddock, [2, 0], "x") == alone(paddock, [2, 0])
    problems = [set(result.problems) for result in run_passes(paddock, [0, 1])]
    assert problems[0] == set()
    assert {row for _, row in problems[1]} == ({2} if more.startswith(WALL) else set())


def test_a_group_that_is_given_up_may_hold_rows_of_one_pass_only(tmp_path):
    """Six lines at three settings: the last group is two rows of pass 2 on the ground of both, and one meets a wall."""
    wall = WALL.replace("1.875", "1.125")
    search = "pressures_bar = [45, 60, 75]\nspeeds_kmh = [8]"
    paddock = paddocks.small(tmp_path, {"machine": "rows = 3\nrow_spacing_m = 0.25", "search": search}, wall)
    assert compute_parts(paddock, [0, 1], "x") == alone(paddock, [0, 1])
    first, second = run_passes(paddock, [0, 1])
    assert first.problems == {}
    assert set(second.problems) == {(setting, 1) for setting in range(3)}


def test_passes_of_other_lengths_are_not_crossed_at_once(tmp_path):
    for name, points in (("a", 90), ("b", 80), ("c", 90)):
        lines = "".join(f"{0.5 * k},{0.01 * (k % 7)}\n" for k in range(points))
        (tmp_path / f"{name}.csv").write_text(f"distance_m,height_m\n{lines}")
    more = "\n".join(f'[[measured.lines]]\nfile = "{name}.csv"' for name in "abc")
    tables = {"machine": "rows = 4", "passes": "section_m = 5", "ground": "seed = 1", "search": "pressures_bar = [45]"}
    paddock = paddocks.small(tmp_path, tables, more)
    with pytest.raises(ValueError, match="not equally long"):
        run_passes(paddock, [0, 1])
    assert passes_at_once(paddock) == 2
    assert jobs(paddock, range(3), 1) == [(0, 2), (1,)]
    assert compute_parts(paddock, [0, 2], "x") == alone(paddock, [0, 2])


# rows, pressures and speeds: rows left over of eight times settings of a speed, to be filled up to eights
AT_ONCE = [(36, 1, 1, 2), (36, 2, 1, 1), (36, 2, 2, 1), (12, 1, 3, 2), (6, 1, 1, 4), (10, 1, 1, 4), (8, 1, 1, 1),
           (7, 1, 1, 1), (24, 3, 1, 1), (3, 1, 1, 2)]  # fmt: skip


@every(("rows", "pressures", "speeds", "wanted"), AT_ONCE)
def test_so_many_passes_go_together_as_fill_whole_marches(tmp_path, rows, pressures, speeds, wanted):
    tables = {
        "machine": f"rows = {rows}",
        "search": f"pressures_bar = {list(range(45, 45 + pressures))}\nspeeds_kmh = {list(range(6, 6 + speeds))}",
    }
    assert passes_at_once(paddocks.small(tmp_path, tables)) == wanted


def test_every_worker_gets_as_many_large_jobs_then_single_passes(tmp_path):
    paddock = paddocks.small(tmp_path, {"passes": "count = 13\nlength_m = 20", "search": "pressures_bar = [45]"})
    assert passes_at_once(paddock) == 3
    together = [(0, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11)]
    assert jobs(paddock, range(13), 1) == [*together, (12,)]
    assert jobs(paddock, range(13), 2) == [*together, (12,)]
    assert jobs(paddock, range(13), 3) == [*together[:3], (9,), (10,), (11,), (12,)]
    assert jobs(paddock, range(13), 5) == [(number,) for number in range(13)]
    assert jobs(paddock, [1, 4, 5, 12], 1) == [(1, 4, 5), (12,)]
    assert jobs(paddock, [1, 4, 5, 12], 2) == [(1,), (4,), (5,), (12,)]  # two at once spare no march of five rows


def test_passes_whose_ground_takes_much_room_go_by_themselves(tmp_path):
    """The room that is told before is what the lines take when they are made."""
    machine = "rows = 36\nrow_spacing_m = 0.25"
    tables = {"machine": machine, "passes": "count = 4\nlength_m = 200", "search": "pressures_bar = [45]",
              "soil": "variation_cv = 0.2"}  # fmt: skip
    short = paddocks.small(tmp_path, tables)
    lanes = Lanes(short, 0)
    assert lanes.room == lanes._roughness.coarse.nbytes + lanes._row_strength.coarse.nbytes
    assert passes_at_once(short) == 2
    long = paddocks.small(tmp_path, {**tables, "passes": "count = 4\nlength_m = 1500"})
    assert 2 * Lanes(long, 0).room > ROOM > 2 * lanes.room
    assert passes_at_once(long) == 1
