"""`cropdata layer`: begin one, list the installed ones, to a spreadsheet and back."""

from __future__ import annotations

import json
from argparse import Namespace
from typing import Any

from cropdata.catalog import open_catalog
from cropdata.cli.wording import columns, wrapped

SWITCH_OFF = (
    "They are laid over the release by themselves, below the layers that you name with --layer. Leave one out with "
    "--no-layer NAME, cropdata.open(without=[\"NAME\"]) or the environment variable CROPDATA_NO_LAYERS=NAME; all of them "
    "with --no-layer all or cropdata.open(installed=False)."
)  # fmt: skip


def run(options: Namespace) -> int:
    """Do what was asked; 1 where a spreadsheet has mistakes."""
    return {"new": _new, "list": _list, "to-xlsx": _to_xlsx, "from-xlsx": _from_xlsx}[options.layer_command](options)


def _say(options: Namespace, body: dict[str, Any], lines: list[str]) -> None:
    print(json.dumps({"format": 1, **body}, indent=2, ensure_ascii=False) if options.json else "\n".join(lines))


def _new(options: Namespace) -> int:
    from cropdata.layering import begin_layer

    descriptor = open_catalog(installed=False).descriptor
    files = begin_layer(options.dir, descriptor, title=options.title, author=options.author)
    _say(options, {"folder": options.dir, "files": files}, [
        f"{options.dir}: {len(files)} files written; read {files[0]} first, then fill what you need and delete the rest.",
        *columns([("check it", f"cropdata check {options.dir}"), ("use it", f"cropdata show tomato --layer {options.dir}"),
                  ("as a spreadsheet", f"cropdata layer to-xlsx {options.dir} {options.dir}.xlsx")], indent="  "),
    ])  # fmt: skip
    return 0


def _list(options: Namespace) -> int:
    from cropdata.catalog.installed import installed_layers, used_layers
    from cropdata.catalog.layers import read_layer
    from cropdata.errors import LayerError

    descriptor = open_catalog(installed=False).descriptor
    used = used_layers()
    listed: list[dict[str, Any]] = []
    for found in installed_layers():
        entry: dict[str, Any] = {"name": found.name, "distribution": found.distribution, "version": found.version,
                                 "folder": found.folder, "used": found in used}  # fmt: skip
        try:
            if found.problem:
                raise LayerError(f"it {found.problem}")
            layer = read_layer(found.folder, descriptor, found.origin)
            rows = sum(len(rows) for table, rows in layer.rows.items() if table != "sources")
            entry |= {"title": layer.title, "author": layer.author or None, "made_for": layer.made_for or None, "rows": rows, "problem": None}  # fmt: skip
        except LayerError as error:
            entry |= {"title": None, "author": None, "made_for": None, "rows": None, "problem": str(error)}
        listed.append(entry)
    if not listed:
        lines = ["No installed distribution brings a layer (entry points of the group cropdata.layers)."]
    else:
        table = [("name", "title", "made for", "rows", "brought by", "")]
        for entry in listed:
            table.append((entry["name"], entry["title"] or "cannot be read", entry["made_for"] or "–", str(entry["rows"] or "–"),
                          f"{entry['distribution']} {entry['version']}", "" if entry["used"] else "left out: CROPDATA_NO_LAYERS"))  # fmt: skip
        lines = columns(table)
        for entry in listed:
            if entry["problem"]:
                lines += ["", *wrapped(f"{entry['name']}: {entry['problem']}", hang="  ")]
        lines += ["", *wrapped(SWITCH_OFF)]
    _say(options, {"layers": listed}, lines)
    return 0


def _to_xlsx(options: Namespace) -> int:
    from cropdata.layering.workbook_out import to_workbook

    sheets = to_workbook(options.dir, options.file, open_catalog(installed=False).descriptor)
    _say(
        options,
        {"file": options.file, "sheets": sheets},
        [f"{options.file}: {len(sheets)} sheets: {', '.join(sheets)}"],
    )
    return 0


def _from_xlsx(options: Namespace) -> int:
    from cropdata.cli.spreadsheet import bring_over

    return bring_over(options)
