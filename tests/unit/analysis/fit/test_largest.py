"""Shares of the doubt about the pick's room by value, against plain variances of sampled fields."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from analysis.fit.following.largest import largest, shares


def unknowns(names, root):
    return SimpleNamespace(values=root.shape[1], root=root, doubt=SimpleNamespace(names=names))


def aim(slopes):
    return SimpleNamespace(slopes=np.asarray(slopes, dtype=float))


def test_values_that_do_not_go_together_share_by_their_variance():
    made = unknowns(("soil_strength", "roughness"), np.eye(2))
    found = shares(made, aim([3.0, 2.0, 99.0]), np.diag([1.0, 4.0, 1.0]))  # the third: a depth setting
    assert found == pytest.approx({"soil_strength": 9.0 / 25.0, "roughness": 16.0 / 25.0})
    most = largest(made, aim([3.0, 2.0, 0.0]), np.diag([1.0, 4.0, 1.0]))
    assert (most.doubtful.name, most.share) == ("roughness", pytest.approx(0.64))


def test_values_that_go_together_share_what_is_common():
    """Covariances of each value's own part with the whole, of a hundred thousand fields."""
    correlation = np.array([[1.0, 0.6], [0.6, 1.0]])
    root = np.linalg.cholesky(correlation)
    slopes_z = np.array([2.0, -0.5])
    u = np.random.default_rng(1).standard_normal((100_000, 2))
    parts = (u @ root.T) * slopes_z
    whole = parts.sum(axis=1)
    wanted = [float(np.cov(parts[:, k], whole)[0, 1] / whole.var()) for k in range(2)]
    found = shares(unknowns(("a", "b"), root), aim(root.T @ slopes_z), np.eye(2))
    assert list(found.values()) == pytest.approx(wanted, abs=0.01)
    assert sum(found.values()) == pytest.approx(1.0)


def test_nothing_in_doubt():
    assert largest(unknowns(("a",), np.eye(1)), aim([0.0]), np.eye(1)) is None
