"""Seeded faults: each a clean folder changed by one operator, with the rule and the cell where it must be found.

No row is named by its number or value: an operator looks for a fitting row of the clean table, so the corpus follows
the data. `rebuilt` faults are those after which the build was run: then no converted cell gives them away.
"""

from __future__ import annotations

import json
import math
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from clean import RELEASE, Rows, read_table, rebuild, records, write_table

Place = tuple[str, int | None, str | None]
Operator = Callable[[Path], Place]
Change = Callable[[Rows], tuple[int | None, str | None]]

EVIDENCE = ("sowing_depth", "germination_temperature", "emergence_by_temperature", "normal_seedlings", "days_to_emergence", "weeks_to_raise",
            "planting_out_weeks", "weeks_before_last_frost", "direct_sowing_weeks", "seed_longevity", "frost_tolerance", "frost_damage",
            "not_applicable", "light", "pretreatment", "seeds_per_gram", "germination_standards", "germination_tests", "emergence_spread",
            "days_to_maturity", "thermal_time", "viability_constants", "cautions", "spacing_in_row", "spacing_between_rows",
            "transplant_ease", "raising", "season_signals", "autumn_sowing_weeks", "moisture_isotherm", "hermetic_moisture",
            "storage_observations")  # fmt: skip
REFERENCE = ("crops", "crop_names", "sources", "decisions", "rules", "replicate_tolerances", "home_test", "exceptions",
             "methods", "containers", "media", "material_figures", "cell_stay", "method_effects", "material_cautions")  # fmt: skip
FILE = {**{name: f"evidence/{name}.csv" for name in EVIDENCE}, **{name: f"reference/{name}.csv" for name in REFERENCE}}


class Fault(NamedTuple):
    """One seeded fault. `subject`: package or layer; `wide`: it has consequences in other rows, so none is a false alarm."""

    kind: str
    table: str
    operator: Operator
    rule: str
    subject: str = "package"
    wide: bool = False

    @property
    def name(self) -> str:
        return f"{self.kind}: {self.table}{' of a layer' if self.subject == 'layer' else ''}"


def at(rows: Rows, *tests: Callable[[dict[str, str]], object], skip: int = 2) -> int:
    """Index of a row that fits, the `skip`-th of them where there are so many."""
    header = rows[0]
    fitting = [
        n for n, row in enumerate(rows) if n and all(test(dict(zip(header, row, strict=False))) for test in tests)
    ]
    return fitting[min(skip, len(fitting) - 1)]


def where(column: str, *values: str) -> Callable[[dict[str, str]], object]:
    """Rows with one of `values`, or with any text, in a column."""
    return lambda row: row[column] in values if values else row[column]


def edit(file: str, change: Change, *, rebuilt: str = "") -> Operator:
    """A change of the rows of a CSV file."""

    def operator(folder: Path) -> Place:
        rows = read_table(folder / file)
        row, column = change(rows)
        write_table(folder / file, rows)
        if rebuilt:
            rebuild(folder, rebuilt)
        return file, row, column

    return operator


def cell(column: str, value: str | Callable[[str], str], *tests: Callable[[dict[str, str]], object]) -> Change:
    """Another text in one cell."""

    def change(rows: Rows) -> tuple[int, str]:
        row, place = at(rows, *(tests or (where(column),))), rows[0].index(column)
        rows[row][place] = value if isinstance(value, str) else value(rows[row][place])
        return row + 1, column

    return change


def swap(one: str, other: str, *tests: Callable[[dict[str, str]], object], column: str | None = None) -> Change:
    """Two cells of a row in each other's place."""

    def change(rows: Rows) -> tuple[int, str]:
        row, a, b = at(rows, *tests), rows[0].index(one), rows[0].index(other)
        rows[row][a], rows[row][b] = rows[row][b], rows[row][a]
        return row + 1, column or one

    return change


def twice(rows: Rows) -> tuple[int, None]:
    rows.insert(3, list(rows[2]))
    return 4, None


def ragged(rows: Rows) -> tuple[int, None]:
    del rows[2][-1]
    return 3, None


def extra_cell(rows: Rows) -> tuple[int, None]:
    rows[2].append("")
    return 3, None


def blank(rows: Rows) -> tuple[int, None]:
    rows.insert(3, [""] * len(rows[0]))
    return 4, None


def out_of_order(rows: Rows) -> tuple[int, None]:
    rows[2], rows[3] = rows[3], rows[2]
    return 4, None


def rename(column: str, new: str) -> Change:
    def change(rows: Rows) -> tuple[int, str]:
        rows[0][rows[0].index(column)] = new
        return 1, new

    return change


def without(column: str) -> Change:
    def change(rows: Rows) -> tuple[int, str]:
        place = rows[0].index(column)
        for row in rows:
            del row[place]
        return 1, column

    return change


