"""The recorder of published values: what it asserts, what it keeps, what it writes and compares."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from every import every
from published_table import BASES, TITLE, Recorder, Row, counts, difference, differences, number, page, table, write

WHERE = {"source": "a standard", "status": "seen"}


def test_a_value_within_tolerance_makes_a_row():
    rows = []
    Recorder("some_topic", rows)("a length", value=2.0, ours=2.01, unit="m", rel=0.01, **WHERE)
    assert rows[0].line() == "| some topic | a length | a standard | seen | check | 2 m | 2.01 m | +0.5 % |"


def test_a_value_beyond_tolerance_fails_with_both_numbers():
    with pytest.raises(AssertionError, match=r"a length: published 2\.0 m, ours 2\.1, allowed ±0\.02"):
        Recorder("t", [])("a length", value=2.0, ours=2.1, unit="m", rel=0.01, **WHERE)
    with pytest.raises(AssertionError):
        Recorder("t", [])("a length", value=2.0, ours=math.nan, unit="m", rel=0.01, **WHERE)


def test_the_worst_of_a_series_is_kept_and_all_are_asserted():
    rows = []
    worst = Recorder("t", rows).worst("x", values=[1.0, 2.0, 4.0], ours=[1.0, 2.1, 4.1], rel=0.06, **WHERE)
    assert worst == pytest.approx(0.05)
    assert "x (worst of 3)" in rows[0].line()
    with pytest.raises(AssertionError):
        Recorder("t", []).worst("x", values=[1.0, 2.0], ours=[1.2, 2.0], rel=0.06, **WHERE)


def test_a_miss_is_kept_with_its_size_and_why_and_must_be_known():
    rows = []
    record = Recorder("t", rows)
    record.band("share", low=0.9, high=1.0, ours=0.85, hit=False, why="another machine", **WHERE)
    record.band("share", low=0.9, high=1.0, ours=0.95, **WHERE)
    assert rows[0].difference == "**misses by 0.05**: another machine"
    assert rows[0].kind == rows[1].kind == "prediction"
    assert (rows[0].verdict, rows[1].verdict) == ("misses", "within")
    assert rows[1].difference == "within"
    with pytest.raises(AssertionError, match="noted as hit=True"):
        record.band("share", low=0.9, high=1.0, ours=0.85, **WHERE)
    with pytest.raises(AssertionError, match="noted as hit=False"):
        record.band("share", low=0.9, high=1.0, ours=0.95, hit=False, **WHERE)
    with pytest.raises(AssertionError, match="says why"):
        record.band("share", low=0.9, high=1.0, ours=0.85, hit=False, **WHERE)
    with pytest.raises(AssertionError, match="says why"):
        record.band("share", low=0.9, high=1.0, ours=0.95, why="no reason", **WHERE)


@every(
    ("readings", "verdict", "shown", "told"),
    [
        ({"a": 1.2, "b": 1.8}, "within", "1.2…1.8 m (a; b)", "within"),
        ({"a": 0.5, "b": 1.8}, "in part", "0.5…1.8 m (a; b)", "in part: because"),
        ({"a": 0.5, "b": 2.5}, "in part", "0.5…2.5 m (a; b)", "in part: because"),
        ({"a": 0.3, "b": 0.75}, "misses", "0.3…0.75 m (a; b)", "**misses by 0.25 m**: because"),
        ({"a": 2.5, "b": 4.0}, "misses", "2.5…4 m (a; b)", "**misses by 0.5 m**: because"),
    ],
)
def test_open_readings_are_a_band(readings, verdict, shown, told):
    rows, why = [], "" if verdict == "within" else "because"
    Recorder("t", rows).readings("x", low=1.0, high=2.0, ours=readings, unit="m", verdict=verdict, why=why, **WHERE)
    assert (rows[0].ours, rows[0].difference, rows[0].verdict) == (shown, told, verdict)
    other = "misses" if verdict == "within" else "within"
    with pytest.raises(AssertionError, match="noted as"):
        Recorder("t", []).readings("x", low=1.0, high=2.0, ours=readings, verdict=other, why="x", **WHERE)


def test_a_single_published_value_that_is_missed_is_shown_as_one():
    rows = []
    Recorder("t", rows).band("x", low=290.0, high=290.0, ours=437.0, unit="N", hit=False, why="so", **WHERE)
    assert (rows[0].published, rows[0].ours) == ("290 N", "437 N")


@every(
    ("status", "basis"),
    [
        ("seen (public code)", "seen"), ("derived, computed", "derived"), ("values from memory", "memory"),
        ("computed from the form seen in public code", "computed"), ("common practice", "common practice"),
    ],
)  # fmt: skip
def test_what_a_row_rests_on_is_what_its_status_names_first(status, basis):
    assert Row("t", "q", "s", status, "check", "1", "1", "0 %").basis == basis


def test_an_unknown_kind_or_basis_is_refused():
    with pytest.raises(AssertionError):
        Recorder("t", [])("x", value=1.0, ours=1.0, kind="guess", **WHERE)
    with pytest.raises(AssertionError):
        Recorder("t", [])("x", value=1.0, ours=1.0, source="a standard", status="heard somewhere")


@every(("x", "text"), [(0.0, "0"), (1e-16, "0"), (1234567.0, "1.235e+06"), (12345.6, "12346"), (0.012344, "0.01234")])
def test_numbers_keep_four_figures(x, text):
    assert number(x) == text


def test_noise_of_rounding_does_not_reach_the_table():
    assert difference(1.0 + 1e-12, 1.0, "m") == "< 0.0001 %"
    assert difference(3e-9, 0.0, "m") == "< 1e-6"
    assert difference(0.02, 0.0, "m") == "+0.02 m"


def test_rows_are_sorted_by_topic_and_keep_their_order():
    rows = []
    for topic, name in (("b", "second"), ("a", "first"), ("b", "third")):
        Recorder(topic, rows)(name, value=1.0, ours=1.0, rel=0.1, **WHERE)
    lines = table(rows).splitlines()[2:]
    assert [line.split(" | ")[1] for line in lines] == ["first", "second", "third"]


def several() -> list[Row]:
    """A check, a prediction that hits, one that misses, and a calibration, on three bases."""
    rows = []
    record = Recorder("some_topic", rows)
    record("a length |x|", value=2.0, ours=2.01, unit="m", rel=0.01, **WHERE)
    memory = {"source": "talk", "status": "memory (low)"}
    record.band("share", low=0.9, high=1.0, ours=0.95, **memory)
    record.band("share", low=0.9, high=1.0, ours=0.85, hit=False, why="another machine", **memory)
    record("a force", value=1.0, ours=1.04, rel=0.1, kind="calibration", source="use", status="common practice")
    return rows


def test_the_page_says_at_its_head_how_many_rows_rest_on_what(tmp_path):
    made = page(several())
    assert made.startswith(f"{TITLE}\n")
    lines = counts(several()).splitlines()
    assert lines[0] == "| rests on | rows | checks | predictions met | in part | missed | calibrations |"
    assert [line.split(" | ")[0] for line in lines[2:]] == [f"| {name}" for name in (*BASES, "all")]
    assert lines[2] == "| seen | 1 | 1 | 0 | 0 | 0 | 0 |"
    assert lines[5] == "| memory | 2 | 0 | 1 | 0 | 1 | 0 |"
    assert lines[6] == "| common practice | 1 | 0 | 0 | 0 | 0 | 1 |"
    assert lines[7] == "| all | 4 | 1 | 1 | 0 | 1 | 1 |"
    assert made.index(lines[7]) < made.index("| topic |")
    write(several(), tmp_path / "page.md")
    write(several(), tmp_path / "page.md")
    assert (tmp_path / "page.md").read_text(encoding="utf-8") == made


def test_another_file_is_left_alone(tmp_path):
    other = tmp_path / "page.md"
    other.write_text("nothing here\n", encoding="utf-8")
    with pytest.raises(ValueError, match="is no such table"):
        write([], other)
    assert other.read_text(encoding="utf-8") == "nothing here\n"


def changed(index: int, **cells: str) -> list[Row]:
    rows = several()
    rows[index] = replace(rows[index], **cells)
    return rows


def test_a_page_that_holds_differs_in_nothing():
    made = page(several())
    assert not differences(several(), made, whole=True)
    assert not differences(several()[1:3], made, whole=False)
    close = changed(0, ours="2.012 m", difference="+0.6 %")
    assert not differences(close, made, whole=True)  # the last digit may be another processor's


@every(
    ("rows", "faults"),
    [
        (several()[1:], ["no more: some topic | a length |x|"]),
        ([*several(), *several()[:1]], ["not told: | some topic | a length"]),
        (changed(0, ours="2.1 m"), ["not told", "no more"]),
        (changed(0, ours="2.01 mm"), ["not told", "no more"]),
        (changed(0, published="2.5 m"), ["not told", "no more"]),
        (changed(1, difference="in part: so"), ["not told", "no more"]),
        (changed(2, difference="**misses by 0.05**: another soil"), ["not told", "no more"]),
    ],
    ids=str,
)
def test_a_page_that_no_longer_holds_is_told(rows, faults):
    wrong = differences(rows, page(several()), whole=True)
    assert len(wrong) == len(faults)
    assert all(text.startswith(begin) for text, begin in zip(wrong, faults, strict=True))
