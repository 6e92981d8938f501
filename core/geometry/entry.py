"""Where wires enter a device."""

from math import cos, radians, sin

from core.model import Device, Point


def entry_point(device: Device) -> Point:
    """The wire entry of a device in mm of its surface: its offset, turned with the device."""
    c, s = cos(radians(device.turn_deg)), sin(radians(device.turn_deg))
    x, y = device.entry_mm
    return device.at_mm[0] + x * c - y * s, device.at_mm[1] + x * s + y * c
