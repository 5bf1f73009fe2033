"""The text of a STEP file in one canonical form: same content, same bytes.

Words used here, from ISO 10303-21 ("Part 21"):

instance    one numbered line of the data section, ``#12=DIRECTION('',(0.,0.,1.));``
keyword     what an instance is, such as ``DIRECTION``; a complex one has several
reference   the number of another instance, used inside an instance
root        an instance that no other refers to
digest      a hash over an instance's text and the digests of all it refers to,
            so that it knows content and structure but no number

A modelling kernel numbers instances in the order it comes upon them, which may
hang on addresses in memory, counts usages through the life of the process, and
looks at the clock. Here the instances are numbered afresh from the roots down,
roots being put in an order taken from their content alone.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b

# Part 21 wants a date in ISO 8601 form; a reader may refuse an empty one. This is
# the usual one for "no date known", and it never changes.
NO_TIME = "1970-01-01T00:00:00"

# Kinds of instance that carry no identity of their own: equal ones are one. Solids,
# faces, edges, vertices and placements are left out on purpose: two equal ones can
# be two things, with a colour each, or two members of one set.
_MERGED = frozenset(
    (
        "CARTESIAN_POINT",
        "DIRECTION",
        "COLOUR_RGB",
        "FILL_AREA_STYLE_COLOUR",
        "FILL_AREA_STYLE",
        "SURFACE_STYLE_FILL_AREA",
        "SURFACE_SIDE_STYLE",
        "SURFACE_STYLE_USAGE",
        "CURVE_STYLE",
        "DRAUGHTING_PRE_DEFINED_CURVE_FONT",
        "PRESENTATION_STYLE_ASSIGNMENT",
    )
)

# Roots in the order a person would read them: what the file is, the products, where
# they go, then what they are made of and how they look. Others follow by keyword.
_ROOTS = (
    "APPLICATION_PROTOCOL_DEFINITION",
    "SHAPE_DEFINITION_REPRESENTATION",
    "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION",
    "PRODUCT_RELATED_PRODUCT_CATEGORY",
    "PROPERTY_DEFINITION_REPRESENTATION",
    "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION",
)

# Instances that give a root the name it is sorted by, the most telling first.
_NAMING = ("NEXT_ASSEMBLY_USAGE_OCCURRENCE", "PRODUCT", "MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS")
_NAMELESS = (len(_NAMING), "")

_MARK = "\0"  # stands for a reference; the file's alphabet has no such character

_SCHEMA = re.compile(r"FILE_SCHEMA\s*\(.*?\)\s*\)\s*;", re.DOTALL)
_PREPROCESSOR = re.compile(r"FILE_NAME\('[^']*','[^']*',\([^)]*\),\([^)]*\),\s*'([^']*)'")
_INSTANCE = re.compile(r"#(\d+)\s*=\s*((?:[^';]+|'[^']*')*);")
_STRING = re.compile(r"('(?:[^']|'')*')")
_REFERENCE = re.compile(r"#(\d+)")
_MINUS_ZERO = re.compile(r"(?<=[(,])-0\.(?=[,)])")
_NUMBER = re.compile(r"(?<=[(,])[-+]?\d+\.\d*(?:E[-+]?\d+)?")
_USAGE = re.compile(r"(\w+\()'[^']*',('(?:[^']|'')*')")


@dataclass(frozen=True)
class Header:
    """What the header section says, each as plain text."""

    file_name: str
    description: str
    system: str


@dataclass(frozen=True)
class Order:
    """Names of usages (placed pieces and groups) and of products, in the order wanted.

    A reader shows its tree in the order of the file. Names left out come last.
    """

    usages: Sequence[str] = ()
    products: Sequence[str] = ()


@dataclass(slots=True)
class _Instance:
    """One instance: its text with a mark for each reference, and the numbers referred to."""

    text: str
    refs: tuple[int, ...]
    keyword: str
    digest: bytes = b""
    name: tuple[int, str] = _NAMELESS


def encoded(text: str) -> str:
    r"""Return text as it stands inside the quotes of a Part 21 string, apostrophes single.

    Printable ASCII stays; a backslash and all else becomes ``\X2\`` or ``\X4\`` code.
    """
    plain = "".join(c if c.isprintable() else " " for c in text)
    return re.sub(r"[^ -\[\]-~]+", lambda m: _coded(m.group()), plain)


def canonical(raw: bytes, header: Header, order: Order) -> bytes:
    """Return the STEP file ``raw``, as the kernel wrote it, in its one canonical form.

    Raises ValueError when the text is not whole, or a reference leads nowhere or round
    in a circle.
    """
    # The kernel breaks lines anywhere, even between the two halves of a doubled
    # apostrophe, and never writes a line break that means something.
    text = raw.decode("ascii").replace("\r", "").replace("\n", "")
    head, _, data = text.partition("DATA;")
    instances = {int(m[1]): _parsed(m[2]) for m in _instances(data)}
    _mend(instances)
    merged = _merge(instances)
    return _written(head, header, merged, _numbered(merged, order)).encode("ascii")


def _instances(data: str) -> Iterator[re.Match[str]]:
    """Yield the matches of all instances, which must fill the data section."""
    end = 0
    for found in _INSTANCE.finditer(data):
        if data[end : found.start()].strip():
            break
        end = found.end()
        yield found
    if not data[end:].lstrip().startswith("ENDSEC;"):
        raise ValueError(f"STEP text: not understood from {data[end : end + 40]!r}")


def _coded(run: str) -> str:
    short = all(ord(c) < 0x10000 for c in run)
    codes = (f"{ord(c):04X}" if short else f"{ord(c):08X}" for c in run)
    return rf"\X{2 if short else 4}\{''.join(codes)}\X0" + "\\"


def _parsed(body: str) -> _Instance:
    only_empty = "'" not in body.replace("''", "")  # true of nearly all: and quick to tell
    chunks = [body] if only_empty else _STRING.split(body)  # code, string, code, ..., code
    refs: list[str] = []
    for i in range(0, len(chunks), 2):
        code = _REFERENCE.split(_tidy(chunks[i]))
        chunks[i] = _MARK.join(code[::2])
        refs += code[1::2]
    text = "".join(chunks)
    return _Instance(text, tuple(map(int, refs)), text.partition("(")[0])


def _tidy(code: str) -> str:
    """Drop blanks and the sign of zero from text that has no string with content in it."""
    code = code.replace(" ", "")
    return _MINUS_ZERO.sub("0.", code) if "-0." in code else code


def _mend(instances: Mapping[int, _Instance]) -> None:
    """Replace what hangs on the run, or is wrong, in what the kernel wrote."""
    mends: dict[str, Callable[[_Instance], None]] = {
        "NEXT_ASSEMBLY_USAGE_OCCURRENCE": _mend_usage,
        "COLOUR_RGB": _mend_colour,
        "DERIVED_UNIT_ELEMENT": lambda element: _mend_unit(element, instances),
    }
    for instance in instances.values():
        if instance.keyword in mends:
            mends[instance.keyword](instance)


def _mend_usage(usage: _Instance) -> None:
    # The id is a count over the life of the process; the name is unique and says more.
    usage.text = _USAGE.sub(r"\1\2,\2", usage.text, count=1)


def _mend_colour(colour: _Instance) -> None:
    # Single precision there and back leaves noise behind the seventh digit.
    colour.text = _NUMBER.sub(lambda m: f"{float(m[0]):.6f}".rstrip("0"), colour.text)


def _mend_unit(element: _Instance, instances: Mapping[int, _Instance]) -> None:
    # The kernel gives the unit of density as g3 cm2; its value is in g cm-3.
    unit = instances[element.refs[0]].text
    for kind, power in (("MASS_UNIT", "1."), ("LENGTH_UNIT", "-3.")):
        if kind in unit:
            element.text = f"DERIVED_UNIT_ELEMENT({_MARK},{power})"


def _merge(instances: Mapping[int, _Instance]) -> dict[int, _Instance]:
    """Set digests and names, children first; return the instances that stay."""
    first: dict[bytes, int] = {}
    stands_for: dict[int, int] = {}
    kept: dict[int, _Instance] = {}
    for number in _children_first(instances):
        instance = instances[number]
        instance.refs = tuple(map(stands_for.__getitem__, instance.refs))
        below = [kept[ref] for ref in instance.refs]
        content = instance.text.encode() + b"".join([i.digest for i in below])
        instance.digest = blake2b(content, digest_size=16).digest()
        instance.name = _name(instance, below)
        if instance.keyword in _MERGED:
            stands_for[number] = first.setdefault(instance.digest, number)
        else:
            stands_for[number] = number
        if stands_for[number] == number:
            kept[number] = instance
    return kept


def _children_first(instances: Mapping[int, _Instance]) -> Iterable[int]:
    """Yield each number after all the numbers it refers to."""
    done: set[int] = set()
    open_: set[int] = set()
    for start in instances:
        stack = [start]
        while stack:
            number = stack[-1]
            if number in done:
                stack.pop()
            elif number in open_:
                stack.pop()
                done.add(number)
                open_.discard(number)
                yield number
            else:
                open_.add(number)
                if number not in instances:
                    raise ValueError(f"STEP text: #{number} is referred to but missing")
                ahead = [ref for ref in instances[number].refs if ref not in done]
                if not open_.isdisjoint(ahead):
                    raise ValueError(f"STEP text: #{number} refers to itself in a circle")
                stack += ahead


def _name(instance: _Instance, below: Iterable[_Instance]) -> tuple[int, str]:
    """Return how telling the instance's name is (0 most) and the name itself."""
    if instance.keyword in _NAMING:
        string = _STRING.search(instance.text)
        return _NAMING.index(instance.keyword), string[1][1:-1] if string else ""
    return min([i.name for i in below], default=_NAMELESS)


