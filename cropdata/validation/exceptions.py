"""Reasoned exceptions of a layer: `exceptions` in layer.yaml, each with file, row, rule and reason.

Only rules that speak of a figure can be excepted, never those of form. What is excepted is still listed.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any, NamedTuple

from cropdata.errors import CropdataError
from cropdata.tabular.settings import read_settings
from cropdata.validation.files import whole_file
from cropdata.validation.report import Finding
from cropdata.validation.rules import is_excusable

_FILE = "layer.yaml"
_FORM = "exceptions: [{file: seed_longevity.csv, row: 2, rule: low-above-high, reason: printed so}]"


class Exceptions(NamedTuple):
    """The exceptions that count, and what is wrong with the others or with the file itself."""

    listed: tuple[Mapping[str, Any], ...]
    findings: tuple[Finding, ...]

    @classmethod
    def read(cls, folder: str) -> Exceptions:
        """From the layer.yaml of a folder."""
        path = os.path.join(folder, _FILE)
        if os.path.islink(path):
            return cls((), (whole_file(_FILE, "path-link", "is a symbolic link", hint="put the file itself there"),))
        try:
            read = read_settings(path)
        except CropdataError as error:
            text = str(error).replace(folder + os.sep, "").removeprefix(f"{_FILE}: ")
            return cls((), (whole_file(_FILE, "layer-settings", text),))
        listed = read.get("exceptions") or [] if isinstance(read, dict) else []
        if not isinstance(listed, list):
            return cls((), (_fault("are no list", str(listed)),))
        good, faults = [], []
        for item in listed:
            if not isinstance(item, dict) or not {"file", "row", "rule"} <= set(item):
                faults.append(_fault("must name file, row and rule", str(item)))
            elif not str(item.get("reason") or "").strip():
                faults.append(_fault("must say why", str(item)))
            elif not is_excusable(str(item["rule"])):
                faults.append(_fault("cannot excuse a rule of form; mend the cell instead", str(item)))
            else:
                good.append(item)
        return cls(tuple(good), tuple(faults))

    def applied(self, findings: list[Finding]) -> list[Finding]:
        """The findings, those that are excepted marked so with their reason; an exception that fits none is told."""
        unused = list(self.listed)
        marked = []
        for item in findings:
            fitting = [entry for entry in self.listed if _fits(item, entry)]
            unused = [entry for entry in unused if entry not in fitting]
            if fitting:
                item = item._replace(severity="excused", hint=f"nothing: {fitting[0]['reason']}")
            marked.append(item)
        for entry in unused:
            text = f"{entry['file']}, row {entry['row']}, {entry['rule']}"
            marked.append(
                whole_file(_FILE, "exception-unused", "an exception excuses nothing", found=text, allowed="exceptions for findings that there are",
                           hint="delete it, or correct its row")._replace(severity="warning")
            )  # fmt: skip
        return marked


def _fits(item: Finding, entry: Mapping[str, Any]) -> bool:
    return (
        is_excusable(item.rule)
        and str(entry["file"]) == item.file
        and entry["row"] == item.row
        and entry["rule"] == item.rule
    )


def _fault(message: str, found: str) -> Finding:
    return whole_file(_FILE, "exception-not-reasoned", f"exceptions {message}", found=found[:200], allowed=_FORM)
