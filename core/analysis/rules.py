"""Where the engine reads the numbers of a standards profile. A missing rule is a fault of the profile file."""

from core.model import Channel, Limit, Profile, Surface, limit

#: Every rule the engine asks for; the library's tests look that each shipped profile has them all.
REQUIRED: tuple[str, ...] = (
    "drop.critical",
    "drop.other",
    "fuse.factor",
    "fuse.ampacity_share",
    "fuse.min_a",
    "ampacity.factor",
    "terminal.temperature_c",
    "wire.min_section_mm2",
    "wire.min_mains_mm2",
    "bond.min_section_mm2",
    "parallel.min_section_mm2",
    "grouping.loaded_percent",
    "covered.base_c",
    "mains.rcd_ma",
    "altitude.m",
    "ambient.base_c",
    "ambient.engine_c",
    "grouping.min_shared_mm",
    "securing.span_mm",
    "securing.battery_span_mm",
    "securing.cabinet_span_mm",
    "securing.first_mm",
    "securing.mains_mm",
    "securing.mains_vertical_mm",
    "bend.bundle_supported_multiple",
    "bend.bundle_multiple",
    "bend.wire_multiple",
    "bend.coax_multiple",
    "bend.mains_multiple",
    "fuse.distance_mm",
    "fuse.distance_sheathed_mm",
    "fuse.distance_battery_mm",
    "fill.conduit_1",
    "fill.conduit_2",
    "fill.conduit_3",
    "fill.convoluted",
    "edge.clearance_mm",
    "tie.pitch_mm",
    "separation.mains_mm",
    "separation.data_mm",
    "zone.fuel_mm",
    "zone.gas_mm",
    "zone.brake_mm",
    "zone.hot_mm",
    "zone.wet_mm",
    "zone.moving_mm",
    "zone.airbag_mm",
    "zone.sharp_mm",
    "zone.other_mm",
)


def number(profile: Profile, rule: str) -> float:
    """The value of a rule. Raises KeyError for a profile with a hole in it."""
    value = limit(profile, rule).used
    assert value is not None  # `limit` passes over rows without a number
    return value


def told(row: Limit) -> str:
    """The source of a limit as it is shown: with a word where the value is from memory or only stands in."""
    match row.known:
        case "read":
            return row.source
        case "memory":
            return f"{row.source} (from memory)"
        case "not read":
            return f"{row.source} (not read; {row.used:g} {row.unit} stands in)" if row.value is None else row.source
    return row.known


def source(profile: Profile, rule: str) -> str:
    """The shown source of a rule."""
    return told(limit(profile, rule))


#: Kinds of channel that lie where the sun heats the skin.
_WARM = frozenset({"behind_panel", "void", "exterior"})


def ambient_c(channel: Channel, surface: Surface | None, profile: Profile, usual_c: float, void_c: float) -> float:
    """Ambient temperature of a channel: its own, else by its kind; a wall or roof behind a panel counts as a void."""
    if channel.ambient_c is not None:
        return channel.ambient_c
    if channel.kind == "engine_bay":
        return number(profile, "ambient.engine_c")
    warm = channel.kind in _WARM and (surface is None or surface.role != "floor")
    return max(void_c, usual_c) if warm else usual_c
