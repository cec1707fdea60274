"""`cropdata find`: crops that meet conditions."""

from __future__ import annotations

import json
from argparse import Namespace

from cropdata.cli.opening import opened
from cropdata.cli.wording import columns


def run(options: Namespace) -> int:
    """Print the crops; 1 when there are none."""
    catalog = opened(options)
    crops = catalog.find(
        options.text, group=options.group, family=options.family, parent=options.parent, recorded=options.recorded,
        complete=options.complete, germinates_at_c=options.germinates_at, hardy=options.hardy, under_cover=options.under_cover,
    )  # fmt: skip
    if options.json:
        listed = [
            {
                "crop_id": crop.id,
                "name": crop.name,
                "scientific_name": crop.scientific_name,
                "family": crop.family,
                "group": crop.group,
            }
            for crop in crops
        ]
        print(
            json.dumps(
                {"format": 1, "data_version": catalog.version, "count": len(crops), "crops": listed},
                indent=2,
                ensure_ascii=False,
            )
        )
    else:
        print(
            "\n".join(
                [
                    *columns(
                        [(crop.id, crop.name, crop.scientific_name, crop.group.replace("_", " ")) for crop in crops]
                    ),
                    f"{len(crops)} {'crop' if len(crops) == 1 else 'crops'}",
                ]
            )
        )
    return 0 if crops else 1
