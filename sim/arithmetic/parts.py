"""How a law is compiled that only ever stands inside a loop: as far as whatever calls it needs it, and no further.

The compiler makes machine code of every function, and a way in from Python, before the next one takes it in. A law is
inlined wherever it is called, so all of that is thrown away: a good third of the time to compile. Here it ends as
intermediate code that is not optimised yet. Called from Python it is compiled once more, whole.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

from llvmlite import binding
from numba import _dynfunc, jit  # type: ignore[attr-defined]
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder, _LowerResult
from numba.core.compiler_machinery import register_pass
from numba.core.environment import lookup_environment
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import NativeLowering

NO_WAY_IN = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}  # from Python, or from C


class _Part(JITCodeLibrary):
    """Code that others take in and nobody runs."""

    def _optimize_final_module(self):
        """Left to the loop that takes it in."""

    def _finalize_final_module(self):
        self._finalize_dynamic_globals()
        self._finalized = True

    def get_pointer_to_function(self, name):
        self._ensure_finalized()
        return 0


class _Whole(JITCodeLibrary):
    """Code that is run, with its own copy of everything it calls.

    A part that is not inlined would else be known to all code in the process by one name, and the first that is
    loaded would serve all: bits would hang on what ran before.
    """

    def _optimize_final_module(self):
        """Twice, for parts come as they are written: one row's march is 4 % slower with once."""
        super()._optimize_final_module()
        super()._optimize_final_module()

    def _finalize_final_module(self):
        for function in self._final_module.functions:
            if not function.is_declaration and function.linkage == binding.Linkage.linkonce_odr:
                function.linkage = binding.Linkage.internal
        super()._finalize_final_module()


@register_pass(mutates_CFG=True, analysis_only=False)
class _PartLowering(NativeLowering):
    _name = "part_lowering"

    def run_pass(self, state):
        state.library = _Part(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        state.flags.no_compile = True  # no machine code
        super().run_pass(state)
        made, library = state["cr"], state.library
        name = made.fndesc.qualname.split(".")[-1]
        entry = _dynfunc.make_function(made.fndesc.lookup_module(), name, name, 0, made.env, (library,))
        state.targetctx.insert_user_function(entry, made.fndesc, [library])
        state.reload_init.extend(library._reload_init)
        state["cr"] = _LowerResult(made.fndesc, made.call_helper, cfunc=entry, env=made.env)
        return True


@register_pass(mutates_CFG=True, analysis_only=False)
class _LoopLowering(NativeLowering):
    _name = "loop_lowering"

    def run_pass(self, state):
        library = state.library = _Whole(state.targetctx.codegen(), state.func_id.func_qualname)
        library.enable_object_caching()
        super().run_pass(state)
        for found in library._final_module.global_variables:  # what its parts would have noted for themselves
            environment = lookup_environment(found.name)
            if environment is not None:
                library.codegen.set_env(found.name, environment)
        return True


def _compiler(lowering: type) -> type[CompilerBase]:
    class Compiler(CompilerBase):
        def define_pipelines(self):
            made = DefaultPassBuilder.define_nopython_pipeline(self.state)
            made.passes = [(lowering if step is NativeLowering else step, told) for step, told in made.passes]
            made.finalize()
            return [made]

    return Compiler


PART, LOOP = _compiler(_PartLowering), _compiler(_LoopLowering)


class Part(CPUDispatcher):
    """A law, inlined where compiled code calls it."""

    @cached_property
    def _alone(self):
        return jit(**{name: value for name, value in self.targetoptions.items() if name not in NO_WAY_IN})(self.py_func)

    def __call__(self, *args: Any, **named: Any) -> Any:
        return self._alone(*args, **named)


def part_of(function: Callable[..., Any], **options: Any) -> Any:
    """The law of a function, with the compiler's options."""
    options |= {"nopython": True, "boundscheck": None, **NO_WAY_IN}
    return Part(function, targetoptions=options, pipeline_class=PART)
