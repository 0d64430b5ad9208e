"""The package tests/damaged under the name `damaged`, wherever the tests are run from."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

_FOLDER = Path(__file__).parents[1] / "damaged"
_spec = spec_from_file_location("damaged", _FOLDER / "__init__.py", submodule_search_locations=[str(_FOLDER)])
sys.modules["damaged"] = _module = module_from_spec(_spec)
_spec.loader.exec_module(_module)
