"""Colours of a page's map against the drawing library's."""

from __future__ import annotations

import matplotlib as mpl
import pytest
from matplotlib.colors import to_hex

from analysis.report.colours import COLOURS, colour


def test_they_are_those_of_cividis():
    drawn = mpl.colormaps["cividis"]
    assert list(COLOURS) == [to_hex(drawn(at)).upper() for at in range(drawn.N)]


@pytest.mark.parametrize("bright", [-0.2, 0.0, 1 / 256, 0.2, 0.5, 0.77, 255 / 256, 1.0, 3.0])
def test_the_colour_of_a_number_is_the_drawing_librarys(bright):
    assert colour(bright) == to_hex(mpl.colormaps["cividis"](bright)).upper()