def _numbered(instances: Mapping[int, _Instance], order: Order) -> dict[int, int]:
    """Return the new number of each instance, in the order of the new numbers."""
    usages, products = _places(order.usages), _places(order.products)
    groups: dict[tuple[int, str, int, bytes], list[int]] = defaultdict(list)
    referred = {ref for instance in instances.values() for ref in instance.refs}
    for number, root in instances.items():
        if number not in referred:
            rank = _ROOTS.index(root.keyword) if root.keyword in _ROOTS else len(_ROOTS)
            places = products if root.name[0] else usages
            place = places.get(root.name[1], len(places))
            groups[rank, root.keyword, place, root.digest].append(number)
    new: dict[int, int] = {}
    tied = []
    for key in sorted(groups):
        if len(groups[key]) == 1:
            _walk(groups[key][0], instances, new)
        else:
            tied.append(groups[key])
    for group in tied:
        _number_tied(group, instances, new)
    return new


def _places(names: Iterable[str]) -> dict[str, int]:
    return {_quoted(name)[1:-1]: i for i, name in enumerate(names)}


def _number_tied(group: list[int], instances: Mapping[int, _Instance], new: dict[int, int]) -> None:
    """Number roots of equal content by which of the numbered instances they refer to."""
    # Equal roots may still hang on different solids, as the colours of two alike ones
    # do. Those equal in this too are interchangeable, so either may come first.
    left = list(group)
    while left:
        chosen = min(left, key=lambda root: _attachment(root, instances, new))
        left.remove(chosen)
        _walk(chosen, instances, new)


