"""The Data Package standard's own verdict, by frictionless."""

from __future__ import annotations

import os
from collections.abc import Iterator

from cropdata.tabular.location import DESCRIPTOR
from cropdata.validation.report import Finding


def standard_findings(folder: str) -> Iterator[Finding]:
    """What frictionless says of the package in `folder`. It does not check unique keys; our own pass does."""
    import frictionless

    report = frictionless.validate(os.path.join(folder, DESCRIPTOR), type="package")
    for error in report.errors:
        yield Finding(DESCRIPTOR, None, None, f"standard-{error.type}", "error", None, None, error.message, None)
    for task in report.tasks:
        for error in task.errors:
            found = getattr(error, "cell", None)
            yield Finding(
                task.place, getattr(error, "row_number", None), getattr(error, "field_name", None), f"standard-{error.type}", "error",
                None if found is None else str(found), None, error.message, None,
            )  # fmt: skip
        for warning in task.warnings:
            yield Finding(task.place, None, None, "standard-warning", "warning", None, None, warning, None)
