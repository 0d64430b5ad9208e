"""What is compiled of pins ahead of a crossing is what is then called: the same types, or it is compiled twice."""

from __future__ import annotations

import pytest
from numba import typeof

from analysis.first_run import pins
from analysis.pins.bush import beside, bush_sums, couples
from analysis.pins.duty import gathered
from analysis.pins.wear.stretch import stretch_of


def _noted(monkeypatch, run):
    """Types that every kernel of pins is called with, by name."""
    noted: dict[str, set] = {}
    with monkeypatch.context() as patch:
        for module, name in (
            (gathered, "gather"), (bush_sums, "reduce_bushes"), (beside, "disc_loads"),
            (couples, "carrier_moments"),
        ):  # fmt: skip
            kernel = getattr(module, name)

            def called(*arguments, kernel=kernel, name=name):
                noted.setdefault(name, set()).add(tuple(typeof(value) for value in arguments))
                return kernel(*arguments)

            patch.setattr(module, name, called)
        run()
    return noted


@pytest.mark.filterwarnings("error")
def test_every_kernel_of_pins(monkeypatch, cross):
    def both():
        pins.compile_gather()
        pins.compile_bushes()

    asked = _noted(monkeypatch, both)
    assert len(asked) == 4
    assert asked == _noted(monkeypatch, lambda: stretch_of(cross("class D short")))


def test_each_by_itself(monkeypatch):
    assert "reduce_bushes" not in _noted(monkeypatch, pins.compile_gather)
    assert "gather" not in _noted(monkeypatch, pins.compile_bushes)
