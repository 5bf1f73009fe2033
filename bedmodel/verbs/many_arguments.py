"""Command-line arguments of the verbs that take many beds at once."""

from __future__ import annotations

import argparse


def compare(verb: argparse.ArgumentParser) -> None:
    """Arguments of ``compare``, but for the shop and JSON."""
    _beds(verb, "sheets, or names of examples (default: the first)")
    verb.add_argument("--out", metavar="DIR", help="write compare.html, .csv and .json there")


def sweep(verb: argparse.ArgumentParser) -> None:
    """Arguments of ``sweep``, but for the design, the shop and JSON."""
    verb.add_argument(
        "--vary",
        metavar="NAME=VALUES",
        action="append",
        default=[],
        help="a parameter, from:to:step or values between commas, as slat.thickness=15:25:2.5, "
        "or wood.species=red-oak,white-ash; may be given again",
    )
    verb.add_argument(
        "--plot",
        metavar="X,Y[,GROUP]",
        action="append",
        default=[],
        help="draw one named figure or varied parameter against another, one series a group; "
        "may be given again (default: cost against sag, and each over the first parameter)",
    )
    verb.add_argument(
        "--out", metavar="DIR", help="write the table, the page and the plots there; resumable"
    )
    verb.add_argument("--jobs", metavar="N", type=int, help="processes (default: all cores)")


def publish(verb: argparse.ArgumentParser) -> None:
    """Arguments of ``publish``, but for the shop and JSON."""
    _beds(verb, "sheets, or names of examples (default: all examples)")
    verb.add_argument(
        "--rack", metavar="FILE", help="plan the boards you have in every pack, a .csv file"
    )
    verb.add_argument("--only", metavar="WORDS", help="groups of files, as for build")
    verb.add_argument(
        "--out",
        metavar="DIR",
        default="out",
        help="a folder, or with the extra cluster an address such as s3://... (default: out)",
    )
    verb.add_argument("--zip", action="store_true", help="each pack as one archive as well")
    verb.add_argument(
        "--verify", action="store_true", help="keep a pack only if all its files are as made"
    )
    verb.add_argument("--title", metavar="TEXT", help="the heading of the page")
    verb.add_argument(
        "--jobs", metavar="N", type=int, help="packs made at once (default: by cores and memory)"
    )
    verb.add_argument(
        "--recycle",
        metavar="N",
        type=int,
        default=25,
        help="packs that one process makes before a fresh one takes over (default: 25)",
    )
    verb.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="make the packs on the workers of a Dask scheduler, as tcp://host:8786",
    )
    for name, what in (("ca", "authority"), ("cert", "certificate"), ("key", "private key")):
        verb.add_argument(
            f"--tls-{name}", metavar="FILE", help=f"PEM file of the {what}, for a tls:// scheduler"
        )


def _beds(verb: argparse.ArgumentParser, sheets: str) -> None:
    """Several sheets, in several sizes, with changes made in all of them."""
    verb.add_argument("sheets", nargs="*", metavar="sheet", help=sheets)
    verb.add_argument(
        "--size", metavar="NAMES", help='mattress sizes, as us-king,uk-king, or "all"'
    )
    verb.add_argument(
        "--mattress", metavar="WxL[xT]", help="a mattress of your own: 1400x1900x220, 54x75x10in"
    )
    verb.add_argument(
        "--set",
        metavar="NAME=VALUE",
        action="append",
        default=[],
        dest="changes",
        help="change one parameter of every sheet; may be given again",
    )
