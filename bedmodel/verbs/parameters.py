"""``bedmodel parameters``: every parameter; also as JSON, JSON schema and Markdown."""

from __future__ import annotations

import argparse
import json
import sys

from bedmodel.errors import InputError
from bedmodel.reference import Parameter, all_parameters, markdown, schema
from bedmodel.verbs.terminal import table


def run(arguments: argparse.Namespace) -> int:
    """Print the parameters. Raises InputError when none has the asked name."""
    if arguments.section is not None and (arguments.schema or arguments.markdown):
        allowed = "does not go with --schema or --markdown, which hold every parameter"
        raise InputError("parameters", arguments.section, allowed, "leave it out")
    if arguments.schema:
        print(json.dumps(schema(), indent=1))
        return 0
    if arguments.markdown:
        sys.stdout.write(markdown())
        return 0
    chosen = _chosen(arguments.section)
    if arguments.json:
        print(json.dumps([p.record() for p in chosen], indent=1))
        return 0
    rows = [[p.name, p.default, p.range, p.help] for p in chosen]
    print(table(rows, ["parameter", "default", "range", "what it is"]))
    print('\nLengths may be numbers in the sheet\'s unit, or text: "7 1/2 in", "44 mm".')
    return 0


def _chosen(section: str | None) -> list[Parameter]:
    every = list(all_parameters())
    # A section by its name, such as leg, without leg_edges; else all that start so.
    whole = any(p.name.startswith(f"{section}.") for p in every)
    start = "" if section is None else f"{section}." if whole else section
    chosen = [p for p in every if p.name.startswith(start)]
    if not chosen:
        sections = ", ".join(dict.fromkeys(p.name.split(".")[0] for p in every))
        raise InputError("parameters", section, "no parameter starts so", f"try {sections}")
    return chosen
