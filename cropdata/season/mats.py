"""One warmth for the batches that stand on a heat mat at one time, where there is one that suits them all."""

from __future__ import annotations

from collections.abc import Mapping

from cropdata.agronomy.windows import Window
from cropdata.season.crop_part import CropPart
from cropdata.season.site import Date


class _Mat:
    """Crops whose times on the mat follow on one another, the warmths that suit them all, and the last day."""

    def __init__(self, part: CropPart, best: tuple[float, float], last: Date) -> None:
        self.parts, self.best, self.last = [part], best, last

    def takes(self, part: CropPart, best: tuple[float, float], first: Date, last: Date) -> bool:
        """Whether it stands there at the same time and does well at the same warmth; then it is on this mat."""
        low, high = max(self.best[0], best[0]), min(self.best[1], best[1])
        if first > self.last or low > high:
            return False
        self.parts.append(part)
        self.best, self.last = (low, high), max(self.last, last)
        return True


def set_mats(standing: Mapping[CropPart, Window]) -> None:
    """Set the warmth of all crops on mats; `standing`: from the first day on which each is sown to the last.

    In the order of their sowing each joins the first mat on which a warmth is left that is best for all, the middle of
    their common range. Mats are not counted here: more of them than there are is a conflict.
    """
    mats: list[_Mat] = []
    for part, sow in sorted(standing.items(), key=lambda each: (each[1], each[0].crop.id, each[0].autumn)):
        if part.site.place.mat_c is not None:
            part.set_mat(part.site.place.mat_c, shared=False)
            continue
        assert part.best is not None
        up = part.seedlings(sow)  # at the middle of its own range
        last = up.last if up is not None else sow.last
        if not any(mat.takes(part, part.best, sow.first, last) for mat in mats):
            mats.append(_Mat(part, part.best, last))
    for mat in mats:
        for part in mat.parts:
            part.set_mat(sum(mat.best) / 2, shared=len(mat.parts) > 1)
