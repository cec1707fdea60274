"""`cropdata check`: a package, a layer or a table."""

from __future__ import annotations

from argparse import Namespace

from cropdata.tabular.location import shipped_package
from cropdata.validation import check


def run(options: Namespace) -> int:
    """Print the report; 1 when there are findings that count."""
    report = check(options.path or shipped_package())
    form = "json" if options.json else options.format
    print({"text": report.text, "json": report.json, "junit": report.junit, "annotations": report.annotations}[form]())
    return 1 if report.errors or (options.strict and report.warnings) else 0
