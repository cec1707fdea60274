"""Every rule of the check by name: its storey, how grave it is, what it finds and how that is mended.

RULES.md is written from here, with an example of each rule run through the check (`python tools/rules_page.py`).
"""

from __future__ import annotations

from typing import NamedTuple

STOREYS = {
    "files": "the bytes and the shape of a file",
    "tables": "header, types, lists, limits, patterns and keys, from the descriptor",
    "relations": "what must hold between tables",
    "plausibility": "whether a figure can be true",
}


class Rule(NamedTuple):
    """One rule. `severity` names both where it depends: error in the release, say, and warning in a layer."""

    name: str
    storey: str
    severity: str
    finds: str


def _rules(storey: str, *rules: tuple[str, str, str]) -> list[Rule]:
    return [Rule(name, storey, severity, finds) for name, severity, finds in rules]


_E, _W = "error", "warning"
_ALL = [
    *_rules(
        "files",
        ("descriptor", _E, "A descriptor that cannot be read, is no JSON object, or lacks a part."),
        ("path-outside", _E, "A path that leaves the folder, is absolute, or is an address on the network."),
        ("path-link", _E, "A symbolic link in place of a file."),
        ("descriptor-reference", _E, "A schema, dialect or profile that would have to be fetched."),
        ("descriptor-code", _E, "Anything in a descriptor that could run or fetch something: other formats, pipelines, controls."),
        ("layer-settings", _E, "A layer.yaml that cannot be read, or uses tags, anchors or aliases."),
        ("file-unknown-table", _E, "A CSV file in a layer that is named after no table."),
        ("file-unreadable", _E, "A file that the system does not let us read, or that is not there."),
        ("file-empty", _E, "A file without even a header."),
        ("file-no-rows", "error; warning in a layer", "A header and no rows. In a layer a file with remarks (lines that begin with #) may wait for its rows."),
        ("file-not-text", _E, "A packed or binary file under the name of a CSV, such as a workbook."),
        ("file-nul-byte", _E, "NUL bytes."),
        ("file-encoding", _E, "Bytes that are not UTF-8."),
        ("file-bom", "error in the release only", "A byte-order mark, as spreadsheets write it. A layer may have it."),
        ("file-line-ends", "error in the release only", "Carriage returns, as spreadsheets write them. A layer may have them."),
        ("file-final-line-end", "error in the release only", "No line end after the last row."),
        ("file-long-line", _E, "A line of millions of bytes."),
        ("file-delimiter", _E, "Semicolons or tabs between cells. One finding for the file; the rows are checked all the same."),
        ("file-large", _E, "A table of crops, names or sources of more than 100 MB."),
        ("file-stopped", _E, "So many findings that reading stops; the row is named."),
        ("file-columns", _E, "More columns than any table has."),
        ("file-quotes", _E, "A quote that is not closed, so that the rest of the file cannot be parted into cells."),
        ("file-blank-row", "error; warning in a layer", "A row without any text. A layer passes it over."),
        ("file-ragged-row", _E, "A row with more or fewer cells than the header."),
    ),
    *_rules(
        "tables",
        ("header-twice", _E, "A column that stands twice."),
        ("header-unknown", _E, "A column that the table does not have."),
        ("header-missing", _E, "A column that is needed and is not there. A layer needs the crop's, and those that nothing else fills: the class of `frost_tolerance`, the temperature of `emergence_by_temperature`."),
        ("header-order", "error in the release only", "Columns in another order."),
        ("cell-required", _E, "An empty cell where a value is needed."),
        ("cell-blanks", _E, "Blanks at the ends of a cell: `tomato ` is not `tomato`."),
        ("cell-line-break", _E, "A line break inside a cell."),
        ("cell-long", _E, "A cell far longer than any text of a table."),
        ("cell-formula", _E, "A text that a spreadsheet would run as a formula."),
        ("cell-invisible", _E, "Signs that cannot be seen: no-break blanks, zero-width signs, soft hyphens."),
        ("cell-unicode-form", _E, "A letter and its accent as two signs."),
        ("cell-look-alike", _E, "Letters of two alphabets in one word, such as a Cyrillic а in `tomаto`."),
        ("cell-decimal-comma", _E, "A decimal comma. One finding for each file of a layer."),
        ("cell-sheet-date", _E, "A date that a spreadsheet made out of a range: 7-10 became 7-Oct."),
        ("cell-unit-inside", _E, "A number with its unit in the cell."),
        ("cell-range-inside", _E, "A range in the cell of one number."),
        ("cell-date-order", _E, "A date in another order, or with day and month swapped."),
        ("cell-type", _E, "A cell that is not of the column's type."),
        ("cell-enum", _E, "A word that is not in the column's list."),
        ("cell-pattern", _E, "An id of another form."),
        ("cell-limits", _E, "A number outside the column's limits."),
        ("columns-swapped", _E, "Two cells of a row that are both wrong and would both be right in each other's place."),
        ("key-twice", _E, "A key that stands twice."),
        ("row-order", "error in the release only", "A row that does not stand where its key belongs."),
        ("row-twice", _W, "A row that says the same as another one."),
    ),
    *_rules(
        "relations",
        ("link-broken", _E, "A crop, source or parent that is not there."),
        ("source-not-cited", _W, "A source that is described and cited nowhere."),
        ("lineage-unknown", _E, "A lineage that names no source."),
        ("parent-has-parent", _E, "A parent that has a parent itself. In a layer a variety may be one of a type (a pole bean), and no deeper."),
        ("parent-other-species", _E, "A parent of another species: figures are inherited within one species only."),
        ("retired-without-successor", _E, "A retired crop that names no crop in use to take its place."),
        ("evidence-for-retired", _E, "Evidence for a crop that is retired."),
        ("id-vanished", _E, "A crop of the release before that is gone without a new major version."),
        ("name-two-crops", _W, "A common name that stands for two crops in one language."),
        ("row-id-other", _W, "A row id that names another crop or source than its row."),
        ("basis-against-source", _W, "A recalled figure that is called published."),
        ("decision-unknown-table", _E, "A decision about a table that is not there."),
        ("decision-unknown-row", _E, "A decision about a row that is not there."),
        ("layer-does-not-fit", _E, "A layer that cannot be laid over the release: an override of nothing, or of an old value that has changed."),
        ("layer-made-for-later", _W, "A layer made for a later edition of the data than this one."),
        ("exception-not-reasoned", _E, "An exception that lacks file, row, rule or reason, or is about a rule of form."),
        ("exception-unused", _W, "An exception that excuses nothing."),
    ),
    *_rules(
        "plausibility",
        ("low-above-high", _E, "A lower end above the upper one: low and high swapped, minimum above maximum."),
        ("temperature-order", _E, "Temperatures out of order: a best range outside its limits."),
        ("not-as-printed", _E, "A converted cell that is not the printed figure converted."),
        ("unit-against-print", _E, "A unit that is not the one that the printed text names."),
        ("number-not-printed", _W, "A figure that does not stand in the printed text."),
        ("number-without-unit", _E, "A number without a unit."),
        ("no-figure", _E, "A row that states no figure."),
        ("outcome-against-figure", _E, "`none came up` beside a number of days, or the reverse."),
        ("slip-unit", "error; warning beside kin, seed size or a single source",
         "A figure far from what other sources print, or from what kin and seed size let expect, that fits once its unit is taken for another: inches as millimetres, °F as °C, ounces as grams, days as weeks, and the reverse."),
        ("slip-ten-times", "error; warning beside kin, seed size or a single source", "A figure that fits once its decimal point is moved by one place."),
        ("far-from-others", _W, "A figure more than eight times beyond at least three voices, without a plain slip that explains it."),
        ("depth-against-seed", _W, "A depth below one or above thirty times the seed's diameter."),
        ("slip-day-month", _W, "A date far from all others of its column, and among them once day and month are swapped."),
        ("warmer-but-slower", _E, "More days in warmer soil, below the best temperature."),
        ("rows-not-compared", _W, "Rows beyond the number that is held for comparison; each was checked by itself."),
    ),
]  # fmt: skip

RULES: dict[str, Rule] = {rule.name: rule for rule in _ALL}


def is_excusable(name: str) -> bool:
    """Whether a decision or a reasoned exception may excuse the rule: it speaks of the figure, not of the form."""
    return name in RULES and RULES[name].storey == "plausibility" and name != "not-as-printed"
