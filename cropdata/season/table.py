"""A plan as CSV: one row a sowing, ISO dates, metric figures, unknown left blank."""

from __future__ import annotations

import csv
import io
from typing import Any

from cropdata.agronomy.windows import Window
from cropdata.season.plan import Plan, PlannedSowing
from cropdata.season.schema import PLACES
from cropdata.tabular.values import harmless

# Column: the field it comes from, and which end of it (None: the whole).
_WINDOWS = ("sow", "seedlings", "plant_out", "harvest", "shelf")
_PAIRS = {"depth_mm": ("depth_low_mm", "depth_high_mm"), "best_c": ("best_low_c", "best_high_c"),
          "emergence_days": ("emergence_low_days", "emergence_high_days"), "mix_litres": ("mix_low_litres", "mix_high_litres")}  # fmt: skip
_BY_STEP = {"test_by": "test", "buy_by": "buy", "chill_from": "chill", "soak_from": "soak", "pot_on_by": "pot_on", "feed_from": "feed", "harden_from": "harden"}  # fmt: skip


def plan_csv(plan: Plan) -> str:
    """The sowings with their windows; steps that are a single day stand in columns of their own."""
    rows = [_row(line) for line in plan.sowings]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns())
    writer.writerows(row.values() for row in rows)
    return stream.getvalue()


def columns() -> list[str]:
    """The header."""
    names: list[str] = []
    for field in PlannedSowing._fields:
        if field in _WINDOWS:
            names += [f"{field}_first", f"{field}_last"]
        elif field in _PAIRS:
            names += _PAIRS[field]
        elif field == "steps":
            names += _BY_STEP
        else:
            names.append(field)
    return names


def _row(line: PlannedSowing) -> dict[str, Any]:
    row: dict[str, Any] = {}
    for field, value in line._asdict().items():
        if field in _WINDOWS:
            window: Window | None = value
            row[f"{field}_first"] = window.first.isoformat() if window else ""
            row[f"{field}_last"] = window.last.isoformat() if window else ""
        elif field in _PAIRS:
            row.update(zip(_PAIRS[field], [round(end, PLACES) for end in value] if value else ("", ""), strict=True))
        elif field == "steps":
            firsts = {step.kind: step.first.isoformat() for step in line.steps}
            row.update({column: firsts.get(kind, "") for column, kind in _BY_STEP.items()})
        elif field == "notes":
            row[field] = harmless(" | ".join(value))
        elif field == "factors":
            row[field] = " x ".join(f"{factor.share:.3g} {factor.what} ({factor.basis})" for factor in line.factors)
        elif field == "sources":
            row[field] = " ".join(value)
        elif isinstance(value, bool):
            row[field] = "true" if value else "false"
        elif isinstance(value, float):
            row[field] = round(value, PLACES)
        else:
            row[field] = "" if value is None else harmless(value) if isinstance(value, str) else value
    return row
