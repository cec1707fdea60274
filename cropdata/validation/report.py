"""What a check found, and how it is shown."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any, NamedTuple


class Finding(NamedTuple):
    """One mistake: where, by which rule, what was found, what is allowed, how to mend it.

    `row` counts as a spreadsheet does: the header is 1; None where a finding is about the whole file.
    """

    file: str
    row: int | None
    column: str | None
    rule: str
    severity: str
    found: str | None
    allowed: str | None
    message: str
    hint: str | None

    @property
    def place(self) -> str:
        """File, row and column in one text."""
        return ", ".join(part for part in (self.file, f"row {self.row}" if self.row else None, self.column) if part)


class Report(NamedTuple):
    """All findings of one run, and how much was read."""

    findings: tuple[Finding, ...]
    files: int
    rows: int
    set_aside: tuple[Finding, ...] = ()
    root: str = ""

    @property
    def ok(self) -> bool:
        """True when no finding is an error."""
        return not self.errors

    @property
    def errors(self) -> tuple[Finding, ...]:
        """Findings of severity error."""
        return tuple(item for item in self.findings if item.severity == "error")

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """Findings of severity warning."""
        return tuple(item for item in self.findings if item.severity == "warning")

    @property
    def excused(self) -> tuple[Finding, ...]:
        """Findings that a reasoned exception of the layer excuses: listed, not counted against it."""
        return tuple(item for item in self.findings if item.severity == "excused")

    def summary(self) -> str:
        """The totals in one line."""
        counts = [
            (self.files, "file"),
            (self.rows, "row"),
            (len(self.errors), "error"),
            (len(self.warnings), "warning"),
        ]
        files, rows, errors, warnings = (f"{number} {word}{'' if number == 1 else 's'}" for number, word in counts)
        excused = f", {len(self.excused)} excused" if self.excused else ""
        return f"{files}, {rows}: {errors}, {warnings}{excused}"

    def text(self, limit: int | None = 40) -> str:
        """For people: grouped by file, at most `limit` findings shown and the rest counted, totals last."""
        lines: list[str] = []
        shown = self.findings if limit is None else self.findings[:limit]
        for name in dict.fromkeys(item.file for item in shown):
            lines.append(name)
            for item in shown:
                if item.file == name:
                    lines += _lines(item)
        if len(shown) < len(self.findings):
            lines.append(f"… and {len(self.findings) - len(shown)} more; --format json lists all")
        return "\n".join([*lines, self.summary()])

    def json(self) -> str:
        """For programs: every finding."""
        body: dict[str, Any] = {
            "format": 1, "ok": self.ok, "files": self.files, "rows": self.rows,
            "errors": len(self.errors), "warnings": len(self.warnings),
            "findings": [item._asdict() for item in self.findings],
        }  # fmt: skip
        return json.dumps(body, indent=2, ensure_ascii=False)

    def junit(self) -> str:
        """JUnit XML: one test case for each finding, or a passing one for a clean run."""
        from xml.sax.saxutils import escape, quoteattr

        cases = [
            f"  <testcase classname={quoteattr(item.file)} name={quoteattr(item.rule + ' ' + item.place)}>"
            + (
                "<skipped/>"
                if item.severity == "excused"
                else f"<failure type={quoteattr(item.severity)} message={quoteattr(item.message)}>{escape(' '.join(_lines(item)))}</failure>"
            )
            + "</testcase>"
            for item in self.findings
        ] or ['  <testcase classname="cropdata" name="check"/>']
        head = (
            f'<testsuite name="cropdata check" tests="{len(cases)}" failures="{len(self.errors) + len(self.warnings)}">'
        )
        return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', head, *cases, "</testsuite>"])

    def annotations(self) -> str:
        """Lines that a hosted CI shows beside the changed file."""
        lines = []
        for item in self.findings:
            place = f"file={item.file}" + (f",line={item.row}" if item.row else "")
            text = " ".join(_lines(item)).strip().replace("%", "%25").replace("\n", "%0A")
            lines.append(
                f"::{'notice' if item.severity == 'excused' else item.severity} {place},title={item.rule}::{text}"
            )
        return "\n".join([*lines, self.summary()])


def _lines(item: Finding) -> list[str]:
    where = ", ".join(part for part in (f"row {item.row}" if item.row else None, item.column) if part) or "whole file"
    parts = [item.message]
    if item.found is not None:
        parts.append(f"found {item.found!r}")
    if item.allowed:
        parts.append(f"allowed: {item.allowed}")
    if item.hint:
        parts.append(f"to mend: {item.hint}")
    return [f"  {item.severity} {where} [{item.rule}]: " + "; ".join(parts)]


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings by file, row and column, errors before warnings in one place."""
    return tuple(
        sorted(findings, key=lambda item: (item.file, item.row or 0, item.column or "", item.severity, item.rule))
    )
