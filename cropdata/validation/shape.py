"""Whether a descriptor has the shape that every reader of ours relies on: said in full, before anything is read by it."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Mapping
from typing import Any

from cropdata.tabular.location import DESCRIPTOR
from cropdata.validation.files import whole_file
from cropdata.validation.report import Finding

LARGEST = 20_000_000
_TYPES = ("string", "number", "integer", "boolean", "date")
_TEXT, _FLAG, _NUMBER = "a text", "true or false", "a number"
_FIELD = {
    "name": _TEXT,
    "type": _TEXT,
    "description": _TEXT,
    "unit": _TEXT,
    "convertedFrom": _TEXT,
    "unitField": _TEXT,
    "rankOf": _TEXT,
}
_CONSTRAINTS = {
    "required": _FLAG,
    "unique": _FLAG,
    "pattern": _TEXT,
    "minimum": _NUMBER,
    "maximum": _NUMBER,
    "exclusiveMinimum": _NUMBER,
}


def read_raw(folder: str) -> tuple[dict[str, Any], list[Finding]]:
    """The descriptor as JSON says it, and what is wrong with it; an empty one where it cannot be read."""
    path = os.path.join(folder, DESCRIPTOR)
    try:
        if os.path.islink(path):
            return {}, [_fault("is a symbolic link", allowed="the file itself")]
        if os.path.getsize(path) > LARGEST:
            return {}, [_fault("is larger than any descriptor", allowed=f"up to {LARGEST // 1_000_000} MB")]
        with open(path, encoding="utf-8") as stream:
            raw = json.load(stream)
    except OSError as error:
        return {}, [_fault(f"cannot be read: {(error.strerror or str(error)).lower()}")]
    except UnicodeDecodeError:
        return {}, [_fault("is not UTF-8", allowed="JSON in UTF-8")]
    except RecursionError:
        return {}, [_fault("is nested too deeply")]
    except ValueError as error:
        return {}, [_fault(f"is not valid JSON: {error}", allowed="JSON in UTF-8")]
    if not isinstance(raw, dict) or not isinstance(raw.get("resources"), list):
        return {}, [_fault("lists no resources", allowed="a JSON object with resources")]
    return raw, list(_misshapen(raw))


def _fault(message: str, found: object = None, allowed: str | None = None) -> Finding:
    shown = None if found is None else str(found)[:200]
    return whole_file(DESCRIPTOR, "descriptor", message, found=shown, allowed=allowed, hint="compare it with the one that ships with cropdata")  # fmt: skip


def _is(value: object, kind: str) -> bool:
    if kind == _TEXT:
        return isinstance(value, str) and bool(value)
    if kind == _FLAG:
        return isinstance(value, bool)
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _are_texts(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _misshapen(raw: Mapping[str, Any]) -> Iterator[Finding]:
    if not _is(raw.get("version"), _TEXT):
        yield _fault("has no version", raw.get("version"), 'a text such as "1.2.0"')
    names: set[str] = set()
    for number, resource in enumerate(raw["resources"], start=1):
        if not isinstance(resource, dict) or not _is(resource.get("name"), _TEXT):
            yield _fault(f"resource {number} has no name", resource, "an object with name, path and schema")
            continue
        name = resource["name"]
        if name in names:
            yield _fault("two resources have one name", name, "each name once")
        names.add(name)
        schema = resource.get("schema")
        if not _is(resource.get("path"), _TEXT):
            yield _fault(f"{name} has no path", resource.get("path"), "the path of one file")
        if isinstance(schema, dict):
            yield from _schema(name, schema, resource.get("about", []))
            yield from _trait(name, resource)
        elif not isinstance(schema, str):  # a schema named by address is told elsewhere
            yield _fault(f"{name} has no schema", schema, "an object with fields")


def _schema(name: str, schema: Mapping[str, Any], about: Any) -> Iterator[Finding]:
    fields = schema.get("fields")
    if (
        not isinstance(fields, list)
        or not fields
        or not all(isinstance(field, dict) and _is(field.get("name"), _TEXT) for field in fields)
    ):
        yield _fault(f"{name} has no fields with names", fields, "a list of objects")
        return
    known = {field["name"] for field in fields}
    for field in fields:
        place = f"{name}, field {field['name']}"
        for key, kind in _FIELD.items():
            if key in field and not _is(field[key], kind) and not (key == "description" and field[key] == ""):
                yield _fault(f"{place}: {key} is wrong", field[key], kind)
        if field.get("type", "string") not in _TYPES:
            yield _fault(f"{place}: no such type", field.get("type"), ", ".join(_TYPES))
        constraints = field.get("constraints", {})
        if not isinstance(constraints, dict):
            yield _fault(f"{place}: constraints are wrong", constraints, "an object")
            continue
        for key, kind in _CONSTRAINTS.items():
            if key in constraints and not _is(constraints[key], kind):
                yield _fault(f"{place}: {key} is wrong", constraints[key], kind)
        if "enum" in constraints and not _are_texts(constraints["enum"]):
            yield _fault(f"{place}: enum is wrong", constraints["enum"], "a list of texts")
        if isinstance(constraints.get("pattern"), str):
            try:
                re.compile(constraints["pattern"])
            except (re.error, RecursionError, OverflowError):
                yield _fault(f"{place}: pattern is no regular expression", constraints["pattern"])
    if not _are_texts(about) or not set(about) <= known:
        yield _fault(f"{name}: about names no fields of the table", about, ", ".join(sorted(known)))
    yield from _keys(name, schema, known)


def _keys(name: str, schema: Mapping[str, Any], known: set[str]) -> Iterator[Finding]:
    primary, unique = schema.get("primaryKey", []), schema.get("uniqueKeys", [])
    keys = [[primary] if isinstance(primary, str) else primary, *(unique if isinstance(unique, list) else [unique])]
    links = schema.get("foreignKeys", [])
    if not isinstance(links, list) or not all(isinstance(link, dict) for link in links):
        yield _fault(f"{name}: foreignKeys are wrong", links, "a list of objects")
        links = []
    for link in links:
        target = link.get("reference")
        fields = [link["fields"]] if isinstance(link.get("fields"), str) else link.get("fields")
        there = target.get("fields") if isinstance(target, dict) else None
        there = [there] if isinstance(there, str) else there
        resource = target.get("resource", "") if isinstance(target, dict) else None
        if not (_are_texts(there) and there and isinstance(resource, str) and _are_texts(fields) and fields):
            yield _fault(f"{name}: a foreign key is wrong", link, "fields, and a reference with resource and fields")
        else:
            keys.append(fields)
    for key in keys:
        if not _are_texts(key) or not set(key) <= known:
            yield _fault(f"{name}: a key names no fields of the table", key, ", ".join(sorted(known)))


def _trait(name: str, resource: Mapping[str, Any]) -> Iterator[Finding]:
    trait, excludes = resource.get("trait"), resource.get("excludes", {})
    if not isinstance(excludes, dict) or not all(_are_texts(traits) for traits in excludes.values()):
        yield _fault(f"{name}: excludes is wrong", excludes, "practices, each with a list of traits")
    if trait is None:
        return
    quantities = trait.get("quantities") if isinstance(trait, dict) else None
    whole = isinstance(quantities, dict) and all(_are_texts(columns) and columns for columns in quantities.values())
    if (
        not whole
        or not _is(trait.get("unit"), _TEXT)
        or not all(_is(trait.get(key), _FLAG) for key in ("headline", "inherit"))
        or not _is(resource.get("title"), _TEXT)
    ):
        yield _fault(f"{name}: trait is wrong", trait, "unit, headline, inherit and quantities, and a title beside it")
