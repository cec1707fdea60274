"""Labels to cut: crop, variety, sowing date, method, depth and warmth, one a tray, on sheets that fit both A4 and Letter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cropdata.season.page.markup import Reader, section, short, text
from cropdata.season.plan import Plan, PlannedSowing
from cropdata.season.words import METHOD_WORDS, NOTHING

# Within 12 mm margins A4 leaves 186 by 273 mm, Letter 192 by 255: three by seven labels and a heading fit both.
ACROSS, DOWN = 3, 7
WIDE_MM, HIGH_MM = 60, 32
ONE_LINE = 20, 25  # letters of crop and of variety on one line
MOST = ACROSS * DOWN  # labels of one sowing: a sheet of them


def labels(plan: Plan, reader: Reader) -> str:
    """Sheets of labels in the order of the plan."""
    made = [label for line in plan.sowings for label in _of(plan, line, reader)]
    size = ACROSS * DOWN
    sheets = "\n".join(_sheet(made[start : start + size]) for start in range(0, len(made), size))
    many = [line.name for line in plan.sowings if (line.trays or 0) > MOST]
    aside = f"One for each tray, else for each sowing; cut at the marks ({WIDE_MM} by {HIGH_MM} mm when printed at full size)."
    if many:
        aside += f" More than {MOST} trays: print the sheet again for {text(', '.join(many))}."
    return section("labels", "Labels to cut", sheets, aside=aside)


def _of(plan: Plan, line: PlannedSowing, reader: Reader) -> Iterator[str]:
    """A label says when it was really sown, where that is recorded, else the first day of the window."""
    sown = next((seen.date for seen in plan.lasting()[line.id] if seen.event == "sow"), None)
    date = sown or (line.sow.first if line.sow else None)
    # Always with its year: a label outlives its season.
    day = (
        ""
        if date is None
        else f'<span class="date">{"sown" if sown else "sow"} <b>{reader.words._replace(year=0).day(date)}</b></span>'
    )
    write = "" if sown else '<span class="done">sown on <span class="rule"></span></span>'
    method = METHOD_WORDS.get(line.method or "", line.method or line.where)
    turn = f"sowing {line.number} of {line.of}" if line.of > 1 else ""
    # Where the names leave room for it.
    room = len(line.kind_name) <= ONE_LINE[0] and len(line.variety_name) <= ONE_LINE[1]
    told = (reader.words.depth(line.depth_mm), reader.words.warmth(line.best_c)) if room else ()
    how_it_grows = ", ".join(part for part in told if part != NOTHING)
    if how_it_grows:
        how_it_grows = f'<span class="how">{text(how_it_grows)}</span>'
    count = min(max(line.trays or 1, 1), MOST)
    crop, variety = (
        f'<span class="{kind}{" long" if len(said) > one_line else ""}">{text(short(said, two_lines))}</span>'
        for kind, said, one_line, two_lines in (
            ("crop", line.kind_name, 20, 44),
            ("variety", line.variety_name, 25, 52),
        )
    )
    for number in range(1, count + 1):
        tray = f"tray {number} of {line.trays}" if (line.trays or 1) > 1 else ""
        parts = ("" if tray and method == "tray" else method, turn, tray)
        how = text(", ".join(part for part in parts if part))
        yield (
            f'<li class="cut"><span class="tag">{reader.numbers[line.id]}</span>{crop}{variety}'
            f'{day}<span class="how">{how}</span>{how_it_grows}{write}</li>'
        )


def _sheet(made: Sequence[str]) -> str:
    rows = -(-len(made) // ACROSS)
    wide, high = WIDE_MM * ACROSS, HIGH_MM * rows
    marks = "".join(
        f'<path d="M{WIDE_MM * column - 2} {HIGH_MM * row}h4m-2 -2v4"/>'
        for column in range(ACROSS + 1)
        for row in range(rows + 1)
    )
    return (
        f'<div class="sheet"><svg class="marks" viewBox="-2 -2 {wide + 4} {high + 4}" style="width:{wide + 4}mm;height:{high + 4}mm" '
        f'aria-hidden="true" focusable="false">{marks}</svg>\n<ul>\n' + "\n".join(made) + "\n</ul></div>"
    )
