"""A random person at work, with undo and redo: `python3 -m tests.soak.work [EDITS] [SEED]`.

After every edit the plan is what the edits since the start make of it, its file reads back equal, and the analysis that
remembers its stages says what one from scratch says. The table at the end also shows the memory over time.
"""

import random
import sys
import time
import tracemalloc
from collections import Counter

from core import history
from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser, analyse
from core.files.codec import decode, encode
from core.model import Plan
from tests.helpers.vans import empty
from tests.soak.edits import LIBRARY, next_plan

#: Results that are values; the others are compared through them (paths come from the sheet, routes from the network).
RESULTS = (
    "node_spots", "paths", "falls", "ambients", "wires", "routes", "loads", "sized", "circuit_sizes", "faults",
    "bundles", "securing", "securing_gaps", "crossings", "bends", "wrap", "pieces", "cutting", "materials", "totals",
    "findings", "meshes", "clearances", "spool_plans",
)  # fmt: skip
#: Edits until a new empty plan is begun, and between the dear comparisons of a long run.
EDITS_OF_A_PLAN, COMPARED_EVERY = 120, 12


def said(analysis: Analysis) -> dict[str, object]:
    return {name: getattr(analysis, name) for name in RESULTS}


class Work:
    """One person's session without a window: a history, an analyser, and what was done to get here."""

    def __init__(self) -> None:
        self.analyser = Analyser(LIBRARY)
        self.history = history.started(empty())
        #: Seeds of the edits that led from the empty plan to each step of the history.
        self.done: list[int] = []
        self.counts: Counter[str] = Counter()

    @property
    def plan(self) -> Plan:
        return self.history.state

    def edit(self, seed: int) -> None:
        name, plan = next_plan(self.plan, random.Random(seed))
        self.counts[name] += 1
        if plan is self.plan:
            return
        self.done = [*self.done[: self.history.position], seed]
        self.history = history.committed(self.history, name, plan)

    def undo(self) -> None:
        self.history = history.undone(self.history)
        self.counts["undo"] += 1

    def redo(self) -> None:
        self.history = history.redone(self.history)
        self.counts["redo"] += 1

    def replayed(self) -> Plan:
        """The plan made again from nothing by the edits that count."""
        plan = empty()
        for seed in self.done[: self.history.position]:
            plan = next_plan(plan, random.Random(seed))[1]
        return plan

    def check(self) -> None:
        assert decode(encode(self.plan)) == self.plan
        staged, scratch = said(self.analyser.analyse(self.plan, "quick")), said(analyse(self.plan, LIBRARY, "quick"))
        assert staged == scratch, [name for name in RESULTS if staged[name] != scratch[name]]


def main(edits: int, seed: int) -> None:
    rng = random.Random(seed)
    started = time.monotonic()
    counts: Counter[str] = Counter()
    compared = replays = 0
    memory_mb: list[float] = []
    tracemalloc.start()
    while counts.total() < edits:
        work = Work()
        for step in range(EDITS_OF_A_PLAN):
            word = rng.choices(("edit", "undo", "redo"), (10, 3, 2))[0]
            number = rng.getrandbits(32)
            try:
                work.edit(number) if word == "edit" else getattr(work, word)()
                if step % COMPARED_EVERY == 0:
                    work.check()
                    compared += 1
            except Exception:
                print(f"seed {seed}: step {step} of plan {replays}, edit {number}", file=sys.stderr)
                raise
        assert work.replayed() == work.plan
        replays += 1
        counts += work.counts
        memory_mb.append(tracemalloc.get_traced_memory()[0] / 2**20)
        if replays % 20 == 0:
            print(f"{counts.total():,} steps, {time.monotonic() - started:.0f} s, {memory_mb[-1]:.1f} MB", flush=True)
    spent = time.monotonic() - started
    print(
        f"{counts.total():,} steps from seed {seed} in {spent:.0f} s: "
        + ", ".join(f"{n} {c}" for n, c in counts.items())
    )
    print(f"{compared:,} times staged = from scratch and file = plan; {replays} plans = their replay")
    marks = [memory_mb[len(memory_mb) * part // 4] for part in range(1, 4)] + memory_mb[-1:]
    print("memory at 25, 50, 75, 100 %: " + ", ".join(f"{mb:.1f} MB" for mb in marks))
    # what is remembered fills up once; after that nothing may grow with the work
    assert marks[-1] < 1.3 * marks[0] + 10.0, "the memory grows"


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
