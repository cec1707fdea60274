"""The build: from edited tables to a package whose formatting, derived files, dictionary and hashes are right.

Nothing is written until everything is reckoned, and each file is replaced whole. A file that the build writes
is never read by it, apart from the descriptor, so a merge conflict in one is solved by building again.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import tempfile
from typing import NamedTuple

from cropdata.catalog import Catalog
from cropdata.catalog.deriving import consensus_rows, profile_fields, profile_rows
from cropdata.errors import DataError, InputError
from cropdata.release.dictionary import dictionary
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import Descriptor, Table, parse_descriptor
from cropdata.tabular.location import DESCRIPTOR
from cropdata.tabular.rows import Row, TableText, read_rows, read_text, sort_rows, table_text, write_whole

_CONFLICT = re.compile(r"<{7}[^\n]*\n(.*?)(?:\|{7}[^\n]*\n.*?)?={7}\n(.*?)>{7}[^\n]*\n", re.DOTALL)
_GENERATED_LINE = re.compile(r'\s*"(?:hash|bytes)": ')


class Built(NamedTuple):
    """What the build makes: the text of each file by its path within the package, and row counts by table."""

    files: dict[str, str]
    counts: dict[str, int]


def _without_conflicts(text: str, path: str) -> str:
    """Merge conflicts in lines that the build writes are settled by taking either side; others are refused."""

    def settle(match: re.Match[str]) -> str:
        for line in (match[1] + match[2]).splitlines():
            if not _GENERATED_LINE.match(line):
                raise DataError(
                    f"{path}: a merge conflict in a line that people write: {line.strip()!r}; settle it by hand, then build"
                )
        return match[1]

    return _CONFLICT.sub(settle, text)


def _raw_descriptor(folder: str) -> dict[str, object]:
    path = os.path.join(folder, DESCRIPTOR)
    try:
        raw = json.loads(_without_conflicts(read_text(path), path))
    except ValueError as error:
        raise DataError(f"{path}: not valid JSON: {error}") from error
    if not isinstance(raw, dict):
        raise DataError(f"{path}: a descriptor is a JSON object")
    return raw


def _formatted(folder: str, table: Table) -> tuple[str, list[Row]]:
    """A table that people edit: canonical cells filled, sorted, in the one form of the release."""
    path = os.path.join(folder, table.path)
    header = [field.name for field in table.fields]
    text = TableText(path)
    unknown = [name for name in text.header if name not in header]
    if unknown:
        raise DataError(f"{path}, row 1: unknown column {unknown[0]!r}; allowed: {', '.join(header)}")
    rows = text.rows()
    for number, row in enumerate(rows, start=2):
        for name in header:
            row.setdefault(name, "")
        try:
            row.update(canonical_cells(row, table))
        except InputError as error:
            raise DataError(f"{path}, row {number}: {error}") from error
        except ValueError as error:
            raise DataError(f"{path}, row {number}: a number cannot be read: {error}") from error
    rows = sort_rows(rows, table.primary_key)
    return table_text(header, rows), rows


def _write(folder: str, files: dict[str, str]) -> None:
    for path, text in files.items():
        target = os.path.join(folder, path)
        os.makedirs(os.path.dirname(target) or ".", exist_ok=True)
        write_whole(target, text)


def _with_profile_fields(raw: dict[str, object], descriptor: Descriptor) -> dict[str, object]:
    for resource in raw["resources"]:  # type: ignore[attr-defined]
        if resource["name"] == "profiles":
            resource["schema"]["fields"] = profile_fields(descriptor)
    return raw


def build_package(folder: str) -> Built:
    """Reckon every file of the package in `folder` as it should stand. Writes nothing there.

    Raises DataError, naming file and row, where a table or the descriptor cannot be read.
    """
    raw = _raw_descriptor(folder)
    descriptor = parse_descriptor(raw, os.path.join(folder, DESCRIPTOR))
    raw = _with_profile_fields(raw, descriptor)
    descriptor = parse_descriptor(raw)
    files: dict[str, str] = {}
    rows_of: dict[str, list[Row]] = {}
    for table in descriptor.tables.values():
        if not table.is_derived:
            files[table.path], rows_of[table.name] = _formatted(folder, table)

    with tempfile.TemporaryDirectory() as place:  # the catalog reads files: give it the new ones
        derived = {
            table.path: table_text([field.name for field in table.fields], [])
            for table in descriptor.tables.values()
            if table.is_derived
        }
        _write(place, {**files, **derived, DESCRIPTOR: json.dumps(raw)})
        catalog = Catalog(place)
        consensus = consensus_rows(catalog, catalog.rejoined)
        files["derived/consensus.csv"] = table_text(
            [field.name for field in descriptor.tables["consensus"].fields], consensus
        )
        _write(place, {"derived/consensus.csv": files["derived/consensus.csv"]})
        profiles = profile_rows(Catalog(place), consensus)
    files["derived/profiles.csv"] = table_text([field.name for field in descriptor.tables["profiles"].fields], profiles)

    rows_of |= {"consensus": consensus, "profiles": profiles}
    counts = {name: len(rows) for name, rows in rows_of.items()}
    for resource in raw["resources"]:  # type: ignore[attr-defined]
        data = files[resource["path"]].encode()
        resource["bytes"] = len(data)
        resource["hash"] = f"sha256:{hashlib.sha256(data).hexdigest()}"
    files[DESCRIPTOR] = json.dumps(raw, indent=2, ensure_ascii=False) + "\n"
    files["README.md"] = dictionary(descriptor, counts, consensus, rows_of["crops"])
    return Built(files, counts)


def write_package(folder: str, built: Built) -> list[str]:
    """Write what differs; returns the paths written."""
    changed = stale_files(folder, built)
    _write(folder, {path: built.files[path] for path in changed})
    return changed


def stale_files(folder: str, built: Built) -> list[str]:
    """Paths whose text in `folder` is not what the build makes."""
    stale = []
    for path, text in built.files.items():
        target = os.path.join(folder, path)
        try:
            with open(target, "rb") as stream:
                same = stream.read() == text.encode()
        except FileNotFoundError:
            same = False
        if not same:
            stale.append(path)
    return stale


__all__ = ["Built", "build_package", "read_rows", "stale_files", "write_package"]
