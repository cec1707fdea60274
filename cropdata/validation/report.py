"""What a check found, and how it is shown."""

from __future__ import annotations

import json
import os
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from cropdata.tabular.values import NOT_IN_XML

_COLOURS = {"error": "\033[31m", "warning": "\033[33m", "excused": "\033[2m", "file": "\033[1m", "end": "\033[0m"}
_MOST_SPANS = 12


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
    """All findings of one run, and how much was read.

    `set_aside` are findings about rows that the release itself sets aside (reference/decisions.csv): listed, not counted.
    `root` is the folder that `file` of each finding is relative to.
    """

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

    def text(self, limit: int | None = 40, *, width: int | None = None, colour: bool = False) -> str:
        """For people: grouped by file, like findings joined, totals last.

        Args:
            limit: at most so many lines, each file having its share and the rest counted; None for all.
            width: lines are wrapped to it; None leaves each entry on one line.
            colour: severities in colour, for a terminal.
        """
        by_file: dict[str, list[tuple[str, int]]] = {}
        for group in _grouped(self.findings):
            entry = _wrapped(_sentence(group), width)
            if colour:
                entry = entry.replace(group[0].severity, _paint(group[0].severity, group[0].severity), 1)
            by_file.setdefault(group[0].file, []).append((entry, len(group)))
        kept = _share(
            {file: [entry.count("\n") + 1 for entry, _ in entries] for file, entries in by_file.items()}, limit
        )
        lines: list[str] = []
        left = 0
        for file, entries in by_file.items():
            shown = entries[: kept[file]]
            left += sum(count for _, count in entries[kept[file] :])
            if shown:
                lines += [_paint("file", _plain(file)) if colour else _plain(file), *(entry for entry, _ in shown)]
        if left:
            lines.append(f"… and {left} more; --all or --format json lists all")
        return "\n".join([*lines, self.summary()])

    def json(self) -> str:
        """For programs: every finding."""
        body: dict[str, Any] = {
            "format": 1, "ok": self.ok, "files": self.files, "rows": self.rows,
            "errors": len(self.errors), "warnings": len(self.warnings), "excused": len(self.excused),
            "findings": [item._asdict() for item in self.findings],
            "set_aside": [item._asdict() for item in self.set_aside],
        }  # fmt: skip
        return json.dumps(body, indent=2, ensure_ascii=False)

    def junit(self) -> str:
        """JUnit XML: one test case for each finding, or a passing one for a clean run. Warnings and excused are skipped."""
        from xml.sax.saxutils import escape, quoteattr

        def attribute(text: str) -> str:
            return quoteattr(NOT_IN_XML.sub("�", text))

        cases = []
        for item in self.findings:
            body = escape(NOT_IN_XML.sub("�", _sentence([item]).strip()))
            head = f"  <testcase classname={attribute(item.file)} name={attribute(f'{item.rule} {item.place}')}>"
            verdict = (
                f"<failure type={attribute(item.rule)} message={attribute(item.message)}>{body}</failure>"
                if item.severity == "error"
                else f"<skipped message={attribute(f'{item.severity}: {item.message}')}/><system-out>{body}</system-out>"
            )
            cases.append(f"{head}{verdict}</testcase>")
        cases = cases or ['  <testcase classname="cropdata" name="check"/>']
        counts = f'tests="{len(cases)}" failures="{len(self.errors)}" errors="0" skipped="{len(self.findings) - len(self.errors)}"'
        head = f'<testsuite name="cropdata check" {counts} time="0">'
        return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', head, *cases, "</testsuite>"])

    def annotations(self) -> str:
        """Lines that a hosted CI shows beside the changed file; paths as seen from the working folder."""
        lines = []
        for item in self.findings:
            place = f"file={_escaped(_from_here(self.root, item.file), ',:')}" + (
                f",line={item.row}" if item.row else ""
            )
            level = "notice" if item.severity == "excused" else item.severity
            lines.append(f"::{level} {place},title={_escaped(item.rule, ',:')}::{_escaped(_sentence([item]).strip())}")
        return "\n".join([*lines, self.summary()])

    def sarif(self) -> str:
        """SARIF 2.1.0 (OASIS), which code hosts read; files are named from the working folder."""
        from urllib.parse import quote

        from cropdata import __version__
        from cropdata.validation.rules import RULES

        used = sorted({item.rule for item in self.findings})
        place_of = {rule: place for place, rule in enumerate(used)}
        results = []
        for item in self.findings:
            place: dict[str, Any] = {"artifactLocation": {"uri": quote(_from_here(self.root, item.file))}}
            if item.row:
                place["region"] = {"startLine": item.row}
            results.append({
                "ruleId": item.rule, "ruleIndex": place_of[item.rule],
                "level": "note" if item.severity == "excused" else item.severity,
                "message": {"text": _sentence([item]).strip()},
                "locations": [{"physicalLocation": place}],
                **({"suppressions": [{"kind": "external"}]} if item.severity == "excused" else {}),
            })  # fmt: skip
        rules = [
            {"id": rule, "shortDescription": {"text": RULES[rule].finds if rule in RULES else rule}} for rule in used
        ]
        driver = {"name": "cropdata", "version": __version__, "rules": rules}
        log = {
            "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json", "version": "2.1.0",
            "runs": [{"tool": {"driver": driver}, "results": results}],
        }  # fmt: skip
        return json.dumps(log, indent=2, ensure_ascii=False)


