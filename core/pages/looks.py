"""How every style of marks looks: colours of the three themes, pens and fills. Data only, for screen, paper and SVG."""

from dataclasses import dataclass
from typing import Literal

ThemeName = Literal["light", "dark", "print"]
NAMES: tuple[ThemeName, ...] = ("light", "dark", "print")

#: Safe for colour-blind eyes, DESIGN section 5.
BUNDLES_LIGHT = ("#00466b", "#8c1410", "#35a160", "#c846cc", "#b08d00", "#768390")
BUNDLES_DARK = ("#4684a3", "#de5739", "#7fd99c", "#eaa1fe", "#ffa600", "#dfe9f3")

#: Dash patterns in widths of the line.
DASH_DOT = (9.0, 3.0, 1.5, 3.0)
LONG_DASH = (9.0, 5.0)
DASHES = (5.0, 3.0)
DOTS = (1.5, 2.5)


@dataclass(frozen=True)
class Look:
    """How a style is drawn: colour names of the theme; None draws nothing. `width_mm` on paper."""

    line: str | None = "ink"
    fill: str | None = None
    width_mm: float = 0.25
    dashes: tuple[float, ...] = ()


LOOKS: dict[str, Look] = {
    "outline": Look(width_mm=0.32),
    "outline:ground": Look(line=None, fill="ground"),
    "outline:floor": Look(line=None, fill="floor"),
    "outline:hole": Look(fill="paper", width_mm=0.32),
    "fold": Look(width_mm=0.32, dashes=DASH_DOT),
    "fold:mark": Look(fill="paper", width_mm=0.30),
    "seam": Look(width_mm=0.28, dashes=LONG_DASH),
    "seam:tab": Look(fill="paper", width_mm=0.26),
    "seam:open": Look(line="error", fill="paper", width_mm=0.26),
    "grid": Look(line="grid", width_mm=0.12),
    "rib": Look(line="rib_line", fill="rib", width_mm=0.12),
    "rib:blocked": Look(line="muted", fill="rib", width_mm=0.14, dashes=DASHES),
    "opening": Look(line="opening_line", fill="opening", width_mm=0.22),
    "opening:door": Look(line="opening_line", fill="door", width_mm=0.26, dashes=DASHES),
    "box": Look(line="box_line", fill="box", width_mm=0.30),
    "box:arch": Look(line="arch_line", fill="arch", width_mm=0.16),
    "box:above": Look(line="box_line", width_mm=0.26, dashes=LONG_DASH),
    "zone": Look(line="zone", width_mm=0.24, dashes=DASHES),
    "zone:hatch": Look(line="zone", width_mm=0.12),
    "panel": Look(line="panel", width_mm=0.18, dashes=(2.0, 3.0)),
    "panel:closed": Look(line="panel", fill="closed", width_mm=0.22),
    "no_screw": Look(fill="arch", width_mm=0.36),
    "no_screw:hatch": Look(width_mm=0.14),
    "metal_edge": Look(width_mm=0.42),
    "metal_edge:protected": Look(line="muted", width_mm=0.42),
    "device": Look(fill="device", width_mm=0.36),
    "device:glyph": Look(width_mm=0.22),
    "device:fall": Look(line="muted", width_mm=0.22, dashes=(3.0, 2.0)),
    "channel": Look(line="free", width_mm=0.36, dashes=DOTS),
    "channel:blocked": Look(line="free", width_mm=0.36, dashes=(6.0, 2.0)),
    "channel:problem": Look(line="error", width_mm=0.30, dashes=DOTS),
    "bundle_gap": Look(line="ground", fill="ground", width_mm=0.6),
    "tick": Look(width_mm=0.34),
    "tick:gap": Look(line="halo", width_mm=0.90),
    "node": Look(line=None, fill="free", width_mm=0.12),
    "crossing": Look(fill="paper", width_mm=0.22),
    "crossing:warning": Look(line="warning", fill="paper", width_mm=0.26),
    "crossing:error": Look(line="error", fill="paper", width_mm=0.26),
    "dimension": Look(width_mm=0.16),
    "dimension:tick": Look(width_mm=0.32),
    "warning": Look(line="warning", fill="paper", width_mm=0.24),
    "warning:line": Look(line="warning", width_mm=0.18),
    "error": Look(line="error", fill="paper", width_mm=0.24),
    "error:line": Look(line="error", width_mm=0.18),
    "note": Look(line="muted", fill="paper", width_mm=0.20),
    "note:line": Look(line="muted", width_mm=0.16),
    "sign:warning": Look(line="sign_line", fill="sign", width_mm=0.34),
    "sign:error": Look(line="sign_error_line", fill="sign_error", width_mm=0.34),
    "select": Look(line="accent", width_mm=0.50),
    "select:halo": Look(line="accent_soft", width_mm=1.6),
    "select:fill": Look(line="accent", fill="accent_soft", width_mm=0.3),
    "hover": Look(line="accent_soft", width_mm=1.3),
    "preview": Look(line="accent", fill="accent_faint", width_mm=0.36, dashes=(4.0, 2.5)),
    "preview:handle": Look(line="accent", fill="paper", width_mm=0.36),
    "snap": Look(line="accent", width_mm=0.36),
    "route": Look(line="accent", width_mm=0.9),
    "route:halo": Look(line="accent_soft", width_mm=3.0),
    "qr": Look(line=None, fill="ink"),
    "rule": Look(width_mm=0.30),
    "rule:thin": Look(line="grid_strong", width_mm=0.14),
    "ruler": Look(line=None, fill="ruler"),
    "blank": Look(line=None, fill="paper"),
    "text": Look(line="ink", fill="ink"),
    "text:muted": Look(line="muted", fill="muted"),
    "text:heading": Look(line="ink", fill="ink"),
    "text:title": Look(line="ink", fill="ink"),
    "text:sign": Look(line="sign_text", fill="sign_text"),
    "text:sign_error": Look(line="sign_error_text", fill="sign_error_text"),
    "text:warning": Look(line="warning_text", fill="warning_text"),
    "text:error": Look(line="error", fill="error"),
    "text:accent": Look(line="accent", fill="accent"),
}

