"""Words for what sizing found: the sentence that says which rule decided, where a rule is from, why a size is refused.

Written as an electrician would note it beside a conductor, with numbers and source.
"""

from core.analysis.results import Wire
from core.analysis.rules import number, source
from core.analysis.size_problem import IDLE, INFORMS, PathInfo, SizeProblem
from core.analysis.supply import chain
from core.electrical.ampacity import AmpacityTable, Factor, ampacity_table
from core.electrical.protection import FuseTable, fuse_table
from core.electrical.sizing import PathDrop, Rule, Sized, SizingResult, Verdict
from core.model import Circuit, Profile, Role, Stop

#: How the rules are called on the sheet.
RULE_WORDS: dict[Rule, str] = {
    "minimum size": "smallest size", "ampacity": "carries the load", "fuse": "carries the fuse",
    "fuse table": "fuse allowed on it", "bond fuse": "carries the largest fuse", "maker's table": "maker's table",
    "voltage drop": "voltage drop", "fixed": "set by hand",
}  # fmt: skip
FROM_MEMORY = " (from memory)"


def table_told(table: AmpacityTable | FuseTable) -> str:
    """A table as it is shown, with a word where its values are from memory."""
    return table.title + ("" if table.known == "read" else FROM_MEMORY)


def least_rule(circuit: Circuit, role: Role | None) -> str:
    """The profile's rule for the smallest section of a conductor."""
    if role == "bond":
        return "bond.min_section_mm2"
    return "wire.min_mains_mm2" if circuit.group == "mains" else "wire.min_section_mm2"


def rule_source(profile: Profile, circuit: Circuit, role: Role | None, rule: Rule) -> str:
    """The source of a rule of sizing as it is shown; `role` None is the circuit's fuse itself."""
    match rule:
        case "fuse" if role is None:
            return source(profile, "fuse.factor")
        case "ampacity" | "fuse" | "bond fuse":
            return table_told(ampacity_table(profile.ampacity_table))
        case "fuse table" if profile.fuse_table:
            return table_told(fuse_table(profile.fuse_table))
        case "minimum size":
            least = least_rule(circuit, role)
            own = circuit.smallest_section_mm2 or 0.0
            informs = role in ("data", "antenna") or circuit.group in INFORMS
            return "set for this circuit" if informs or own > number(profile, least) else source(profile, least)
        case "maker's table":
            return "the device's maker"
    return source(profile, "drop.critical" if circuit.kind == "feeder" else "drop.other")


def guard(circuit: Circuit, rating_a: float) -> str:
    """Its fuse or breaker: "10 A fuse"."""
    return f"{rating_a:g} A {_protects(circuit)}"


def _protects(circuit: Circuit) -> str:
    return "breaker" if circuit.protective.kind == "circuit_breaker" else "fuse"


def amps(value: float) -> str:
    return f"{value:.0f} A" if value >= 100 or abs(value - round(value)) < 0.05 else f"{value:.1f} A"


def factor_told(factor: Factor) -> str:
    """A factor with what it stands for: "grouping 0.60: 4 loaded conductors, 33 CFR 183.425 note / ABYC E-11"."""
    return f"{factor.name} {factor.value:.2f}: {factor.note}"


def _carried(work: SizeProblem, ampacity_a: float, base_a: float, factors: tuple[Factor, ...]) -> str:
    """An ampacity with what made it: "16.3 A here (35 A by ISO 10133 x 0.77 ambient x 0.6 grouping)"."""
    shown = [f"{factor.value:.2g} {factor.name}" for factor in factors if abs(factor.value - 1) > 5e-3]
    told = table_told(work.ampacity)
    if not shown:
        return f"{amps(ampacity_a)} by {told}"
    return f"{amps(ampacity_a)} here ({' x '.join([f'{base_a:g} A by {told}', *shown])})"


def _derated(work: SizeProblem, answer: Sized) -> str:
    return _carried(work, answer.ampacity_a, answer.base_ampacity_a, answer.factors)


def _beside(work: SizeProblem, wire: Wire, answer: Sized) -> str:
    """Where another conductor of the same cable or circuit decided: which one."""
    other = list(work.wires)[answer.decided_at]
    if other == wire.id:
        return ""
    if wire.cable is not None and work.wires[other].cable == wire.cable:
        return f", as {other} in the same cable needs it"
    return f", as {other} needs it"