def joined(reports: Sequence[Report]) -> Report:
    """Several reports as one; files are named from the working folder."""
    if len(reports) == 1:
        return reports[0]

    def placed(report: Report, items: Iterable[Finding]) -> list[Finding]:
        return [item._replace(file=_from_here(report.root, item.file)) for item in items]

    return Report(
        ordered(item for report in reports for item in placed(report, report.findings)),
        sum(report.files for report in reports),
        sum(report.rows for report in reports),
        ordered(item for report in reports for item in placed(report, report.set_aside)),
    )


def rows_named(numbers: Sequence[int]) -> str:
    """Row numbers in words: `rows 2 to 8 and 11`; beyond a dozen spans the rest is counted."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    parts = [str(low) if low == high else f"{low} to {high}" for low, high in spans[:_MOST_SPANS]]
    if len(spans) > _MOST_SPANS:
        parts.append(f"{sum(high - low + 1 for low, high in spans[_MOST_SPANS:])} more")
    said = f"{', '.join(parts[:-1])} and {parts[-1]}" if len(parts) > 1 else parts[0]
    return f"row{'s' if len(numbers) > 1 else ''} {said}"


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings by file, row and column, errors before warnings in one place."""
    return tuple(
        sorted(findings, key=lambda item: (item.file, item.row or 0, item.column or "", item.severity, item.rule))
    )


def _from_here(root: str, file: str) -> str:
    """The file as seen from the working folder, where it lies below it: that is what a hosted CI looks for."""
    path = os.path.relpath(os.path.join(root, file))
    return (file if path.startswith("..") else path).replace(os.sep, "/")


def _escaped(text: str, more: str = "") -> str:
    """A text that stays on its annotation line."""
    for sign in ("%", "\r", "\n", *more):
        text = text.replace(sign, f"%{ord(sign):02X}")
    return text


def _plain(text: str) -> str:
    """A text that cannot steer a terminal."""
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)


def _paint(what: str, text: str) -> str:
    return f"{_COLOURS[what]}{text}{_COLOURS['end']}"


def _grouped(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings that say the same of several rows of a column, together, where the first of them stands."""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for item in findings:
        key = (item.file, item.column, item.rule, item.severity, item.allowed, item.message, item.hint)
        groups.setdefault(key, []).append(item)
    return list(groups.values())


def _sentence(group: Sequence[Finding]) -> str:
    """One entry: severity, where, rule, what is wrong, found, allowed, how to mend."""
    item = group[0]
    rows = [each.row for each in group if each.row]
    where = ", ".join(part for part in (rows_named(rows) if rows else None, item.column) if part) or "whole file"
    found = list(dict.fromkeys(each.found for each in group if each.found is not None))
    parts = [item.message]
    if found:
        shown = ", ".join(repr(text) for text in found[:3])
        parts.append(f"found {shown}" + (f" and {len(found) - 3} others" if len(found) > 3 else ""))
    if item.allowed:
        parts.append(f"allowed: {item.allowed}")
    if item.hint:
        parts.append(f"to mend: {item.hint}")
    return _plain(f"  {item.severity} {where} [{item.rule}]: " + "; ".join(parts))


def _wrapped(entry: str, width: int | None) -> str:
    if width is None:
        return entry
    return textwrap.fill(
        entry, max(40, width), subsequent_indent="      ", break_long_words=False, break_on_hyphens=False
    )


def _share(heights: dict[str, list[int]], limit: int | None) -> dict[str, int]:
    """How many entries of each file fit, file by file in turn, so that no file is hidden by another."""
    kept = dict.fromkeys(heights, 0)
    room = limit
    while True:
        progress = False
        for file, entries in heights.items():
            if kept[file] < len(entries):
                cost = entries[kept[file]] + (kept[file] == 0)
                if room is not None and cost > room:
                    return kept
                room = None if room is None else room - cost
                kept[file] += 1
                progress = True
        if not progress:
            return kept
