"""Faults of single ground features: where, what was given, what is allowed, what to try."""

from __future__ import annotations

import pytest
from every import every

from scenarios.format.errors import ScenarioError
from scenarios.format.tables import ROOT
from scenarios.load import load

HEAD = 'title = "t"\n[ground]\nlength_m = 50\n[[ground.features]]\n'
BANK = 'kind = "bank"\nat_m = 20\nheight_mm = 400\nbase_m = 6\n'
PATCH = 'kind = "patch"\nstrength_share = 2\n'
FIELD = 'kind = "stone_field"\nstones_per_ha = 5000\n'


@pytest.fixture
def faults(tmp_path):
    def of(text):
        path = tmp_path / "bad.toml"
        path.write_text(HEAD + text, encoding="utf-8")
        with pytest.raises(ScenarioError) as caught:
            load(path)
        return caught.value.faults

    return of


SINGLE = [
    (BANK.replace("20", "80"), ["features[0].at_m", "given 80", "measured stretch, 0 to 50 m", "25"]),
    (BANK + "batter = 6", ["batter", "given 6, so slopes of 3.6 m", "up to 5: both slopes within base_m, 6 m"]),
    (BANK + "angle_deg = 120", ["angle_deg", "given 120", "2 to 90°"]),
    (BANK.replace("400", "0.4"), ["height_mm", "given 0.4", "10 to 2000 mm", "wrong unit"]),
    (BANK + "batter_m = 6", ["batter_m: unknown key", "batter"]),
    ('kind = "ramp"\nat_m = 70\nrise_mm = 100\nrun_m = 5', ["at_m", "given 70"]),
    ('kind = "edge"\nat_m = 10\nstep_mm = 100\nrun_m = 0', ["run_m", "given 0", "0.02 to 2 m"]),
    ('kind = "rut"\nat_m = 10\ndepth_mm = 80', ["width_m: missing", "0.1 to 3 m"]),
    ('kind = "ridges"\nspacing_m = 2\nheight_mm = 80\nangle_deg = 2', ["end_m", "room for one wave, 57.31 m"]),
    (PATCH + "start_m = 30\nend_m = 20", ["end_m", "given 20", "beyond start_m, 30 m"]),
    (PATCH + "start_m = 60\nend_m = 70", ["start_m", "given 60", "some of it on the measured stretch, 0 to 50 m"]),
    (PATCH + "start_m = -20\nend_m = -10", ["end_m", "given -10", "some of it on the measured stretch, 0 to 50 m"]),
    (PATCH + "start_m = 30\nend_m = 31\nfade_m = 2", ["fade_m", "given 2", "up to the patch, 1 m"]),
    ('kind = "patches"\nshare = 0.2\nsize_m = 3\nstrength_share = 2\nfade_m = 2', ["the shortest patch, 1.5 m"]),
    ('kind = "patches"\nshare = 20\nsize_m = 3\nstrength_share = 2', ["share", "given 20", "0.01 to 0.9"]),
    (FIELD + "top_mm = [0, 80]", ["features[0].top_mm", "up to 0.3 of the shortest stone, 30 mm"]),
    (FIELD + "start_m = 60", ["start_m", "given 60"]),
    (FIELD.replace("5000", "5e7"), ["stones_per_ha", "0 to 1e+06 per ha"]),
    ('kind = "ridge"', ['given "ridge"', '"stone_field"', 'try: "ridges"']),
]  # fmt: skip


@every(("text", "parts"), SINGLE, ids=[text.replace("\n", " ")[:70] for text, _ in SINGLE])
def test_one_fault(text, parts, faults):
    found = faults(text + "\n")
    assert len(found) == 1, found
    for part in (*parts, "allowed: ", "try: "):
        assert part in found[0]


def test_class_of_a_profile(tmp_path):
    (tmp_path / "p.csv").write_text("distance_m,height_m\n" + "".join(f"{i},0\n" for i in range(90)), encoding="utf-8")
    path = tmp_path / "bad.toml"
    path.write_text('title = "t"\n[ground.profile]\nfile = "p.csv"\nroughness_class = "c"\n', encoding="utf-8")
    with pytest.raises(ScenarioError, match=r'ground.profile.roughness_class: given "c".*try: "C"'):
        load(path)


@every("kind", list(ROOT.tables["ground"].lists["features"].tables))
def test_every_number_of_a_feature_refuses_what_lies_outside(kind, faults):
    table = ROOT.tables["ground"].lists["features"].tables[kind]
    usual = {key.name: key.example for key in table.keys.values() if key.needed}
    usual.update({name: 20 for name in usual if name == "at_m"})
    for key in table.keys.values():
        if key.kind != "number":
            continue
        for value in (key.low - 0.01 * (key.high - key.low), key.high + 0.01 * (key.high - key.low), "nan"):
            values = {**usual, key.name: value}
            found = faults(f'kind = "{kind}"\n' + "".join(f"{name} = {v}\n" for name, v in values.items()))
            assert len(found) == 1, found
            assert f"ground.features[0].{key.name}: given" in found[0]
            assert key.allowed in found[0]
