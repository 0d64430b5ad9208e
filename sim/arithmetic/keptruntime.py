"""The compiler's runtime, by which machine code keeps arrays in memory, kept on disk like the code that uses it.

The compiler makes it anew in every process: a few small functions, for which all of its own library is loaded
(some 20 MB and 20 ms). Here they are made once and then found as machine code.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from numba.core.compiler_lock import global_compiler_lock
from numba.core.runtime import nrtdynmod, rtsys

from sim.arithmetic.keptfiles import Files


def begin_runtime(context: Any, folder: Path) -> None:
    """Start the runtime of a target, once a process; folder: where its machine code is kept.

    What cannot be read or written there is noted, and made anew. Whoever else starts it does so by the compiler's own
    means, as before.
    """
    with global_compiler_lock:
        usual = nrtdynmod.compile_nrt_functions
        nrtdynmod.compile_nrt_functions = lambda target: _found_or_made(target, folder)
        try:
            rtsys.initialize(context)  # nothing is done the second time
        finally:
            nrtdynmod.compile_nrt_functions = usual


def _found_or_made(context: Any, folder: Path) -> Any:
    """The compiled library of the runtime."""
    place = folder / "runtime"
    files: Any = Files(str(place), "runtime", 0)
    target = context.codegen()
    kind = target.magic_tuple()  # of processor
    try:
        kept = files.load(kind)
        if kept is not None:
            return target.unserialize_library(kept)
    except Exception as error:
        files.damaged(error)
    module, library = nrtdynmod.create_nrt_module(context)
    library.enable_object_caching()
    library.add_ir_module(module)
    library.finalize()
    try:
        place.mkdir(exist_ok=True)
        files.save(kind, library.serialize_using_object_code())
    except OSError as error:
        files.unkept(error)
    return library
