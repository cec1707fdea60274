"""What the check finds of the fault corpus, kind by kind, beside frictionless and pandera on the same files.

    python tools/fault_table.py            the table by kind, then false alarms on what is clean
    python tools/fault_table.py --slips    share of mistaken units that are found without the printed text, by trait

Each library is used as well as it can be. Both get the schema of the same descriptor (for a layer: only the columns
that it has, and no more required cells than we ask for). Frictionless checks the links too. Pandera knows no links and
reads no files: pandas reads the file for it, only the empty cell being missing, and it is given our own schemas, which
are stricter than its reading of a descriptor, and the ids that links may point to as a list. They are given credit for
any error in the file, ours only for the right rule in the right cell. A false alarm is a finding in a row that the fault
did not touch, for faults without consequences elsewhere.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "faults")]

from clean import LAYERS, RELEASE, cut, plain_layer, read_table, records, seal  # type: ignore[import-not-found] # noqa: E402
from corpus import CORPUS  # type: ignore[import-not-found] # noqa: E402

import cropdata  # noqa: E402
from cropdata.errors import CropdataError  # noqa: E402
from cropdata.tabular.canonical import canonical_cells  # noqa: E402
from cropdata.tabular.descriptor import Descriptor, Field, Table, read_descriptor  # noqa: E402
from cropdata.tabular.rows import read_rows  # noqa: E402
from cropdata.validation.comparing import Evidence, far_findings  # noqa: E402
from cropdata.validation.contents import statements_of  # noqa: E402
from cropdata.validation.tables import rules_for  # noqa: E402

_SHIPPED = read_descriptor(str(RELEASE))
_RAW = {resource["name"]: resource for resource in _SHIPPED.raw["resources"]}
Rows = set[int | None]


class Verdict(NamedTuple):
    """Rows of the faulty file in which something was found; None for the file as a whole."""

    rows: Rows

    def found(self) -> bool:
        """Anything at all."""
        return bool(self.rows)


def _layer_table(path: Path) -> Table | None:
    return next((table for table in _SHIPPED.tables.values() if Path(table.path).name == path.name), None)


def _relaxed(table: Table, header: list[str]) -> tuple[Field, ...]:
    """Columns of a layer's file as we ask for them there, what a layer may have besides among them."""
    rules = rules_for(table, header, layer=True)
    own = {name: _bare(name, "number") for name in ("expects_low", "expects_high")}
    own["action"] = _bare("action", "string", ("add", "override", "hide"))
    known = {name: rule.field for name, rule in rules.items()} | own
    return tuple(known[name] for name in header if name in known)


def _bare(name: str, kind: str, enum: tuple[str, ...] = ()) -> Field:
    return Field(name, kind, "", False, False, enum, None, None, None, None, None, None, "unit", None)


def _frictionless_layer(folder: Path) -> Path:
    """A package around a layer's files, so that the library can check them with their links."""
    resources = [dict(_RAW[name], path=str(RELEASE / _RAW[name]["path"])) for name in ("crops", "sources")]
    for path in sorted(folder.glob("*.csv")):
        table = _layer_table(path)
        if table is None:
            continue
        raw = _RAW[table.name]
        try:
            header = read_table(path)[0]
        except (UnicodeDecodeError, IndexError):
            header = []
        fields = []
        for kept in _relaxed(table, header):
            plain: dict[str, Any] = {"name": kept.name, "type": kept.type}
            field = next((field for field in raw["schema"]["fields"] if field["name"] == kept.name), plain)
            limits = {
                key: value for key, value in field.get("constraints", {}).items() if key not in ("required", "unique")
            }
            listed = {"enum": list(kept.enum)} if kept.enum else {}
            fields.append(dict(field, constraints=dict(limits, required=kept.required, **listed)))
        keys = [key for key in raw["schema"].get("foreignKeys", []) if set(key["fields"]) <= set(header)]
        resources.append({"name": table.name if table.name not in ("crops", "sources") else f"own-{table.name}", "type": "table", "path": str(path),
                          "dialect": raw.get("dialect", {}), "encoding": "utf-8", "schema": {"fields": fields, "foreignKeys": keys}})  # fmt: skip
    target = folder / "datapackage.json"
    for resource in resources:
        for key in ("hash", "bytes"):
            resource.pop(key, None)
    target.write_text(
        json.dumps({"$schema": _SHIPPED.raw.get("$schema"), "name": "layer", "resources": resources}), encoding="utf-8"
    )
    return target


