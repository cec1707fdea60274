"""Clean things to damage: a small package cut from the release, and three layers of the kinds that growers make.

Cut anew at each run, so that it follows the data: the crops with most rows of each table, and all that they need.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import read_descriptor

ROOT = Path(__file__).resolve().parents[2]
RELEASE = ROOT / "datapackage"
CROPS_A_TABLE = 4
Rows = list[list[str]]


def read_table(path: Path) -> Rows:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.reader(stream))


def write_table(path: Path, rows: Rows) -> None:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    path.write_bytes(stream.getvalue().encode("utf-8", errors="surrogatepass"))


def records(path: Path) -> list[dict[str, str]]:
    header, *rows = read_table(path)
    return [dict(zip(header, row, strict=True)) for row in rows]


def seal(folder: Path) -> None:
    """Sizes and hashes as the build writes them: or a changed hash alone would give every fault away."""
    path = folder / "datapackage.json"
    raw = json.loads(path.read_text(encoding="utf-8"))
    for resource in raw["resources"]:
        target = folder / resource["path"]
        if target.is_file():
            data = target.read_bytes()
            resource["bytes"], resource["hash"] = len(data), f"sha256:{hashlib.sha256(data).hexdigest()}"
    path.write_text(json.dumps(raw, indent=1, ensure_ascii=False), encoding="utf-8")


def rebuild(folder: Path, table: str) -> None:
    """The canonical columns of a table written anew, as the build does after an edit."""
    found = read_descriptor(str(RELEASE)).tables[table]
    header, *rows = read_table(folder / found.path)
    for row in rows:
        cells = dict(zip(header, row, strict=True))
        try:
            cells |= canonical_cells(cells, found)
        except ValueError:
            continue
        row[:] = [cells[name] for name in header]
    write_table(folder / found.path, [header, *rows])


def cut(target: Path) -> Path:
    """A clean small package with every table of the release."""
    raw: dict[str, Any] = json.loads((RELEASE / "datapackage.json").read_text(encoding="utf-8"))
    raw["name"] = "cropdata-cut"
    tables = {resource["name"]: records(RELEASE / resource["path"]) for resource in raw["resources"]}
    evidence = [resource["name"] for resource in raw["resources"] if resource["path"].startswith("evidence/")]
    crops: set[str] = set()
    for name in evidence:
        crops |= {crop for crop, _ in Counter(row["crop_id"] for row in tables[name]).most_common(CROPS_A_TABLE)}
    by_id = {row["crop_id"]: row for row in tables["crops"]}
    crops |= {by_id[crop][link] for crop in crops for link in ("parent_id", "replaced_by")} - {""}
    for name, rows in tables.items():
        if rows and "crop_id" in rows[0]:
            tables[name] = [row for row in rows if row["crop_id"] in crops]
    for name in evidence:  # a few crops make a poor measure of feet among inches
        tables[name] = [row for row in tables[name] if row.get("unit") != "ft"]
    ids = {(name, row["row_id"]) for name in evidence for row in tables[name]}
    tables["decisions"] = [row for row in tables["decisions"] if (row["table"], row["row_id"]) in ids]
    cited = {
        row["source_id"] for name, rows in tables.items() if name != "sources" for row in rows if "source_id" in row
    }
    lineage = {row["source_id"]: row["lineage"] for row in tables["sources"]}
    while not cited.issuperset(lineage.get(source, source) for source in tuple(cited)):
        cited |= {lineage.get(source, source) for source in tuple(cited)}
    tables["sources"] = [row for row in tables["sources"] if row["source_id"] in cited]
    for resource in raw["resources"]:
        path = target / resource["path"]
        path.parent.mkdir(parents=True, exist_ok=True)
        names = [field["name"] for field in resource["schema"]["fields"]]
        write_table(path, [names, *([row[name] for name in names] for row in tables[resource["name"]])])
    (target / "datapackage.json").write_text(json.dumps(raw), encoding="utf-8")
    seal(target)
    return target


def printed(table: str, columns: tuple[str, ...], most: int = 20) -> str:
    """Rows of the release that one source prints, one a crop, as a grower who copies from a book would type them."""
    aside = {(row["table"], row["row_id"]) for row in records(RELEASE / "reference" / "decisions.csv")}
    chosen: dict[str, dict[str, str]] = {}
    for row in records(RELEASE / "evidence" / f"{table}.csv"):
        whole = row["basis"] == "published" and all(row[name] for name in columns if name in ("low", "high"))
        if whole and (table, row["row_id"]) not in aside:
            chosen.setdefault(row["crop_id"], row)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    # The crops that most sources know: a fault beside them is a fault beside others.
    known = Counter(row["crop_id"] for row in records(RELEASE / "evidence" / f"{table}.csv"))
    for crop in sorted(sorted(chosen, key=lambda crop: (-known[crop], crop))[:most]):
        writer.writerow([chosen[crop][name] for name in columns])
    return stream.getvalue()


def write_layer(folder: Path, files: Mapping[str, str | bytes], title: str = "Invented notes", more: str = "") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "layer.yaml").write_text(f"title: {title}\nauthor: A. Grower (invented)\n{more}", encoding="utf-8")
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder


RANGE = ("crop_id", "low", "high", "unit")


def plain_layer(folder: Path) -> Path:
    """As few columns as a grower likes."""
    return write_layer(folder, {"seed_longevity.csv": printed("seed_longevity", RANGE), "sowing_depth.csv": printed("sowing_depth", RANGE),
                                "weeks_to_raise.csv": printed("weeks_to_raise", RANGE), "days_to_emergence.csv": printed("days_to_emergence", RANGE)})  # fmt: skip


def spreadsheet_layer(folder: Path) -> Path:
    """As a spreadsheet writes it: byte-order mark, carriage returns; with remarks, an own source, crop and name."""

    def sheet(text: str) -> bytes:
        return b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()

    return write_layer(
        folder,
        {
            "evidence/seed_longevity.csv": sheet("crop_id,low,high,unit,source_id,locator\n# my own counts\nonion,1,2,years,shed_book,page 3\npetticoat-pea,3,4,years,shed_book,page 4\n"),
            "reference/sources.csv": sheet("source_id,title,lineage\nshed_book,The shed's notebook (invented),shed_book\n"),
            "reference/crops.csv": sheet("crop_id,name,scientific_name,family,group,status,parent_id\npetticoat-pea,Petticoat pea (invented),Pisum sativum,Fabaceae,vegetable,active,pea\n"),
            "reference/crop_names.csv": sheet("name,language,crop_id,kind\nPetticoat pea,en-GB,petticoat-pea,common\n"),
        },
    )  # fmt: skip


def overriding_layer(folder: Path) -> Path:
    """Overrides and hides, temperatures, and an exception with its reason."""
    return write_layer(
        folder,
        {
            "seed_longevity.csv": "crop_id,low,high,unit,action\nonion,1,2,years,override\nleek,,,,hide\n",
            "germination_temperature.csv": "crop_id,minimum,optimum_low,optimum_high,maximum,unit\nlettuce,2,15,22,27,C\nonion,35,60,85,95,F\n",
            "emergence_by_temperature.csv": "crop_id,temperature,unit,outcome,days,event\nlettuce,5,C,emerged,15,emergence\nlettuce,10,C,emerged,7,emergence\nlettuce,40,C,none,,emergence\n",
            "planting_out_weeks.csv": "crop_id,low,high,unit,frost_reference\ntomato,1,3,weeks,danger_past\n",
            "sowing_depth.csv": "crop_id,low,high,unit,note\npea,300,300,mm,below the frost heave on my hill (invented)\n",
        },
        title="Hill garden (invented)",
        more="exceptions:\n  - {file: sowing_depth.csv, row: 2, rule: slip-ten-times, reason: mice}\n",
    )


LAYERS = {"plain": plain_layer, "spreadsheet": spreadsheet_layer, "overriding": overriding_layer}
