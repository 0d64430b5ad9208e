"""Bad digs and bad options of `rowbench level`: one message with all faults, nothing printed."""

from __future__ import annotations

import json

import numpy as np
import pytest
from any_table import read_or_told
from every import every
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.cli.command_line import read_request
from analysis.cli.level import answer
from analysis.cli.main import main
from analysis.levelling.digs import read_digs
from scenarios.format.errors import ScenarioError

HEAD = "row,depth_mm\n"


def good(rows=8, digs=6):
    return "".join(f"{row},{40 + (7 * row + 3 * dig) % 5}\n" for dig in range(digs) for row in range(1, rows + 1))


def levelled(*given):
    return answer(read_request(["level", *map(str, given)]))


@pytest.fixture
def csv(tmp_path):
    def of(text):
        path = tmp_path / "digs.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return of


SINGLE = [
    ("", ["an empty file", "a header row,depth_mm and a line for each dig"]),
    (HEAD, ["rows dug: 0", "at least 2 rows"]),
    (HEAD + "3,40\n3,41\n", ["rows dug: 1", "at least 2 rows", "dig every row"]),
    (HEAD + "1,40\n2,41\n3,38\n", ["no row was dug more than once", "repeated digs", "six times"]),
    (good(), ["line 1", "numbers, no header", "row,depth_mm"]),
    ("row;depth_mm\n1;40\n", ["another mark than a comma"]),
    ("row,depth_cm\n1,4\n1,5\n", ["no column depth_mm", 'rename "depth_cm" to depth_mm']),
    ("row,depth_mm,row\n1,40,1\n", ["column row 2 times"]),
    (HEAD + good() + "1.5,40\n", ["line 50", "row 1.5", "a whole number, 1 to 200"]),
    (HEAD + good() + "0,40\n", ["row 0", "count rows from 1"]),
    (HEAD + good() + "201,40\n", ["row 201"]),
    (HEAD + good() + "1,nan\n", ['depth_mm "nan"', "a finite number"]),
    (HEAD + good() + "1,4000\n", ["depth_mm 4000", "-50 to 300 mm", "millimetres"]),
    (HEAD + good() + "1,\n", ["depth_mm is empty"]),
    (HEAD + good() + "1,40,x\n", ["3 cells", "2 cells, as in the header"]),
    (b"row,depth_mm\n1,\xff\n", ["not UTF-8"]),
]


@every(("text", "parts"), SINGLE, ids=[str(i) for i in range(len(SINGLE))])
def test_one_fault(text, parts, csv):
    path = csv(text)
    with pytest.raises(ScenarioError) as caught:
        read_digs(path)
    (told,) = caught.value.faults
    for part in (*parts, str(path), "allowed: ", "try: "):
        assert part in told


def test_all_faults_of_a_file_at_once(csv):
    with pytest.raises(ScenarioError) as caught:
        read_digs(csv(HEAD + "x,40\n1,y\n1.5,40\n1,40,9\n2,999\n"))
    lines = [text.split(": line ")[1].split(":")[0] for text in caught.value.faults]
    assert sorted(lines) == ["2", "3", "4", "5", "6"]


def test_faults_of_file_unit_and_options_together(csv, capsys):
    """Each of them named once, and nothing on standard output."""
    path = csv(HEAD + "1,x\n2,40\n")
    given = (path, "--unit", "dmeo", "--wanted", "400", "--difference", "0", "--tracks", "1,b")
    with pytest.raises(ScenarioError) as caught:
        levelled(*given)
    told = "\n".join(caught.value.faults)
    assert len(caught.value.faults) == 5
    for part in (
        'line 2: depth_mm "x"', '--unit: given "dmeo"', 'try: "demo"', '--wanted: given "400"; allowed: 5 to 150 mm',
        '--difference: given "0"; allowed: 0.5 to 50 mm', '--tracks: given "1,b"',
    ):  # fmt: skip
        assert part in told
    assert capsys.readouterr().out == ""


def test_nothing_given():
    with pytest.raises(ScenarioError) as caught:
        levelled()
    assert ["no DIGS.csv" in caught.value.faults[0], "no --unit" in caught.value.faults[1]] == [True, True]


def test_tracks_have_to_be_rows_that_were_dug_and_not_all(csv):
    path = csv(HEAD + good())
    with pytest.raises(ScenarioError, match=r"--tracks: given 9, 12; allowed: rows that were dug: 1, 2"):
        levelled(path, "--unit", "demo", "--tracks", "2,9,12")
    with pytest.raises(ScenarioError, match="given every row"):
        levelled(path, "--unit", "demo", "--tracks", "1,2,3,4,5,6,7,8")


def test_a_unit_that_cannot_be_set_is_told(csv, tmp_path):
    unit = tmp_path / "odd.toml"
    unit.write_text("[unit.depth_linkage]\nturnbuckle_m = 0.9\n", encoding="utf-8")
    with pytest.raises(ScenarioError, match=r"odd\.toml: .*turnbuckle"):
        levelled(csv(HEAD + good()), "--unit", unit)


def test_a_good_file_is_levelled(csv, capsys):
    """Lines in any order, other columns, a byte-order mark: text with every row, and one JSON document."""
    lines = [f"{line},note" for line in good().splitlines()]
    path = csv("\ufeffrow,depth_mm,remark\n" + "\n".join(reversed(lines)) + "\n")
    assert main(["level", str(path), "--unit", "demo", "--wanted", "41"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Machine of 8 rows levelled to the wanted 41.0 mm (digs.csv, 48 digs)" in text
    assert "columns not used: remark." in text
    assert "Nobody stands under raised parts" in text
    assert main(["level", str(path), "--unit", "demo", "--json", "--tracks", "3", "--difference", "2"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["file"] == str(path)
    assert document["unit"] == "Demonstration unit (demo.toml)"
    assert (document["digs"], document["difference_mm"], document["tracks"]["rows"]) == (48, 2.0, [3])


CELL = st.one_of(st.floats().map(str), st.integers(-5, 300).map(str), st.text(max_size=4), st.sampled_from(["", "1"]))
LINE = st.lists(CELL, max_size=3).map(",".join)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(LINE, max_size=12), st.booleans())
def test_any_table_is_read_or_told(tmp_path_factory, lines, headed):
    """Whatever a file holds, the answer is digs or a ScenarioError."""
    path = tmp_path_factory.getbasetemp() / "any_digs.csv"
    found = read_or_told(path, read_digs, HEAD.strip() if headed else "", lines)
    if found is not None:
        assert len(found.rows) >= 2
        assert all(np.all(np.isfinite(depth)) for depth in found.depths)
