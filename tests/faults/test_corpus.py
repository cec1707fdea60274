"""Every seeded fault is found by its rule in its cell, nothing clean is suspected, and no rule could be left out."""

from __future__ import annotations

import functools
import shutil
import tempfile
from pathlib import Path

import pytest
from clean import LAYERS, RELEASE, cut, plain_layer, seal
from corpus import CORPUS, EVIDENCE, REFERENCE, Fault

import cropdata
from cropdata.validation import Report
from cropdata.validation.rules import RULES

pytestmark = pytest.mark.faults

# Rules about sheer size; their tests stand in tests/validation/test_hostile.py and test_check.py.
OF_SIZE = {"file-large", "file-stopped", "rows-not-compared"}
# There is no date column in the release; tests/validation/test_rules.py checks these in a package that has one.
OF_DATES = {"cell-date-order", "slip-day-month"}
# Only beside the shipped release; tests/validation/test_rules.py.
OF_RELEASES = {"id-vanished", "evidence-for-retired"}


@functools.cache
def _clean() -> dict[str, Path]:
    place = Path(tempfile.mkdtemp(prefix="cropdata-faults-"))
    return {"package": cut(place / "cut"), "layer": plain_layer(place / "plain")}


@pytest.fixture(scope="module", autouse=True)
def _tidy() -> object:
    yield
    shutil.rmtree(_clean()["package"].parent)
    _clean.cache_clear()


@functools.cache
def _found(name: str) -> tuple[tuple[str, int | None, str | None], Report]:
    fault = next(fault for fault in CORPUS if fault.name == name)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / fault.subject
        shutil.copytree(_clean()[fault.subject], folder)
        where = fault.operator(folder)
        if fault.subject == "package" and fault.table != "descriptor":
            seal(folder)
        return where, cropdata.check(folder, standard=False)


@pytest.mark.parametrize("fault", CORPUS, ids=[fault.name for fault in CORPUS])
def test_a_seeded_fault_is_found_where_it_is(fault: Fault) -> None:
    (file, row, column), report = _found(fault.name)
    found = [
        item
        for item in report.findings
        if (item.rule, item.file) == (fault.rule, file) and row in (None, item.row) and column in (None, item.column)
    ]
    assert found, report.text(None)
    if not fault.wide:  # a fault in one place is told in that place only
        elsewhere = [item for item in report.findings if (item.file, item.row) != (file, found[0].row)]
        assert not elsewhere, report.text(None)


def test_the_corpus_is_as_wide_as_promised() -> None:
    assert len(CORPUS) >= 120 and len({fault.kind for fault in CORPUS}) >= 40
    assert len({fault.name + fault.rule for fault in CORPUS}) == len(CORPUS)
    assert {fault.table for fault in CORPUS} >= {*EVIDENCE, *REFERENCE}
    assert sum(fault.subject == "layer" for fault in CORPUS) >= 25


def test_each_rule_is_needed() -> None:
    """Switched off, its findings left out, some fault of the corpus would not be found where it is."""
    alone = set()
    for fault in CORPUS:
        (file, row, column), report = _found(fault.name)
        there = {
            item.rule
            for item in report.findings
            if item.file == file and row in (None, item.row) and column in (None, item.column)
        }
        if len(there) == 1:
            alone |= there
    assert set(RULES) - alone - OF_SIZE - OF_DATES - OF_RELEASES == set()


def test_every_finding_bears_a_rule_of_the_register_and_its_severity() -> None:
    for fault in CORPUS:
        for item in _found(fault.name)[1].findings:
            assert item.rule in RULES, item
            assert item.severity in RULES[item.rule].severity, item


def test_every_error_says_how_to_mend_it_or_what_is_allowed() -> None:
    for fault in CORPUS:
        for item in _found(fault.name)[1].findings:
            assert item.hint or item.allowed or item.rule in ("descriptor", "layer-does-not-fit", "layer-settings"), (
                item
            )


def test_nothing_clean_is_suspected(tmp_path: Path) -> None:
    assert cropdata.check(RELEASE).findings == ()
    assert cropdata.check(cut(tmp_path / "cut")).findings == ()


@pytest.mark.parametrize("name", LAYERS)
def test_no_clean_layer_is_suspected(name: str, tmp_path: Path) -> None:
    report = cropdata.check(LAYERS[name](tmp_path / name))
    assert report.ok and not [item for item in report.findings if item.severity != "excused"], report.text()
    assert cropdata.open(layers=[tmp_path / name])