def _faulty_alone(folder: Path, file: str) -> Path:
    """The package with the faulty table and those that it links to only: the same verdict on it, in less time."""
    path = folder / "datapackage.json"
    raw = json.loads(path.read_text(encoding="utf-8"))
    if file != path.name:
        raw["resources"] = [
            part for part in raw["resources"] if part["path"] == file or part["name"] in ("crops", "sources")
        ]
        path.write_text(json.dumps(raw), encoding="utf-8")
    return path


def by_frictionless(folder: Path, file: str, layer: bool) -> Verdict:
    """Any error in the faulty file, or in the package where the descriptor is the faulty file."""
    import frictionless

    try:
        target = _frictionless_layer(folder) if layer else _faulty_alone(folder, file)
        with frictionless.system.use_context(trusted=layer):
            report = frictionless.validate(str(target), type="package", limit_errors=10**6)
    except Exception:
        return Verdict({None})  # the library gives up: found, without a report
    rows: Rows = {None for _ in report.errors}
    for task in report.tasks:
        if layer or task.place == file or file == "datapackage.json":
            rows |= {getattr(error, "row_number", None) for error in task.errors}
    return Verdict(rows)


def by_pandera(folder: Path, file: str, layer: bool) -> Verdict:
    """Any error of the faulty table's frame."""
    import pandas as pd
    import pandera.errors
    import pandera.pandas as pa

    from cropdata.validation.frames import schema_for

    path = folder / file
    found: Descriptor = _SHIPPED
    table = _layer_table(path)
    if table is None or path.suffix != ".csv":
        return Verdict(set())  # it checks frames: there is none
    try:
        frame = pd.read_csv(path, dtype=str, keep_default_na=False, na_values=[""])
        broken: Rows = set()
        for field in table.fields:
            if field.type in ("number", "integer") and field.name in frame:
                numbers = pd.to_numeric(frame[field.name], errors="coerce")
                broken |= {int(place) + 2 for place in frame.index[numbers.isna() & frame[field.name].notna()]}
                frame[field.name] = numbers.astype("Int64" if field.type == "integer" else "float64")
        if layer:
            table = table._replace(fields=_relaxed(table, list(frame.columns)), primary_key=())
            found = found._replace(tables={**found.tables, table.name: table})
        schema = schema_for(table.name, found)
        ids = {
            name: {
                row[f"{name[:-1]}_id"] for row in records((RELEASE if layer else folder) / _SHIPPED.tables[name].path)
            }
            for name in ("crops", "sources")
        }
        links = {key.fields[0]: pa.Check.isin(list(ids[key.table])) for key in table.foreign_keys if key.table in ids}
        for name, check in links.items():
            if name in schema.columns:
                schema = schema.update_column(name, checks=[*schema.columns[name].checks, check])
        schema.ordered = not layer
        schema.validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as error:
        places = error.failure_cases["index"]
        return Verdict(
            broken | ({None if place is None or place != place else int(place) + 2 for place in places} or {None})
        )
    except Exception:
        return Verdict({None})
    return Verdict(broken)


def table() -> None:
    """Print the table by kind."""
    totals: Counter[str] = Counter()
    kinds: dict[str, Counter[str]] = {}
    with tempfile.TemporaryDirectory() as place:
        clean = {"package": cut(Path(place) / "cut"), "layer": plain_layer(Path(place) / "plain")}
        for fault in CORPUS:
            folder = Path(place) / "faulty"
            shutil.rmtree(folder, ignore_errors=True)
            shutil.copytree(clean[fault.subject], folder)
            layer = fault.subject == "layer"
            file, row, column = fault.operator(folder)
            if not layer and fault.table != "descriptor":
                seal(folder)
            count = kinds.setdefault(fault.kind, Counter())
            count["faults"] += 1
            findings = cropdata.check(folder, standard=False).findings
            right = [
                item
                for item in findings
                if (item.rule, item.file) == (fault.rule, file)
                and row in (None, item.row)
                and column in (None, item.column)
            ]
            count["ours"] += bool(right)
            beside = (row if row is not None else right[0].row if right else None, None, 1)
            verdicts = {
                "frictionless": by_frictionless(folder, file, layer),
                "pandera": by_pandera(folder, file, layer),
            }
            for name, verdict in verdicts.items():
                count[name] += verdict.found()
                count[f"{name} elsewhere"] += 0 if fault.wide else len(verdict.rows - set(beside))
            count["ours elsewhere"] += (
                0 if fault.wide else sum((item.file, item.row) != (file, beside[0]) for item in findings)
            )
    names = ("ours", "frictionless", "pandera")
    print(f"{'kind':38}{'faults':>7}" + "".join(f"{name:>14}" for name in names) + "   found (false alarms)")
    for kind, count in kinds.items():
        totals.update(count)
        print(
            f"{kind:38}{count['faults']:>7}"
            + "".join(f"{count[name]:>9} ({count[f'{name} elsewhere']:>2})" for name in names)
        )
    print(
        f"{f'all {len(kinds)} kinds':38}{totals['faults']:>7}"
        + "".join(f"{totals[name]:>9} ({totals[f'{name} elsewhere']:>2})" for name in names)
    )
    whole = {name: sum(count[name] == count["faults"] for count in kinds.values()) for name in names}
    print("kinds found in every fault: " + ", ".join(f"{name} {number}" for name, number in whole.items()))