def _attachment(root: int, instances: Mapping[int, _Instance], new: Mapping[int, int]) -> list[int]:
    trial: dict[int, int] = {}
    found: list[int] = []
    stack = [root]
    while stack:
        number = stack.pop()
        if number in new:
            found.append(new[number])
        elif number not in trial:
            trial[number] = len(trial)
            stack += reversed(instances[number].refs)
    return found


def _walk(root: int, instances: Mapping[int, _Instance], new: dict[int, int]) -> None:
    """Number ``root`` and all below it, parent before child, in the order of the text."""
    stack = [root]
    while stack:
        number = stack.pop()
        if number not in new:
            new[number] = len(new) + 1
            stack += reversed(instances[number].refs)


def _written(
    head: str, header: Header, instances: Mapping[int, _Instance], new: Mapping[int, int]
) -> str:
    schema, preprocessor = _SCHEMA.search(head), _PREPROCESSOR.search(head)
    if not schema or not preprocessor:
        raise ValueError("STEP text: header without schema or preprocessor")
    lines = [
        "ISO-10303-21;",
        "HEADER;",
        f"FILE_DESCRIPTION(({_quoted(header.description)}),'2;1');",
        f"FILE_NAME({_quoted(header.file_name)},'{NO_TIME}',(''),(''),"
        f"'{preprocessor[1]}',{_quoted(header.system)},'');",
        schema[0],
        "ENDSEC;",
        "DATA;",
    ]
    for number, fresh in new.items():
        instance = instances[number]
        text, *rest = instance.text.split(_MARK)
        for ref, more in zip(instance.refs, rest, strict=True):
            text += f"#{new[ref]}{more}"
        lines.append(f"#{fresh}={text};")
    lines += ["ENDSEC;", "END-ISO-10303-21;", ""]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    return "'" + encoded(text).replace("'", "''") + "'"
