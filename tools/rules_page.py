"""Writes cropdata/validation/RULES.md: every rule of the check, with a real message.

    python tools/rules_page.py            write it
    python tools/rules_page.py --check    1 when it is not what would be written

Each example is a fault of tests/faults/corpus.py, made in a clean folder and run through the check.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "faults")]

from clean import cut, plain_layer, seal  # type: ignore[import-not-found] # noqa: E402
from corpus import CORPUS, Fault  # type: ignore[import-not-found] # noqa: E402

import cropdata  # noqa: E402
from cropdata.validation.report import Finding  # noqa: E402
from cropdata.validation.rules import RULES, STOREYS  # noqa: E402

PAGE = ROOT / "cropdata" / "validation" / "RULES.md"
LONGEST = 90  # signs of a found text that are shown

HEAD = """# What the check looks for

<!-- Written by `python tools/rules_page.py` from cropdata/validation/rules.py; edit that, not this. -->

`cropdata check PATH` runs every rule over a data package, a layer folder or one CSV and tells all it finds in one run.
Rows are counted as a spreadsheet counts: the header is 1. Errors fail the check, warnings only with `--strict`.
A figure that is right although a rule of plausibility doubts it is excused in `layer.yaml`, with its reason:

```yaml
exceptions:
  - {file: seed_longevity.csv, row: 2, rule: slip-ten-times, reason: kept in a freezer}
```

In the release the same is done by a row of `reference/decisions.csv`. What is excused is listed, not hidden.
`--fix` mends line ends, the byte-order mark, blanks at cell ends, the Unicode form, the order of rows and semicolons; it
shows what it changes and never touches a value.
"""


def example(fault: Fault, clean: dict[str, Path], place: Path) -> Finding | None:
    """The finding of one seeded fault."""
    folder = place / "faulty"
    shutil.copytree(clean[fault.subject], folder)
    fault.operator(folder)
    if fault.subject == "package" and fault.table != "descriptor":
        seal(folder)
    findings = cropdata.check(folder, standard=False).findings
    shutil.rmtree(folder)
    return next((item for item in findings if item.rule == fault.rule), None)


def _short(text: str | None) -> str | None:
    if text is None:
        return None
    line = " ".join(text.replace("\0", "").split())
    return line if len(line) <= LONGEST else line[:LONGEST] + " …"


def message(item: Finding, folder: Path) -> str:
    """As the check prints it, but for the row, which follows the data."""
    column = f", {item.column}" if item.column else ""
    parts = [f"{item.file}{column}: {_short(item.message)}"]
    parts += [
        f"{word} {_short(text)}"
        for word, text in (("found", item.found), ("allowed:", item.allowed), ("to mend:", item.hint))
        if text
    ]
    return "; ".join(parts).replace(f"{folder}/", "")


def page() -> str:
    """The whole text."""
    chosen: dict[str, Fault] = {}
    for fault in sorted(CORPUS, key=lambda fault: fault.subject != "layer"):  # a grower's file first
        chosen.setdefault(fault.rule, fault)
    lines = [HEAD]
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        clean = {"package": cut(place / "package"), "layer": plain_layer(place / "layer")}
        for storey, what in STOREYS.items():
            lines.append(f"\n## {storey.capitalize()}: {what}\n")
            for rule in RULES.values():
                if rule.storey != storey:
                    continue
                lines.append(f"**`{rule.name}`** ({rule.severity}). {rule.finds}")
                found = example(chosen[rule.name], clean, place) if rule.name in chosen else None
                if found is not None:
                    said = message(found, place / "faulty").replace("`", "'")
                    lines.append(f"> {chosen[rule.name].kind}: `{said}`")
                lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def main() -> int:
    """Write or compare."""
    text = page()
    if "--check" in sys.argv:
        if PAGE.read_text(encoding="utf-8") != text:
            print(f"stale: {PAGE.relative_to(ROOT)}; run python tools/rules_page.py", file=sys.stderr)
            return 1
        return 0
    PAGE.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
