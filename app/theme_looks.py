"""The tables of the look, kept in `core.pages.looks` because SVG and DXF are drawn from them too."""

from core.pages.looks import (
    BUNDLES_DARK,
    BUNDLES_LIGHT,
    COLOURS,
    LOOKS,
    NAMES,
    WIRE_COLOURS,
    Look,
    ThemeName,
)

__all__ = ["BUNDLES_DARK", "BUNDLES_LIGHT", "COLOURS", "LOOKS", "NAMES", "WIRE_COLOURS", "Look", "ThemeName"]