def move(column: str, to: int) -> Change:
    def change(rows: Rows) -> tuple[int, None]:
        place = rows[0].index(column)
        for row in rows:
            row.insert(to, row.pop(place))
        return 1, None

    return change


def append(**cells: str) -> Change:
    """One row more, at the end."""

    def change(rows: Rows) -> tuple[int, str | None]:
        rows.append([cells.get(name, "") for name in rows[0]])
        return len(rows), None

    return change


def all_numbers(column_of: Callable[[str], bool], value: Callable[[str], str]) -> Change:
    """Every number of the chosen columns written otherwise."""

    def change(rows: Rows) -> tuple[int | None, str | None]:
        first: tuple[int | None, str | None] = (None, None)
        for place, name in enumerate(rows[0]):
            for number, row in enumerate(rows[1:], start=2):
                if column_of(name) and row[place] != value(row[place]):
                    row[place] = value(row[place])
                    first = first if first[0] is not None else (number, name)
        return first

    return change


def to_bytes(file: str, change: Callable[[bytes], bytes]) -> Operator:
    def operator(folder: Path) -> Place:
        (folder / file).write_bytes(change((folder / file).read_bytes()))
        return file, None, None

    return operator


def descriptor(change: Callable[[dict[str, Any]], object]) -> Operator:
    def operator(folder: Path) -> Place:
        path = folder / "datapackage.json"
        raw = json.loads(path.read_text(encoding="utf-8"))
        change(raw)
        path.write_text(json.dumps(raw), encoding="utf-8")
        return "datapackage.json", None, None

    return operator


def settings(more: str) -> Operator:
    def operator(folder: Path) -> Place:
        path = folder / "layer.yaml"
        path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
        return "layer.yaml", None, None

    return operator


def linked(folder: Path) -> Place:
    path = folder / "evidence" / "light.csv"
    path.rename(folder / "elsewhere.csv")
    path.symlink_to(folder / "elsewhere.csv")
    return "evidence/light.csv", None, None


def gone(folder: Path) -> Place:
    (folder / "evidence" / "light.csv").unlink()
    return "evidence/light.csv", None, None


def new_file(name: str, text: str, row: int | None = None, column: str | None = None) -> Operator:
    def operator(folder: Path) -> Place:
        (folder / name).write_text(text, encoding="utf-8")
        return name, row, column

    return operator


