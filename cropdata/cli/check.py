"""`cropdata check`: packages, layers or tables."""

from __future__ import annotations

import os
import shutil
import sys
from argparse import Namespace

from cropdata.cli.progress import Bar
from cropdata.errors import InputError
from cropdata.tabular.location import DESCRIPTOR, shipped_package
from cropdata.validation import Report, check
from cropdata.validation.report import joined


def run(options: Namespace) -> int:
    """Print the report; 1 when there are findings that count."""
    paths = options.path or [shipped_package()]
    if options.whole:
        paths = _belonging(options.path)
        if not paths:
            print("nothing to check: no path belongs to a layer or a data package", file=sys.stderr)
            return 0
    if options.fix:
        if not options.path:
            raise InputError("what is to be mended?", hint="cropdata check --fix PATH")
        for path in paths:
            check(path, standard=False)  # what cannot be checked is refused here, before any file is touched
        _mend(paths)
    bar = Bar(sys.stderr) if sys.stderr.isatty() else None
    try:
        report = joined([check(path, standard=not options.no_standard, progress=bar) for path in paths])
    finally:
        if bar is not None:
            bar.close()
    form = "json" if options.json else options.format
    print(_text(report, options) if form == "text" else getattr(report, form)())
    return 1 if report.errors or (options.strict and report.warnings) else 0


def _text(report: Report, options: Namespace) -> str:
    """A screenful on a terminal, forty lines elsewhere."""
    if not sys.stdout.isatty():
        return report.text(None if options.all else 40)
    size = shutil.get_terminal_size()
    limit = None if options.all else max(10, size.lines - 3)
    return report.text(limit, width=size.columns, colour=not os.environ.get("NO_COLOR"))


def _belonging(paths: list[str]) -> list[str]:
    """The layer or package that each path lies in, each once; a path that lies in none is told."""
    found: dict[str, None] = {}
    for path in paths:
        folder = os.path.abspath(path)
        while True:
            if any(os.path.isfile(os.path.join(folder, name)) for name in ("layer.yaml", DESCRIPTOR)):
                found[os.path.relpath(folder)] = None
                break
            folder, below = os.path.dirname(folder), folder
            if folder == below:
                print(f"{path}: belongs to no layer or data package; not checked", file=sys.stderr)
                break
    return list(found)


def _mend(paths: list[str]) -> None:
    """Mend what is safe and say what changed, on standard error so that a report in JSON stays whole."""
    from cropdata.validation.fixing import mend

    for path in paths:
        for result in mend(path):
            print(f"{result.path}{'' if result.text is not None else ' is left alone:'}", file=sys.stderr)
            for change in result.changes:
                print(f"  {change}", file=sys.stderr)
