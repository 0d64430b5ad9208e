"""Where compiled kernels are kept: one folder for each state of the sources, a user's own choice respected."""

from __future__ import annotations

import os
from pathlib import Path

import sim.arithmetic.compilecache as cache


def test_a_users_own_folder_stays(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    cache.choose_cache_folder()
    assert os.environ["NUMBA_CACHE_DIR"] == str(tmp_path)


def test_the_folder_is_named_after_the_sources(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))

    def chosen() -> Path:
        monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
        cache.choose_cache_folder()
        return Path(os.environ["NUMBA_CACHE_DIR"])

    first = chosen()
    assert first.parent == tmp_path / "rowbench"
    assert chosen() == first
    # the same sources elsewhere, then one of them changed
    top = Path(cache.__file__).parents[1]
    for name in ("sim", "analysis"):
        (tmp_path / name).mkdir()
        for source in (top / name).glob("*.py"):
            (tmp_path / name / source.name).write_bytes(source.read_bytes())
    monkeypatch.setattr(cache, "__file__", str(tmp_path / "sim" / "compilecache.py"))
    assert chosen() == first
    for changed in ("sim/laws/soil.py", "analysis/crossing/peaks.py"):
        before = chosen()
        (tmp_path / changed).write_text("from sim.arithmetic.compiled import part  # changed", encoding="utf-8")
        assert chosen() != before
    # a file that is not compiled is left alone
    before = chosen()
    (tmp_path / "analysis/present/edge.py").write_text("changed", encoding="utf-8")
    assert chosen() == before


def test_without_a_writable_home_the_temporary_folder_serves(monkeypatch, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked / "cache"))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    cache.choose_cache_folder()
    assert not os.environ["NUMBA_CACHE_DIR"].startswith(str(blocked))
