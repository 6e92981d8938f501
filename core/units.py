"""Reading what a person types into millimetres, amperes, watts, volts, mm2 and degrees, and showing them again.

Every reader takes sums and whole-number multiples (``300 + 2*450``, ``2 ft 6 in - 1/2 in``), a decimal point or comma,
and answers with a finite number or raises `UnitProblem` with a sentence. What stands without a unit is in the
reader's own. Nothing here imports pint until a unit is met that the small tables do not hold.
"""

import re
import unicodedata
from functools import cache
from math import isfinite, pi
from typing import TYPE_CHECKING, Literal, NamedTuple

import msgspec

if TYPE_CHECKING:
    import pint

LengthUnit = Literal["mm", "cm", "m", "in", "ft"]

MM_PER_IN = 25.4
#: No vehicle is longer; a typed length beyond it is a slip (1 km).
LONGEST_MM = 1e6
#: One circular mil, the area of a circle one thousandth of an inch across (exact).
MM2_PER_CMIL = pi / 4 * 0.0254**2
_LONGEST_TEXT = 200


class UnitProblem(ValueError):
    """What a person typed cannot be read; the text is a sentence that says why and what would be right."""


class Quantity(msgspec.Struct, frozen=True):
    """What a reader reads: its units in the base unit, an example for messages, the largest sensible number."""

    name: str
    base: str
    units: dict[str, float]
    example: str
    most: float


LENGTH = Quantity(
    "a length", "mm",
    {"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "ft": 304.8, "foot": 304.8,
     "feet": 304.8, "'": 304.8, "yd": 914.4, "µm": 1e-3, "thou": 0.0254},
    "850, 1.2 m, 2 ft 6 in or 300 + 2*450", LONGEST_MM,
)  # fmt: skip
CURRENT = Quantity("a current", "A", {"A": 1, "mA": 1e-3, "kA": 1e3, "amp": 1, "amps": 1}, "7.5, 7.5 A or 500 mA", 1e5)
POWER = Quantity("a power", "W", {"W": 1, "kW": 1e3, "mW": 1e-3, "VA": 1, "kVA": 1e3}, "60, 60 W or 1.2 kW", 1e6)
VOLTAGE = Quantity("a voltage", "V", {"V": 1, "mV": 1e-3, "kV": 1e3}, "12.8 or 12.8 V", 1e5)
SECTION = Quantity("a section", "mm2", {"mm2": 1, "kcmil": 1000 * MM2_PER_CMIL, "MCM": 1000 * MM2_PER_CMIL,
                                        "cmil": MM2_PER_CMIL}, "2.5, 2.5 mm², 12 AWG or 4/0 AWG", 2000)  # fmt: skip
ANGLE = Quantity("an angle", "deg", {"deg": 1, "°": 1, "degree": 1, "degrees": 1, "rad": 180 / pi}, "90 or 92.5°", 3600)

#: Larger to smaller unit that may follow it in one length: 2 ft 6 in, 1 m 20 cm.
_SMALLER = {304.8: (25.4,), 914.4: (304.8, 25.4), 1000.0: (10.0, 1.0), 10.0: (1.0,)}
_PLAIN = str.maketrans({
    "′": "'", "’": "'", "‘": "'", "ʹ": "'", "″": '"', "”": '"', "“": '"', "×": "*", "·": "*", "−": "-", "–": "-",
    "⁄": "/", "º": "°", "μ": "µ",
})  # fmt: skip
_TOKEN = re.compile(
    r"\s*(?:(?P<fraction>[0-9]+\s*/\s*[0-9]+)(?![0-9.,])|(?P<number>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
    r"|(?P<unit>mm2|[A-Za-zµ]+|[\"'°])|(?P<op>[+*-])|(?P<other>\S))"
)


class _Token(NamedTuple):
    kind: str
    text: str


def read_length_mm(text: str, unit: LengthUnit = "mm", *, least_mm: float = 0.0, most_mm: float = LONGEST_MM) -> float:
    """A length in millimetres: ``850``, ``1,2 m``, ``2 ft 6 in``, ``2'6 1/2"``, ``1 1/2 in``, ``300 + 2*450``.

    `unit` is that of numbers without one; a bare number after feet is inches. ``2'-6"`` without blanks is two feet
    six, as drawings write it; ``2' - 6"`` is a difference. ``1,200`` is refused because it means two things.
    Raises UnitProblem when it cannot be read or is outside the limits.
    """
    value = _read(text, LENGTH, unit)
    if not least_mm <= value <= most_mm:
        limits = f"from {show_length(least_mm)} to {show_length(most_mm)}"
        raise UnitProblem(f"“{_short(text)}” is {show_length(value)}; expected a length {limits}.")
    return value


