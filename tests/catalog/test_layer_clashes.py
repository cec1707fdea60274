"""Where layers clash, or the release has moved under one: what is said. Growers and figures are invented."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

import cropdata
from cropdata.release.building import build_package, write_package

Write = Callable[..., Path]
LIFE = "crop_id,low,high,unit,action\n"


def _refused(*layers: Path) -> str:
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(layers=layers)
    return str(caught.value)


def test_a_later_layer_wins_where_both_override(write_layer: Write) -> None:
    one = write_layer("First", seed_longevity=LIFE + "onion,2,2,years,override\n")
    two = write_layer("Second", seed_longevity=LIFE + "onion,7,7,years,override\n")
    life = cropdata.open(layers=[one, two]).crop("onion").seed_longevity
    assert life and life.low == 7 and life.layer_rows == ("second: seed_longevity.csv row 2",)


def test_an_override_that_expects_the_release_is_told_of_the_layer_between(write_layer: Write) -> None:
    before = cropdata.open().crop("onion").seed_longevity
    assert before
    one = write_layer("First", seed_longevity=LIFE + "onion,9,9,years,override\n")
    two = write_layer(
        "Second",
        seed_longevity=f"crop_id,low,high,unit,action,expects_high\nonion,7,7,years,override,{before.high:g}\n",
    )
    assert cropdata.open(layers=[two])
    said = _refused(one, two)
    assert f"meant to replace {before.high:g} years, but layer first below says 9 years" in said
    assert "cropdata why onion seed_longevity" in said and "write expects_high 9 to keep your own" in said


def test_a_release_that_moved_tells_old_new_and_how_to_mend(write_layer: Write, package: Path) -> None:
    """A later edition is made of this one: all rows on the life of leek seed give way to one of nine years."""
    before = cropdata.open().crop("leek").seed_longevity
    assert before and before.low != 9
    head = "crop_id,low,high,unit,action,expects_low\n"
    layer = write_layer(seed_longevity=f"{head}leek,5,5,years,override,{before.low:g}\n")
    assert cropdata.open(package, layers=[layer])
    path = package / "evidence" / "seed_longevity.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    cells = dict.fromkeys(lines[0].split(","), "") | {
        "row_id": "leek.csu_7221.01", "crop_id": "leek", "source_id": "csu_7221", "locator": "invented", "basis": "published",
        "printed": "9 years", "low": "9", "high": "9", "unit": "years", "meaning": "unstated",
    }  # fmt: skip
    kept = [line for line in lines if not line.startswith("leek.")]
    path.write_text("\n".join([*kept, ",".join(cells.values())]) + "\n", encoding="utf-8")
    write_package(str(package), build_package(str(package)))
    with pytest.raises(cropdata.LayerError) as caught:
        cropdata.open(package, layers=[layer])
    said = str(caught.value)
    assert f"row 2, expects_low: meant to replace {before.low:g} years, but the release below says 9 years; look at the new figure" in said  # fmt: skip
    assert "write expects_low 9 to keep your own, or delete the row to take the new one" in said


def test_a_row_named_by_its_id_expects_that_rows_figures(write_layer: Write) -> None:
    row = next(row for row in cropdata.open().crop("onion").evidence("seed_longevity") if isinstance(row["low"], float))
    head = "crop_id,row_id,low,high,unit,action,expects_low\n"
    fits = write_layer(
        "Fits", seed_longevity=f"{head}onion,{row['row_id']},2,3,{row['unit']},override,{row['low']:g}\n"
    )
    assert cropdata.open(layers=[fits])
    moved = write_layer("Moved", seed_longevity=f"{head}onion,{row['row_id']},2,3,{row['unit']},override,77\n")
    assert f"row {row['row_id']} of the release says {row['low']:g}" in _refused(moved)


def test_expected_temperatures_are_the_lowest_and_the_highest(write_layer: Write) -> None:
    known = cropdata.open().crop("onion").germination_temperature
    assert known and known.maximum is not None
    head = "crop_id,minimum,maximum,unit,action,expects_high\nonion,3,30,{unit},override,{expected}\n"
    fahrenheit = known.maximum * 1.8 + 32
    assert cropdata.open(layers=[write_layer("F", germination_temperature=head.format(unit="F", expected=f"{fahrenheit:.1f}").replace(",3,30,", ",37,86,"))])  # fmt: skip
    assert "meant to replace 50 C" in _refused(
        write_layer("C", germination_temperature=head.format(unit="C", expected="50"))
    )


def test_a_table_without_one_answer_asks_for_the_row(write_layer: Write) -> None:
    head = "crop_id,low,high,unit,counted_from,action,expects_low\ntomato,70,80,days,planting,override,60\n"
    assert "name the row that is replaced by its row_id" in _refused(write_layer(days_to_maturity=head))


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("containers", "container_id,price_low,action,expects_low\ntray-128,3,override,2\n"),
        ("media", "recipe_id,note,action,expects_high\nblock-mix,mine,override,2\n"),
        ("sources", "source_id,title,action,expects_low\nknott2_1980,Mine,override,2\n"),
        ("crops", "crop_id,name,action,expects_low\nonion,Mine,override,2\n"),
        ("crop_names", "crop_id,name,action,expects_low\nonion,Mine,override,2\n"),
    ],
)
def test_an_old_value_is_expected_of_evidence_alone(write_layer: Write, table: str, row: str) -> None:
    layer = write_layer(**{table: row})
    said = _refused(layer)
    assert f"{table}.csv, row 2, expects_" in said and "leave the cell empty" in said
    assert cropdata.check(layer).errors


@pytest.mark.parametrize("edition", ["'" + "9" * 5000 + "'", "1.2." + "9" * 5000, "9999999", "'١.٢'"])
def test_an_edition_of_thousands_of_digits_is_none(write_layer: Write, edition: str) -> None:
    said = _refused(write_layer(settings=f"made_for: {edition}\n"))
    assert "layer.yaml" in said and len(said) < 500


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("onion,,,,hide\n", "onion,,,,hide\n", "nothing to hide for onion: layer first (seed_longevity.csv row 2) has hidden it already"),
        ("onion,,,,hide\n", "onion,2,3,years,override\n", "nothing to override for onion: layer first (seed_longevity.csv row 2) has hidden it already"),
        ("", "onion,2,3,years,override\nonion,4,5,years,override\n", "seed_longevity.csv row 2 has overridden it already; one row overrides, further ones of yours add"),
        ("", "tomato-mine,2,3,years,override\n", "nothing to override for tomato-mine: it has no row of its own there; to state a figure use action add"),
    ],
)  # fmt: skip
def test_who_was_there_first_is_said(write_layer: Write, first: str, second: str, said: str) -> None:
    one = write_layer(
        "First", seed_longevity=LIFE + first, crops="crop_id,name,parent_id\ntomato-mine,Mine (invented),tomato\n"
    )
    assert said in _refused(one, write_layer("Second", seed_longevity=LIFE + second))


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("mine,Mine,tomato,\n", "mine,Mine too,tomato,\n", "crop 'mine' exists already; give one of the two another crop_id (it stands in layer first (crops.csv row 2))"),
        ("mine,Mine,tomato,\nmine,Mine,tomato,\n", "", "crops.csv, row 3: crop 'mine' exists already"),
        ("", "mine,Mine,,hide\n", "no crop 'mine' to hide in the release or the layers below"),
        ("leek,,,hide\n", "mine,Mine,leek,\n", "parent_id: crop 'leek' is hidden by layer first (crops.csv row 2)"),
        ("lettuce,,,hide\n", "", "lettuce cannot be hidden: lettuce-butterhead is a type of it"),
        ("", "mine,Mine,courgette,\n", "courgette is squash-zucchini here: write that id"),
        ("", "mine,Mine,tomatto,\n", "did you mean tomato"),
        ("one,One,two,\ntwo,Two,one,\n", "", "one is a type of two is a type of one: the ring has no end"),
        ("mine,Mine,,\n", "", "mine has no parent_id, and scientific_name, family, group missing"),
    ],
)  # fmt: skip
def test_crops_that_clash(write_layer: Write, first: str, second: str, said: str) -> None:
    head = "crop_id,name,parent_id,action\n"
    assert said in _refused(write_layer("First", crops=head + first), write_layer("Second", crops=head + second))


def test_a_variety_of_another_species_is_refused(write_layer: Write) -> None:
    layer = write_layer(
        crops="crop_id,name,parent_id,scientific_name\nscarlet,Scarlet (invented),bean,Phaseolus coccineus\n"
    )
    assert "Phaseolus coccineus cannot inherit from bean, Phaseolus vulgaris" in _refused(layer)


def test_one_name_of_two_crops_is_asked_about_and_can_be_settled(write_layer: Write) -> None:
    """Packets of two kinds may carry one name: both are kept, and asking by that name tells them."""
    crops = (
        "crop_id,name,parent_id\nbeet-early,Early Wonder (invented),beet\npepper-early,Early Wonder (invented),pepper\n"
    )
    one = write_layer("First", crops=crops)
    with pytest.raises(cropdata.AmbiguousCropError) as caught:
        cropdata.open(layers=[one]).crop("early wonder (invented)")
    assert caught.value.suggestions == ("beet-early", "pepper-early")
    findings = cropdata.check(one).findings
    assert {(item.rule, item.row) for item in findings} == {("name-two-crops", 2), ("name-two-crops", 3)}
    two = write_layer(
        "Second", crop_names="name,crop_id,action\nlove apple,beet-early,add\nlove apple,pepper-early,override\n"
    )
    db = cropdata.open(layers=[one, two])
    assert db.crop("Love Apple").id == "pepper-early"
    hidden = write_layer("Third", crop_names="name,crop_id,action\nlove apple,pepper-early,hide\n")
    assert "love apple" not in cropdata.open(layers=[one, two, hidden])
    nothing = write_layer("Fourth", crop_names="name,crop_id,action\nlove apple,leek,hide\n")
    assert "'love apple' is no name of leek" in _refused(nothing)


def test_a_caution_is_never_taken_away(write_layer: Write) -> None:
    head = "crop_id,kind,hazard,action\n"
    for action in ("hide", "override"):
        said = _refused(write_layer(action, cautions=f"{head}potato,toxic,none,{action}\n"))
        assert "Cautions only ever add up; none is taken away" in said
    added = write_layer("Added", cautions=head + "tomato,skin,an invented rash,\n")
    before = len(cropdata.open().crop("tomato").cautions)
    assert len(cropdata.open(layers=[added]).crop("tomato").cautions) == before + 1


def test_the_edition_a_layer_was_made_for(write_layer: Write) -> None:
    version = cropdata.open().version
    major, minor, _ = (int(part) for part in version.split("."))
    same = cropdata.open(layers=[write_layer("Same", settings=f"made_for: {version}\n")])
    assert same.notes == ()
    assert cropdata.open(layers=[write_layer("Short", settings=f"made_for: {major}\n")]).notes == ()
    later = write_layer("Later", settings=f"made_for: {major}.{minor + 1}.0\n")
    (note,) = cropdata.open(layers=[later]).notes
    assert f"made for edition {major}.{minor + 1}.0 of the data, later than this {version}" in note
    assert [item.rule for item in cropdata.check(later).findings] == ["layer-made-for-later"]
    newer = write_layer("Newer", settings=f"made_for: {major + 1}.0.0\n")
    assert "it may count on crops and columns that are not there yet: update cropdata" in _refused(newer)
    older = write_layer("Older", settings=f"made_for: {major - 1}.9.0\n")
    assert f"look through the layer, then write made_for: {version}" in _refused(older)
    assert "allowed: an edition of the data" in _refused(write_layer("Odd", settings="made_for: spring\n"))


def test_two_layers_of_one_title_are_told_apart_by_their_folders(write_layer: Write, tmp_path: Path) -> None:
    one = write_layer("Same")
    two = tmp_path / "other"
    two.mkdir()
    (two / "layer.yaml").write_text("title: same\n", encoding="utf-8")
    said = _refused(one, two)
    assert str(one) in said and str(two) in said and "give each its own title" in said
    (two / "layer.yaml").write_text("title: Release\n", encoding="utf-8")
    assert "cannot be called release" in _refused(two)


def test_titles_without_letters_are_told_apart_by_their_folders(write_layer: Write) -> None:
    one, two = (write_layer(sign, seed_longevity=LIFE + "onion,2,2,years,\n") for sign in ("🌱", "🌿"))
    said = _refused(one, two)
    assert str(one) in said and str(two) in said and "give each its own title" in said


def test_a_layer_called_like_a_source_is_told_to_change_its_title(write_layer: Write) -> None:
    layer = write_layer("Memory")
    said = _refused(layer)
    assert str(layer / "layer.yaml") in said and "give the layer another title" in said


def test_titles_and_sources_in_any_script_stay_apart(write_layer: Write) -> None:
    """Two names of sources are two sources, in whatever script; one that differs in a point or an accent is the same."""
    head = "crop_id,low,high,unit,source_id\n"
    names = [
        "祖母の手帳",
        "隣人の手帳",
        "Дневник",
        "Тетрадь",
        "Notes 1/2",
        "Notes 1 2",
        "A. May, José",
        "A May Jose",
        "🌱",
        "🌿",
    ]
    rows = "".join(f'onion,{number},{number},years,"{name}"\n' for number, name in enumerate(names, start=2))
    layers = [write_layer("野菜", seed_longevity=head + rows), write_layer("花", seed_longevity=head + rows)]
    db = cropdata.open(layers=layers)
    assert [layer.name for layer in db.layers] == ["野菜", "花"]
    own = [row for row in db.stacked("seed_longevity", "onion") if row.get("layer")]
    titles = [db.sources[row["source_id"]].title for row in own]
    assert titles == [name.replace("A May Jose", "A. May, José") for name in names * 2]
    assert len({row["source_id"] for row in own}) == len(names) - 1


def test_a_retired_crop_names_the_one_to_use(write_layer: Write, package: Path) -> None:
    crops = package / "reference" / "crops.csv"
    text = crops.read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("leek,"))
    crops.write_text(text.replace(line, line.replace(",active,,", ",retired,onion,")), encoding="utf-8")
    with pytest.raises(cropdata.LayerError, match="leek is retired; use onion"):
        cropdata.open(package, layers=[write_layer(seed_longevity=LIFE + "leek,2,3,years,\n")])


@pytest.mark.parametrize(
    ("unit", "low", "high"), [("mm", "13", "13"), ("mm", "12.7", "12.7"), ("in", "0.5", "0.5"), ("cm", "1.27", "1.3")]
)
def test_the_figure_expected_may_be_copied_from_what_is_shown(
    write_layer: Write, run: Callable[..., subprocess.CompletedProcess[str]], unit: str, low: str, high: str
) -> None:
    """The release says half an inch for tomato, which `show` writes as 13 mm."""
    layer = write_layer(
        sowing_depth=f"crop_id,low,high,unit,action,expects_low,expects_high\ntomato,5,6,{unit},override,{low},{high}\n"
    )
    assert "13 mm" in run("show", "tomato").stdout
    depth = cropdata.open(layers=[layer]).crop("tomato").sowing_depth
    assert depth and depth.layer == "invented_notes"


@pytest.mark.parametrize("expected", ["12", "14", "13.5"])
def test_a_figure_that_is_not_what_is_shown_is_told(write_layer: Write, expected: str) -> None:
    layer = write_layer(sowing_depth=f"crop_id,low,high,unit,action,expects_low\ntomato,5,6,mm,override,{expected}\n")
    assert f"meant to replace {expected} mm, but the release below says 12.7 mm" in _refused(layer)


def test_a_parent_that_a_later_release_has_retired_is_named_with_its_successor(
    package: Path, write_layer: Write
) -> None:
    crops = package / "reference" / "crops.csv"
    lines = crops.read_text(encoding="utf-8").splitlines(keepends=True)
    at = next(number for number, line in enumerate(lines) if line.startswith("tomato,"))
    lines[at] = lines[at].replace(",active,,", ",retired,pepper,")
    assert ",retired,pepper," in lines[at]
    crops.write_text("".join(lines), encoding="utf-8")
    layer = write_layer(crops="crop_id,parent_id\ntomato-hill,tomato\n")
    with pytest.raises(cropdata.LayerError, match=r"crops.csv, row 2, parent_id: tomato is retired; use pepper"):
        cropdata.open(package, layers=[layer])


_OWN_VARIETY = {
    "crops": "crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n",
    "packets": "crop_id,seeds_in_packet\ntomato-hill,20\n",
    "crop_names": "name,crop_id\nhillock (invented),tomato-hill\n",
    "sowing_depth": "crop_id,low,high,unit\ntomato-hill,5,6,mm\n",
}


@pytest.mark.parametrize("packet_too", [False, True])
def test_a_variety_of_a_lower_layer_is_hidden_with_all_its_rows(write_layer: Write, packet_too: bool) -> None:
    below = write_layer("Below", **_OWN_VARIETY)
    hide = "crop_id,action\ntomato-hill,hide\n"
    above = write_layer("Above", crops=hide, **({"packets": hide} if packet_too else {}))
    laid = cropdata.open(layers=[below, above])
    assert "tomato-hill" not in laid and "hillock (invented)" not in laid and "tomato" in laid
    for table in ("crops", "packets", "crop_names", "sowing_depth"):
        assert "tomato-hill" not in set(laid.table(table)["crop_id"])


def test_a_parent_of_a_lower_layers_variety_is_hidden_only_after_it(write_layer: Write) -> None:
    below = write_layer("Below", **_OWN_VARIETY)
    above = write_layer("Above", crops="crop_id,action\ntomato,hide\n")
    told = _refused(below, above)
    assert "Above/crops.csv, row 2: tomato cannot be hidden: " in told.replace("\\", "/") and "hide that first" in told


def test_a_row_on_a_crop_of_the_layer_above_says_which_comes_first(write_layer: Write) -> None:
    below = write_layer("Below", sowing_depth="crop_id,low,high,unit\ntomato-hill,5,6,mm\n")
    above = write_layer("Above", crops="crop_id,name,parent_id\ntomato-hill,Hill (invented),tomato\n")
    assert "is added by layer above (crops.csv row 2), which lies above; name that layer first" in _refused(
        below, above
    )
    assert "tomato-hill" in cropdata.open(layers=[above, below])