LIGHT: dict[str, str] = {
    "paper": "#ffffff",
    "desk": "#ffffff",
    "ink": "#1b2127",
    "muted": "#646c74",
    "ground": "#fbfbf9",
    "floor": "#f4f3ee",
    "halo": "#fbfbf9",
    "grid": "#eceeec",
    "grid_strong": "#cfd3d4",
    "rib": "#e6e7e6",
    "rib_line": "#d3d5d4",
    "opening": "#e3edf3",
    "opening_line": "#678aa0",
    "door": "#ffffff",
    "box": "#ece4d6",
    "box_line": "#8f7b5b",
    "arch": "#dcdcd6",
    "arch_line": "#c6c6bf",
    "zone": "#7c8180",
    "panel": "#81878a",
    "closed": "#f0efe9",
    "device": "#ffffff",
    "free": "#6c7479",
    "warning": "#b3261e",
    "error": "#b3261e",
    "warning_text": "#8a5a00",
    "sign": "#ffd43b",
    "sign_line": "#b3261e",
    "sign_text": "#1b2127",
    "sign_error": "#b3261e",
    "sign_error_line": "#7d1410",
    "sign_error_text": "#ffffff",
    "accent": "#1b699d",
    "accent_soft": "#521c8fd6",
    "accent_faint": "#241c8fd6",
    "window": "#f3f4f2",
    "base": "#ffffff",
    "alternate": "#f8f8f6",
    "button": "#fbfbf9",
    "edge": "#d5d8d7",
    "hovered": "#e7edf1",
    "ruler": "#eff1f0",
}

