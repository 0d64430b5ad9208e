"""The tables that a paddock file may hold."""

from __future__ import annotations

from scenarios.format.tables import ROOT, FileKind, Table, Variants, table_of, with_base
from scenarios.paddock.spec import Keep, Measured, PaddockMachine, Passes, PlanGround, PlanStones, Tried, Zone

LENT = ("settings", "soil", "limits", "machine")  # what the file of the unit's base brings along
_LISTED = ", ".join(f"[{name}]" for name in LENT)

PADDOCK = Table(
    "A paddock.",
    {name: ROOT.keys[name] for name in ("title", "shows")},
    {
        "machine": table_of(PaddockMachine),
        "passes": table_of(Passes),
        "ground": table_of(PlanGround),
        "stones": table_of(PlanStones),
        "measured": table_of(Measured),
        "search": table_of(Tried),
        "keep": table_of(Keep),
        **{name: ROOT.tables[name] for name in ("settings", "soil", "limits", "prior", "uncertain")},
        "unit": with_base(ROOT.tables["unit"], "unit", "demo", f", and whose file's {_LISTED},"),
    },
    {"zones": Variants("", {"": table_of(Zone)})},
)
PADDOCK_FILE = FileKind(PADDOCK, top="the top of a paddock file", lent=LENT, kind_in_full=True)
