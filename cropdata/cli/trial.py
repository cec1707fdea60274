"""`cropdata trial`: compare methods, or lay out a new trial."""

from __future__ import annotations

import json
import math
import os
from argparse import Namespace
from typing import Any

from cropdata.catalog import open_catalog
from cropdata.cli.wording import columns, wrapped
from cropdata.errors import InputError
from cropdata.experiments.design import new_trial
from cropdata.experiments.results import Comparison
from cropdata.experiments.trial import compare
from cropdata.tabular.rows import write_whole
from cropdata.tabular.values import harmless

EXAMPLE = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "examples", "trial.csv")


def run(options: Namespace) -> int:
    """Print the comparison, or write a new trial's sheet, layout and labels."""
    if options.new:
        return _new(options)
    path = EXAMPLE if options.example else options.records
    if path is None:
        raise InputError(
            "no records given", hint="cropdata trial RECORDS.csv, --example, or --new DIR --methods A,B --seeds 40"
        )
    expected = None
    if options.crop and options.temp is not None:
        estimate = open_catalog().crop(options.crop).days_to_emergence(options.temp)
        expected = (
            float(estimate.expected) if estimate is not None and math.isfinite(float(estimate.expected)) else None
        )
    result = compare(path, options.target_days, expected_days=expected)
    if options.csv:
        table = result.table()
        table["method"] = table["method"].map(harmless)
        write_whole(options.csv, table.to_csv(index=False))
    if options.picture:
        from cropdata.experiments.picture import draw

        draw(result, options.picture)
    print(json.dumps(as_object(result), indent=2, ensure_ascii=False) if options.json else "\n".join(as_text(result)))
    return 0


def _new(options: Namespace) -> int:
    crop = open_catalog().crop(options.crop).name if options.crop else ""
    design = new_trial(
        (options.methods or "").split(","), seeds=options.seeds, units=options.units, crop=crop, place=options.place or "", event=options.event or "",
        seed=options.random,
    )  # fmt: skip
    os.makedirs(options.new, exist_ok=True)
    for name, text in (
        ("records.csv", design.sheet_csv),
        ("layout.csv", design.layout_csv),
        ("labels.txt", design.labels),
    ):
        target = os.path.join(options.new, name)
        if os.path.exists(target):
            raise InputError("exists already; a trial's sheet is never written over", file=target)
        write_whole(target, text)
    print(
        "\n".join(
            [f"written to {options.new}: records.csv, layout.csv, labels.txt", *(f"- {line}" for line in design.advice)]
        )
    )
    return 0


def _number(value: float | None, digits: int = 1) -> str:
    if value is None:
        return "–"
    return "not reached" if math.isinf(value) else f"{value:.{digits}f}"


def as_text(result: Comparison) -> list[str]:
    """Verdict first, then the table, then the method and its limits."""
    lines = [*wrapped(result.verdict), ""]
    head = ("method", "trays", "sown", "came", "share (95 %)", "middle day", "its interval", "health")
    rows = [
        (
            item.method, str(item.units), str(item.sown), str(item.emerged), f"{100 * item.share:.0f} % ({100 * item.share_low:.0f}–{100 * item.share_high:.0f})",
            _number(item.median_days), f"{_number(item.median_low)} to {_number(item.median_high)}", _number(item.mean_score),
        )
        for item in result.methods
    ]  # fmt: skip
    lines += columns([head, *rows])
    lines += ["", *columns([("pair", "days later", "ratio", "share", "p", "p corrected", "p health"), *(
        (f"{pair.first} / {pair.second}", _number(pair.difference_days), _number(pair.ratio, 2), f"{100 * pair.difference_share:+.0f} points",
         f"{pair.p_value:.3f}", f"{pair.p_corrected:.3f}", _number(pair.score_p, 3)) for pair in result.pairs
    )])]  # fmt: skip
    lines += [
        "",
        f"All alike: p {result.p_value:.4f}, {'every way' if result.exact else '20 000 random ways'} of dealing the labels, over {result.permuted}.",
    ]
    for cause in result.confounded:
        lines += wrapped(f"Confounded: {cause}.")
    for warning in result.warnings:
        lines += wrapped(f"Looks: {warning}.")
    lines += ["", *wrapped(
        "How: days lie between two looks (nonparametric maximum likelihood); intervals of shares and middle days are exact; p by permutation, pairs "
        "corrected (Holm); power from the spread among seeds in open germination records, never from this trial. Not seen by the last look is not "
        "the same as never; lost in handling is a loss, not a wait."
    )]  # fmt: skip
    return lines


def as_object(result: Comparison) -> dict[str, Any]:
    """The JSON object of `trial`, format 1; `inf` is null with a flag."""

    def plain(value: Any) -> Any:
        return None if isinstance(value, float) and not math.isfinite(value) else value

    return {
        "format": 1,
        "verdict": result.verdict,
        "methods": [{name: plain(value) for name, value in item._asdict().items() if name not in ("curve", "left", "right")} | {
            "curve": [{"after": plain(float(left)), "by": plain(float(right)), "share": float(mass)} for left, right, mass in zip(*item.curve, strict=True)]
        } for item in result.methods],
        "p_value": result.p_value, "exact": result.exact, "permuted": result.permuted,
        "pairs": [pair._asdict() for pair in result.pairs],
        "detectable_days": plain(result.detectable_days), "nothing_detectable": math.isinf(result.detectable_days),
        "seeds_needed": result.seeds_needed, "units_needed": result.units_needed, "target_days": result.target_days,
        "confounded": list(result.confounded), "warnings": list(result.warnings),
    }  # fmt: skip
