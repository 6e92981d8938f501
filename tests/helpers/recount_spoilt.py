"""Sample plans spoilt on purpose, one way each, so that the checks have much to say."""

from collections.abc import Callable

from msgspec.structs import replace

from core.model import (
    Bore,
    Circuit,
    Device,
    Limit,
    Plan,
    Protective,
    ReturnPath,
    SecuringPoint,
)


def _circuits(plan: Plan, change: Callable[[Circuit], Circuit]) -> Plan:
    return replace(plan, circuits=tuple(change(circuit) for circuit in plan.circuits))


def _devices(plan: Plan, change: Callable[[Device], Device]) -> Plan:
    return replace(plan, devices=tuple(change(device) for device in plan.devices))


def unprotected(plan: Plan) -> Plan:
    return _circuits(plan, lambda one: replace(one, protective=Protective(kind="none")))


def odd_fuses(plan: Plan) -> Plan:
    return _circuits(plan, lambda one: replace(one, protective=replace(one.protective, rating_a=200.0)))


def thin(plan: Plan) -> Plan:
    return _circuits(plan, lambda one: replace(one, section_mm2=0.5))


def first_alone(plan: Plan) -> Plan:
    """One circuit wrong only: every sentence that counts has to count to one."""
    first, *rest = plan.circuits
    return replace(plan, circuits=(replace(first, section_mm2=10.0, drop_percent=0.01), *rest))


def parallel_and_chassis(plan: Plan) -> Plan:
    return _circuits(plan, lambda one: replace(one, parallel=2, return_path=ReturnPath(kind="chassis")))


def blocked(plan: Plan) -> Plan:
    shut = {one.id for one in plan.channels[::9]}
    return replace(
        plan, channels=tuple(replace(one, state="blocked") if one.id in shut else one for one in plan.channels)
    )


def unknown(plan: Plan) -> Plan:
    return replace(plan, channels=tuple(replace(one, state="unknown", known="assumed") for one in plan.channels))


def narrow(plan: Plan) -> Plan:
    return replace(plan, channels=tuple(replace(one, bore=Bore(width_mm=6.0)) for one in plan.channels))


def bare(plan: Plan) -> Plan:
    """Nothing protected where it passes, no depth known, nothing held but by far too few points."""
    channels = tuple(replace(one, depth_mm=None, bend_mm=400.0, visible=True) for one in plan.channels)
    points = tuple(SecuringPoint(id=f"sec-{one.id}", channel=one.id, at_mm=1.0) for one in plan.channels[:3])
    return replace(plan, channels=channels, pass_throughs=(), securing_points=points)


def unjoined(plan: Plan) -> Plan:
    return _devices(plan, lambda one: replace(one, node=None) if one.kind in ("light", "pump") else one)


def hungry(plan: Plan) -> Plan:
    return _devices(plan, lambda one: replace(one, electrical=replace(one.electrical, current_a=80.0, peak_a=300.0)))


def strict(plan: Plan) -> Plan:
    rules = (("drop.other", "%"), ("drop.critical", "%"), ("securing.span_mm", "mm"), ("wire.min_section_mm2", "mm2"))
    changes = tuple(
        Limit(rule=rule, value=value, unit=unit, source="typed", known="common practice")
        for (rule, unit), value in zip(rules, (0.2, 0.1, 120.0, 2.5), strict=True)
    )
    return replace(plan, profile=replace(plan.profile, changes=changes))


def sold(plan: Plan) -> Plan:
    return replace(plan, build_for="customer")


SPOILT: tuple[Callable[[Plan], Plan], ...] = (
    unprotected, odd_fuses, thin, first_alone, parallel_and_chassis, blocked, unknown, narrow, bare, unjoined, hungry,
    strict, sold,
)  # fmt: skip
