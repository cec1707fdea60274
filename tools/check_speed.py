"""How fast the check is beside frictionless and pandera alone: same file, same run, each in a process of its own.

    python tools/check_speed.py [ROWS ...]            1000, 10000, 100000 and 1000000 rows when none are given

The package holds crops, sources and a large table of seed lives with links to both. Its rows are invented: the
figures that the release prints for a crop stand under each source in turn. Frictionless and ours check the whole
package; pandera knows no links, and is given our schemas (`cropdata.validation.frames`) for the same tables.
First comes a small package with known faults, and how many of them each names by row.
Wall and processor time are of the whole process, start and imports included; memory is its peak.
Where other work runs on the machine, compare the processor time.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
DATA = ROOT / "datapackage"
NAME, BIG = "seed_longevity", "evidence/seed_longevity.csv"

_CORE = "import sys; sys.modules['pyarrow'] = None\n"
_OURS = """
import sys, cropdata
report = cropdata.check(sys.argv[1], standard=False)
rows = {item.row for item in report.findings if item.file.endswith("seed_longevity.csv") and item.row}
"""
_FRICTIONLESS = """
import sys, frictionless
report = frictionless.validate(sys.argv[1] + "/datapackage.json", type="package", limit_errors=10**6)
rows = {error.row_number for task in report.tasks if task.place.endswith("seed_longevity.csv") for error in task.errors
        if hasattr(error, "row_number")}
"""
_PANDERA = """
import sys, pandas, pandera.errors
from cropdata.tabular.descriptor import read_descriptor
from cropdata.validation.frames import schema_for
rows = set()
found = read_descriptor(sys.argv[1])
for name, table in found.tables.items():
    frame = pandas.read_csv(sys.argv[1] + "/" + table.path, dtype=str, keep_default_na=False, na_values=[""])
    broken = set()
    for field in table.fields:
        if field.type == "number":
            numbers = pandas.to_numeric(frame[field.name], errors="coerce")
            broken |= set(frame.index[numbers.isna() & frame[field.name].notna()])
            frame[field.name] = numbers
    try:
        schema_for(name, found).validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as error:
        broken |= set(error.failure_cases["index"].dropna())
    if name == "seed_longevity":
        rows = {int(place) + 2 for place in broken}