def slip(unit: str, column: str = "low") -> Change:
    """Another unit in the row in which that shows most: the crop that most rows speak of, its most extreme figure."""

    def change(rows: Rows) -> tuple[int, str]:
        crop, place, figure = (rows[0].index(name) for name in ("crop_id", "unit", column))
        counts: dict[str, int] = {}
        for row in rows[1:]:
            counts[row[crop]] = counts.get(row[crop], 0) + 1
        known = max(sorted(counts), key=lambda name: counts[name])
        fitting = [n for n, row in enumerate(rows) if n and row[crop] == known and row[place] != unit and row[figure]]
        chosen = sorted(fitting, key=lambda n: float(rows[n][figure]))[len(fitting) // 2]
        rows[chosen][place] = unit
        return chosen + 1, column

    return change


def unprinted(change: Change) -> Change:
    """The printed text says nothing about it: the slip was made when the page was copied."""

    def both(rows: Rows) -> tuple[int | None, str | None]:
        row, column = change(rows)
        rows[(row or 1) - 1][rows[0].index("printed")] = "as in the table"
        return row, column

    return both


def second_crop(rows: Rows) -> tuple[int, str]:
    """A common name said of one more crop, in its place by the alphabet."""
    last = max(row[rows[0].index("crop_id")] for row in rows[1:])
    row = at(rows, where("kind", "common"), lambda row: row["crop_id"] < last)
    rows.insert(row + 1, [last if name == "crop_id" else text for name, text in zip(rows[0], rows[row], strict=True)])
    return row + 2, "name"


def too_deep(folder: Path) -> Place:
    """A fine seed whose few printed depths lie at the surface: forty of its diameters."""
    row = next(
        row
        for row in records(RELEASE / FILE["seeds_per_gram"])
        if row["crop_id"] == "watercress" and row["basis"] == "published"
    )
    depth = 40 * 10 * (6 / (math.pi * 1.1 * float(row["low_per_gram"]))) ** (1 / 3)
    text = f"crop_id,low,high,unit\nwatercress,{depth:.0f},{depth:.0f},mm\n"
    (folder / "sowing_depth.csv").write_text(text, encoding="utf-8")
    return "sowing_depth.csv", 2, "low"


def overridden(folder: Path) -> Place:
    text = "crop_id,low,high,unit,action,expects_low\nonion,1,2,years,override,77\n"
    (folder / "seed_longevity.csv").write_text(text, encoding="utf-8")
    return "seed_longevity.csv", 2, "expects_low"


def times(factor: float) -> Callable[[str], str]:
    return lambda text: f"{float(text) * factor:g}"


def _package(
    kind: str, rule: str, tables: tuple[str, ...] | str, change: Change, *, rebuilt: bool = False, wide: bool = False
) -> list[Fault]:
    names = (tables,) if isinstance(tables, str) else tables
    return [
        Fault(kind, name, edit(FILE[name], change, rebuilt=name if rebuilt else ""), rule, wide=wide) for name in names
    ]


def _layer(kind: str, rule: str, table: str, change: Change, *, wide: bool = False) -> Fault:
    return Fault(kind, table, edit(f"{table}.csv", change), rule, "layer", wide)


def _bytes(
    kind: str, rule: str, table: str, change: Callable[[bytes], bytes], subject: str = "package", wide: bool = False
) -> Fault:
    file = FILE[table] if subject == "package" else f"{table}.csv"
    return Fault(kind, table, to_bytes(file, change), rule, subject, wide)


def _every(name: str) -> bool:
    return name in ("low", "high")


_LOW_HIGH = (
    "sowing_depth",
    "days_to_emergence",
    "weeks_to_raise",
    "seed_longevity",
    "seeds_per_gram",
    "days_to_maturity",
)
_BOTH = (where("low"), where("high"), lambda row: row["low"] != row["high"])
_NAMES = ("crops", "sources", "cautions")

CORPUS: list[Fault] = [
    # cells
    *_package("word for a number", "cell-type", ("sowing_depth", "frost_damage", "planting_out_weeks", "direct_sowing_weeks"), cell("low", "ten")),
    *_package("word for a number", "cell-type", ("replicate_tolerances",), cell("most_range", "ten")),
    *_package("digits grouped", "cell-type", ("seeds_per_gram", "days_to_maturity"), cell("low", "1_0")),
    *_package("exponent", "cell-type", ("thermal_time", "viability_constants"), lambda rows: cell("thermal_time" if "thermal_time" in rows[0] else "ke", "1e1")(rows)),
    *_package("infinity", "cell-type", ("sowing_depth", "seed_longevity"), cell("low", "inf")),
    *_package("not a number", "cell-type", ("weeks_to_raise", "frost_damage"), cell("high", "nan")),
    *_package("decimal comma", "cell-decimal-comma", ("sowing_depth", "weeks_to_raise", "rules"), cell("low", "0,5")),
    *_package("unit in the cell", "cell-unit-inside", ("sowing_depth", "days_to_emergence", "home_test"), lambda rows: cell("low", "12 mm" if "low_mm" in rows[0] else "12 days")(rows)),
    *_package("range in the cell", "cell-range-inside", ("weeks_before_last_frost", "seed_longevity"), cell("low", "6-8")),
    *_package("date made of a range", "cell-sheet-date", ("days_to_emergence", "weeks_to_raise"), cell("low", "07-Oct")),
    *_package("date made of a printed range", "cell-sheet-date", ("days_to_emergence", "sowing_depth"), cell("printed", "7-Oct")),
    *_package("formula", "cell-formula", ("cautions", "sources"), lambda rows: cell("hazard" if "hazard" in rows[0] else "title", '=HYPERLINK("http://x.example")')(rows)),
    *_package("formula in a number", "cell-formula", "germination_standards", cell("percent", "=1+1")),
    *_package("blank at the end", "cell-blanks", ("crop_names", "decisions", "cautions"), lambda rows: cell({"name": "name", "table": "reason"}.get(rows[0][0], "hazard"), lambda text: text + " ")(rows)),
    *_package("blank at the end of an id", "cell-blanks", ("light", "not_applicable"), cell("crop_id", lambda text: text + " ")),
    *_package("no-break blank", "cell-invisible", ("sources", "crops"), lambda rows: cell("title" if "title" in rows[0] else "name", lambda text: text + "\u00a0x")(rows)),
    *_package("zero-width sign", "cell-invisible", ("crop_names", "cautions"), lambda rows: cell("name" if "name" in rows[0] else "hazard", lambda text: text[:2] + "\u200b" + text[2:])(rows), wide=True),
    *_package("letters in parts", "cell-unicode-form", ("crops", "home_test"), lambda rows: cell("name" if "name" in rows[0] else "note", unicodedata.normalize("NFD", "Chou rosé"))(rows)),
    *_package("look-alike letter in an id", "cell-look-alike", ("sowing_depth", "frost_tolerance"), cell("crop_id", lambda text: text.replace("e", "е").replace("a", "а"), lambda row: {"a", "e"} & set(row["crop_id"]))),
    *_package("look-alike letter in a name", "cell-look-alike", ("crops", "sources"), lambda rows: cell("name" if "name" in rows[0] else "title", lambda text: text.replace("e", "е").replace("a", "а"), lambda row: {"a", "e"} & set(row.get("name") or row["title"]))(rows)),
    *_package("line break in a cell", "cell-line-break", ("cautions", "rules"), lambda rows: cell("hazard" if "hazard" in rows[0] else "meaning", "two\nlines")(rows)),
    *_package("endless cell", "cell-long", ("cautions", "sources"), lambda rows: cell("hazard" if "hazard" in rows[0] else "title", "x" * 20_000)(rows)),
    *_package("required cell empty", "cell-required", ("sources", "crops", "frost_tolerance", "pretreatment", "home_test"), lambda rows: cell(next(name for name in ("licence_note", "family", "class", "treatment", "locator") if name in rows[0]), "")(rows)),
    *_package("word not in the list", "cell-enum", ("light", "not_applicable", "germination_tests", "crop_names"), lambda rows: cell(next(name for name in ("need", "practice", "language", "basis") if name in rows[0]), "guess")(rows)),
    *_package("capital in a listed word", "cell-enum", ("pretreatment", "seed_longevity"), lambda rows: cell("treatment" if "treatment" in rows[0] else "meaning", str.upper)(rows)),
    *_package("id of another form", "cell-pattern", ("crops", "sources", "rules"), lambda rows: cell(rows[0][0], lambda text: text + "!")(rows), wide=True),
    *_package("row id of another form", "cell-pattern", ("light", "emergence_spread"), cell("row_id", lambda text: text.upper())),
    *_package("number out of range", "cell-limits", ("germination_standards", "normal_seedlings", "emergence_spread", "replicate_tolerances"), lambda rows: cell(next(name for name in ("percent", "days_50", "most_range") if name in rows[0]), "401")(rows)),
    *_package("year out of range", "cell-limits", "sources", cell("year", "3019")),
    *_package("text for a year", "cell-type", "sources", cell("year", "19xx")),
    *_package("word for a number", "cell-type", ("spacing_in_row", "raising"), cell("low", "ten")),
    *_package("decimal comma", "cell-decimal-comma", ("hermetic_moisture", "moisture_isotherm"), lambda rows: cell("percent" if "percent" in rows[0] else "moisture", "6,5")(rows)),
    *_package("unit in the cell", "cell-unit-inside", ("spacing_between_rows",), cell("low", "30 cm")),
    *_package("range in the cell", "cell-range-inside", ("storage_observations", "raising"), lambda rows: cell("percent_low" if "percent_low" in rows[0] else "low", "4-6")(rows)),
    *_package("date made of a range", "cell-sheet-date", ("spacing_in_row", "autumn_sowing_weeks"), lambda rows: cell("low", "06-Aug")(rows)),
    *_package("required cell empty", "cell-required", ("transplant_ease", "season_signals", "exceptions"), lambda rows: cell(next(name for name in ("measure", "signal", "reason") if name in rows[0]), "")(rows)),
    *_package("word not in the list", "cell-enum", ("raising", "season_signals", "autumn_sowing_weeks", "moisture_isotherm", "transplant_ease", "spacing_in_row"), lambda rows: cell(next(name for name in ("aspect", "signal", "advice", "moisture_basis", "measure", "arrangement") if name in rows[0]), "guess")(rows)),
    *_package("day of no month", "cell-pattern", "autumn_sowing_weeks", cell("window_from", "13-01")),
    *_package("number out of range", "cell-limits", ("hermetic_moisture", "storage_observations", "moisture_isotherm"), lambda rows: cell(next(name for name in ("percent", "percent_high", "humidity") if name in rows[0]), "401")(rows)),
    *_package("word for a number", "cell-type", ("containers", "material_figures", "cell_stay", "media"), lambda rows: cell(next(name for name in ("units_per_tray", "parts", "low") if name in rows[0]), "ten")(rows)),
    *_package("decimal comma", "cell-decimal-comma", ("containers", "media"), lambda rows: cell("volume_low" if "volume_low" in rows[0] else "parts", "0,5")(rows)),
    *_package("word not in the list", "cell-enum", ("methods", "material_figures", "cell_stay", "method_effects", "material_cautions", "containers"), lambda rows: cell(next(name for name in ("roots", "unit", "outcome", "about", "volume_unit") if name in rows[0] and (name != "unit" or "outcome" not in rows[0])), "guess")(rows), wide=True),
    *_package("required cell empty", "cell-required", ("material_cautions", "method_effects", "containers"), lambda rows: cell(next(name for name in ("hazard", "measure", "name") if name in rows[0]), "")(rows)),
    *_package("method that is not there", "link-broken", ("containers", "material_figures"), cell("method_id", "catapult")),
    *_package("source that is not there", "link-broken", ("methods", "media", "cell_stay", "method_effects", "material_cautions"), cell("source_id", "nobody_1900"), wide=True),
    *_package("row twice", "key-twice", ("methods", "containers", "material_cautions"), twice),
    *_package("converted cell typed by hand", "not-as-printed", ("containers", "cell_stay"), lambda rows: cell(next(name for name in ("volume_low_ml", "volume_ml") if name in rows[0]), "1.23")(rows)),
    *_package("volumes swapped", "low-above-high", "containers", swap("volume_low", "volume_high", where("volume_low"), where("volume_high"), lambda row: row["volume_low"] != row["volume_high"]), rebuilt=True),
    *_package("blank at the end", "cell-blanks", "exceptions", cell("reason", lambda text: text + " ")),
    # rows, header, bytes
    *_package("row twice", "key-twice", ("exceptions", "hermetic_moisture"), twice),
    *_package("rows out of order", "row-order", ("season_signals", "storage_observations"), out_of_order),
    *_package("row too short", "file-ragged-row", ("raising", "exceptions"), ragged, wide=True),
    *_package("column renamed", "header-unknown", ("spacing_in_row", "transplant_ease"), rename("locator", "page"), wide=True),
    *_package("column gone", "header-missing", "autumn_sowing_weeks", without("place")),
    *_package("row twice", "key-twice", ("crops", "sources", "decisions", "crop_names", "viability_constants", "emergence_spread"), twice),
    *_package("rows out of order", "row-order", ("light", "thermal_time", "rules", "germination_tests"), out_of_order),
    *_package("row too short", "file-ragged-row", ("frost_damage", "home_test", "normal_seedlings"), ragged, wide=True),
    *_package("row too long", "file-ragged-row", ("cautions", "crop_names"), extra_cell, wide=True),
    *_package("blank row", "file-blank-row", ("germination_tests", "decisions"), blank),
    *_package("column renamed", "header-unknown", ("light", "germination_standards"), rename("locator", "page"), wide=True),
    *_package("header in capitals", "header-unknown", ("sowing_depth",), rename("unit", "Unit"), wide=True),
    *_package("column gone", "header-missing", ("viability_constants", "days_to_maturity"), without("note")),
    *_package("column twice", "header-twice", ("cautions",), rename("part", "kind"), wide=True),
    *_package("columns in another order", "header-order", ("seed_longevity", "frost_tolerance"), move("locator", 2)),
    *_package("low and high swapped in the header", "header-order", "seed_longevity", lambda rows: (rows[0].__setitem__(slice(None), [{"low": "high", "high": "low"}.get(name, name) for name in rows[0]]), (1, None))[1], wide=True),
    _bytes("byte-order mark", "file-bom", "light", lambda data: b"\xef\xbb\xbf" + data),
    _bytes("carriage returns", "file-line-ends", "cautions", lambda data: data.replace(b"\n", b"\r\n")),
    _bytes("no final line end", "file-final-line-end", "pretreatment", lambda data: data[:-1]),
    _bytes("NUL byte", "file-nul-byte", "light", lambda data: data[:300] + b"\0" + data[300:], wide=True),
    _bytes("another encoding", "file-encoding", "light", lambda data: data[:-1] + "é\n".encode("latin-1"), wide=True),
    _bytes("UTF-16", "file-encoding", "light", lambda data: data.decode().encode("utf-16"), wide=True),
    _bytes("empty file", "file-empty", "light", lambda data: b"", wide=True),
    _bytes("header only", "file-no-rows", "light", lambda data: data[: data.index(b"\n") + 1], wide=True),
    _bytes("semicolons", "file-delimiter", "not_applicable", lambda data: data.replace(b";", b".").replace(b",", b";"), wide=True),
    _bytes("unclosed quote", "file-quotes", "frost_damage", lambda data: data + b'"x\n', wide=True),
    _bytes("workbook under the name of a CSV", "file-not-text", "light", lambda data: b"PK\x03\x04" + data, wide=True),
    _bytes("endless line", "file-long-line", "light", lambda data: data + b"x" * 6_000_000, wide=True),
    _bytes("hundreds of columns", "file-columns", "light", lambda data: b",".join(b"c%d" % n for n in range(600)) + b"\n" + data, wide=True),
    Fault("file is not there", "light", gone, "file-unreadable", wide=True),
    Fault("symbolic link", "light", linked, "path-link", wide=True),
    Fault("path leaves the folder", "descriptor", descriptor(lambda raw: raw["resources"][5].update(path="../x.csv")), "path-outside", wide=True),
    Fault("address for a path", "descriptor", descriptor(lambda raw: raw["resources"][5].update(path="https://x.example/x.csv")), "path-outside", wide=True),
    Fault("schema to be fetched", "descriptor", descriptor(lambda raw: raw["resources"][5].update(profile="https://x.example/p.json")), "descriptor-reference", wide=True),
    Fault("descriptor that asks for code", "descriptor", descriptor(lambda raw: raw["resources"][5].update(format="python")), "descriptor-code", wide=True),
    Fault("descriptor lacks a part", "descriptor", descriptor(lambda raw: raw.pop("version")), "descriptor", wide=True),
    # relations
    *_package("crop that is not there", "link-broken", tuple(name for name in EVIDENCE if name not in ("emergence_spread",)), cell("crop_id", "mandrake")),
    *_package("source that is not there", "link-broken", ("sowing_depth", "rules", "home_test", "replicate_tolerances", "cautions"), cell("source_id", "nobody_1900"), wide=True),
    *_package("parent that is not there", "link-broken", "crops", cell("parent_id", "mandrake")),
    *_package("source described, not cited", "source-not-cited", "sources", append(source_id="zzz_book", title="Uncited", kind="other", lineage="zzz_book", grade="c", licence_note="facts only")),
    *_package("lineage that is no source", "lineage-unknown", "sources", cell("lineage", "nobody")),
    *_package("parent with a parent", "parent-has-parent", "crops", append(crop_id="zzz", name="Zzz", scientific_name="Phaseolus vulgaris", family="Fabaceae", group="vegetable", status="active", parent_id="bean-snap")),
    *_package("parent of another species", "parent-other-species", "crops", append(crop_id="zzz", name="Zzz", scientific_name="Zea mays", family="Poaceae", group="vegetable", status="active", parent_id="bean")),
    *_package("retired without successor", "retired-without-successor", "crops", append(crop_id="zzz", name="Zzz", scientific_name="Zea mays", family="Poaceae", group="vegetable", status="retired")),
    *_package("name of two crops", "name-two-crops", "crop_names", second_crop, wide=True),
    *_package("row id of another crop", "row-id-other", ("seed_longevity", "cautions"), lambda rows: (cell("crop_id", rows[-1][1], lambda row: row["crop_id"] != rows[-1][1])(rows)[0], "row_id"), wide=True),
    *_package("recalled figure called published", "basis-against-source", ("germination_temperature", "planting_out_weeks"), cell("basis", "published", where("source_id", "memory"))),
    *_package("decision about no row", "decision-unknown-row", "decisions", cell("row_id", lambda text: text[:-2] + "98"), wide=True),
    *_package("decision about no table", "decision-unknown-table", "decisions", append(table="zzz", row_id="x.y.01", action="set_aside", kind="superseded", reason="x", until="never")),
    # figures by themselves
    *_package("low and high swapped", "low-above-high", _LOW_HIGH, swap("low", "high", *_BOTH), rebuilt=True),
    *_package("low and high swapped", "low-above-high", ("spacing_in_row", "spacing_between_rows"), swap("low", "high", *_BOTH), rebuilt=True),
    *_package("night and day swapped", "low-above-high", ("raising",), swap("temperature_low", "temperature_high", where("temperature_low"), where("temperature_high"), lambda row: row["temperature_low"] != row["temperature_high"]), rebuilt=True),
    *_package("periods swapped", "low-above-high", "storage_observations", swap("period_low", "period_high", where("period_low"), where("period_high"), lambda row: row["period_low"] != row["period_high"]), rebuilt=True),
    *_package("number without a unit", "number-without-unit", ("raising", "storage_observations"), lambda rows: cell("unit" if "aspect" in rows[0] else "period_unit", "", where("low" if "aspect" in rows[0] else "period_low"))(rows), rebuilt=True),
    *_package("converted cell typed by hand", "not-as-printed", ("spacing_between_rows", "moisture_isotherm", "season_signals"), lambda rows: cell(next(name for name in ("low_cm", "temperature_c", "low_days") if name in rows[0]), "1.23")(rows)),
    *_package("rank of another class", "not-as-printed", "transplant_ease", cell("rank", lambda text: "1" if text != "1" else "2")),
    *_package("figure is not the printed one", "number-not-printed", ("spacing_in_row", "storage_observations"), lambda rows: cell("high" if "high" in rows[0] else "period_high", lambda text: f"{float(text) + 0.5:g}", *(_BOTH if "high" in rows[0] else (where("period_high"),)))(rows), rebuilt=True, wide=True),
    *_package("minimum above maximum", "low-above-high", "germination_temperature", cell("minimum", "120", where("minimum"), where("maximum"))),
    *_package("counts swapped", "low-above-high", "germination_tests", swap("first_count_days", "final_count_days", where("first_count_days"), lambda row: row["first_count_days"] != row["final_count_days"])),
    *_package("best range above the maximum", "temperature-order", "germination_temperature", cell("optimum_high", lambda text: f"{float(text) + 40:g}", where("optimum_high"), where("maximum"), where("unit", "F")), rebuilt=True, wide=True),
    *_package("base above the best", "temperature-order", "thermal_time", lambda rows: (cell("optimum_low", "0", where("optimum_low"), where("base_high"), lambda row: float(row["base_high"]) > 1)(rows)[0], "base_high"), rebuilt=True),
    *_package("converted cell typed by hand", "not-as-printed", ("sowing_depth", "weeks_to_raise", "frost_damage"), lambda rows: cell(next(name for name in rows[0] if name.startswith("low_")), "1.23")(rows)),
    *_package("converted cell empty", "not-as-printed", ("seeds_per_gram", "days_to_maturity"), lambda rows: cell(next(name for name in rows[0] if name.startswith("low_")), "")(rows)),
    *_package("rank of another class", "not-as-printed", "frost_tolerance", cell("rank", lambda text: "1" if text != "1" else "2")),
    *_package("unit is not the printed one", "unit-against-print", ("seed_longevity", "seeds_per_gram"), lambda rows: cell("unit", {"low_years": "months"}.get("low_years" if "low_years" in rows[0] else "", "per_gram"), where("unit", "years", "per_ounce"))(rows), rebuilt=True, wide=True),
    *_package("figure is not the printed one", "number-not-printed", ("days_to_maturity", "weeks_to_raise"), cell("high", lambda text: f"{float(text) + 0.5:g}", *_BOTH), rebuilt=True),
    *_package("temperature and days swapped", "number-not-printed", "emergence_by_temperature", swap("temperature", "days", where("outcome", "emerged"), lambda row: row["days"] not in row["temperature"], column="days"), rebuilt=True, wide=True),
    *_package("number without a unit", "number-without-unit", "days_to_emergence", cell("temperature_unit", "", where("temperature_low")), rebuilt=True),
    *_package("row without a figure", "no-figure", "weeks_to_raise", lambda rows: (cell("low", "", *_BOTH)(rows), cell("high", "", where("high"), lambda row: not row["low"])(rows), (at(rows, lambda row: not row["low"] and not row["high"]) + 1, "low"))[2], rebuilt=True),
    *_package("days beside none came up", "outcome-against-figure", "emergence_by_temperature", lambda rows: (cell("outcome", "none", where("outcome", "emerged"))(rows)[0], "days"), wide=True),
    *_package("two cells swapped", "columns-swapped", "sowing_depth", swap("crop_id", "source_id", where("crop_id"), column="crop_id, source_id"), wide=True),
    *_package("two cells swapped", "columns-swapped", "seed_longevity", swap("unit", "meaning", where("meaning"), column="unit, meaning"), wide=True),
    # figures beside others; nothing in the row gives them away
    *_package("inches as millimetres", "slip-unit", "sowing_depth", unprinted(slip("mm")), rebuilt=True, wide=True),
    *_package("years as months", "slip-unit", "seed_longevity", unprinted(slip("months")), rebuilt=True, wide=True),
    *_package("inches as feet", "slip-unit", ("spacing_in_row", "spacing_between_rows"), unprinted(slip("ft")), rebuilt=True, wide=True),
    *_package("weeks as days", "slip-unit", "weeks_to_raise", unprinted(slip("days")), rebuilt=True, wide=True),
    *_package("ten times off", "slip-ten-times", ("sowing_depth", "seed_longevity"), lambda rows: unprinted(cell("high", times(10), where("crop_id", *_known(rows)), lambda row: row["low"] == row["high"] and row["basis"] == "published"))(rows), rebuilt=True, wide=True),
    *_package("warmer but slower", "warmer-but-slower", "emergence_by_temperature", lambda rows: unprinted(cell("days", times(4), where("outcome", "emerged"), lambda row: 14 < float(row["temperature_c"] or 0) < 16))(rows)),
    # a layer
    _layer("inches as millimetres", "slip-unit", "sowing_depth", slip("mm")),
    _layer("years as months", "slip-unit", "seed_longevity", slip("months")),
    _layer("weeks as days", "slip-unit", "weeks_to_raise", slip("days")),
    Fault("Fahrenheit as Celsius", "germination_temperature", new_file("germination_temperature.csv", "crop_id,optimum,unit\nlettuce,15,F\n", 2, "optimum"), "slip-unit", "layer"),
    Fault("ounces as grams", "seeds_per_gram", new_file("seeds_per_gram.csv", "crop_id,low,unit\nonion,7500,per_gram\n", 2, "low"), "slip-unit", "layer"),
    Fault("ten times off", "sowing_depth", new_file("sowing_depth.csv", "crop_id,low,high,unit\nonion,150,150,mm\n", 2, "low"), "slip-ten-times", "layer"),
    Fault("far from all others", "seed_longevity", new_file("seed_longevity.csv", "crop_id,low,high,unit\nonion,0.02,0.02,years\n", 2, "low"), "far-from-others", "layer"),
    Fault("too deep for the seed", "sowing_depth", too_deep, "depth-against-seed", "layer"),
    _layer("low and high swapped", "low-above-high", "days_to_emergence", swap("low", "high", *_BOTH)),
    _layer("decimal commas of a sheet", "cell-decimal-comma", "seed_longevity", all_numbers(_every, lambda text: text + ",5")),
    _layer("unit in the cells", "cell-unit-inside", "sowing_depth", all_numbers(lambda name: name == "low", lambda text: text if " " in text else f"{text} mm"), wide=True),
    _layer("date made of a range", "cell-sheet-date", "days_to_emergence", cell("low", "07-Oct")),
    _layer("blank at the end of an id", "cell-blanks", "seed_longevity", cell("crop_id", lambda text: text + " "), wide=True),
    _layer("crop that is not there", "link-broken", "seed_longevity", cell("crop_id", "onoin")),
    _layer("row twice", "row-twice", "weeks_to_raise", twice),
    _layer("row too long", "file-ragged-row", "sowing_depth", extra_cell),
    _layer("blank row", "file-blank-row", "sowing_depth", blank),
    _layer("column of one's own", "header-unknown", "seed_longevity", rename("unit", "Unit of time"), wide=True),
    Fault("column that nothing else fills", "frost_tolerance", new_file("frost_tolerance.csv", "crop_id,note,action\ntomato,from the hill,override\n", 1, "class"), "header-missing", "layer"),
    Fault("cell that nothing else fills", "emergence_by_temperature", new_file("emergence_by_temperature.csv", "crop_id,temperature,unit,outcome,days\nlettuce,10,C,,7\nlettuce,20,C,,\n", 3, "outcome"), "cell-required", "layer"),
    Fault("crop twice", "crops", new_file("crops.csv", "crop_id,parent_id\nred-ridge,tomato\nred-ridge,tomato\n", 3, "crop_id"), "key-twice", "layer"),
    Fault("crop of the release as one's own", "crops", new_file("crops.csv", "crop_id,parent_id\ntomato,tomato\n", 2, "crop_id"), "key-twice", "layer"),
    _layer("no crop column", "header-missing", "seed_longevity", without("crop_id"), wide=True),
    _layer("unit column gone", "number-without-unit", "seed_longevity", lambda rows: (without("unit")(rows), (2, "unit"))[1], wide=True),
    _layer("action of another word", "cell-enum", "weeks_to_raise", lambda rows: ([row.append("replace" if n == 2 else "action" if not n else "add") for n, row in enumerate(rows)], (3, "action"))[1]),
    _bytes("semicolons", "file-delimiter", "seed_longevity", lambda data: data.replace(b",", b";"), "layer"),
    _bytes("header only", "file-no-rows", "seed_longevity", lambda data: data[: data.index(b"\n") + 1], "layer"),
    Fault("file of no table", "notes.csv", new_file("notes.csv", "a,b\n1,2\n"), "file-unknown-table", "layer"),
    Fault("row id of another crop", "light", new_file("light.csv", "row_id,crop_id,source_id,need\nonion.memory.97,leek,memory,dark\n", 2, "row_id"), "row-id-other", "layer"),
    Fault("figure is not the printed one", "days_to_maturity", new_file("days_to_maturity.csv", "crop_id,printed,low,high,unit,counted_from\nonion,90-120 days,90,130,days,sowing\n", 2, "high"), "number-not-printed", "layer"),
    Fault("override of another value", "seed_longevity", overridden, "layer-does-not-fit", "layer", True),
    Fault("name of two crops", "crop_names", new_file("crop_names.csv", "name,language,crop_id,kind\nOnion,en-US,leek,common\n", 2, "name"), "name-two-crops", "layer"),
    Fault("settings with a tag", "layer.yaml", settings("made_for: !!python/object/apply:os.getcwd []\n"), "layer-settings", "layer", True),
    Fault("made for a later edition", "layer.yaml", settings("made_for: 1.999.0\n"), "layer-made-for-later", "layer"),
    Fault("exception without a reason", "layer.yaml", settings("exceptions: [{file: seed_longevity.csv, row: 2, rule: slip-unit}]\n"), "exception-not-reasoned", "layer"),
    Fault("exception for nothing", "layer.yaml", settings("exceptions: [{file: seed_longevity.csv, row: 2, rule: slip-unit, reason: x}]\n"), "exception-unused", "layer"),
]  # fmt: skip


def _known(rows: Rows) -> tuple[str, ...]:
    """The crops that most rows speak of."""
    crops = [row[1] for row in rows[1:]]
    return tuple(sorted(set(crops), key=lambda crop: (-crops.count(crop), crop))[:3])