def read_current_a(text: str) -> float:
    """A current in amperes, not negative: ``7.5``, ``7,5 A``, ``500 mA``. Raises UnitProblem."""
    return _not_negative(text, CURRENT)


def read_power_w(text: str) -> float:
    """A power in watts, not negative: ``60``, ``1.2 kW``, ``0.5 hp``. Raises UnitProblem."""
    return _not_negative(text, POWER)


def read_voltage_v(text: str) -> float:
    """A voltage in volts, not negative: ``12.8``, ``12,8 V``. Raises UnitProblem."""
    return _not_negative(text, VOLTAGE)


def read_angle_deg(text: str) -> float:
    """An angle in degrees, may be negative: ``90``, ``-90°``, ``1,5 rad``, ``90 + 5``. Raises UnitProblem."""
    return _read(text, ANGLE, "deg")


def read_temperature_c(text: str) -> float:
    """A temperature in degrees Celsius from -100 to 400: ``60``, ``60 °C``, ``140 F``. Raises UnitProblem."""
    match = re.fullmatch(r"([+-]?[0-9]{1,4}(?:[.,][0-9]{1,6})?)\s*(?:°\s*)?([CcFf]?)", text.translate(_PLAIN).strip())
    if not match:
        raise UnitProblem(f"“{_short(text)}” is no temperature; expected one like 60, 60 °C or 140 °F.")
    value = float(match[1].replace(",", "."))
    celsius = round((value - 32) / 1.8, 9) if match[2] in {"F", "f"} else value
    if not -100 <= celsius <= 400:
        raise UnitProblem(f"“{_short(text)}” is {celsius:.0f} °C; expected a temperature from -100 to 400 °C.")
    return celsius


class Section(NamedTuple):
    """A section, and the gauge when it was given as one."""

    section_mm2: float
    gauge_awg: str | None


def read_section(text: str) -> Section:
    """A section above zero: ``2.5``, ``2,5 mm²``, ``12 AWG``, ``4/0``, ``250 kcmil``. Raises UnitProblem."""
    plain = text.strip().replace("²", "2").replace("^2", "2").replace("sq mm", "mm2")
    word = re.fullmatch(r"(?:AWG\s*)?(#?[0-9]+(?:/0)?)(\s*AWG)?", plain, re.IGNORECASE)
    if word and (not plain[0].isdigit() or word[2] or word[1].endswith("/0")):
        try:
            gauge = gauge_name(gauge_number(word[1]))
        except ValueError as error:
            raise UnitProblem(f"{error}.") from None
        return Section(awg_section_mm2(gauge), gauge)
    value = _not_negative(plain, SECTION)
    if value <= 0:
        raise UnitProblem(f"A section of {value:g} mm² carries nothing; expected {SECTION.example}.")
    return Section(value, None)


def read_section_mm2(text: str) -> float:
    """The section alone of `read_section`, in mm2. Raises UnitProblem."""
    return read_section(text).section_mm2


def gauge_number(gauge: str) -> int:
    """The number n of the ASTM B258 formula: ``"14"`` is 14, ``"1/0"`` 0, ``"4/0"`` -3 (``"0000"`` too).

    Raises ValueError for what is no gauge from 40 to 4/0.
    """
    text = gauge.strip().upper().removeprefix("#").removeprefix("AWG").removesuffix("AWG").strip()
    plain = text.isascii()
    if plain and re.fullmatch(r"[1-4]/0", text):
        n = 1 - int(text[0])
    elif plain and re.fullmatch(r"0{1,4}", text):
        n = 1 - len(text)
    elif plain and re.fullmatch(r"[1-9][0-9]?", text) and int(text) <= 40:
        n = int(text)
    else:
        raise ValueError(f"“{gauge}” is no AWG gauge; expected one from 40 to 1, or 1/0 to 4/0")
    return n


def gauge_name(n: int) -> str:
    """The way a gauge number is written: 14 is ``"14"``, 0 ``"1/0"``, -3 ``"4/0"``."""
    return str(n) if n > 0 else f"{1 - n}/0"


