"""Laws without machine code of their own, and loops that hold all they call: bits hang on nothing that ran before."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from llvmlite import binding
from numba import njit, types

from sim.arithmetic.compiled import kernel, part, routine

ROOT = Path(__file__).parents[4]
COMPILED = {"kernel", "kernel_apart", "part", "routine"}


@part
def _twice(x):
    return x + x


@routine
def _series(x, n):
    total = 0.0
    for i in range(n):
        total = total * x + _twice(x) / (i + 1.0)
    return total


@kernel
def _first(x):
    return _series(x, 40)


@kernel
def _second(x):
    return _series(x, 40) + 1.0


def _library(function):
    return next(iter(function.overloads.values())).library


def test_a_law_has_no_machine_code_until_python_calls_it():
    loop = njit(lambda x: _series(x, 40))  # kept nowhere: one that is found in the cache takes no law in
    assert loop(0.5) == pytest.approx(_series(0.5, 40), rel=1e-12)
    assert _first(0.5) == pytest.approx(_series(0.5, 40), rel=1e-12)
    compiled = next(iter(_series.overloads.values()))
    assert compiled.library.get_pointer_to_function(compiled.fndesc.llvm_func_name) == 0


def test_a_loop_shares_no_name_with_other_code():
    for function in (_first, _second):
        function.compile((types.float64,))
        if function.stats.cache_hits:  # its machine code alone is known
            continue
        found = [f for f in _library(function)._final_module.functions if not f.is_declaration]
        assert found
        assert all(f.linkage != binding.Linkage.linkonce_odr for f in found)


def _decorated(tree: ast.AST) -> Iterator[tuple[str, ast.FunctionDef]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            yield from ((d.id, node) for d in node.decorator_list if isinstance(d, ast.Name) and d.id in COMPILED)


def test_loops_are_called_from_python_alone():
    """A kernel within a kernel is optimised in both, and fused pairs may differ: what two share is a routine."""
    sources = [p for room in ("sim", "analysis", "scenarios") for p in (ROOT / room).rglob("*.py")]
    trees = {".".join(p.relative_to(ROOT).with_suffix("").parts): ast.parse(p.read_text("utf-8")) for p in sources}
    kernels = {
        (module, node.name) for module, tree in trees.items() for kind, node in _decorated(tree) if kind == "kernel"
    }
    assert len(kernels) > 20
    for module, tree in trees.items():
        known = {name: (module, name) for home, name in kernels if home == module}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                known |= {a.asname or a.name: (node.module, a.name) for a in node.names}
        for _, node in _decorated(tree):
            called = {n.func.id for n in ast.walk(node) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}
            assert not {known[name] for name in called if name in known} & kernels, (module, node.name)
