"""A new trial: which tray gets which method and where it stands, the sheet to keep, and labels."""

from __future__ import annotations

import csv
import io
import string
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from cropdata.errors import InputError
from cropdata.experiments.permutation import least_units
from cropdata.experiments.power import LEVEL
from cropdata.experiments.trial_records import MOST_SEEDS, counted
from cropdata.tabular.rows import harmless

SHEET = ("method", "unit", "round", "seed", "sown", "last_absent", "first_seen", "event", "score", "cause", "warmth_c")


class Design(NamedTuple):
    """A layout: rows of (round, place, unit, method), the sheet and the labels as texts."""

    layout: tuple[tuple[int, int, str, str], ...]
    sheet_csv: str
    layout_csv: str
    labels: str
    advice: tuple[str, ...]


def new_trial(
    methods: Sequence[str],
    *,
    seeds: int,
    units: int = 4,
    crop: str = "",
    place: str = "",
    event: str = "",
    seed: int | None = None,
) -> Design:
    """Lay out a trial in random places: every method once in each round where the units are enough
    to test within rounds, else freely.

    Args:
        methods: two or more names.
        seeds: seeds a method in all, shared among its units.
        units: trays or bags a method; the advice says when they are too few for any outcome to settle a pair.
        crop, place, event: written into the sheet and on the labels.
        seed: of the random layout; a fresh one when None.

    Raises InputError for fewer than two methods, names given twice, fewer seeds than units, or more seeds in all than
    `compare` reads.
    """
    names = [_one_line(name) for name in methods if name.strip()]
    crop, place, event = (_one_line(text) for text in (crop, place, event))
    if len(names) < 2 or len(set(names)) < len(names):
        raise InputError("a trial needs two methods or more, each named once", found=list(methods),
                         hint="--methods towel,tray,block")  # fmt: skip
    if units < 1 or seeds < units:
        raise InputError("each method needs a tray, and each tray a seed", found=(units, seeds), allowed="1 tray or more, as many seeds or more",
                         hint=f"found {units} trays and {seeds} seeds a method")  # fmt: skip
    if seeds * len(names) > MOST_SEEDS:
        raise InputError("so many seeds are too many for a trial", found=seeds * len(names), allowed=f"up to {MOST_SEEDS} in all",
                         hint=f"{len(names)} methods with {seeds} each are {seeds * len(names)}")  # fmt: skip
    if seed is not None and seed < 0:
        raise InputError("the number that fixes the random layout is 0 or more", found=seed, hint=f"found {seed}")
    short = _short_names(names)
    rng = np.random.default_rng(seed)
    level = LEVEL / (len(names) * (len(names) - 1) / 2)  # every pair is to be told apart, and pairs are corrected
    in_rounds = units >= least_units(level, in_rounds=True)
    order = [index for _ in range(units) for index in rng.permutation(len(names))]
    if not in_rounds:  # too few rounds to test within them: deal freely over all places
        order = list(rng.permutation(np.repeat(np.arange(len(names)), units)))
    layout: list[tuple[int, int, str, str]] = []
    sheet: list[tuple[str, str, str, str]] = []
    dealt = [0] * len(names)
    for place_number, index in enumerate(order):
        dealt[index] += 1
        turn = place_number // len(names) + 1 if in_rounds else 0
        unit = f"{short[index]}{dealt[index]}"
        layout.append((turn, place_number + 1, unit, names[index]))
        share = seeds // units + (1 if dealt[index] <= seeds % units else 0)
        sheet += [
            (names[index], unit, "" if turn == 0 else str(turn), f"{unit}-{number:02d}")
            for number in range(1, share + 1)
        ]
    header = f"# {crop or 'crop'}; {place or 'place'}; one row a seed; a look is a date (YYYY-MM-DD); same event for all methods\n"
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(SHEET)
    for method, unit, block, name in sheet:
        writer.writerow(
            [harmless(method), harmless(unit), block, harmless(name), "", "", "", harmless(event), "", "", ""]
        )
    where = io.StringIO()
    writer = csv.writer(where, lineterminator="\n")
    writer.writerow(("round", "place", "unit", "method"))
    writer.writerows([turn, spot, harmless(unit), harmless(method)] for turn, spot, unit, method in layout)
    labels = "\n".join(
        f"[ {unit}  {crop}  {method}  place {spot}  sown ____-__-__ ]" for _, spot, unit, method in layout
    )
    advice = [
        "Put the trays in the places of the layout; move whole rounds or none, never single trays.",
        "Look at all trays at the same times, and write the last day without and the first day with.",
        "Count the same event for all: the shoot through the mix, not a root here and a shoot there.",
        "A seedling that is moved keeps its seed number.",
    ]
    least = least_units(level, in_rounds=False)
    if units < least:
        advice.append(f"{counted(units, 'tray')} a method cannot settle a pair of {len(names)} methods: {least} can.")
    return Design(tuple(layout), header + stream.getvalue(), where.getvalue(), labels + "\n", tuple(advice))


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _short_names(names: Sequence[str]) -> list[str]:
    """A short mark for each method's trays: initials or the first letters, longer or numbered until all differ.

    No mark ends in a figure, since the tray's number follows: A1 with tray 1 would be A with tray 11.
    """
    found: list[str] = []
    for name in names:
        words = "".join(letter if letter.isalpha() else " " for letter in name).split() or ["M"]
        initials = "".join(word[0] for word in words).upper()[:3] if len(words) > 1 else words[0][:3].capitalize()
        whole = "".join(word.capitalize() for word in words)
        choices = [initials, *(whole[:length] for length in range(3, len(whole) + 1))]
        choices += [f"{initials}{letter}" for letter in string.ascii_lowercase]
        taken = {mark.casefold() for mark in found}
        found.append(next((mark for mark in choices if mark.casefold() not in taken), f"M{len(found)}_"))
    return found
