"""The progress meter: how far, how fast and how long, and over the same line where that is wanted."""

from types import SimpleNamespace

from analysis.present.progress import Meter


def test_progress_tells_how_long_it_will_take():
    now = SimpleNamespace(t=0.0)
    said = []
    meter = Meter("crossings", said.append, 5.0, lambda: now.t)
    for done in range(1, 101):
        now.t += 2.0
        meter(done, 100)
    assert said[0] == "crossings: 3 of 100, about 3 min 14 s left"
    assert said[-1] == "crossings: 100 of 100, 3 min 20 s taken"
    assert len(said) == 34


def test_progress_tells_rate_and_time_left():
    """Two passes of six were finished before; they do not count as done in this call."""
    now = [0.0]
    said: list[str] = []
    meter = Meter("passes", said.append, 10.0, clock=lambda: now[0])
    for done, at in ((3, 5.0), (4, 12.0), (6, 20.0)):
        now[0] = at
        meter(done, 6, 1000.0 * (done - 2))
    assert said == [
        "passes: 4 of 6, 167 × as fast as a row drives, about 12 s left",
        "passes: 6 of 6, 200 × as fast as a row drives, 20 s taken",
    ]


def test_a_first_report_of_several_counts_them_all_where_no_rate_is_told():
    now = [0.0]
    said: list[str] = []
    meter = Meter("crossings", said.append, 1.0, clock=lambda: now[0])
    now[0] = 8.0
    meter(8, 24)
    assert said == ["crossings: 8 of 24, about 16 s left"]


def test_lines_write_over_one_another_until_the_last():
    now = [0.0]
    said: list[tuple[str, str]] = []
    meter = Meter("x", lambda text, end="\n": said.append((text, end)), 0.0, clock=lambda: now[0], overwrite=True)
    for done in (1, 2):
        now[0] += 1.0
        meter(done, 2)
    assert [end for _, end in said] == ["", "\n"]
    assert {len(text) for text, _ in said} == {79}
    assert all(text.startswith("\rx: ") for text, _ in said)
