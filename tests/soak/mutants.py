# ruff: noqa: E501 (places of the code as they stand there)
"""Spoils the formulas one place at a time and looks whether a test sees it: `python3 -m tests.soak.mutants [NUMBER ...]`.

Each mutant is a fault somebody could make: a factor of two, a limit one off, a temperature forgotten. It is written into a
copy of the program; the tests of its subject must fail. One that lives is printed, and the exit code is 1. That each
still fits its module is among the tests (`tests/core/test_mutants.py`).
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("core", "app", "tests", "resources", "pyproject.toml")
LONGEST_S = 300


class Mutant(NamedTuple):
    """`old` stands once in core/`module`; `tests` are files of tests/core, the quickest first."""

    module: str
    old: str
    new: str
    tests: str


ELECTRICAL = (
    ("conductors", "(_COPPER_ZERO_C + temperature_c) / (_COPPER_ZERO_C + 20)", "1.0"),
    ("conductors", "_COPPER_ZERO_C = 234.5", "_COPPER_ZERO_C = 243.5"),
    ("conductors", "return min(enough, key=awg_section_mm2, default=None)", "return max(enough, key=awg_section_mm2, default=None)"),
    ("conductors", "(s for s in sections_mm2 if s >= section_mm2)", "(s for s in sections_mm2 if s <= section_mm2)"),
    ("conductors", 'float(row["sae_cmil"]) * MM2_PER_CMIL', 'float(row["sae_cmil"]) * MM2_PER_CMIL * 1.05'),
    ("drop", "return current_a * length_mm / 1000 * r_ohm_per_m if", "return 2 * current_a * length_mm / 1000 * r_ohm_per_m if"),
    ("drop", "return power_w / (efficiency * lowest_v)", "return power_w * efficiency / lowest_v"),
    ("ampacity", "if row_mm2 * _ROUNDING > section_mm2:", "if row_mm2 * 0.7 > section_mm2:"),
    ("ampacity", "(i for i, c in enumerate(self.columns_c) if c <= insulation_c)", "(i for i, c in enumerate(self.columns_c) if c <= insulation_c + 20)"),
    ("ampacity", "last * sqrt(last_n / n)", "last"),
    ("ampacity", "return before[1] + (factor - before[1]) * (n - before[0]) / (x - before[0])", "return before[1]"),
    ("derating", "{a: min(1.0, ambient_factor(a, table.insulation_c, table.base_c)) for a", "{a: ambient_factor(a, table.insulation_c, table.base_c) for a"),
    ("derating", "                wires_on[s] += wire.parallel", "                wires_on[s] += 1"),
    ("derating", "if shared_min_mm <= 0 or length_mm > shared_min_mm:", "if shared_min_mm <= 0 or length_mm >= 0:"),
    ("derating", "if total > shared_min_mm and k <= most:", "if total > 2 * shared_min_mm and k <= most:"),
    ("derating", "worst = products.index(min(products))", "worst = products.index(max(products))"),
    ("protection", "if rating >= current_a * (1 - 1e-12)", "if rating > current_a * (1 + 1e-12)"),
    ("protection", "return factor * current_a / temperature_factor", "return factor * current_a * temperature_factor"),
    ("protection", 'and float(row["volts"]) >= voltage_v', ""),
    ("mesh", "conduct(branch.a, branch.b, 1 / branch.r_ohm)", "conduct(branch.a, branch.b, branch.r_ohm)"),
    ("mesh", "inject(draw.back, draw.amps)", "inject(draw.back, 0.0)"),
    ("mesh", "given.append((own - volts[source.node] + volts[source.back]) / source.inner_ohm)", "given.append((own - volts[source.node]) / source.inner_ohm)"),
    ("growth", "return self.constant_v + sum(w * items[i].r_ohm_per_m[rows[i]] for i, w in self.weight_am.items())", "return sum(w * items[i].r_ohm_per_m[rows[i]] for i, w in self.weight_am.items())"),
    ("growth", "    growth.take_back(growth.grown())\n    growth.exchange()", "    growth.exchange()"),
    ("growth", "growth.take_back(growth.grown())\n    growth.exchange()", "growth.take_back(growth.grown())"),
    ("sizing", "caps[row] = min(caps[row], caps[row + 1])", "caps[row] = caps[row]"),
    ("sizing", "needed_a = wanted_rating_a(protection.current_a, protection.factor)", "needed_a = protection.current_a"),
    ("sizing", "wanted_a = max(needed_a, protection.least_a, fed_a)", "wanted_a = max(needed_a, protection.least_a)"),
    ("sizing", "/ parallel for r20 in r20_ohm_per_km", "for r20 in r20_ohm_per_km"),
    ("sizing", "if terminal_c is not None and terminal_c < insulation_c:", "if terminal_c is not None and terminal_c < 0:"),
)  # fmt: skip
HARNESS = (
    ("bend", "return max(bundle_mm * multiple_bundle, largest_wire_mm * multiple_wire)", "return bundle_mm * multiple_bundle"),
    ("bend", "return 0.5 * min(segment_a_mm, segment_b_mm)", "return min(segment_a_mm, segment_b_mm)"),
    ("bend", "return max(0.0, centre_line_radius_mm - bundle_mm / 2.0)", "return max(0.0, centre_line_radius_mm - bundle_mm)"),
    ("bend", "return radius_mm * (2.0 * math.tan(turn / 2.0) - turn)", "return radius_mm * (math.tan(turn / 2.0) - turn / 2.0)"),
    ("bundle", "return tight_mm * lay_factor", "return tight_mm"),
    ("bundle", "return max(1.0, measured_mm / tight_mm)", "return measured_mm / tight_mm"),
    ("bundle", "bore = max(by_fill, tight_diameter_mm(od_mm, quality))", "bore = by_fill"),
    ("bundle", "FILL_LIMITS_PERCENT.get(max(wires, 1), FILL_LIMIT_MANY_PERCENT)", "FILL_LIMIT_MANY_PERCENT"),
    ("bundle", "alike and JAM_RATIO_LOW * mean <= bore_mm < JAM_RATIO_HIGH * mean", "JAM_RATIO_LOW * mean <= bore_mm < JAM_RATIO_HIGH * mean"),
    ("crossing", '    if kind in NEVER:\n        return "error"\n', ""),
    ("crossing", "level += (acute_deg(angle_deg) < SHALLOW_DEG) + moving", "level += moving"),
    ("crossing", "if row.bore_mm >= bundle_mm and row.sheet_mm >= sheet_mm", "if row.bore_mm >= bundle_mm"),
    ("crossing", "if row.least_mm <= cable_mm <= row.largest_mm", "if cable_mm <= row.largest_mm"),
    ("crossing", "share = math.sqrt(fill_percent / 100.0)", "share = fill_percent / 100.0"),
    ("crossing", "return bundle_mm / math.sin(math.radians(angle)) + 2.0 * margin_mm", "return bundle_mm + 2.0 * margin_mm"),
    ("wrap", "around = math.pi * (diameter_mm + thickness_mm)\n    advance", "around = math.pi * diameter_mm\n    advance"),
    ("wrap", "if advance >= around:", "if advance >= 2 * around:"),
    ("wrap", "angle = math.atan2(gap_mm, around) + math.asin(width_mm / math.hypot(around, gap_mm))", "angle = math.asin(width_mm / math.hypot(around, gap_mm))"),
    ("wrap", "return (helix_mm + 2.0 * end_turns * math.pi * (diameter_mm + thickness_mm)) / (1.0 + stretch)", "return helix_mm / (1.0 + stretch)"),
    ("wrap", "return math.ceil(length_mm / pitch_mm - 1e-9) + 1 if length_mm > 0.0 else 0", "return math.ceil(length_mm / pitch_mm - 1e-9) if length_mm > 0.0 else 0"),
    ("wrap", "return max(fewest, whole + len(rests))", "return fewest"),
    ("wrap", "        diameter_mm = wrapped_diameter_mm(diameter_mm, thickness_mm, overlap)\n", ""),
    ("cutting", "need = {name: math.ceil(mm - 1e-6) + kerf for", "need = {name: math.ceil(mm - 1e-6) for"),
    ("cutting", "math.floor(mm + 1e-6), new=False)", "math.ceil(mm), new=False)"),
    ("cutting", "        left[spool] -= need[name]", "        left[spool] -= 0"),
    ("cutting", "        room[spool] -= mm\n        rest -= mm\n        plan[name] = spool", "        rest -= mm\n        plan[name] = spool"),
    ("cutting", "return found, tried == 0, least", "return found, True, least"),
    ("cutting", "return plan, not sets, least", "return plan, True, least"),
    ("fastening", "fitting = [s for s in SCREWS_MM if s - FOOT_MM <= deepest]", "fitting = [s for s in SCREWS_MM if s <= deepest + 2 * FOOT_MM]"),
    ("fastening", "return max(0.0, depth_mm - bundle_mm / 2.0 - RESERVE_MM)", "return max(0.0, depth_mm - RESERVE_MM)"),
)  # fmt: skip
MUTANTS = tuple(
    Mutant(f"{package}/{module}.py", old, new, f"{package}/test_{module}.py")
    for package, rows in (("electrical", ELECTRICAL), ("harness", HARNESS))
    for module, old, new in rows
)


def spoilt(mutant: Mutant, text: str) -> str:
    """The module with the fault in it. Raises ValueError where its place is not there, or not the only one."""
    if text.count(mutant.old) != 1:
        raise ValueError(f"core/{mutant.module} holds {text.count(mutant.old)} times: {mutant.old}")
    return text.replace(mutant.old, mutant.new)


def is_caught(mutant: Mutant, copy: Path) -> bool:
    """Whether a test of its subject fails: first those of the module, then those of the whole package."""
    file = copy / "core" / mutant.module
    sound = file.read_text(encoding="utf-8")
    file.write_text(spoilt(mutant, sound), encoding="utf-8")
    try:
        package = Path(mutant.tests).parent
        own = copy / "tests" / "core" / mutant.tests
        return any(_fails(copy, each) for each in (own, own.parent) if each.exists() and package)
    finally:
        file.write_text(sound, encoding="utf-8")


def _fails(copy: Path, tests: Path) -> bool:
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", str(tests)]
    surroundings = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "CI": "true", "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(command, cwd=copy, env=surroundings, capture_output=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        return True  # a fault that never ends is seen by whoever waits
    if done.returncode not in (0, 1):
        raise RuntimeError(f"the tests in {tests} could not be run:\n{done.stdout.decode(errors='replace')[-2000:]}")
    return done.returncode == 1


def main(arguments: list[str]) -> int:
    chosen = [int(each) for each in arguments] or range(len(MUTANTS))
    alive = []
    with tempfile.TemporaryDirectory(prefix="loomwright-mutants-") as folder:
        copy = Path(folder)
        for name in COPIED:
            source = ROOT / name
            (shutil.copytree if source.is_dir() else shutil.copy)(source, copy / name)
        for number in chosen:
            caught = is_caught(MUTANTS[number], copy)
            print(
                f"{number:3d}  {'caught' if caught else 'ALIVE '}  {MUTANTS[number].module}: {MUTANTS[number].old!r:.70}"
            )
            sys.stdout.flush()
            if not caught:
                alive.append(number)
    print(f"{len(chosen) - len(alive)} of {len(chosen)} caught" + (f"; alive: {alive}" if alive else ""))
    return 1 if alive else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