"""
WAYS = {
    "ours, core": _CORE + _OURS,
    "ours, fast": _OURS,
    "frictionless": _FRICTIONLESS,
    "pandera": _PANDERA,
}

Rows = list[dict[str, str]]
# What is done to one row each, with the column. Most are inside what types and limits allow.
FAULTS: dict[str, Callable[[dict[str, str]], None]] = {
    "unknown crop": lambda row: row.update(crop_id="mandrake-root"),
    "unknown source": lambda row: row.update(source_id="nobody_1900"),
    "no crop": lambda row: row.update(crop_id=""),
    "unit not in the list": lambda row: row.update(unit="decades"),
    "decimal comma": lambda row: row.update(low="2,5"),
    "exponent": lambda row: row.update(low="2e0"),
    "infinity": lambda row: row.update(high="INF"),
    "beyond the limits": lambda row: row.update(high_years="400"),
    "blank at the end": lambda row: row.update(note="a remark "),
    "formula": lambda row: row.update(note="=1+2"),
    "look-alike letter": lambda row: row.update(note="tom\u0430to"),
    "low and high swapped": lambda row: row.update(low="9", high="2", low_years="9", high_years="2", printed="9 to 2 years"),
    "months into the years' column": lambda row: row.update(high="24", unit="months", high_years="24", printed="24 months"),
    "figure not as printed": lambda row: row.update(printed="11 years"),
}  # fmt: skip


def _read(name: str) -> Rows:
    with (DATA / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def large_rows(count: int) -> Iterator[dict[str, str]]:
    """`count` clean rows in the order of their ids."""
    aside = {row["row_id"] for row in _read("reference/decisions.csv")}
    printed: dict[str, Rows] = {}
    for row in _read(BIG):
        if row["row_id"] not in aside and row["basis"] == "published":
            printed.setdefault(row["crop_id"], []).append(row)
    sources = sorted(row["source_id"] for row in _read("reference/sources.csv"))
    pairs = sorted((f"{crop}.{source}.", crop, source) for crop in printed for source in sources)
    each = -(-count // len(pairs))
    number = 0
    for place, (start, crop, source) in enumerate(pairs):
        if number * len(pairs) >= count * (place + 1):
            continue  # a small table takes pairs evenly
        for counter in range(1, min(each, count - number) + 1):
            row = dict(printed[crop][number % len(printed[crop])])
            row.update(row_id=f"{start}{counter:02}", source_id=source, locator=f"page {number // 10}")
            if source == "memory":
                row["basis"] = "from_memory"
            yield row
            number += 1


def write_package(folder: Path, rows: Iterator[dict[str, str]] | Rows) -> None:
    """A package of crops, sources and the large table, under a name of its own."""
    raw = json.loads((DATA / "datapackage.json").read_text(encoding="utf-8"))
    kept = [resource for resource in raw["resources"] if resource["name"] in ("crops", "sources", NAME)]
    raw |= {
        "name": "speed",
        "resources": [{k: v for k, v in one.items() if k not in ("hash", "bytes")} for one in kept],
    }
    for resource in kept:
        path = folder / resource["path"]
        path.parent.mkdir(parents=True, exist_ok=True)
        if resource["name"] != NAME:
            path.write_bytes((DATA / resource["path"]).read_bytes())
    (folder / "datapackage.json").write_text(json.dumps(raw), encoding="utf-8")
    with (folder / BIG).open("w", encoding="utf-8", newline="") as stream:
        rows = iter(rows)
        first = next(rows)
        writer = csv.DictWriter(stream, list(first), lineterminator="\n")
        writer.writeheader()
        writer.writerow(first)
        writer.writerows(rows)


class Run(NamedTuple):
    """One process: wall and processor time, peak memory, and the rows of the large table that it found fault with."""

    seconds: float
    processor: float
    megabytes: float
    rows: frozenset[int]


def run(way: str, folder: Path) -> Run:
    """Check `folder` in a process of its own."""
    code = WAYS[way] + "print(*sorted(rows))\n"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    start = time.perf_counter()
    with subprocess.Popen([sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE, env=environment) as child:
        assert child.stdout is not None
        told = child.stdout.read()
        _, status, used = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{way} failed")
    return Run(seconds, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, frozenset(map(int, told.split())))


def faulty_rows() -> tuple[Rows, dict[str, int]]:
    """A small table with one row for each fault, and the row of each."""
    rows = list(large_rows(300))
    places = {}
    for number, (name, change) in enumerate(FAULTS.items()):
        change(rows[10 + 20 * number])
        places[name] = 12 + 20 * number
    rows.insert(295, dict(rows[294]))
    places["row entered twice"] = 297
    return rows, places


def verdicts(folder: Path) -> None:
    """Which faults each names."""
    rows, places = faulty_rows()
    write_package(folder, rows)
    found = {way: run(way, folder).rows for way in WAYS}
    print("| fault | " + " | ".join(WAYS) + " |\n|---" * 1 + "|---" * len(WAYS) + "|")
    for name, place in places.items():
        print(f"| {name} | " + " | ".join("found" if place in found[way] else "-" for way in WAYS) + " |")
    for way, told in found.items():
        more = sorted(told - set(places.values()) - {295, 296})
        print(f"{way}: {len(told & set(places.values()))} of {len(places)} found, other rows blamed: {more or 'none'}")


def main() -> int:
    """Print both tables."""
    sizes = [int(text) for text in sys.argv[1:]] or [1_000, 10_000, 100_000, 1_000_000]
    with tempfile.TemporaryDirectory() as place:
        verdicts(Path(place, "faulty"))
        print(
            "\n| rows | way | wall s | rows/s | beside frictionless | processor s | beside frictionless | peak MB |\n|--:|---|--:|--:|--:|--:|--:|--:|"
        )
        for count in sizes:
            folder = Path(place, str(count))
            write_package(folder, large_rows(count))
            runs = {way: run(way, folder) for way in WAYS}
            for way, (seconds, processor, megabytes, rows) in runs.items():
                if rows:
                    print(f"{way} blames clean rows: {sorted(rows)[:5]}")
                wall, work = runs["frictionless"].seconds / seconds, runs["frictionless"].processor / processor
                print(
                    f"| {count} | {way} | {seconds:.2f} | {count / seconds:.0f} | {wall:.1f} | {processor:.2f} | {work:.1f} | {megabytes:.0f} |",
                    flush=True,
                )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
