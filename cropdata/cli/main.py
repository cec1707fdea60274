"""Entry point: one parser, one function for each command, imported when it is called."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence

from cropdata.cli.opening import add_layer_options
from cropdata.errors import CropdataError, InputError, UnknownCropError

FOUND, NOT_FOUND, WRONG_USE = 0, 1, 2


def _share(text: str) -> float:
    """A share as people write it: 0.8, or 80 %."""
    number, percent = text.strip().removesuffix("%").strip(), text.strip().endswith("%")
    try:
        return float(number) / 100 if percent else float(number)
    except ValueError:
        raise argparse.ArgumentTypeError(f"found {text!r}; allowed: a share such as 0.8, or 80%") from None


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="cropdata",
        description="Cited figures for raising crops from seed. Exit status: 0 done, 1 findings or not found, 2 wrong use.",
    )
    parser.add_argument("--version", action="store_true", help="print the versions of the package and of the data")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    def command(name: str, help_text: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=help_text, description=help_text)
        sub.add_argument("--json", action="store_true", help="print one JSON object instead of text")
        sub.add_argument("--debug", action="store_true", help="show where an error came from")
        return sub

    show = command("show", "One crop: its figures, how sure they are, who says so, cautions.")
    show.add_argument(
        "crop", nargs="+", help="id, usual name in English, French, German or Spanish, or scientific name"
    )
    add_layer_options(show)

    why = command("why", "The evidence behind one figure, as printed, and the rule that joined it.")
    why.add_argument("crop")
    why.add_argument("trait", help="such as sowing_depth; a wrong one lists them all")
    add_layer_options(why)

    find = command("find", "Crops that meet conditions.")
    find.add_argument("text", nargs="?", help="part of a name")
    find.add_argument("--group", help="vegetable, herb, flower or green_manure")
    find.add_argument("--family", help="plant family")
    find.add_argument("--parent", help="types of this crop")
    find.add_argument(
        "--recorded",
        action="append",
        default=[],
        metavar="TRAIT",
        help="this trait is recorded; may be repeated",
    )
    find.add_argument(
        "--complete",
        action="store_true",
        default=None,
        help="all five headline traits are recorded or known not to be done",
    )
    find.add_argument("--germinates-at", type=float, metavar="C", help="germinates at this soil temperature in °C")
    find.add_argument("--hardy", action="store_true", default=None, help="half-hardy or better")
    find.add_argument("--tender", dest="hardy", action="store_false", help="less than half-hardy")
    find.add_argument("--under-cover", action="store_true", default=None, help="is raised under cover")
    add_layer_options(find)

    check = command("check", "Check a data package, a layer folder or one CSV file named after a table.")
    check.add_argument("path", nargs="*", help="what to check; the shipped data package when left out")
    check.add_argument("--format", choices=("text", "json", "junit", "annotations", "sarif"), default="text")
    check.add_argument("--strict", action="store_true", help="fail on warnings too")
    check.add_argument("--all", action="store_true", help="text: every finding, not a screenful")
    check.add_argument(
        "--no-standard",
        action="store_true",
        help="leave out frictionless's verdict, most of the time of a large package",
    )
    check.add_argument(
        "--whole", action="store_true", help="check the layer or package that each path belongs to, for commit hooks"
    )
    check.add_argument(
        "--fix",
        action="store_true",
        help="first mend what is safe: line ends, byte-order mark, blanks at cell ends, Unicode form, order of rows, "
        "semicolons; says what it changes, never touches a value",
    )

    plan = command("plan", "Plan a season from a season file.")
    plan.add_argument("season", nargs="?", help="the season file (YAML)")
    plan.add_argument("--example", action="store_true", help="plan the invented season that ships with the package")
    plan.add_argument("--print-example", action="store_true", help="print that season file, to start your own from")
    plan.add_argument(
        "--out", metavar="DIR", help="write it there too: text, CSV, JSON, a page to print and a calendar"
    )
    plan.add_argument(
        "--units", choices=("metric", "imperial"), default="metric", help="units of text and page (metric)"
    )
    plan.add_argument(
        "--dates", choices=("dmy", "mdy", "iso"), default="dmy", help="order of dates in text and page (dmy)"
    )
    plan.add_argument("--today", metavar="DATE", help="the day from which the next actions are shown (today)")
    plan.add_argument(
        "--records", metavar="FILE", help="CSV of what was really sown and seen: sowing, event, date, count, note"
    )
    plan.add_argument("--learn", metavar="DIR", help="write your own waiting times, from --records, there as a layer")
    plan.add_argument("--print-schema", action="store_true", help="print the JSON Schema of --json")
    add_layer_options(plan)
    methods = command("methods", "The ways of starting a crop beside each other: what each takes, what trials found.")
    methods.add_argument("crop", nargs="+", metavar="NAME", help="one crop: id, usual name or scientific name")
    methods.add_argument("--plants", type=int, default=24, metavar="N", help="usable plants wanted (24)")
    methods.add_argument(
        "--budget", type=float, metavar="MONEY", help="money for the first year, in the prices' currency"
    )
    methods.add_argument(
        "--currency", metavar="CODE", help="of the budget, such as EUR, where prices are in more than one"
    )
    methods.add_argument("--mix", metavar="RECIPE", help="reckon the ingredients of this mix (--steps lists them)")
    methods.add_argument(
        "--germination",
        type=_share,
        metavar="SHARE",
        help="of the seed, such as 0.8 or 80%%; the legal minimum when left out",
    )
    methods.add_argument("--seeds-per-cell", type=int, default=1, metavar="N", help="seeds a cell, thinned to one (1)")
    methods.add_argument("--steps", action="store_true", help="how each is done, step by step")
    add_layer_options(methods)

    germination = command("germination", "What a germination test means, and what to do.")
    germination.add_argument("crop")
    germination.add_argument("--sown", type=int, help="seeds tested")
    germination.add_argument("--germinated", type=int, help="seeds that germinated")
    germination.add_argument("--days", type=int, help="days from sowing to the count, or to the last look")
    germination.add_argument("--temp", type=float, metavar="C", help="warmth of the test in °C")
    germination.add_argument("--year", type=int, help="year packed")
    germination.add_argument("--now", type=int, help="the year of the test; this year when left out")
    germination.add_argument(
        "--counted", choices=("root", "normal"), default="normal", help="root in the towel, or normal seedling"
    )
    germination.add_argument("--hard", type=int, default=0, help="hard seeds among those that did not germinate")
    germination.add_argument("--record", metavar="FILE", help="CSV of counts: date, germinated, replicate, note")
    germination.add_argument("--sown-on", metavar="DATE", help="day on which the record's test began (YYYY-MM-DD)")
    germination.add_argument(
        "--width", type=float, metavar="POINTS", help="how many seeds a test needs for a range this many points wide"
    )
    germination.add_argument("--steps", action="store_true", help="how to test seed at home, with sources")
    add_layer_options(germination)

    trial = command("trial", "Compare methods of starting seed, or lay out a new trial.")
    trial.add_argument(
        "records", nargs="?", help="CSV, one row a seed: method, seed, sown, last_absent, first_seen, unit …"
    )
    trial.add_argument("--example", action="store_true", help="the invented trial that ships with the package")
    trial.add_argument("--target-days", type=float, default=2.0, help="a difference worth finding (2)")
    trial.add_argument("--crop", help="for the spread that power uses, with --temp; for labels, with --new")
    trial.add_argument("--temp", type=float, metavar="C", help="warmth of the trial in °C")
    trial.add_argument("--csv", metavar="FILE", help="write the methods' table there too")
    trial.add_argument("--picture", metavar="FILE", help="write the curves as .png or .svg (extra `pictures`)")
    trial.add_argument("--new", metavar="DIR", help="write sheet, random layout and labels of a new trial")
    trial.add_argument("--methods", help="with --new: names parted by commas")
    trial.add_argument("--seeds", type=int, default=40, help="with --new: seeds a method (40)")
    trial.add_argument("--units", type=int, default=4, help="with --new: trays a method (4)")
    trial.add_argument("--place", help="with --new: where it stands")
    trial.add_argument("--event", help="with --new: what is counted, the same for all methods")
    trial.add_argument("--random", type=int, help="with --new: number that fixes the random layout")
    _layer_commands(commands)
    return parser


def _layer_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The commands below `cropdata layer`."""
    text = "Rows of your own, laid over the release: begin a layer, list installed ones, to a spreadsheet and back."
    below = commands.add_parser("layer", help=text, description=text).add_subparsers(dest="layer_command", metavar="COMMAND", required=True)  # fmt: skip

    def command(name: str, help_text: str, *places: tuple[str, str]) -> argparse.ArgumentParser:
        sub = below.add_parser(name, help=help_text, description=help_text)
        for place, meaning in places:
            sub.add_argument(place, help=meaning)
        sub.add_argument("--json", action="store_true", help="print one JSON object instead of text")
        sub.add_argument("--debug", action="store_true", help="show where an error came from")
        return sub

    new = command("new", "Write a folder that explains itself: headers, an example row each, settings.", ("dir", "a new folder"))  # fmt: skip
    new.add_argument("--title", default="", help="what answers call it; the folder's name when left out")
    new.add_argument("--author", default="", help="whose it is")
    command("list", "The layers that installed distributions bring, and how to leave them out.")
    command("to-xlsx", "A layer as a spreadsheet, one sheet a table (extra `xlsx`).", ("dir", "the layer"), ("file", "a new .xlsx file"))  # fmt: skip
    back = command("from-xlsx", "A spreadsheet as a layer, checked on the way (extra `xlsx`).", ("file", "the .xlsx file"), ("dir", "the layer's folder"))  # fmt: skip
    back.add_argument(
        "--title", default="", help="for a spreadsheet without a sheet `layer`; its file name when left out"
    )
    back.add_argument("--author", default="", help="the same: whose it is")
    back.add_argument("--replace", action="store_true", help="the folder is a layer already: replace its tables")


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    import importlib

    run: Callable[[argparse.Namespace], int] = importlib.import_module(f"cropdata.cli.{name}").run
    return run


