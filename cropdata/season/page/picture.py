"""The picture of the season: the chance of frost on top, under it on the same axis a row for each sowing.

Each row is a staircase of four steps (sow, seedlings, plant out, harvest), so that a bar is known by its place and its
pattern and not by colour alone. The names stand in a column of their own, which stays in sight on a narrow screen.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from cropdata.agronomy.windows import Window
from cropdata.season.page.markup import Reader, short, text
from cropdata.season.plan import FrostDay, Plan, PlannedSowing
from cropdata.season.words import MONTHS

NAMES, WIDTH = 170, 730
TOP, STRIP, GAP = 24, 70, 10  # months, chance of frost, and the room below it
ROW, STAIR, BAR = 34, 7, 6
ROWS = 12  # in one figure: so many that its axis is near, and that it fits what is left of a printed page
_DAY = datetime.timedelta(days=1)

LEGEND = (
    ("bar sow", "sow"),
    ("bar up", "seedlings expected"),
    ("bar out", "plant out"),
    ("bar pick", "harvest"),
    ("shelf", "on the bench"),
    ("spring", "chance of a later frost"),
    ("autumn", "chance that an autumn frost has come"),
)
_PATTERNS = """<svg class="patterns" width="0" height="0" aria-hidden="true" focusable="false"><defs>
<pattern id="p-up" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#fff"/><circle cx="2" cy="2" r="1.1" fill="#1d5b3a"/></pattern>
<pattern id="p-out" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="5" height="5" fill="#fff"/><rect width="3.2" height="5" fill="#a3431b"/></pattern>
<pattern id="p-pick" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#f0c64f"/><rect width="1.1" height="4" fill="#6a4c00"/></pattern>
<pattern id="p-spring" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="5" height="5" fill="#dfeaf3"/><rect width="0.9" height="5" fill="#6d9ac0"/></pattern>
<pattern id="p-autumn" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><rect width="5" height="5" fill="#dfeaf3"/><rect width="0.9" height="5" fill="#6d9ac0"/></pattern>
</defs></svg>"""


class _Axis(NamedTuple):
    first: datetime.date
    last: datetime.date  # its end still belongs to the axis

    def x(self, date: datetime.date) -> float:
        """Where a day begins."""
        return WIDTH * (date - self.first).days / ((self.last - self.first).days + 1)

    def months(self) -> Iterator[tuple[datetime.date, datetime.date]]:
        """First days of a month and of the next."""
        start = self.first
        while start <= self.last:
            following = (start.replace(day=28) + 4 * _DAY).replace(day=1)
            yield start, following
            start = following


def picture(plan: Plan, reader: Reader) -> str:
    """Legend and figures, as many as it takes; nothing without a single date."""
    axis = _axis(plan)
    if axis is None:
        return ""
    legend = "".join(
        f'<li><svg viewBox="0 0 26 14" width="26" height="14" aria-hidden="true" focusable="false">'
        f'<rect class="{kind}" x="1" y="2" width="24" height="10"/></svg>{words}</li>'
        for kind, words in LEGEND
    )
    if plan.seen:
        legend += f'<li><svg viewBox="0 0 26 14" width="26" height="14" aria-hidden="true" focusable="false">{_diamond(13, 7)}</svg>really done</li>'
    count = max(1, -(-len(plan.sowings) // ROWS))
    each = -(-len(plan.sowings) // count)  # as many in the last as in the others, or nearly
    figures = [plan.sowings[start : start + each] for start in range(0, count * each, each)] if each else [()]
    drawn = "\n".join(_figure(plan, rows, axis, reader, number) for number, rows in enumerate(figures, start=1))
    return f'{_PATTERNS}<ul class="legend">{legend}</ul>\n<p class="aside narrow">The picture scrolls sideways.</p>\n{drawn}'


def _axis(plan: Plan) -> _Axis | None:
    """Whole months from the first date of a sowing to the last, and about the frost dates."""
    dates = [date for line in plan.sowings for each in _windows(line) if each for date in each]
    dates += [step.first for line in plan.sowings for step in line.steps] + [each.date for each in plan.seen]
    dates += [step.last for line in plan.sowings for step in line.steps]
    if not dates:
        return None
    dates += [date for date in (plan.place.counted_from, plan.place.risk_date, plan.place.first_frost) if date]
    last = max(dates)
    return _Axis(min(dates).replace(day=1), (last.replace(day=28) + 4 * _DAY).replace(day=1) - _DAY)


def _windows(line: PlannedSowing) -> tuple[Window | None, ...]:
    return line.sow, line.seedlings, line.plant_out, line.harvest, line.shelf


def _figure(plan: Plan, rows: Sequence[PlannedSowing], axis: _Axis, reader: Reader, number: int) -> str:
    height = TOP + STRIP + GAP + ROW * len(rows)
    first = reader.numbers[rows[0].id] if rows else 0
    which = f"sowings {first} to {first + len(rows) - 1}" if len(plan.sowings) > ROWS else f"{len(rows)} sowings"
    title = (
        f"The season from {reader.words.day(axis.first)} to {reader.words.day(axis.last)}: chance of frost and {which}"
    )
    chart = [
        f'<svg class="chart" viewBox="0 0 {WIDTH} {height}" role="img" aria-labelledby="picture-{number} picture-{number}-more">',
        f'<title id="picture-{number}">{text(title)}</title>',
        f'<desc id="picture-{number}-more">{text(_told(plan, reader))}</desc>',
        *_grid(axis, len(rows), height),
        *_frost(plan, axis),
        *_guides(plan, axis, reader, height),
    ]
    names = [f'<svg class="names" viewBox="0 0 {NAMES} {height}" aria-hidden="true" focusable="false">', *_scale()]
    for place, line in enumerate(rows):
        top = TOP + STRIP + GAP + ROW * place
        names.append(_name(line, reader, top))
        chart += _bars(plan, line, axis, reader, top)
    return (
        '<div class="figure" role="group" tabindex="0" aria-label="Picture of the season, scrolls sideways on a narrow screen">'
        + "\n".join([*names, "</svg>", *chart, "</svg>"])
        + "</div>"
    )


def _told(plan: Plan, reader: Reader) -> str:
    """The picture in words; every date of it stands in the table."""
    words, place = reader.words, plan.place
    dates = [(0.5, place.last_frost), (place.risk, place.risk_date)]
    told = [f"{words.chance(chance)} on {words.day(date)}" for chance, date in dates if date is not None]
    said = (
        f"The chance of a later frost is {' and '.join(told)}." if told else "Less than half of the years have a frost."
    )
    if place.first_frost:
        said += f" In half the years an autumn frost has come by {words.day(place.first_frost)}."
    return (
        said
        + " Each sowing has a bar for sowing, seedlings, planting out and harvest; the table of sowings gives their dates."
    )


def _grid(axis: _Axis, rows: int, height: int) -> Iterator[str]:
    for place in range(0, rows, 2):
        yield f'<rect class="band" x="0" y="{TOP + STRIP + GAP + ROW * place}" width="{WIDTH}" height="{ROW}"/>'
    for start, following in axis.months():
        left, right = axis.x(start), axis.x(following)
        yield f'<line class="month" x1="{left:.1f}" y1="{TOP - 6}" x2="{left:.1f}" y2="{height}"/>'
        turn = start.month == 1 or start == axis.first
        year = f" {start.year}" if turn and axis.first.year != axis.last.year and right - left > 56 else ""
        yield f'<text class="month" x="{(left + right) / 2:.1f}" y="14">{MONTHS[start.month - 1]}{year}</text>'
    for share in (0, 0.5, 1):
        yield f'<line class="share" x1="0" y1="{_y(share):.1f}" x2="{WIDTH}" y2="{_y(share):.1f}"/>'


def _y(share: float) -> float:
    return TOP + STRIP * (1 - share)


def _frost(plan: Plan, axis: _Axis) -> Iterator[str]:
    shown = [each for each in plan.frost if axis.first <= each.date <= axis.last]
    yield from _area("spring", [(each, each.spring_left) for each in shown], axis)
    yield from _area("autumn", [(each, each.autumn_come) for each in shown], axis)


def _area(kind: str, days: Sequence[tuple[FrostDay, float | None]], axis: _Axis) -> Iterator[str]:
    """Area and line; where the chance is not known there is a gap."""
    run: list[tuple[float, float]] = []
    for day, share in [*days, (None, None)]:
        if day is not None and share is not None:
            run.append((axis.x(day.date), _y(share)))
            continue
        if len(run) > 1:
            line = " ".join(f"{x:.1f},{y:.1f}" for x, y in run)
            yield f'<polygon class="{kind}" points="{run[0][0]:.1f},{_y(0)} {line} {run[-1][0]:.1f},{_y(0)}"/>'
            yield f'<polyline class="frost" points="{line}"/>'
        run = []


def _guides(plan: Plan, axis: _Axis, reader: Reader, height: int) -> Iterator[str]:
    """Dates at the chances that the plan rests on, and the reader's day."""
    place, words = plan.place, reader.words
    start = (
        f"50 %: {words.day(place.last_frost)}" if place.last_frost else f"weeks from {words.day(place.counted_from)}"
    )
    marks = [(place.counted_from, start, 14, 1)]
    if place.risk != 0.5 and place.risk_date:
        marks.append((place.risk_date, f"{words.chance(place.risk)}: {words.day(place.risk_date)}", 31, 1))
    if place.first_frost:
        marks.append((place.first_frost, f"50 %: {words.day(place.first_frost)}", 14, -1))
    for date, said, down, side in marks:
        if axis.first <= date <= axis.last:
            x = axis.x(date)
            yield f'<line class="guide" x1="{x:.1f}" y1="{TOP}" x2="{x:.1f}" y2="{height}"/>'
            yield f'<text class="guide{" left" if side < 0 else ""}" x="{x + 4 * side:.1f}" y="{TOP + down}">{text(said)}</text>'
    if axis.first <= reader.today <= axis.last:
        x = axis.x(reader.today)
        yield f'<line class="today" x1="{x:.1f}" y1="{TOP + STRIP}" x2="{x:.1f}" y2="{height}"/>'
        yield f'<text class="today" x="{x + 3:.1f}" y="{TOP + STRIP + GAP}">{text(words.day(reader.today))}</text>'


