"""Read and write lengths and angles: the one module that converts.

Inside the program every length is a plain float in millimetres and every angle
in degrees. Text comes in the ways a shop writes it:

    7 1/2 in   7-1/2"   7½ in   7.5in   6 ft 6 in   6' 6 1/2"   44 mm   4,4 cm   1.2 m   44

A bare number takes the unit the caller names. A comma is a decimal sign ("4,4 cm"),
except where it could as well group thousands ("1,400"): that is refused, never
guessed. Reading goes through whole-number ratios, so that "4.4 cm", "44 mm" and
44 are the same float.

Every refusal is a ``ValueError`` whose text is a short phrase; the caller adds
which parameter it was.
"""

from __future__ import annotations

import math
import re
from typing import Literal

LengthUnit = Literal["mm", "inch"]

# Source: the inch is 25.4 mm and the pound 0.45359237 kg by definition (1959);
# standard gravity 9.80665 m/s2 by definition (1901).
MM_PER_INCH = 25.4
MPA_PER_PSI = 0.45359237 * 9.80665 / (MM_PER_INCH * MM_PER_INCH)

_Ratio = tuple[int, int]

# Millimetres in one of each unit, as exact ratios.
_MM_IN: dict[str, _Ratio] = {
    "mm": (1, 1),
    "cm": (10, 1),
    "m": (1000, 1),
    "in": (127, 5),
    "ft": (1524, 5),
}
_LENGTH_WORDS: dict[str, str] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("in", "inch", "inches", '"'), "in"),
    **dict.fromkeys(("ft", "foot", "feet", "'"), "ft"),
}
_ANGLE_WORDS: dict[str, str] = dict.fromkeys(("deg", "degs", "degree", "degrees", "°"), "deg")
_DEFAULT_UNIT: dict[LengthUnit, str] = {"mm": "mm", "inch": "in"}
_LENGTH_HELP = "use mm, cm, m, in or ft"
_ANGLE_HELP = "use deg"
_FEET_AND_INCHES = "ft in"

_LONGEST_TEXT = 60
_LONGEST_MATTRESS_TEXT = 120

# Compatibility folding would turn "7½" into "71/2"; a space keeps the whole apart.
_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5",
    "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8",
    "⅝": "5/8", "⅞": "7/8", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
_PLAIN = str.maketrans(
    {
        **{mark: f" {digits}" for mark, digits in _VULGAR.items()},
        **dict.fromkeys("\u2044\u2215", "/"),
        **dict.fromkeys("\u2212\u2010\u2011\u2013", "-"),
        **dict.fromkeys("\u2032\u2018\u2019\u02b9", "'"),
        **dict.fromkeys("\u2033\u201c\u201d\u02ba", '"'),
        **dict.fromkeys("\u00ba\u02da", "°"),
    }
)
_QUANTITY = re.compile(
    r"(?:(?:(?P<whole>[0-9]+)(?: |- ?))?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
    r"|(?P<decimal>[0-9]+[.,][0-9]+|[0-9]+\.?|[.,][0-9]+))"
    r" ?(?P<unit>[^\W\d_]+|['\"°]|)"
)
# No more than three digits before the comma and no leading zero: 0,125 cannot be thousands.
_THOUSANDS = re.compile(r"(?<![0-9.,])[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9])")


# --- reading -----------------------------------------------------------------------------


def parse_length(value: int | float | str, default: LengthUnit) -> float:
    """Return a length in mm, read from a number or a text; ``default`` is a bare number's unit.

    Raises ValueError with a short phrase when it is not one length.
    """
    if isinstance(value, str):
        ratio, unit = _read_length(value)
    else:
        value = _finite(value, "7 1/2 in")
        if default == "mm":
            return value + 0.0
        ratio, unit = _ratio_of(value), None
    return _in_mm(ratio, unit or _DEFAULT_UNIT[default])


def parse_angle(value: int | float | str) -> float:
    """Return an angle in degrees, read from a number or a text such as "6 deg" or "6°".

    Raises ValueError with a short phrase when it is not one angle in degrees.
    """
    if not isinstance(value, str):
        return _finite(value, "6 deg") + 0.0
    sign, text = _plain(value)
    (top, bottom), _, rest = _take(text, _ANGLE_WORDS, _ANGLE_HELP)
    if rest:
        raise ValueError("is not one angle: write decimal degrees, such as 5.5 deg")
    return sign * top / bottom


