"""What holds for every kind of ground feature: the lead-in, adding up, streams, and its keys in a file."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import replace

import numpy as np
from every import every

import scenarios.ground
from scenarios.format.keys import keys_of
from scenarios.ground.feature import Feature
from scenarios.load import load
from scenarios.spec import FEATURES, SURFACES, Gilgai, Hump

SMOOTH = load("smooth")  # 50 m, even soil


def example(kind, **changes):
    """A feature made of the examples that stand in the starter file, its place on the stretch of `smooth`."""
    values = {}
    for key in keys_of(kind).values():
        if key.needed:
            values[key.field] = key.si(key.example)
    if "at" in values:
        values["at"] = 3.0
    return kind(**{**values, **changes})


def with_features(*features, base=SMOOTH):
    return replace(base, ground=replace(base.ground, features=features))


def test_every_kind_is_registered():
    """Whatever file of the folder a feature stands in, a file can name it, and by one word only."""
    for module in pkgutil.iter_modules(scenarios.ground.__path__):
        importlib.import_module(f"scenarios.ground.{module.name}")

    def below(group):
        return {group, *(kind for inner in group.__subclasses__() for kind in below(inner))}

    made = {kind for kind in below(Feature) if "kind" in vars(kind)}
    assert made == set(FEATURES)
    assert len({kind.kind for kind in FEATURES}) == len(FEATURES)


@every("kind", FEATURES, ids=lambda kind: kind.kind)
def test_no_jump_at_the_lead_in(kind):
    """Flat and even up to −12 m; from there to −4 m ground and strength grow without a step or a kink.

    Bound: nowhere over the blend is the ground steeper than it is beyond it plus its height over 8 m times 3/2.
    """
    placed = [{"at": 0.0}] if "at" in kind.__dataclass_fields__ else []
    for feature in (example(kind, **changes) for changes in ({}, *placed)):
        track = with_features(feature).track()
        x = track.x
        assert np.all(track.ground[x <= -12.0] == 0.0)
        assert np.all(track.strength[x <= -12.0] == SMOOTH.soil.strength)
        assert np.all(track.stone_id[x < 0.0] == -1)
        blend, whole = (x > -12.1) & (x < -4.0), x >= -4.0
        for series in (track.ground, track.strength / SMOOTH.soil.strength):
            slope = np.abs(np.diff(series, append=series[-1])) / 0.005
            height = np.max(np.abs(series[whole] - series[0]), initial=0.0)
            assert np.max(slope[blend]) <= np.max(slope[whole], initial=0.0) + 1.5 * height / 8.0 + 1e-9
        assert abs(track.ground[x > -12.0][0]) < 1e-6


@every("kind", SURFACES, ids=lambda kind: kind.kind)
def test_shapes_add_up_and_leave_strength_and_stones_alone(kind):
    base = load("stony")
    track, with_one = base.track(), with_features(example(kind), base=base).track()
    full = track.x > -4.0
    alone = example(kind).heights(track.x, base.seed, 0)
    np.testing.assert_allclose((with_one.ground - track.ground)[full], alone[full], atol=1e-12)
    np.testing.assert_array_equal(with_one.strength, track.strength)
    np.testing.assert_array_equal(with_one.stone_id, track.stone_id)


@every("kind", FEATURES, ids=lambda kind: kind.kind)
def test_a_feature_before_another_does_not_change_it(kind):
    """Random features draw from streams of their own, wherever they stand in the list."""
    last = Gilgai(height=0.1, wavelength=6.0)
    if kind is Gilgai:
        last = example(Hump, at=20.0)
    first = example(kind)
    both = with_features(first, last).track().ground
    alone = with_features(first).track().ground
    np.testing.assert_allclose(both - alone, with_features(last).track().ground, atol=1e-12)


@every("kind", FEATURES, ids=lambda kind: kind.kind)
def test_every_key_of_a_feature_sets_its_field(kind, tmp_path):
    """A file with every key at a value that is not its default gives the feature with those values."""
    lines, values = [f'kind = "{kind.kind}"'], {}
    for key in keys_of(kind).values():
        value = key.example if key.default is None else key.default
        if key.name == "at_m":
            value = 21.0
        elif key.kind == "pair":
            value = [round(v - 0.01 * abs(v), 9) for v in value]
        elif key.name not in ("start_m", "end_m"):
            value = round(value - 0.01 * abs(value - key.low) + (0.1 if value == key.low else 0.0), 9)
        values[key.field] = key.si(value)
        lines.append(f"{key.name} = {value}")
    path = tmp_path / "one.toml"
    path.write_text('title = "t"\n[ground]\nlength_m = 80\n[[ground.features]]\n' + "\n".join(lines), encoding="utf-8")
    assert load(path).ground.features == (kind(**values),)
