"""The picture of a trial: cumulative emergence in steps, told apart by line and mark as well as by colour."""

from __future__ import annotations

import os

import numpy as np

from cropdata.errors import InputError, MissingExtraError
from cropdata.experiments.results import Comparison
from cropdata.experiments.waiting import bands

# Okabe and Ito's colours for the colour-blind; lines and marks differ too, for print without colour.
_STYLES = (
    ("#0072B2", "-", "o"),
    ("#D55E00", "--", "s"),
    ("#009E73", "-.", "^"),
    ("#CC79A7", ":", "D"),
    ("#000000", "-", "x"),
    ("#E69F00", "--", "v"),
)


def draw(result: Comparison, path: str | os.PathLike[str], *, title: str = "Share emerged by day") -> None:
    """Write a PNG or SVG, by the ending; shaded: bands of nine in ten, where eight or more came, by drawing trays
    (or seeds of a single tray) again.

    Raises MissingExtraError without matplotlib, InputError for another ending.
    """
    file = os.fspath(path)
    if not file.endswith((".png", ".svg")):
        raise InputError("a picture is written as PNG or SVG", found=file, allowed="a name that ends in .png or .svg")
    try:
        import matplotlib

        matplotlib.use("Agg")
        from matplotlib import pyplot
    except ImportError as error:
        raise MissingExtraError("a picture", "pictures") from error
    figure, axes = pyplot.subplots(figsize=(7, 4.2))
    ends = [item.curve.right[np.isfinite(item.curve.right)] for item in result.methods]
    last = max((float(end.max()) for end in ends if end.size), default=1.0) * 1.08
    grid = np.arange(0.0, last + 1.0)
    for item, (colour, line, mark) in zip(result.methods, _STYLES * 3, strict=False):
        known = np.isfinite(item.curve.right)
        days = np.concatenate([[0.0], item.curve.right[known], [last]])
        share = np.concatenate([[0.0], np.cumsum(item.curve.mass[known]), [item.curve.mass[known].sum()]])
        axes.step(
            days,
            100 * share,
            where="post",
            color=colour,
            linestyle=line,
            label=f"{item.method} ({item.emerged} of {item.sown})",
        )
        band = bands(item.left, item.right, grid, trays=item.trays)
        if band is not None:
            axes.fill_between(grid, 100 * band[0], 100 * band[1], step="post", color=colour, alpha=0.12, linewidth=0)
        axes.plot(days[1:-1], 100 * share[1:-1], mark, color=colour, markersize=4)
    axes.set(xlabel="days from sowing", ylabel="share emerged, % of sown", title=title, xlim=(0, last), ylim=(0, 102))
    axes.legend(frameon=False, loc="upper left")
    axes.spines[["top", "right"]].set_visible(False)
    figure.tight_layout()
    figure.savefig(file, dpi=150)
    pyplot.close(figure)