def reason(work: SizeProblem, wire: Wire, result: SizingResult, worst: tuple[PathInfo, PathDrop] | None) -> str:
    """The sentence that says which rule decided a size, with its numbers and source. `worst` is the path of drop that
    uses most of its limit."""
    circuit, answer = work.circuits[wire.circuit], result.conductors[work.number[wire.id]]
    protection = work.protection_number.get(circuit.id)
    fuse_a = result.fuses[protection].rating_a if protection is not None else None
    beside = _beside(work, wire, answer)
    match answer.decided_by:
        case "voltage drop" if worst is not None:
            info, drop = worst
            at = "at its peak" if info.at_peak else "there and back"
            hot = f"copper at {work.assumptions.conductor_c:g} °C"
            return f"voltage drop: {drop.drop_v:.2f} V {at}, {info.limit_v:.2f} V allowed ({info.why}), {hot}"
        case "fuse" if fuse_a is not None:
            return f"carries its {guard(circuit, fuse_a)}{beside}: {_derated(work, answer)}"
        case "fuse table" if fuse_a is not None and work.fuses is not None:
            return f"the smallest size that {table_told(work.fuses)} allows a {guard(circuit, fuse_a)} on{beside}"
        case "minimum size":
            return _smallest(work, wire, answer, fuse_a)
        case "maker's table":
            return _makers(work, wire)
        case "bond fuse":
            return _bond(work, wire, result)
        case "fixed":
            told = "already pulled" if wire.id in work.pulled_mm2 else "set by hand"
            return told + _carries(work, wire, answer, fuse_a)
    running = work.currents(work.wires[list(work.wires)[answer.decided_at]])[0]
    return f"carries its running current of {amps(running)}{beside}: {_derated(work, answer)}"


def _carries(work: SizeProblem, wire: Wire, answer: Sized, fuse_a: float | None) -> str:
    """ "; carries 16 A by ISO 10133 Annex A (from memory) behind a 16 A breaker"."""
    if answer.base_ampacity_a <= 0:
        return ""
    behind = f" behind a {guard(work.circuits[wire.circuit], fuse_a)}" if fuse_a and wire.role not in IDLE else ""
    return f"; carries {_derated(work, answer)}{behind}"


def _smallest(work: SizeProblem, wire: Wire, answer: Sized, fuse_a: float | None) -> str:
    circuit, profile = work.circuits[wire.circuit], work.profile
    own = circuit.smallest_section_mm2 or 0.0
    if wire.role in ("data", "antenna") or circuit.group in INFORMS:
        if own > 0 and answer.section_mm2 >= own and answer.index > 0:
            return f"smallest size set for this circuit, {own:g} mm²; it carries information"
        what = "it is pulled as a spare" if wire.role == "spare" else "it carries information"
        return f"the smallest size of its kind: {what}"
    rule = least_rule(circuit, wire.role)
    least, enough = number(profile, rule), _carries(work, wire, answer, fuse_a)
    if answer.index == 0 and answer.section_mm2 > max(own, least) * 1.01:
        return f"the smallest size this wire is made in{enough}"
    if own > least:
        return f"smallest size set for this circuit, {own:g} mm²{enough}"
    return f"smallest size allowed, {least:g} mm² by {source(profile, rule)}{enough}"


def _makers(work: SizeProblem, wire: Wire) -> str:
    told = []
    for (circuit, stop), row in work.makers.items():
        if circuit != wire.circuit or wire.stop not in {s.id for s in _chain(work, circuit, stop)}:
            continue
        counted = "plus and minus together" if _both(work, circuit, stop) else "one way"
        last = f" is beyond its last row, {row.row.up_to_mm / 1000:g} m" if row.outside else ""
        last = last or f", {row.row.section_mm2:g} mm² up to {row.row.up_to_mm / 1000:g} m"
        told.append(f"{row.length_mm / 1000:.2f} m {counted}{last}")
    return "the maker's cable table: " + "; ".join(told)


def _chain(work: SizeProblem, circuit: str, stop: str) -> list[Stop]:
    whole = work.circuits[circuit]
    return chain(whole, next(s for s in whole.stops if s.id == stop))


def _both(work: SizeProblem, circuit: str, stop: str) -> bool:
    device = next(s.device for s in work.circuits[circuit].stops if s.id == stop)
    return work.devices[device].electrical.maker_lengths == "there_and_back"


def _bond(work: SizeProblem, wire: Wire, result: SizingResult) -> str:
    """A fault is short: ambient counts for a bond, company in the bundle does not."""
    index = work.number[wire.id]
    answer, fuses = result.conductors[index], [result.fuses[p] for p in work.problem.conductors[index].bond_of]
    largest = max((fuse.rating_a or fuse.wanted_a for fuse in fuses), default=0.0)
    ambient = Factor("ambient", answer.ambient)
    carried = _carried(work, answer.base_ampacity_a * answer.ambient, answer.base_ampacity_a, (ambient,))
    return f"carries the largest fuse that can feed a fault into it, {largest:g} A: {carried}"


def refusal(verdict: Verdict, circuit: Circuit) -> str:
    """Why a size is refused by a rule."""
    value, limit, unit = verdict.value, verdict.limit, verdict.unit
    match verdict.rule:
        case "voltage drop":
            return f"loses {value:.2f} V there and back, {limit:.2f} V allowed"
        case "ampacity" | "fuse" | "bond fuse" if value <= 0:
            return "the table has no ampacity for it"
        case "ampacity":
            return f"may carry {amps(value)}, {amps(limit)} wanted"
        case "fuse":
            return f"may carry {amps(value)}, the {_protects(circuit)} is {limit:g} A"
        case "bond fuse":
            return f"may carry {amps(value)}, the largest fuse is {limit:g} A"
        case "fuse table":
            return f"a fuse of {value:g} A at most is allowed on it, it is {limit:g} A"
        case "maker's table":
            return f"the maker's table asks for {limit:g} mm²"
    return f"below the smallest size allowed, {limit:g} {'mm²' if unit == 'mm2' else unit}"