def _scale() -> Iterator[str]:
    yield f'<text class="scale" x="0" y="{TOP + 10}">Chance of frost</text>'
    for share in (0, 0.5, 1):
        yield f'<text class="scale end" x="{NAMES - 6}" y="{_y(share) + 4:.1f}">{100 * share:.0f} %</text>'


def _name(line: PlannedSowing, reader: Reader, top: int) -> str:
    second = f"{line.variety_name}{line.turn}".removeprefix(",").strip()
    number = reader.numbers[line.id]
    return (
        f'<path class="tag" d="M2 {top + 6}h20v12q0 8 -10 10q-10 -2 -10 -10z"/><text class="number" x="12" y="{top + 20}">{number}</text>'
        f'<text class="crop" x="30" y="{top + (14 if second else 21)}">{text(short(line.kind_name, 19))}</text>'
        f'<text class="variety" x="30" y="{top + 28}">{text(short(second, 21))}</text>'
    )


def _bars(plan: Plan, line: PlannedSowing, axis: _Axis, reader: Reader, top: int) -> Iterator[str]:
    stairs = (
        ("sow", line.sow, "sow"),
        ("up", line.seedlings, "seedlings"),
        ("out", line.plant_out, "plant out"),
        ("pick", line.harvest, "harvest"),
    )
    if line.shelf:
        x, end = axis.x(line.shelf.first), axis.x(line.shelf.last + _DAY)
        yield f'<rect class="shelf" x="{x:.1f}" y="{top + 1}" width="{end - x:.1f}" height="{ROW - 2}"/>'
    for stair, (kind, window, said) in enumerate(stairs):
        if window:
            x, end = axis.x(window.first), axis.x(window.last + _DAY)
            hint = f"{line.name}: {said} {reader.words.span(*window)}"
            yield (
                f'<rect class="bar {kind}" x="{x:.1f}" y="{top + 3.5 + STAIR * stair}" width="{max(end - x, 2.5):.1f}" height="{BAR}">'
                f"<title>{text(hint)}</title></rect>"
            )
    if not any(window for _, window, _ in stairs):
        yield f'<text class="none" x="8" y="{top + 21}">no date can be reckoned</text>'
    for seen in plan.seen:
        if seen.sowing == line.id:
            yield _diamond((axis.x(seen.date) + axis.x(seen.date + _DAY)) / 2, top + 6.5)


def _diamond(x: float, y: float) -> str:
    return f'<path class="seen" d="M{x:.1f} {y - 5.5}l5 5.5l-5 5.5l-5 -5.5z"/>'
