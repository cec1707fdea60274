"""A plan as one JSON object (format 1), and the JSON Schema that describes it: both follow from the types of `plan`."""

from __future__ import annotations

import datetime
import inspect
import types
import typing
from typing import Any

from cropdata.agronomy.windows import Window
from cropdata.season.plan import (
    A_YEAR,
    BASES,
    CONFLICTS,
    PLACES_TO_SOW,
    STEPS,
    THIS_YEAR,
    Assumption,
    Caution,
    Cited,
    Conflict,
    Factor,
    FrostDay,
    Plan,
    PlannedSowing,
    PlanPlace,
    Seen,
    Step,
    Total,
)  # fmt: skip
from cropdata.season.words import METHOD_WORDS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
RECORDS = (Factor,
    Window, Step, PlannedSowing, Conflict, Total, Caution, Seen, Assumption, FrostDay, PlanPlace, Cited,
)  # fmt: skip
PLACES = 4  # decimals of chances and figures
_LIGHT = "(light|dark|indifferent)"
# What may stand in a text field, beyond being a text.
_ALLOWED: dict[tuple[type, str], dict[str, Any]] = {
    (Step, "kind"): {"enum": list(STEPS)},
    (Seen, "event"): {"enum": list(STEPS)},
    (Conflict, "kind"): {"enum": list(CONFLICTS)},
    (PlannedSowing, "where"): {"enum": list(PLACES_TO_SOW)},
    (PlannedSowing, "method"): {"enum": [*METHOD_WORDS, None]},
    (PlannedSowing, "light"): {"pattern": f"^{_LIGHT}( or {_LIGHT})*$"},
    (Factor, "basis"): {"enum": list(BASES)},
    (Assumption, "basis"): {"enum": list(BASES)},
    (Total, "per"): {"enum": [THIS_YEAR, A_YEAR]},
}


def plan_object(plan: Plan) -> dict[str, Any]:
    """The plan as plain values: ISO dates, windows as {first, last}, pairs as two numbers, unknown as null.

    The year is called `season`; the frost dates stand at the top as well as under `place`, as in earlier editions.
    """
    body = {name: _plain(value) for name, value in plan._asdict().items() if name != "year"}
    place = body["place"]
    first = {"format": body.pop("format"), "data_version": body.pop("data_version"), "season": plan.year}
    return (
        first
        | {"place": body.pop("place")}
        | {name: place[name] for name in ("last_frost", "risk", "risk_date")}
        | body
    )


def _plain(value: Any) -> Any:
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, float):
        return round(value, PLACES)
    if isinstance(value, tuple):
        if hasattr(value, "_asdict"):
            return {name: _plain(item) for name, item in value._asdict().items()}
        return [_plain(item) for item in value]
    return value


def plan_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of `plan_object`. Nothing else than what it names may stand in the object."""
    body = _record(Plan)
    properties = body["properties"]
    properties["season"] = properties.pop("year")
    place = _record(PlanPlace)["properties"]
    properties |= {name: place[name] for name in ("last_frost", "risk", "risk_date")}
    properties["format"]["const"] = 1
    body["required"] = list(properties)
    definitions = {kind.__name__: _record(kind) for kind in RECORDS}
    return {
        "$schema": DRAFT, "title": "A season's plan of cropdata, format 1",
        **body,
        "description": (
            f"{body['description']} Dates ISO 8601, lengths mm, temperatures °C, volumes litres, chances as shares of years, whatever the reader "
            "asked for; null: nothing recorded. Sentences (text, notes, warnings) are in the reader's units and order of dates."
        ),
        "$defs": definitions,
    }  # fmt: skip


def _record(kind: type) -> dict[str, Any]:
    hints = typing.get_type_hints(kind)
    names: tuple[str, ...] = kind._fields  # type: ignore[attr-defined]
    said, about = _told(kind)
    properties = {
        name: _type(hints[name]) | _ALLOWED.get((kind, name), {}) | ({"description": about[name]} if name in about else {})
        for name in names
    }  # fmt: skip
    return {
        "type": "object", "description": said, "additionalProperties": False, "properties": properties, "required": list(names),
    }  # fmt: skip


def _told(kind: type) -> tuple[str, dict[str, str]]:
    """What the docstring says of a record, and under Attributes of its fields."""
    said, _, fields = inspect.cleandoc(kind.__doc__ or "").partition("\nAttributes:\n")
    about: dict[str, str] = {}
    for line in fields.splitlines():
        name, colon, rest = line.strip().partition(": ")
        if line.startswith("    ") and not line.startswith("     ") and colon:
            about[name] = rest
        elif about and line.strip():  # goes on
            about[list(about)[-1]] += f" {line.strip()}"
    return " ".join(said.split()), about


def _type(hint: Any) -> dict[str, Any]:
    """The schema of one annotation: plain types, records, tuples of one kind or of a fixed length, or None."""
    plain = {str: {"type": "string"}, int: {"type": "integer"}, float: {"type": "number"}, bool: {"type": "boolean"}, type(None): {"type": "null"}}  # fmt: skip
    if hint in plain:
        return dict(plain[hint])
    if hint is datetime.date:
        return {"type": "string", "format": "date"}
    if hint in RECORDS:
        return {"$ref": f"#/$defs/{hint.__name__}"}
    arguments = typing.get_args(hint)
    if isinstance(hint, types.UnionType):
        return {"anyOf": [_type(each) for each in arguments]}
    if arguments[-1] is Ellipsis:
        return {"type": "array", "items": _type(arguments[0])}
    count = len(arguments)
    return {"type": "array", "prefixItems": [_type(each) for each in arguments], "items": False, "minItems": count}
