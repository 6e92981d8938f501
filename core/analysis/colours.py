"""Colours of conductors by role. Letter codes are IEC 60757 (from memory; GNYE read on a public page).

Mains: line brown, neutral blue, protective earth green-and-yellow (European fixed wiring, read: armoured-cable.net);
120 V systems black, white, green (US practice, read there too). DC: feed red, return black (ABYC table, read twice).
"""

from core.analysis.results import Wire
from core.model import Circuit, Device, WireKind

_MAINS = {"line": "BN", "neutral": "BU", "protective_earth": "GNYE", "switched": "BN", "bond": "GNYE"}
_MAINS_US = {"line": "BK", "neutral": "WH", "protective_earth": "GN", "switched": "BK", "bond": "GN"}
_DC = {"feed": "RD", "return": "BK", "switched": "OG", "bond": "GNYE", "spare": "GY", "data": "WH", "antenna": "BK"}

#: Words for the codes, as printed beside the swatch.
WORDS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "TQ": "turquoise", "GNYE": "green-and-yellow",
}  # fmt: skip
_CODES = {word: code for code, word in WORDS.items()} | {"green-yellow": "GNYE"}
#: Kinds of circuit whose feed stays a feed behind a main switch.
_MAIN_FEEDS = frozenset({"feeder", "battery_lead", "link"})


def wire_colour(wire: Wire, circuit: Circuit, load: Device, kind: WireKind) -> str:
    """The colour code of a wire: that of a kind sold in one colour only, else by role.

    A circuit's own colour is for its feed; cores of a cable keep the role's colour.
    """
    if kind.cores == 1 and len(kind.core_colours) == 1 and kind.core_colours[0] in _CODES:
        return _CODES[kind.core_colours[0]]
    if wire.group == "mains":
        table = _MAINS_US if load.electrical.system == "ac120" else _MAINS
        return table.get(wire.role, "GY")
    if circuit.colour and wire.role in ("feed", "switched", "spare", "data"):
        return circuit.colour
    if kind.cores > 1 and wire.cable is None:
        return "GY"
    role = "feed" if wire.role == "switched" and circuit.kind in _MAIN_FEEDS else wire.role
    return _DC.get(role, "GY")
