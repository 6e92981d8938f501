"""Tables as data: cut list, schedules, materials, findings."""

from core.tables.table import Cell, Column, Swatch, Table

__all__ = ["Cell", "Column", "Swatch", "Table"]
