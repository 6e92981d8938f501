"""Every table by its name, as papers and files are called."""

from collections.abc import Callable, Mapping

from core.analysis.analysis import Analysis
from core.tables.closing import close_out_sheet
from core.tables.cut_list import cut_list
from core.tables.drilling import drilling_list
from core.tables.fuse_map import fuse_map
from core.tables.handing_over import as_pulled
from core.tables.kits import kit_list, kit_list_by_day, stud_stacks
from core.tables.pulling import pull_plan
from core.tables.schedules import bundle_table, circuit_schedule, wire_table
from core.tables.shopping import shopping_list
from core.tables.table import Table
from core.tables.workshop import findings_list, materials_list, securing_list, wrap_table

TABLES: Mapping[str, Callable[[Analysis], Table]] = {
    "cut-list": cut_list,
    "circuit-schedule": circuit_schedule,
    "wires": wire_table,
    "bundles": bundle_table,
    "materials": materials_list,
    "shopping": shopping_list,
    "securing": securing_list,
    "drilling": drilling_list,
    "pull-plan": pull_plan,
    "fuse-map": fuse_map,
    "kits": kit_list,
    "kits-by-day": kit_list_by_day,
    "studs": stud_stacks,
    "as-pulled": as_pulled,
    "close-out": close_out_sheet,
    "wrap": wrap_table,
    "findings": findings_list,
}
