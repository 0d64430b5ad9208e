"""A small paddock and its result, computed once for each file of tests that needs it."""

from __future__ import annotations

import pytest
from interrupted import whole


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A paddock file and its result, whole."""
    return whole(tmp_path_factory.mktemp("made"))
