"""The rules of a standards profile in words, in groups, as the window and the papers show them."""

from core.model import Limit, Profile

#: Heading, then code and words of each rule, in the order of the build.
GROUPS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("Voltage drop, source to load and back", (
        ("drop.critical", "Feeders and critical loads"),
        ("drop.other", "All other loads"),
        ("conductor.drop_c", "Conductor temperature for the drop"),
    )),
    ("Fuses", (
        ("fuse.factor", "Fuse at least, of the running current"),
        ("fuse.ampacity_share", "Fuse at most, of the derated ampacity"),
        ("fuse.min_a", "Smallest rating"),
        ("fuse.distance_mm", "From the source at most"),
        ("fuse.distance_sheathed_mm", "From the source at most, sheathed"),
        ("fuse.distance_battery_mm", "From a battery at most, sheathed"),
        ("mains.rcd_ma", "RCD trips at, at most"),
    )),
    ("Wire sizes", (
        ("wire.min_section_mm2", "Smallest section"),
        ("wire.min_mains_mm2", "Smallest section, mains"),
        ("bond.min_section_mm2", "Smallest bond"),
        ("parallel.min_section_mm2", "Smallest section in parallel"),
        ("ampacity.factor", "Ampacity at least, of the running current"),
        ("terminal.temperature_c", "Terminals at most"),
    )),
    ("Heat", (
        ("ambient.base_c", "Base of the ampacity table"),
        ("ambient.default_c", "Living space"),
        ("ambient.void_c", "Roof and wall voids"),
        ("ambient.engine_c", "Engine space"),
        ("grouping.loaded_percent", "Counts in a bundle from, of its ampacity"),
        ("altitude.m", "Highest place it is used at"),
        ("grouping.min_shared_mm", "Counts in a bundle from a shared length of"),
        ("covered.base_c", "Base of the covered-length factors"),
        ("covered.from_mm", "Covered by insulation from"),
    )),
    ("Securing points", (
        ("securing.span_mm", "Apart at most"),
        ("securing.battery_span_mm", "Apart at most, battery leads"),
        ("securing.battery_first_mm", "First point of a battery lead"),
        ("securing.cabinet_span_mm", "Apart at most, in cabinets"),
        ("securing.first_mm", "First point from a terminal"),
        ("securing.mains_mm", "Apart at most, mains, level"),
        ("securing.mains_vertical_mm", "Apart at most, mains, upright"),
        ("securing.slack_mm", "Slack between two points"),
        ("tie.pitch_mm", "Ties of a bundle apart"),
        ("tie.max_pitch_mm", "Ties needed where supports are apart more than"),
    )),
    ("Bends, inside radius in outside diameters", (
        ("bend.bundle_multiple", "Bundle"),
        ("bend.bundle_supported_multiple", "Bundle held at both ends"),
        ("bend.wire_multiple", "Single wire"),
        ("bend.coax_multiple", "Coaxial cable"),
        ("bend.mains_multiple", "Mains cable"),
    )),
    ("Fill", (
        ("fill.conduit_1", "Conduit, one wire"),
        ("fill.conduit_2", "Conduit, two wires"),
        ("fill.conduit_3", "Conduit, three and more"),
        ("fill.convoluted", "Split conduit"),
        ("fill.bore_over_bundle", "Bore of a hole over the bundle"),
    )),
    ("Distances", (
        ("separation.mains_mm", "Mains from other wires"),
        ("separation.data_mm", "Signals from power"),
        ("edge.clearance_mm", "Metal edges"),
        ("zone.hot_mm", "Hot parts"),
        ("zone.fuel_mm", "Fuel lines"),
        ("zone.gas_mm", "Gas"),
        ("zone.brake_mm", "Brake lines"),
        ("zone.airbag_mm", "Airbags"),
        ("zone.moving_mm", "Moving parts"),
        ("zone.wet_mm", "Wet places"),
        ("zone.sharp_mm", "Sharp parts"),
        ("zone.other_mm", "Other keep-out zones"),
    )),
    ("Labels", (
        ("label.end_mm", "From the end at most"),
        ("label.interval_mm", "Apart at most"),
    )),
)  # fmt: skip
OTHERS = "Other rules"
KNOWN_WORDS = {
    "read": "read",
    "memory": "from memory",
    "common practice": "common practice",
    "not read": "not read: fill in from your own copy",
}


def grouped(profile: Profile) -> tuple[tuple[str, tuple[tuple[str, Limit], ...]], ...]:
    """All limits of a profile: (heading, (words, limit)). A rule without words stands last, by its code."""
    rows = {row.rule: row for row in profile.limits}
    groups = [
        (heading, tuple((words, rows.pop(rule)) for rule, words in rules if rule in rows)) for heading, rules in GROUPS
    ]
    groups.append((OTHERS, tuple((rule, row) for rule, row in rows.items())))
    return tuple(group for group in groups if group[1])


def unit_words(unit: str) -> str:
    return {"C": "°C", "mm2": "mm²", "times": "×"}.get(unit, unit)
