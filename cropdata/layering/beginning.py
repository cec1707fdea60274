"""A new layer folder that explains itself: a header, what the file is for, and an example row that works once its # is gone."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import tempfile

from cropdata.errors import InputError
from cropdata.tabular.descriptor import SCHEMA_NUMBER, Descriptor
from cropdata.tabular.location import LAYER_FILE
from cropdata.tabular.rows import usual_mode

# Table -> (columns, what it is for, an invented example). Each example stands by itself: it names a crop of the release.
_FILES: dict[str, tuple[str, str, str]] = {
    "crops": (
        "crop_id,name,parent_id,note",
        "Varieties of your own. parent_id is the crop it is a variety of; what you do not say is taken from there. crop_id: small letters and digits parted by hyphens",
        "tomato-hill-farm,Hill Farm,tomato,an invented variety",
    ),
    "crop_names": (
        "name,crop_id,action",
        "Other names by which you want to find a crop. override: the name means this crop alone",
        "love apple,tomato,",
    ),
    "packets": (
        "crop_id,habit,seeds_in_packet,low,high,unit,counted_from,packed_year,note",
        "What the packet says. low and high: days to maturity; counted_from: sowing or planting (setting out raised plants)",
        "tomato,cordon,40,70,80,days,planting,2026,an invented packet",
    ),
    "sowing_depth": ("crop_id,low,high,unit,source_id,action,expects_low,expects_high", "Depth of cover; unit: mm; cm or in", "tomato,6,12,mm,,,,"),
    "germination_temperature": (
        "crop_id,minimum,optimum_low,optimum_high,maximum,unit,source_id,action",
        "Soil temperature for germination; unit: C or F; leave empty what you do not know",
        "tomato,12,20,28,33,C,,",
    ),
    "days_to_emergence": ("crop_id,low,high,unit,source_id,action", "From sowing to the seedlings; unit: days or weeks. Where a crop has a table by temperature that answers first", "tomato,6,12,days,,"),
    "weeks_to_raise": ("crop_id,low,high,unit,source_id,action", "From sowing under cover to planting out; unit: weeks or days", "tomato,6,8,weeks,,"),
    "planting_out_weeks": (
        "crop_id,low,high,unit,frost_reference,source_id,action",
        "From the last frost to planting out; below 0 is before it. frost_reference: average_last_frost; danger_past or unstated",
        "tomato,1,2,weeks,average_last_frost,,",
    ),
    "weeks_before_last_frost": ("crop_id,low,high,unit,source_id,action", "Sowing under cover: weeks before the last frost", "tomato,6,8,weeks,,"),
    "direct_sowing_weeks": ("crop_id,low,high,unit,source_id,action", "Sowing in place: weeks from the last frost; below 0 is before it", "carrot,-2,2,weeks,,"),
    "seed_longevity": ("crop_id,low,high,unit,source_id,action", "How long seed keeps with you; unit: years or months. source_id: a name in words is enough", "onion,1,2,years,A neighbour's notebook,override"),
    "spacing_in_row": ("crop_id,low,high,unit,source_id,action", "Plants apart in the row; unit: cm; in or ft", "tomato,45,60,cm,,"),
    "spacing_between_rows": ("crop_id,low,high,unit,source_id,action", "Rows apart; unit: cm; in or ft", "tomato,75,90,cm,,"),
    "days_to_maturity": (
        "crop_id,low,high,unit,counted_from,source_id,action",
        "To the first harvest. counted_from: sowing or planting. What a packet says stands in packets.csv and need not be repeated",
        "tomato,65,80,days,planting,,",
    ),
    "containers": (
        "container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,life_low,life_high,price_low,price_high,currency,action",
        "Trays and pots of your own; a season file names them by container_id. method_id: tray; block; pot; flat or towel. volume_of: unit (one cell) or tray; "
        "life: seasons that one lasts; price: of one tray or pot",
        "shed-tray,tray,Tray from the shed (invented),60,unit,40,40,ml,5,10,3.50,3.50,CAD,",
    ),
    "media": (
        "recipe_id,recipe_name,use,component,parts,action",
        "A mix of your own: a row for each component with its parts by volume. use: sowing; transplants; blocks or general",
        "shed-mix,Mix from the shed (invented),general,leaf mould,2,",
    ),
    "sources": ("title,authors,year,note", "Books and people you cite under source_id: the title is enough. A name that is not described here is a source too", "A neighbour's notebook,An invented neighbour,2025,"),
}  # fmt: skip


def begin_layer(folder: str | os.PathLike[str], descriptor: Descriptor, *, title: str = "", author: str = "") -> list[str]:  # fmt: skip
    """Write a new layer into `folder`, which must be new or empty. Returns the names of the files written.

    Args:
        folder: where to.
        descriptor: the data package that it is made for.
        title: what answers call it; the folder's name when left out.
        author: whose it is.

    Raises InputError where something lies there already.
    """
    place = os.fspath(folder)
    if os.path.lexists(place) and (not os.path.isdir(place) or os.listdir(place)):
        raise InputError("is there already, and nothing is overwritten", file=place, hint="name a new folder")
    title = title.strip() or os.path.basename(os.path.abspath(place)).replace("-", " ").replace("_", " ").capitalize()
    files = {LAYER_FILE: layer_settings(title, author, descriptor.version)}
    files |= {f"{name}.csv": _table(*parts) for name, parts in _FILES.items()}
    write_folder(place, files)
    return list(files)


def layer_settings(title: str, author: str, version: str) -> str:
    """The text of a new layer.yaml, with remarks that explain it."""
    lines = [
        "# Your own rows, laid over the release. Every answer that rests on them says so.",
        "# Use it:    cropdata show tomato --layer THIS_FOLDER",
        "# Check it:  cropdata check THIS_FOLDER",
        "#",
        "# In each file: fill rows below the header, or take the # from the example. Lines that begin with # are passed",
        "# over; columns and files that you do not need may be deleted. The column action:",
        "#   add (or empty)  the row counts as one more source",
        "#   override        the row answers alone, in place of what it speaks of and of nothing else: that crop and, in",
        "#                   tables that hold several things of a crop, that one (the temperature, the aspect of raising,",
        "#                   days from sowing or from planting, the habit of a packet). expects_low and expects_high say",
        "#                   which figure it means to replace, so that you are told when a later edition has changed it",
        "#   hide            what the release says there, of that one thing, is taken away",
        f"title: {json.dumps(title, ensure_ascii=False)}",
        f"author: {json.dumps(author.strip(), ensure_ascii=False)}",
        f"made_for: {version}  # edition of the data",
        f"schema: {SCHEMA_NUMBER}",
    ]
    return "\n".join(lines) + "\n"


def _table(columns: str, about: str, example: str) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns.split(","))
    writer.writerow([f"# {about.replace(',', ';')}"])
    writer.writerow(f"#{example}".split(","))
    return stream.getvalue()


def write_folder(place: str, files: dict[str, str]) -> None:
    """A new folder with all its files, or none: it appears whole."""
    above = os.path.dirname(os.path.abspath(place))
    os.makedirs(above, exist_ok=True)
    try:
        made = tempfile.mkdtemp(prefix=".cropdata-", dir=above)
    except OSError as error:  # it would name the folder that is none of the user's
        raise OSError(error.errno, error.strerror, place) from None
    try:
        for name, text in files.items():
            with open(os.path.join(made, name), "x", encoding="utf-8", newline="") as stream:
                stream.write(text)
        os.chmod(made, usual_mode(0o777))
        if os.path.isdir(place):
            os.rmdir(place)  # an empty one
        os.rename(made, place)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
