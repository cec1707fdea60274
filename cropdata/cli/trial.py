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
from cropdata.experiments.power import MOST_NEEDED
from cropdata.experiments.results import SEED_BY_SEED, Comparison, MethodResult, Pair
from cropdata.experiments.trial import compare
from cropdata.experiments.verdict import p_words
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
    expected, said = _expected(options)
    result = compare(path, options.target_days, expected_days=expected)
    result = result._replace(warnings=(*result.warnings, *said))
    if options.csv:
        table = result.table()
        table["method"] = table["method"].map(harmless)
        write_whole(options.csv, table.to_csv(index=False))
    if options.picture:
        from cropdata.experiments.picture import draw

        draw(result, options.picture)
    print(json.dumps(as_object(result), indent=2, ensure_ascii=False) if options.json else "\n".join(as_text(result)))
    return 0


def _expected(options: Namespace) -> tuple[float | None, list[str]]:
    """Middle day of the crop at the warmth, and what is to be said where there is none."""
    if (options.crop is None) != (options.temp is None):
        raise InputError(
            "--crop and --temp go together",
            hint="--crop tomato --temp 21: the crop's own days, for what a trial could show",
        )
    if options.crop is None:
        return None, []
    if not math.isfinite(options.temp):
        raise InputError(
            "is no warmth", column="--temp", found=options.temp, allowed="°C", hint=f"found {options.temp:g}"
        )
    crop = open_catalog(installed=False).crop(options.crop)
    estimate = crop.days_to_emergence(options.temp)
    if estimate is None or not math.isfinite(float(estimate.expected)):
        why = "nothing is recorded" if estimate is None else f"no seedlings are recorded at {options.temp:g} °C"
        return None, [f"days to emergence of {crop.name}: {why}; the trial's own middle day is used"]
    return float(estimate.expected), []


def _new(options: Namespace) -> int:
    crop = open_catalog(installed=False).crop(options.crop).name if options.crop else ""
    design = new_trial(
        (options.methods or "").split(","), seeds=options.seeds, units=options.units, crop=crop, place=options.place or "", event=options.event or "",
        seed=options.random,
    )  # fmt: skip
    files = {"records.csv": design.sheet_csv, "layout.csv": design.layout_csv, "labels.txt": design.labels}
    targets = {os.path.join(options.new, name): text for name, text in files.items()}
    for target in targets:
        if os.path.exists(target):
            raise InputError(
                "exists already; a trial's sheet is never written over",
                file=target,
                hint="nothing was written; name another folder",
            )
    os.makedirs(options.new, exist_ok=True)
    for target, text in targets.items():
        write_whole(target, text)
    if options.json:
        print(
            json.dumps(
                {"format": 1, "files": list(targets), "advice": list(design.advice)}, indent=2, ensure_ascii=False
            )
        )
    else:
        print("\n".join([f"written to {options.new}: {', '.join(files)}", *(f"- {line}" for line in design.advice)]))
    return 0


def _number(value: float | None, digits: int = 1) -> str:
    if value is None:
        return "–"
    return "not reached" if math.isinf(value) else f"{value:.{digits}f}"


def as_text(result: Comparison) -> list[str]:
    """Verdict first, then the table, then the method and its limits."""
    lines = [*wrapped(result.verdict), ""]
    head = ("method", "trays", "sown", "came", "lost", "share (95 %)", "middle day", "its interval", "health")
    rows = [
        (
            item.method, str(item.units), str(item.sown), str(item.emerged), str(item.destroyed), f"{100 * item.share:.0f} % ({100 * item.share_low:.0f}–{100 * item.share_high:.0f})",
            _number(item.median_days), f"{_number(item.median_low)} to {_number(item.median_high)}", _number(item.mean_score),
        )
        for item in result.methods
    ]  # fmt: skip
    lines += columns([head, *rows])
    lines += ["", *columns([("pair", "days later", "ratio", "share", "sooner or more", "p", "p corrected", "p health"), *(
        (f"{pair.first} / {pair.second}", _number(pair.difference_days), _number(pair.ratio, 2), f"{100 * pair.difference_share:+.0f} points",
         pair.ahead or "alike", p_words(pair.p_value), p_words(pair.p_corrected), "–" if pair.score_p_corrected is None else p_words(pair.score_p_corrected))
        for pair in result.pairs
    )])]  # fmt: skip
    lines += [
        "",
        f"All alike: p {p_words(result.p_value)}, {'every way' if result.exact else '20 000 random ways'} of dealing the methods, over {result.permuted}.",
    ]
    for cause in result.confounded:
        lines += wrapped(f"Confounded: {cause}.")
    for warning in result.warnings:
        lines += wrapped(f"Note: {warning}.")
    lines += ["", *wrapped(
        "How: days lie between two looks (nonparametric maximum likelihood); intervals of shares and middle days are exact if trays are alike, and too "
        "narrow where they differ; p by permutation, pairs and their health corrected (Holm); power by simulating this test, with the spread among seeds "
        "of open germination records and trays that differ by a tenth of the middle day (assumed), never from this trial's own spread. Not seen by the "
        "last look is not the same as never; lost in handling is a loss, not a wait."
    )]  # fmt: skip
    return lines


def as_object(result: Comparison) -> dict[str, Any]:
    """The JSON object of `trial`, format 1; `inf` and NaN are null: nothing detectable, or more than `most_needed`."""

    def plain(value: Any) -> Any:
        return None if isinstance(value, float) and not math.isfinite(value) else value

    def row(item: MethodResult | Pair) -> dict[str, Any]:
        return {name: plain(value) for name, value in item._asdict().items() if name not in SEED_BY_SEED}

    return {
        "format": 1,
        "verdict": result.verdict,
        "methods": [row(item) | {
            "curve": [{"after": plain(float(left)), "by": plain(float(right)), "share": float(mass)} for left, right, mass in zip(*item.curve, strict=True)]
        } for item in result.methods],
        "p_value": result.p_value, "exact": result.exact, "permuted": result.permuted, "in_rounds": result.in_rounds,
        "pairs": [row(pair) for pair in result.pairs],
        "detectable_days": plain(result.detectable_days), "nothing_detectable": math.isinf(result.detectable_days),
        "lowest_p": result.lowest_p, "seeds_needed": plain(result.seeds_needed), "units_needed": plain(result.units_needed),
        "seeds_a_unit": result.seeds_a_unit, "most_needed": MOST_NEEDED, "target_days": result.target_days,
        "confounded": list(result.confounded), "warnings": list(result.warnings),
    }  # fmt: skip
