"""The package that pyproject.toml maps from analysis/rowbench, found there also where nothing is installed."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

_FILE = Path(__file__).parents[2] / "analysis" / "rowbench" / "__init__.py"
_spec = spec_from_file_location("rowbench", _FILE, submodule_search_locations=[str(_FILE.parent)])
sys.modules["rowbench"] = _module = module_from_spec(_spec)
_spec.loader.exec_module(_module)
