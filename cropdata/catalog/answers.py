"""From the evidence rows of one crop to its answers: consensus per figure, what is not done, what is reckoned."""

from __future__ import annotations

from cropdata.catalog.consensus import BASIS_RANK, Joined, Printed, join
from cropdata.catalog.records import Range

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from cropdata.tabular.descriptor import Descriptor, Trait
    from cropdata.tabular.rows import Row

    Rows = Mapping[str, Iterable[Row]]
    Key = tuple[str, str]

RELEASE = "release"
RECKONED = "weeks_before_last_frost"
UNDER_COVER = (RECKONED, "weeks_to_raise", "planting_out_weeks")


class Answers:
    """What is concluded for one crop: ranges by (trait, quantity), and the traits that are not done."""

    __slots__ = ("not_applicable", "ranges")

    def __init__(self, ranges: dict[Key, Range], not_applicable: dict[str, Range]) -> None:
        self.ranges = ranges
        self.not_applicable = not_applicable


def _number(text: str | None) -> float | None:
    return float(text) if text else None


def _printed(row: Row, columns: tuple[str, ...], lineage_of: Callable[[str], str]) -> Printed:
    low, high = _number(row.get(columns[0])), _number(row.get(columns[1]))
    if len(columns) == 3 and low is None and high is None:
        low = high = _number(row.get(columns[2]))
    layer = row.get("layer", RELEASE)
    source = row["source_id"]
    # A figure of a layer is a statement of its own, even where it names a source of the release.
    lineage = lineage_of(source) if layer == RELEASE else f"{layer}/{source}"
    return Printed(low, high, row["basis"], source, lineage, layer)


def printed_rows(rows: list[Row], columns: tuple[str, ...], lineage_of: Callable[[str], str]) -> list[Printed]:
    """The figures of `rows` in the canonical `columns` of one quantity; a best point counts only where no range is printed."""
    printed = [_printed(row, columns, lineage_of) for row in rows]
    if len(columns) == 3:
        # A best point and a best range are different statements: points count only where no range is printed.
        best = min(
            (BASIS_RANK[item.basis] for item in printed if item.low is not None or item.high is not None),
            default=0,
        )
        ranges = [
            item
            for row, item in zip(rows, printed, strict=True)
            if BASIS_RANK[item.basis] == best and (row.get(columns[0]) or row.get(columns[1]))
        ]
        return ranges or printed
    return printed


def layers_behind(rows: Iterable[Row]) -> tuple[str, tuple[str, ...]]:
    """The topmost layer among `rows` ("release" where none is of a layer), and the layers' rows by name."""
    mine = [row for row in rows if row.get("layer")]
    return mine[-1]["layer"] if mine else RELEASE, tuple(f"{row['layer']}: {row['at']}" for row in mine)


