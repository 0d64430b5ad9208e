"""What is said of a pin's cycles and sliding."""

from __future__ import annotations

from analysis.pins.duty.duty import SMOOTH, WELDED, Duty
from analysis.pins.duty.duty_words import cycles_sentence, sliding_sentence


def made(**changes) -> Duty:
    usual = {
        "name": "main_lower_front", "peak": 6e3, "rms": 4e3, "mean": 4e3, "sliding": 0.082,
        "mean_load_times_sliding": 365.0, "rate_rms": 0.2, "equivalent": 1523.0, "cycles_per_m": 8.05,
        "direction": 0.1, "slope": WELDED, "distance": 300.0,
    }  # fmt: skip
    return Duty(**{**usual, **changes})


def test_cycles():
    assert cycles_sentence(made(), 5000.0) == (
        "Main lower front: its load cycles do the damage of one of 1.52 kN (low to high) every metre of row (welded "
        "steel, slope 3); 40 000 cycles on a hectare."
    )
    assert "(steel without welds, slope 5)" in cycles_sentence(made(slope=SMOOTH), 5000.0)
    assert "(slope 4)" in cycles_sentence(made(slope=4.0), 5000.0)
    assert cycles_sentence(made(equivalent=0.0), 5000.0) == "Main lower front: the load does not change."


def test_sliding():
    assert sliding_sentence(made(), 5000.0, 0.030) == (
        "Main lower front: its parts turn 65 whole turns to and fro on a hectare, 6.1 m of sliding."
    )
    assert sliding_sentence(made(), 5000.0).endswith("on a hectare.")
    assert "do not turn against each other" in sliding_sentence(made(sliding=0.0, name="gauge_arm"), 5000.0)