def parse_mattress(text: str, default: LengthUnit) -> tuple[float, float, float | None]:
    """Return width, length and thickness (None if not given) in mm from "60 x 80 x 10 in".

    A unit on the last number holds for all the bare ones before it. With no unit
    at all the numbers speak for themselves: width and length both below 150 are
    inches, both from 500 up are millimetres, anything between is refused. The
    narrowest mattress is over 500 mm and the longest under 90 in, so one unit
    taken for the other would be a mattress under 150 mm or over 12 m long.
    Centimetres are never guessed: adult lengths in cm are all above 150, so
    "140x200" is refused, and a cot's "70x140" comes out over 3.5 m long.
    ``default`` therefore decides nothing here: a sheet in mm takes "60x80" just
    as well. The range check is the caller's.

    Raises ValueError with a short phrase.
    """
    del default
    names, fields = _mattress_fields(text)
    read = []
    for name, field in zip(names, fields, strict=True):
        try:
            read.append(_read_length(field))
        except ValueError as error:
            raise ValueError(f"its {name} '{field}' {error}") from None
    shared = _shared_unit([unit for _, unit in read], [top / bottom for (top, bottom), _ in read])
    sizes = [_in_mm(ratio, unit or shared) for ratio, unit in read]
    return sizes[0], sizes[1], sizes[2] if len(sizes) == 3 else None


def _mattress_fields(text: str) -> tuple[tuple[str, ...], list[str]]:
    if not isinstance(text, str):
        raise ValueError("must be text such as '60 x 80 x 10 in'")
    if len(text) > _LONGEST_MATTRESS_TEXT:
        raise ValueError(f"is longer than {_LONGEST_MATTRESS_TEXT} characters")
    fields = [field.strip() for field in re.split("[xX×]", text)]
    if len(fields) not in (2, 3) or not all(fields):
        raise ValueError(
            "must be width x length or width x length x thickness, such as '60 x 80 x 10 in'"
        )
    return ("width", "length", "thickness")[: len(fields)], fields


def _shared_unit(units: list[str | None], numbers: list[float]) -> str:
    """The unit of the bare numbers of a mattress; any unit when none is bare."""
    given = {unit for unit in units if unit}
    if not given:
        return _unit_by_size(numbers[:2])
    if None not in units:
        return "mm"
    last = units[-1]
    if last is None or last == _FEET_AND_INCHES or len(given) > 1:
        raise ValueError("needs a unit after every number, or one unit after the last number")
    return last


def _unit_by_size(width_and_length: list[float]) -> str:
    if all(number < 150 for number in width_and_length):
        return "in"
    if all(number >= 500 for number in width_and_length):
        return "mm"
    raise ValueError("could be in more than one unit: add mm, cm or in after the last number")


def _read_length(text: str) -> tuple[_Ratio, str | None]:
    """Read one length: the ratio in its unit, and the unit (None for a bare number).

    Feet and inches together come back as inches, with the unit "ft in".
    """
    sign, text = _plain(text)
    (top, bottom), unit, rest = _take(text, _LENGTH_WORDS, _LENGTH_HELP)
    if rest and unit == "ft":
        return _feet_and_inches(sign, (top, bottom), rest.removeprefix("-").lstrip())
    if rest:
        raise ValueError(f"is not one length: '{rest}' is left over")
    return (sign * top, bottom), unit


def _feet_and_inches(sign: int, feet: _Ratio, text: str) -> tuple[_Ratio, str]:
    inches, unit, rest = _take(text, _LENGTH_WORDS, _LENGTH_HELP)
    if rest or unit not in ("in", None) or feet[1] != 1 or inches[0] >= 12 * inches[1]:
        raise ValueError("must be whole feet and less than 12 inches, such as 6 ft 6 1/2 in")
    return (sign * (12 * feet[0] * inches[1] + inches[0]), inches[1]), _FEET_AND_INCHES


def _plain(text: str) -> tuple[int, str]:
    """Sign and the rest of a text, with marks, spaces and case made alike."""
    if len(text) > _LONGEST_TEXT:
        raise ValueError(f"is longer than {_LONGEST_TEXT} characters")
    text = " ".join(text.translate(_PLAIN).lower().replace("''", '"').split())
    if not text:
        raise ValueError("is empty")
    grouped = _THOUSANDS.search(text)
    if grouped:
        digits = grouped[0].replace(",", "")
        raise ValueError(f"has an ambiguous comma: write {digits}, or a point for decimals")
    if text[0] in "+-":
        return (-1 if text[0] == "-" else 1), text[1:].lstrip()
    return 1, text