def clean_alarms() -> None:
    """False alarms on what is clean: the release, the package cut from it, three layers."""
    with tempfile.TemporaryDirectory() as place:
        subjects: Iterable[tuple[str, Path]] = [
            ("release", RELEASE), ("cut from it", cut(Path(place) / "cut")),
            *((f"{name} layer", make(Path(place) / name)) for name, make in LAYERS.items()),
        ]  # fmt: skip
        alarms = {
            name: sum(item.severity != "excused" for item in cropdata.check(path).findings) for name, path in subjects
        }
    print("false alarms on what is clean: " + ", ".join(f"{name} {number}" for name, number in alarms.items()))


def slips() -> None:
    """Each published row of the release with each other unit of its column, found by limits or beside others, without the print."""
    evidence = Evidence()
    rows = {
        name: list(enumerate(read_rows(str(RELEASE / found.path)), start=2)) for name, found in _SHIPPED.tables.items()
    }
    aside = {(row["table"], row["row_id"]) for _, row in rows["decisions"]}
    evidence.add_crops(rows["crops"])
    evidence.add_sources(rows["sources"])
    for found in _SHIPPED.evidence:
        evidence.add(found, statements_of(rows[found.name]), aside)
    tried: dict[tuple[str, str], Counter[str]] = {}
    for found in _SHIPPED.evidence:
        unit = found.field("unit")
        for number, row in rows[found.name] if found.trait and unit else ():
            for other in unit.enum if unit else ():
                if other != row["unit"] and (found.name, row["row_id"]) not in aside:
                    count = tried.setdefault((found.name, f"{row['unit']} as {other}"), Counter())
                    count[_how(number, dict(row, unit=other), found, evidence)] += 1
    print(f"{'trait':26}{'slip':26}{'rows':>6}{'limits':>8}{'others':>8}{'seed':>6}{'kin':>6}{'missed':>8}")
    for (name, slip), count in tried.items():
        print(
            f"{name:26}{slip:26}{sum(count.values()):>6}"
            + "".join(
                f"{count[how]:>{width}}"
                for how, width in (("limits", 8), ("others", 8), ("seed", 6), ("kin", 6), ("", 8))
            )
        )


def _how(number: int, row: dict[str, str], found: Table, evidence: Evidence) -> str:
    try:
        row |= canonical_cells(row, found)
    except (CropdataError, ValueError):
        return ""
    for field in found.fields:
        value: Any = row.get(field.name) if field.converted_from else None
        if (
            value
            and not (field.minimum or 0) <= float(value) <= (field.maximum or float("inf"))
            and field.maximum is not None
        ):
            return "limits"
    findings = list(far_findings(statements_of([(number, row)]), found, found.path, evidence))
    says = findings[0].allowed or "" if findings else ""
    return "others" if says.startswith("others") else "seed" if says.startswith("seed") else "kin" if says else ""


def main() -> int:
    """Print what was asked for."""
    parser = argparse.ArgumentParser(
        description="What the check finds of the fault corpus, beside frictionless and pandera."
    )
    parser.add_argument("--slips", action="store_true", help="share of mistaken units found, by trait")
    if parser.parse_args().slips:
        slips()
    else:
        table()
        clean_alarms()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
