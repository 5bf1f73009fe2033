"""The command line: one verb a job, light until a verb needs more."""

from __future__ import annotations

import argparse
import importlib
import io
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from bedmodel import __version__
from bedmodel.errors import BedmodelError
from bedmodel.verbs import many_arguments

DESCRIPTION = """\
Design a solid-wood bed once, and make it in any mattress size.

A sheet (a .toml file, or the name of an example) holds every size you decide.
From it, each verb below works out the bed for the mattress you ask for.
"""

EPILOG = """\
examples:
  bedmodel build                           the usual example, in its own size
  bedmodel build campion --size us-king    the same design for a US king
  bedmodel build my.toml --mattress 1400x1900x220
  bedmodel check hawthorn --set side_rail.width=160
  bedmodel sizes                           the mattress sizes you can ask for

exit codes: 0 fine, 1 a check failed, 2 bad input, 3 could not write
A design aid, not a certificate; adult low beds only.
"""

# Verb: the module that does it, and one line for the maker.
VERBS = {
    "build": "make everything: model, checks, templates, jigs, shop papers, plan book, report",
    "check": "check that the parts fit, without writing files",
    "strength": "reckon sag, stress, wobble and joints, with what they rest on",
    "movement": "reckon what dry and damp seasons do to the wood, and the room it needs",
    "advise": "say how thin, how many, how heavy and how high, each answer tried",
    "sizes": "list mattress sizes, and the bed's own size for each",
    "compare": "put sizes or sheets side by side: sizes, wood, cost, sag, checks",
    "sweep": "vary parameters over ranges, and plot what comes of it, as cost against sag",
    "publish": "make the packs of many sheets and sizes, with a page that shows them all",
    "parameters": "list every parameter of a sheet: default, range, what it is",
    "jigs": "make templates, plates, drilling guides, sticks, sled, cauls, with their cards",
    "plan": "write the plan book: parts, joints, drawings and steps in one PDF",
    "templates": "print legs, boards and jigs at full size, tiled over desk paper or on a roll",
    "marks": "list what to mark on each part, and the story sticks",
    "cutlist": "list every part with its finished and its rough size, by lumber",
    "buy": "list what to ask the yard for, its cost, and the same bed in other woods",
    "boards": "plan which part comes out of which board on the rack, with the proven bound",
    "nest": "lay out the legs on thick planks, and templates and jig plates on sheet goods",
    "steps": "list the order of work, with the settings of each machine and its cautions",
    "report": "write one page with a 3D view, checks, joints and lists, for any browser",
    "watch": "show the bed in a browser and follow the sheet at each save",
    "draw": "draw the sheets: arrangement, parts, joints, slats, as DXF, PDF and SVG",
    "show": "draw a picture of the bed and list its parts",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one verb; return the exit code."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a title may have letters that a terminal lacks
    try:
        try:
            return _run(argv)
        finally:
            sys.stdout.flush()  # here, or Python complains of a closed pipe when it ends
    except BrokenPipeError:
        # The reader of our output went away (as with `| head`): nothing is wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def entry() -> NoReturn:
    """Run one verb and leave the process: what the command and ``python -m`` start."""
    code = main()
    if "OCP" in sys.modules:
        # Taking the solid modeller down costs 0.6 s and frees nothing that ending does not:
        # all files are written and closed, all output is flushed.
        sys.stderr.flush()
        os._exit(code)
    sys.exit(code)


def _run(argv: Sequence[str] | None) -> int:
    parser = _parser()
    arguments = parser.parse_args(argv)
    if arguments.verb is None:
        parser.print_help()
        return 0
    try:
        verb = importlib.import_module(f"bedmodel.verbs.{arguments.verb}")
        return int(verb.run(arguments))
    except BedmodelError as error:
        print(f"bedmodel: {error}", file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("bedmodel: stopped; nothing was changed", file=sys.stderr)
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bedmodel",
        description=DESCRIPTION,
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"bedmodel {__version__}")
    verbs = parser.add_subparsers(dest="verb", metavar="VERB", title="verbs")
    for name, line in VERBS.items():
        verb = verbs.add_parser(name, help=line, description=line[0].upper() + line[1:] + ".")
        _ARGUMENTS[name](verb)
    return parser


def _design_arguments(verb: argparse.ArgumentParser, *, all_sizes: bool = False) -> None:
    verb.add_argument(
        "sheet", nargs="?", help="a .toml sheet, or the name of an example (default: campion)"
    )
    every = ', or "all"' if all_sizes else ""
    verb.add_argument("--size", metavar="NAME", help=f"a mattress size from the table{every}")
    verb.add_argument(
        "--mattress", metavar="WxL[xT]", help="a mattress of your own: 1400x1900x220, 54x75x10in"
    )
    verb.add_argument(
        "--set",
        metavar="NAME=VALUE",
        action="append",
        default=[],
        dest="changes",
        help="change one parameter, for example leg.splay=6 (auto: back to its default); "
        "may be given again",
    )


def _json_argument(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("--json", action="store_true", help="print JSON for other programs")


def _build_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb, all_sizes=True)
    _shop_argument(verb)
    verb.add_argument(
        "--rack",
        metavar="FILE",
        help="plan the boards you have as well, a .csv file or an example rack",
    )
    verb.add_argument(
        "--only",
        metavar="WORDS",
        help="some of model,templates,jigs,shop,strength,drawings,plan,report, or quick for the "
        "first five (default: all)",
    )
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


def _report_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    verb.add_argument(
        "--rack", metavar="FILE", help="plan the boards you have, a .csv file, and show them"
    )
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


def _watch_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    verb.add_argument(
        "--port", metavar="N", type=int, default=0, help="where to serve (default: a free port)"
    )
    verb.add_argument("--timing", action="store_true", help="tell the processor time of each stage")
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")


def _check_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _json_argument(verb)


def _strength_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    verb.add_argument("--all", action="store_true", help="every load of every part")
    verb.add_argument("--basis", action="store_true", help="list every figure, with its source")
    verb.add_argument("--out", metavar="DIR", help="write strength.svg and the records there")
    _json_argument(verb)


def _sizes_arguments(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("sheet", nargs="?", help="a sheet: adds the overall size of its bed")
    _json_argument(verb)


def _many_arguments(verb: argparse.ArgumentParser) -> None:
    _shop_argument(verb)
    _json_argument(verb)


def _compare_arguments(verb: argparse.ArgumentParser) -> None:
    many_arguments.compare(verb)
    _many_arguments(verb)


def _sweep_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    many_arguments.sweep(verb)
    _many_arguments(verb)


def _publish_arguments(verb: argparse.ArgumentParser) -> None:
    many_arguments.publish(verb)
    _many_arguments(verb)


def _parameters_arguments(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("section", nargs="?", help="only those whose name starts so, as leg")
    form = verb.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print JSON for other programs")
    form.add_argument(
        "--schema", action="store_true", help="print the JSON schema that editors check sheets by"
    )
    form.add_argument("--markdown", action="store_true", help="print the reference as Markdown")


def _jigs_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


def _plan_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    verb.add_argument(
        "--rack", metavar="FILE", help="plan the boards you have, a .csv file, as well"
    )
    verb.add_argument("--paper", metavar="NAME", help="A4 or Letter (default: by the sheet's unit)")
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


def _templates_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    verb.add_argument(
        "--paper",
        metavar="NAME",
        help="A4, A3, Letter, Tabloid; A2 to A0, ANSI-C to -E, roll-24in, roll-36in for one sheet",
    )
    verb.add_argument("--part", metavar="NAME", help="only those whose name starts so, as head_leg")
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


def _marks_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    verb.add_argument("--part", metavar="NAME", help="only parts whose name starts so, as head_leg")
    _json_argument(verb)


def _shop_argument(verb: argparse.ArgumentParser) -> None:
    verb.add_argument(
        "--shop", metavar="FILE", help="your shop's machines, allowances and prices, a .toml file"
    )


def _list_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    form = verb.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="print CSV, for a spreadsheet")
    form.add_argument("--json", action="store_true", help="print JSON for other programs")


def _steps_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    _json_argument(verb)


def _boards_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    verb.add_argument(
        "--rack",
        metavar="FILE",
        help="the boards you have, a .csv file, or the name of an example (default: boards)",
    )
    verb.add_argument(
        "--by",
        choices=("wood", "cost"),
        default="wood",
        metavar="WHAT",
        help="what to spare, wood or cost (default: wood)",
    )
    _pages_argument(verb, "a page for each board, and the labels,")
    _json_argument(verb)


def _pages_argument(verb: argparse.ArgumentParser, what: str) -> None:
    verb.add_argument("--out", metavar="DIR", help=f"write {what} into a folder here")


def _nest_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    _shop_argument(verb)
    wood = verb.add_mutually_exclusive_group()
    wood.add_argument(
        "--rack",
        metavar="FILE",
        help="nest on the boards you have, a .csv file, or the name of an example rack",
    )
    wood.add_argument(
        "--width",
        metavar="LENGTH",
        help="nest on one plank of this width (default: the widest that your machines take)",
    )
    _pages_argument(verb, "pages to trace from and 1:1 DXF files")
    _json_argument(verb)


def _draw_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    verb.add_argument(
        "--paper",
        metavar="NAME",
        help="A4, A3, Letter or Tabloid (default: A4, or Letter for a sheet in inches)",
    )
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


def _show_arguments(verb: argparse.ArgumentParser) -> None:
    _design_arguments(verb)
    verb.add_argument(
        "--picture", metavar="FILE", help="where to draw it (default: <name>.png in --out)"
    )
    verb.add_argument("--out", metavar="DIR", default="out", help="where to write (default: out)")
    _json_argument(verb)


_ARGUMENTS = {
    "build": _build_arguments,
    "check": _check_arguments,
    "strength": _strength_arguments,
    "movement": _check_arguments,
    "advise": _check_arguments,
    "sizes": _sizes_arguments,
    "compare": _compare_arguments,
    "sweep": _sweep_arguments,
    "publish": _publish_arguments,
    "parameters": _parameters_arguments,
    "jigs": _jigs_arguments,
    "plan": _plan_arguments,
    "templates": _templates_arguments,
    "marks": _marks_arguments,
    "cutlist": _list_arguments,
    "buy": _list_arguments,
    "boards": _boards_arguments,
    "nest": _nest_arguments,
    "steps": _steps_arguments,
    "report": _report_arguments,
    "watch": _watch_arguments,
    "draw": _draw_arguments,
    "show": _show_arguments,
}
