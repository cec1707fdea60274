"""`cropdata layer from-xlsx`: a spreadsheet as a layer, every mistake told at once, nothing half-written."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from argparse import Namespace

from cropdata.catalog import open_catalog
from cropdata.catalog.layers import csv_files
from cropdata.errors import InputError
from cropdata.layering.beginning import layer_settings, write_folder
from cropdata.layering.workbook_in import Misread, Sheets, from_workbook, sheet_name
from cropdata.tabular.location import LAYER_FILE
from cropdata.tabular.rows import write_whole
from cropdata.validation import Report, check
from cropdata.validation.report import Finding, ordered, rows_named

_BESIDE = "the first row holds the names of the columns: move a title above it, or notes beside the table, to a sheet whose name begins with #"


def bring_over(options: Namespace) -> int:
    """Read, check, write, tell. Nothing is written where a cell could not be read as it was typed; 1 where errors are."""
    there = os.path.isfile(os.path.join(options.dir, LAYER_FILE))
    if os.path.lexists(options.dir) and not (options.replace and there):
        if not os.path.isdir(options.dir) or os.listdir(options.dir):
            hint = "--replace replaces the tables of a layer" if there else "name a new folder"
            raise InputError("is there already, and nothing is overwritten", file=options.dir, hint=hint)
        there = False
    descriptor = open_catalog(installed=False).descriptor
    sheets = from_workbook(options.file, descriptor)
    if not sheets.tables and not sheets.misread:
        raise InputError(
            "holds no table", file=options.file, hint="a sheet is named after its table, such as sowing_depth"
        )
    settings = sheets.settings
    if settings is None and not there:
        title = options.title or os.path.splitext(os.path.basename(options.file))[0].replace("_", " ").replace("-", " ")
        settings = layer_settings(
            title.capitalize() if title == title.lower() else title, options.author, descriptor.version
        )
    files = {f"{name}.csv": text for name, text in sheets.tables.items()}
    if settings is not None:
        files[LAYER_FILE] = settings
    kept = _kept(options.dir, files) if there else []
    report = _by_sheet(_merged(_checked(options.dir, kept, files, there), sheets), files)
    written = not sheets.misread
    if written:
        _write(options.dir, files, there)
    last = f"{options.dir}: written, {len(sheets.tables)} tables" if written else (
        "Nothing was written: some cells are not what was typed. Mend them in the spreadsheet, then run this again.")  # fmt: skip
    if written and kept:
        last += f"; left as they were, having no sheet: {', '.join(os.path.basename(path) for path in kept)}"
    if written and report.errors:
        last += "; mend the errors before you use it"
    if options.json:
        body = {"format": 1, "written": written, "folder": options.dir, "tables": list(sheets.tables),
                "report": json.loads(report.json())}  # fmt: skip
        print(json.dumps(body, indent=2, ensure_ascii=False))
    else:
        print(f"{report.text(None)}\n{last}")
    return 1 if report.errors else 0


def _kept(folder: str, files: dict[str, str]) -> list[str]:
    """CSV files of the folder that have no sheet."""
    return [path for path in csv_files(folder) if os.path.basename(path) not in files]


def _checked(folder: str, kept: list[str], files: dict[str, str], there: bool) -> Report:
    """The report on the layer as it would be, from a copy that is gone afterwards."""
    with tempfile.TemporaryDirectory() as place:
        for path in [*kept, *([os.path.join(folder, LAYER_FILE)] if there else [])]:
            shutil.copyfile(path, os.path.join(place, os.path.basename(path)), follow_symlinks=False)
        for name, text in files.items():
            with open(os.path.join(place, name), "w", encoding="utf-8", newline="") as stream:
                stream.write(text)
        return check(place)


def _merged(report: Report, sheets: Sheets) -> Report:
    """The report with what the spreadsheet did to cells, in place of what the check makes of the same cells."""
    misread = [_finding(item) for item in sheets.misread]
    places = {(item.file, item.row, item.column) for item in misread}
    others = [item for item in report.findings if (item.file, item.row, item.column) not in places]
    return report._replace(findings=ordered([*others, *misread]))


def _by_sheet(report: Report, files: dict[str, str]) -> Report:
    """The findings by the sheet in which they are mended."""
    shown = {name: f"sheet {name.partition('.')[0]}" for name in files}
    ragged: dict[str, list[int]] = {}
    for item in report.findings:
        if item.rule == "file-ragged-row":
            ragged.setdefault(item.file, []).append(item.row or 0)
    # A title above the names of the columns was taken for them: that one thing is told, not what would follow from it.
    titled = {item.file for item in report.findings if item.rule == "header-missing"} & set(ragged)
    findings = []
    for item in report.findings:
        if item.file in titled and item.rule in ("header-missing", "header-unknown"):
            continue
        if item.rule == "file-ragged-row":
            if item.row != ragged[item.file][0]:
                continue
            # A spreadsheet has no commas to look for: something stands above or beside the table.
            item = item._replace(
                message=f"{rows_named(ragged[item.file])}: more cells than the header has names", hint=_BESIDE
            )
        findings.append(item._replace(file=shown.get(item.file, item.file)))
    return report._replace(findings=tuple(findings))


def _finding(item: Misread) -> Finding:
    file = f"{sheet_name(item.sheet)}.csv" if item.row else f"sheet {item.sheet}"
    return Finding(file, item.row, item.column, item.rule, "error", item.found, None, item.message, item.hint)


def _write(folder: str, files: dict[str, str], there: bool) -> None:
    if not there:
        write_folder(folder, files)
        return
    lies = {os.path.basename(path): path for path in csv_files(folder)}
    for name, text in files.items():
        write_whole(lies.get(name, os.path.join(folder, name)), text)