def _layer_rows(rows: Iterable[Row], joined: Joined, columns: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The layers' rows among `rows` that the answer rests on."""
    used = [row for row in rows if row["basis"] == joined.basis and (not columns or any(map(row.get, columns)))]
    return layers_behind(used)[1]


def _range(joined: Joined, unit: str, order: Mapping[str, int], layer_rows: tuple[str, ...] = ()) -> Range:
    layer = max(joined.layers, key=lambda name: order.get(name, 0))
    return Range(
        joined.low, joined.high, unit,
        sources=joined.sources, agreement=joined.agreement, basis=joined.basis, lineages=joined.lineages,
        envelope_low=joined.envelope_low, envelope_high=joined.envelope_high,
        open_low=joined.open_low, open_high=joined.open_high, layer=layer, layer_rows=layer_rows,
    )  # fmt: skip


def _reckoned(raise_weeks: Range, offset: Range) -> Range:
    """Weeks before the last frost from weeks to raise and planting-out weeks: raise minus offset, widest ends."""
    weakest = max((part.basis for part in (raise_weeks, offset)), key=lambda basis: BASIS_RANK.get(basis, 0))
    return Range(
        raise_weeks.low - offset.high, raise_weeks.high - offset.low, "weeks",
        sources=tuple(sorted({*raise_weeks.sources, *offset.sources})),
        agreement=min((raise_weeks.agreement, offset.agreement), key=("disagree", "partly", "single source", "agree").index),
        basis="derived" if weakest == "published" else weakest,
        lineages=min(raise_weeks.lineages, offset.lineages),
        envelope_low=raise_weeks.envelope_low - offset.envelope_high,
        envelope_high=raise_weeks.envelope_high - offset.envelope_low,
        open_low=raise_weeks.open_low or offset.open_high, open_high=raise_weeks.open_high or offset.open_low,
        layer=next((part.layer for part in (raise_weeks, offset) if part.layer != RELEASE), RELEASE),
        layer_rows=(*raise_weeks.layer_rows, *offset.layer_rows),
        derived_from=("weeks_to_raise", "planting_out_weeks"),
    )  # fmt: skip


def _inherited(parent: Range, crop_id: str) -> Range:
    values = parent.as_dict()
    values["inherited_from"] = parent.inherited_from or crop_id
    return Range(**values)


def _not_done(rows: list[Row], lineage_of: Callable[[str], str], order: Mapping[str, int]) -> Range | None:
    """Who says that a practice is not done, in the form of a Range without meaning in its numbers."""
    joined = join(
        Printed(0.0, 0.0, row["basis"], row["source_id"], lineage_of(row["source_id"]), row.get("layer", RELEASE))
        for row in rows
    )
    return _range(joined, "", order, _layer_rows(rows, joined)) if joined is not None else None


def answers_for(
    descriptor: Descriptor,
    rows: Rows,
    lineage_of: Callable[[str], str],
    *,
    parent: Answers | None = None,
    parent_id: str = "",
    layer_order: Mapping[str, int] | None = None,
) -> Answers:
    """Conclude for one crop.

    Args:
        descriptor: the package's descriptor (which traits there are, which columns hold them).
        rows: evidence rows by table, canonical columns filled, set-aside rows left out.
        lineage_of: source id -> lineage.
        parent, parent_id: the parent's answers, from which inheritable traits are taken where the crop has none.
        layer_order: layer name -> height in the stack; the release is 0.
    """
    order = layer_order or {}
    ranges: dict[Key, Range] = {}
    for trait in descriptor.traits.values():
        own = list(rows.get(trait.name, ()))
        for quantity, columns in trait.quantities.items():
            joined = join(printed_rows(own, columns, lineage_of))
            if joined is not None:
                used = _layer_rows(own, joined, columns)
                ranges[trait.name, quantity] = _range(joined, trait.unit, order, used)

    not_applicable = _leave_out(descriptor, ranges, list(rows.get("not_applicable", ())), lineage_of, order)
    if parent is not None:
        _inherit(
            {name: trait for name, trait in descriptor.traits.items() if name != RECKONED},
            ranges,
            not_applicable,
            parent,
            parent_id,
        )
    _reckon(ranges, not_applicable)
    if parent is not None and RECKONED in descriptor.traits:
        _inherit({RECKONED: descriptor.traits[RECKONED]}, ranges, not_applicable, parent, parent_id)
    return Answers(ranges, not_applicable)


def _leave_out(
    descriptor: Descriptor,
    ranges: dict[Key, Range],
    rows: list[Row],
    lineage_of: Callable[[str], str],
    order: Mapping[str, int],
) -> dict[str, Range]:
    """Traits that are not done. A figure for the same practice outweighs the saying where its kind of statement is
    better; or the same, and it comes from a layer above the saying's; or from as high, and as many lineages print it.
    """
    result: dict[str, Range] = {}
    excludes = descriptor.tables["not_applicable"].excludes if "not_applicable" in descriptor.tables else {}
    for practice, traits in excludes.items():
        saying = _not_done([row for row in rows if row["practice"] == practice], lineage_of, order)
        if saying is None:
            continue
        figures = [ranges[trait, ""] for trait in traits if (trait, "") in ranges]
        if any(_weight(figure, order) <= _weight(saying, order) for figure in figures):
            continue
        for trait in traits:
            ranges.pop((trait, ""), None)
            result[trait] = saying
    return result


def _weight(answer: Range, order: Mapping[str, int]) -> tuple[int, int, int]:
    """What is heard first comes lowest: the better kind of statement, the upper layer, the more lineages."""
    return BASIS_RANK[answer.basis], -order.get(answer.layer, 0), -answer.lineages


def _reckon(ranges: dict[Key, Range], not_applicable: Mapping[str, Range]) -> None:
    """Fill weeks before the last frost from its two parts, where these are better founded than a print of it."""
    before, weeks, offset = ((name, "") for name in UNDER_COVER)
    if before[0] in not_applicable or weeks not in ranges or offset not in ranges:
        return
    if ranges[weeks].inherited_from and ranges[offset].inherited_from:
        return  # both are the parent's, and so is the answer: printed or reckoned there
    derived = _reckoned(ranges[weeks], ranges[offset])
    printed = ranges.get(before)
    if printed is None or BASIS_RANK.get(derived.basis, 0) < BASIS_RANK[printed.basis]:
        ranges[before] = derived


def _inherit(
    traits: Mapping[str, Trait],
    ranges: dict[Key, Range],
    not_applicable: dict[str, Range],
    parent: Answers,
    parent_id: str,
) -> None:
    """Take from the parent what the crop does not have, or has only from a worse kind of statement.

    A crop that says itself whether it is raised under cover does not take the contrary from its parent.
    """
    raised_itself = any(trait in UNDER_COVER for trait, _ in ranges)
    for name, trait in traits.items():
        if not trait.inherit or name in not_applicable:
            continue
        own = [value for (of, _), value in ranges.items() if of == name]
        theirs = {key: value for key, value in parent.ranges.items() if key[0] == name}
        if theirs and (not own or _standing(own) > _standing(theirs.values())):
            for key in [key for key in ranges if key[0] == name]:
                del ranges[key]
        if theirs:  # what the crop does not say itself, such as the lowest of its temperatures
            ranges.update({key: _inherited(value, parent_id) for key, value in theirs.items() if key not in ranges})
        elif name in parent.not_applicable and not own and not (name in UNDER_COVER and raised_itself):
            not_applicable[name] = _inherited(parent.not_applicable[name], parent_id)


def _standing(values: Iterable[Range]) -> int:
    return min(BASIS_RANK.get(value.basis, 0) for value in values)