def _versions() -> int:
    import cropdata

    print(f"cropdata {cropdata.__version__}, data {cropdata.open().version}")
    return FOUND


def _plain(error: Exception) -> str:
    """An error of the operating system in the form of our own: which file, and what is the matter."""
    if isinstance(error, FileExistsError):
        return f"{error.filename}: is a file; allowed: a folder, which may be new"
    if isinstance(error, OSError) and error.filename is not None:
        return f"{error.filename}: {(error.strerror or 'cannot be used').lower()}"
    return str(error)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line. Returns the exit status; errors are one message on standard error."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.version:
        return _versions()
    if options.command is None:
        parser.print_help(sys.stderr)
        return WRONG_USE
    try:
        status = _command(options.command)(options)
        sys.stdout.flush()  # here, where a reader that has gone is no error yet
        return status
    except BrokenPipeError:
        # The reader of our output has gone (`| head`): that is no error of ours. Keep Python's exit quiet too.
        import os

        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FOUND
    except KeyboardInterrupt:
        return WRONG_USE
    except MemoryError:
        print(f"cropdata {options.command}: not enough memory for what was asked; try less at once", file=sys.stderr)
        return WRONG_USE
    except (CropdataError, OSError) as error:
        if options.debug:
            raise
        print(f"cropdata {options.command}: {_plain(error)}", file=sys.stderr)
        return NOT_FOUND if isinstance(error, UnknownCropError) and not isinstance(error, InputError) else WRONG_USE
