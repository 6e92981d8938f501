"""The imprint of a plan: title block values, and the cautions that its papers have to carry."""

from core.model import Plan
from core.pages.paper import Imprint

#: Printed on every page: which way left and right are meant.
SIDES = "Vehicle left and right are as sat in the driver's seat."
PLANNING_AID = "Planning aid: local codes and the makers' instructions decide."

MAINS = (
    "Mains: danger to life. Values are for planning, not for approval. Have mains work done, tested and certified by a "
    "licensed electrician under local codes."
)
BATTERY = (
    "Batteries: they can weld and burn. Fuse at the battery, cover terminals, disconnect before work, vent as the "
    "maker says."
)
GAS = "Gas: keep wires clear of lines and lockers; gas work is for licensed fitters."
AIRBAG = "Airbags: never route or drill near airbags, seat-belt tensioners or their wiring."
FUEL = "Fuel and brake lines: keep clear; look behind before drilling."
DRILLING = "Drilling: check both sides first, keep off structural members, deburr, paint, fit the grommet."


def cautions(plan: Plan) -> tuple[str, ...]:
    """The cautions for what this plan touches, the gravest first."""
    systems = {device.electrical.system for device in plan.devices}
    zones = {zone.kind for zone in plan.zones}
    asked = (
        (any(circuit.group == "mains" for circuit in plan.circuits) or bool(systems & {"ac230", "ac120"}), MAINS),
        (any(device.kind == "battery" for device in plan.devices), BATTERY),
        ("gas" in zones, GAS),
        ("airbag" in zones, AIRBAG),
        (bool(zones & {"fuel", "brake"}), FUEL),
        (bool(plan.pass_throughs or plan.penetrations or plan.metal_edges), DRILLING),
    )
    return tuple(text for holds, text in asked if holds)


def brief_cautions(cautions: tuple[str, ...]) -> tuple[str, ...]:
    """One line for the pages after the first: mains in words, the others by name."""
    if not cautions:
        return ()
    names = [text.partition(":")[0].lower() for text in cautions]
    named = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
    mains = "Mains work is for a licensed electrician. " if MAINS in cautions else ""
    return (f"{mains}The cautions on page 1 hold here too: {named}.",)


def imprint(plan: Plan, date: str) -> Imprint:
    """`date` is the day of printing as it shall be read, e.g. "25 Nov 2026"."""
    changes = len(plan.profile.changes)
    own = f", {changes} limit{'s' if changes > 1 else ''} changed" if changes else ""
    return Imprint(
        plan=plan.name,
        vehicle=plan.vehicle.description,
        revision=plan.revisions[-1].letter if plan.revisions else "",
        date=date,
        profile=f"{plan.profile.id} {plan.profile.version}{own}",
        customer=plan.customer.name if plan.build_for == "customer" else "",
        cautions=cautions(plan),
    )