def awg_diameter_mm(gauge: str) -> float:
    """Diameter of the solid conductor: 0.005 in x 92^((36-n)/39) (ASTM B258)."""
    return float(MM_PER_IN * 0.005 * 92 ** ((36 - gauge_number(gauge)) / 39))


def awg_section_mm2(gauge: str) -> float:
    """Copper section of an AWG conductor (ASTM B258). Vehicle cable of the same SAE number holds less."""
    return pi / 4 * awg_diameter_mm(gauge) ** 2


@cache
def _registry() -> "pint.UnitRegistry[float]":
    import pint

    return pint.UnitRegistry()


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Between any two units of one kind, by pint. Raises UnitProblem for unknown or unlike units."""
    from tokenize import TokenError

    import pint

    try:
        return float(_registry().Quantity(value, from_unit).to(to_unit).magnitude)
    except (
        pint.errors.PintError, AttributeError, TypeError, ValueError,
        # pint reads a unit as an expression: what brackets and fractions of nothing make of it
        ArithmeticError, AssertionError, RecursionError, TokenError,
    ):  # fmt: skip
        raise UnitProblem(f"“{from_unit}” cannot be turned into {to_unit}.") from None


def _not_negative(text: str, quantity: Quantity) -> float:
    value = _read(text, quantity, quantity.base)
    if value < 0:
        raise UnitProblem(f"“{_short(text)}” is below zero; expected {quantity.name} like {quantity.example}.")
    return value


def _read(text: str, quantity: Quantity, unit: str) -> float:
    value = _Reader(text, quantity, unit).value()
    if not (isfinite(value) and abs(value) <= quantity.most):
        most = show_length(quantity.most, "m") if quantity is LENGTH else f"{quantity.most:.0f} {quantity.base}"
        raise UnitProblem(f"“{_short(text)}” is too large; expected {quantity.name} up to {most}.")
    return value


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 40 else text[:39] + "…"


def _plain(text: str) -> str:
    """Typographic signs to typed ones: ½ to " 1/2", ′ to ', × to *; 1-1/2 and 2'-6 to mixed numbers."""
    parts = []
    for sign in text:
        if unicodedata.decomposition(sign).startswith("<fraction>"):
            parts.append(" " + unicodedata.normalize("NFKC", sign))
        else:
            parts.append(sign)
    plain = "".join(parts).translate(_PLAIN).replace("''", '"')
    plain = re.sub(r"(?<![0-9/.,])([0-9]{1,2})-([0-9]+/[0-9]+)", r"\1 \2", plain)
    return re.sub(r"('|ft)-(?=[0-9])", r"\1 ", plain)


class _Reader:
    """One text, read left to right: sum of products of a measure and whole numbers."""

    def __init__(self, text: str, quantity: Quantity, unit: str) -> None:
        self.text, self.quantity, self.unit = text, quantity, unit
        self.at = 0
        if len(text) > _LONGEST_TEXT:
            raise self.problem(f"“{_short(text)}” is too long")
        if not text.strip():
            raise self.problem("Nothing is typed")
        self.tokens = [_Token(str(m.lastgroup), m[str(m.lastgroup)]) for m in _TOKEN.finditer(_plain(text.strip()))]

    def problem(self, what: str) -> UnitProblem:
        return UnitProblem(f"{what}; expected {self.quantity.name} like {self.quantity.example}.")

    def peek(self) -> _Token:
        return self.tokens[self.at] if self.at < len(self.tokens) else _Token("end", "")

    def take(self) -> _Token:
        token = self.peek()
        self.at += 1
        return token

    def value(self) -> float:
        total, sign = 0.0, 1.0
        if self.peek().text in {"+", "-"} and self.peek().kind == "op":
            sign = -1.0 if self.take().text == "-" else 1.0
        while True:
            total += sign * self.product()
            token = self.take()
            if token.kind == "end":
                # 1 1/2 in is 38.1 mm, not 38.099999999999994.
                return round(total, 9) + 0.0
            if token.kind != "op" or token.text == "*":
                raise self.problem(f"“{token.text}” was not expected in “{_short(self.text)}”")
            sign = -1.0 if token.text == "-" else 1.0

    def product(self) -> float:
        value, has_unit, whole = self.measure()
        while self.peek().text in {"*", "x", "X"}:
            self.take()
            other, other_has_unit, other_whole = self.measure()
            if not ((whole and not has_unit) or (other_whole and not other_has_unit)):
                raise self.problem(f"“{_short(self.text)}” multiplies by something that is no whole number")
            value, has_unit, whole = value * other, has_unit or other_has_unit, whole and other_whole
        return value if has_unit else value * self.factor(self.unit)

    def measure(self) -> tuple[float, bool, bool]:
        """(value in base units when it has a unit, else as typed; has a unit; is a whole number)."""
        number, whole = self.number()
        if self.peek().kind != "unit" or self.peek().text in {"x", "X"}:
            return number, False, whole
        larger = self.factor(self.take().text)
        total = number * larger
        while self.peek().kind in {"number", "fraction"}:
            number, _ = self.number()
            following = _SMALLER.get(larger, ()) if self.quantity is LENGTH else ()
            if self.peek().kind == "unit":
                smaller = self.factor(self.take().text)
            elif larger == _FOOT:
                smaller = MM_PER_IN
            else:
                raise self.problem(f"“{_short(self.text)}” has a number without a unit after one with a unit")
            if smaller not in following:
                raise self.problem(f"“{_short(self.text)}” puts two measures side by side without + or -")
            total, larger = total + number * smaller, smaller
        return total, True, False

    def number(self) -> tuple[float, bool]:
        token = self.take()
        if token.kind == "fraction":
            return self.fraction(token.text), False
        if token.kind != "number":
            what = (
                f"“{token.text}” stands where a number should" if token.text else f"“{_short(self.text)}” stops early"
            )
            raise self.problem(what)
        whole_part = token.text
        if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", whole_part):
            plain = whole_part.replace(",", "")
            raise self.problem(
                f"“{whole_part}” could be {plain} or {whole_part.replace(',', '.')}, so write one of these"
            )
        value = float(whole_part.replace(",", "."))
        if self.peek().kind == "fraction" and whole_part.isdecimal():
            return value + self.fraction(self.take().text), False
        return value, whole_part.isdecimal()

    def fraction(self, text: str) -> float:
        above, below = (int(part) for part in text.split("/"))
        if below == 0:
            raise self.problem(f"“{text}” divides by zero")
        return above / below

    def factor(self, word: str) -> float:
        units = self.quantity.units
        if word in units:
            return float(units[word])
        # MM, Ft, kw: another case is meant well, but MW is not mW.
        alike = {float(factor) for name, factor in units.items() if name.lower() == word.lower()}
        if len(alike) == 1 and (self.quantity is LENGTH or word[0] != "M"):
            return alike.pop()
        try:
            return convert(1.0, word, self.quantity.base if self.quantity.base != "mm2" else "mm**2")
        except UnitProblem:
            raise self.problem(f"“{word}” is not a unit of {self.quantity.name.split()[-1]}") from None


_FOOT = 304.8


def show_length(length_mm: float, unit: Literal["mm", "m", "ft_in"] = "mm") -> str:
    """A length for people: ``850 mm`` (to 0.1), ``1.25 m`` (to 1 mm), ``2' 6 1/2"`` (to 1/16 in).

    What is shown can be read again by `read_length_mm`. Not finite: ``–``.
    """
    if not isfinite(length_mm):
        return "–"
    if unit == "mm":
        return f"{_trim(length_mm, 1)} mm"
    if unit == "m":
        return f"{_trim(length_mm / 1000, 3)} m"
    sixteenths = round(abs(length_mm) / MM_PER_IN * 16)
    sign = "-" if length_mm < 0 and sixteenths else ""
    feet, rest = divmod(sixteenths, 12 * 16)
    inches, part = divmod(rest, 16)
    below = 16
    while part and part % 2 == 0:
        part, below = part // 2, below // 2
    words = [f"{feet}'"] if feet else []
    if inches or part or not feet:
        whole = [str(inches)] if inches or not part else []
        words.append(" ".join([*whole, *([f"{part}/{below}"] if part else [])]) + '"')
    return sign + " ".join(words)


def show_section(section_mm2: float, gauge_awg: str | None = None) -> str:
    """A section for people: ``2.5 mm²``, or ``14 AWG`` for a wire that is sold by gauge."""
    if gauge_awg:
        return f"{gauge_awg} AWG"
    return f"{section_mm2:.3g} mm²" if section_mm2 < 1000 else f"{section_mm2:.0f} mm²"


def show(value: float, unit: str, decimals: int = 1) -> str:
    """A number with its unit, without idle zeros: ``show(7.5, "A")`` is ``7.5 A``. Not finite: ``–``."""
    return f"{_trim(value, decimals)} {unit}" if isfinite(value) else "–"


def _trim(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text