DARK: dict[str, str] = {
    "paper": "#14181c",
    "desk": "#14181c",
    "ink": "#e8ebee",
    "muted": "#8f989f",
    "ground": "#1a1f24",
    "floor": "#1f242a",
    "halo": "#1a1f24",
    "grid": "#21272c",
    "grid_strong": "#39424a",
    "rib": "#262d33",
    "rib_line": "#303940",
    "opening": "#1e2c35",
    "opening_line": "#5c8398",
    "door": "#14181c",
    "box": "#302c25",
    "box_line": "#8c7d60",
    "arch": "#2a2f35",
    "arch_line": "#3a4148",
    "zone": "#7c848a",
    "panel": "#6b747b",
    "closed": "#20262b",
    "device": "#11151a",
    "free": "#8d969d",
    "warning": "#ffd43b",
    "error": "#ff8a75",
    "warning_text": "#ffd43b",
    "sign": "#3a1512",
    "sign_line": "#ffd43b",
    "sign_text": "#ffffff",
    "sign_error": "#d5402f",
    "sign_error_line": "#ffb3a6",
    "sign_error_text": "#ffffff",
    "accent": "#6cb8e6",
    "accent_soft": "#606cb8e6",
    "accent_faint": "#2a6cb8e6",
    "window": "#1b2025",
    "base": "#161a1e",
    "alternate": "#1a1f23",
    "button": "#242a30",
    "edge": "#353d44",
    "hovered": "#2a333a",
    "ruler": "#1b2025",
}

#: Paper is white, and greys are dark enough for a black-and-white printer.
PRINT: dict[str, str] = LIGHT | {
    "ground": "#ffffff",
    "halo": "#ffffff",
    "floor": "#f6f6f3",
    "muted": "#565d64",
    "free": "#6c7479",
    "grid": "#e4e6e5",
}

COLOURS: dict[ThemeName, dict[str, str]] = {"light": LIGHT, "dark": DARK, "print": PRINT}

#: Colours of wires by the words people use for them; two-coloured wires show their first.
WIRE_COLOURS = {
    "black": "#2b2b2b",
    "red": "#c8281e",
    "brown": "#7a4a21",
    "orange": "#e8821a",
    "yellow": "#e8c51a",
    "green": "#2e8b45",
    "blue": "#2862b9",
    "violet": "#7d3f98",
    "purple": "#7d3f98",
    "grey": "#8a8f93",
    "gray": "#8a8f93",
    "white": "#f4f4f0",
    "pink": "#e58aa8",
    "green-yellow": "#7fae2f",
}


def look(style: str) -> Look:
    """The look of ``family:variant``: its own, that of its family, or plain text for a family nobody drew."""
    return LOOKS.get(style) or LOOKS.get(style.partition(":")[0]) or LOOKS["text"]


def swatch_colour(words: str) -> str:
    """A wire colour by its word, or as ``#rrggbb``, as ``#rrggbb``; a mid grey for a word nobody knows."""
    key = words.strip().lower().replace("/", "-").replace("-and-", "-").replace(" and ", "-")
    for candidate in (key, key.split("-")[0]):
        if candidate in WIRE_COLOURS:
            return WIRE_COLOURS[candidate]
    is_hex = len(key) == 7 and key[0] == "#" and all(digit in "0123456789abcdef" for digit in key[1:])
    return key if is_hex else "#9a9fa3"


def line_colour(style: str, theme: ThemeName = "print") -> str | None:
    """Colour of the line of a style as ``#rrggbb``; None draws none. Text takes it too."""
    family, _, variant = style.partition(":")
    if family in ("bundle", "pill") and variant.isdigit():
        return bundle_colour(int(variant), theme)
    if family == "node" and variant.isdigit():
        return None
    name = None if family == "swatch" else look(style).line
    return None if name is None else COLOURS[theme][name][:7]


def fill_colour(style: str, theme: ThemeName = "print") -> str | None:
    """Colour of the fill of a style as ``#rrggbb``; None fills nothing."""
    family, _, variant = style.partition(":")
    if family in ("bundle", "node") and variant.isdigit():
        return bundle_colour(int(variant), theme)
    if family == "pill":
        return COLOURS[theme]["paper"]
    if family == "swatch":
        return swatch_colour(variant)
    name = look(style).fill
    return None if name is None else COLOURS[theme][name][:7]


def bundle_colour(number: int, theme: ThemeName = "print") -> str:
    palette = BUNDLES_DARK if theme == "dark" else BUNDLES_LIGHT
    return palette[number % len(palette)]
