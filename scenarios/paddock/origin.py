"""Where the values of a paddock come from that its own file does not give."""

from __future__ import annotations

from collections.abc import Sequence

from scenarios.format.assembly import Assembly

ORIGIN = "not in the file: "  # how the note begins
TOLD = ("unit", "settings", "soil", "limits", "machine", "search")
USUAL = {"unit": "the demonstration unit", "soil": "firm"}  # what holds by default, where it has a name


def origin_note(found: Assembly) -> str:
    """From which file, or by which default, the tables hold that the paddock's file does not give; "" if it gives all.

    A table that the file gives in part is named only where another file lends it the rest.
    """
    lent: dict[str, list[str]] = {}
    default = []
    for name in TOLD:
        own = any(key != "base" for key in found.given.get(name, {}))
        lenders = tuple(path.name for path in found.lenders.get(name, ()))
        if lenders:
            lent.setdefault(" over ".join(lenders), []).append(f"the rest of {name}" if own else name)
        elif not own:
            default.append(f"{name} ({USUAL[name]})" if name in USUAL else name)
    said = [f"{_joined(names)} from {file}" for file, names in lent.items()]
    if default:
        said.append(f"{_joined(default)} by default")
    return ORIGIN + "; ".join(said) if said else ""


def _joined(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