def _take(text: str, words: dict[str, str], help_: str) -> tuple[_Ratio, str | None, str]:
    """Take one number and its unit off the front: the ratio, the unit or None, the rest."""
    found = _QUANTITY.match(text)
    if not found:
        raise ValueError(f"is not a number with a unit: {help_}")
    ratio, rest = _number(found), text[found.end() :]
    word = found["unit"]
    if word and word not in words:
        raise ValueError(f"has the unknown unit '{word}': {help_}")
    if word.isalpha():
        rest = rest.removeprefix(".")
    return ratio, words[word] if word else None, rest.strip()


def _number(found: re.Match[str]) -> _Ratio:
    if found["decimal"]:
        return _decimal(found["decimal"])
    whole, top, bottom = int(found["whole"] or 0), int(found["top"]), int(found["bottom"])
    if bottom == 0:
        raise ValueError("has a fraction over 0")
    if found["whole"] and top >= bottom:
        raise ValueError(f"has a fraction of 1 or more after a whole number: {top}/{bottom}")
    return whole * bottom + top, bottom


def _decimal(text: str) -> _Ratio:
    whole, _, part = text.replace(",", ".").partition(".")
    return int(whole + part), 10 ** len(part)


def _finite(value: object, example: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"must be a number or text such as '{example}'")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValueError("must be a finite number")
    return number


def _ratio_of(number: float) -> _Ratio:
    """The decimal a person would see, so that 1.1 and "1.1" are the same length."""
    digits, _, power = repr(abs(number)).partition("e")
    top, bottom = _decimal(digits)
    shift = int(power or 0)
    top, bottom = top * 10 ** max(shift, 0), bottom * 10 ** max(-shift, 0)
    return (-top if number < 0 else top), bottom


def _in_mm(ratio: _Ratio, unit: str) -> float:
    top, bottom = _MM_IN["in" if unit == _FEET_AND_INCHES else unit]
    try:
        return ratio[0] * top / (ratio[1] * bottom)
    except OverflowError:
        raise ValueError("must be a finite number") from None


# --- writing -----------------------------------------------------------------------------


def format_number(
    length: float, unit: LengthUnit, *, denominator: int = 64, decimals: int = 1
) -> str:
    """Write a length in mm as a bare number: "7 1/2" in inches, "190.5" in mm.

    Inches are rounded to the nearest 1/``denominator`` and reduced; ``denominator``
    is a power of two. Millimetres are rounded to ``decimals`` places, without
    trailing zeros. What rounds to nothing is "0", never "-0".
    """
    if not math.isfinite(length):
        raise ValueError("must be a finite number")
    if unit == "mm":
        return _trimmed(length, decimals)
    if denominator < 1 or denominator & (denominator - 1):
        raise ValueError(f"a rule is not divided into {denominator}ths: use a power of two")
    parts = round(abs(length) / MM_PER_INCH * denominator)
    whole, top = divmod(parts, denominator)
    common = math.gcd(top, denominator)
    fraction = f"{top // common}/{denominator // common}" if top else ""
    sign = "-" if length < 0 and parts else ""
    return sign + " ".join(filter(None, (str(whole) if whole or not top else "", fraction)))


def format_length(
    length: float, unit: LengthUnit, *, denominator: int = 64, decimals: int = 1
) -> str:
    """Write a length in mm with its unit: "7 1/2 in" or "190.5 mm"; see ``format_number``."""
    number = format_number(length, unit, denominator=denominator, decimals=decimals)
    return f"{number} {_DEFAULT_UNIT[unit]}"


def format_both(
    length: float, unit: LengthUnit = "inch", *, denominator: int = 64, decimals: int = 1
) -> str:
    """Write a length in mm in both units, ``unit`` first: "7 1/2 in [190.5 mm]"."""
    other: LengthUnit = "inch" if unit == "mm" else "mm"
    first, second = (
        format_length(length, each, denominator=denominator, decimals=decimals)
        for each in (unit, other)
    )
    return f"{first} [{second}]"


def format_angle(angle_deg: float, *, decimals: int = 2) -> str:
    """Write an angle in degrees: "0.83 deg"."""
    if not math.isfinite(angle_deg):
        raise ValueError("must be a finite number")
    return f"{_trimmed(angle_deg, decimals)} deg"


def _trimmed(number: float, decimals: int) -> str:
    text = f"{number:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
