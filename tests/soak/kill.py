"""Kills the program at random moments of its work: `python3 -m tests.soak.kill [ROUNDS] [SEED]` (POSIX).

A round is a fresh process with a session and its autosave. It edits, autosaves and saves without pause until SIGKILL
hits it at a random moment, every second time while it says it is saving. What it does it says beforehand or afterwards
through a pipe, with its own clock. Each process is forked from this one, so that a thousand rounds take minutes. Then:

Wholeness: the plan file is a whole plan, the last one whose saving was told or the one that was being written; what
autosave left is whole too; and no edit whose writing was told is missing from the newer of the two.

Loss, by what the process had come to, so that a busy machine changes nothing: (1) an edit that autosave was not yet
given to write is younger than autosave may wait, and one turn of the event loop; (2) of those it was given, at most one
other writing ended before the edit was on the disk itself. So at most what is edited while autosave waits (6 s in the
program), one turn of the event loop and two writings are lost. How much time that was is told, not judged.
"""

import contextlib
import gc
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import app.recovery
from app.jobs import NewestWins
from app.recovery import Recovery, left_over, recovered
from app.session import Session
from core.edits.records import set_plan
from core.errors import FileProblem
from core.files.codec import encode, read_plan
from core.files.safe_write import write_bytes
from core.model import Plan
from tests.helpers.wired import wired
from tests.soak.edits import LIBRARY, next_plan

#: Autosave waits a hundredth of what it waits in the program, so that a round sees many of them.
FASTER = 100
QUIET_S, AT_LEAST_S = app.recovery.QUIET_S / FASTER, app.recovery.AT_LEAST_S / FASTER
#: Qt's timers may come so much later than asked (Qt::CoarseTimer: 5 %), and are set in whole milliseconds.
COARSE, ROUNDED_S = 1.05, 0.002
LONGEST_ROUND_S = 0.6
#: About as long as encoding and writing the plan takes.
SAVING_S = 0.006


class Loss(NamedTuple):
    """Edits that were lost, how long before the last sign of life the oldest was made, and the share of the time it
    may wait for autosave that an edit has waited at most."""

    edits: int
    seconds: float
    waited: float


class Told:
    """What the process said until it was killed. Edits go by their numbers, times are its own, in seconds."""

    def __init__(self) -> None:
        #: When each edit was made, and the last turn of the event loop that ended.
        self.edits: dict[int, float] = {0: 0.0}
        self.turn_s = 0.0
        self.longest_turn_s = 0.0
        #: The last edit that was given to autosave, that it wrote, that was saved, and that is being saved.
        self.given = self.kept = self.saved = self.saving = 0
        #: The oldest edit of each gift that is not on the disk, and how many writings have ended since.
        self.waiting: dict[int, int] = {}

    def hear(self, line: str) -> None:
        what, number, at_s = line[0], int(line.split()[1]), float(line.split()[2])
        if what == "e":
            self.edits[number] = at_s
        elif what == "t":
            self.longest_turn_s = max(self.longest_turn_s, at_s - self.turn_s if self.turn_s else 0.0)
            self.turn_s = at_s
        elif what == "g":
            self.given = number
            self.waiting[number] = 0
        elif what == "d":
            self.kept = number
            self.waiting = {edit: ended + 1 for edit, ended in self.waiting.items() if edit > number}
        elif what == "b":
            self.saving = number
        elif what == "s":
            self.saved = number


def work(file: Path, autosaves: Path, seed: int, tell: int) -> None:
    """The child: never returns."""
    from PySide6.QtCore import QCoreApplication

    application = QCoreApplication.instance() or QCoreApplication([])
    rng = random.Random(seed)
    app.recovery.AT_LEAST_S = AT_LEAST_S
    session = Session(LIBRARY, read_plan(file), file)

    def say(what: str, number: int) -> None:
        os.write(tell, f"{what} {number} {time.monotonic()}\n".encode())

    def number_of(plan: Plan) -> int:
        return int(plan.name.removeprefix("Edit "))

    class Telling(NewestWins):
        """Says what is given to the thread that writes, and what it has written."""

        def run(self, job: Callable[[], Any]) -> int:
            number = number_of(session.plan)
            if session.clean:
                return super().run(job)  # it clears away what is saved
            say("g", number)

            def told() -> Any:
                result = job()
                say("d", number)
                return result

            return super().run(told)

    app.recovery.NewestWins = Telling  # type: ignore[misc]
    recovery = Recovery(session, autosaves, QUIET_S)
    number = 0
    # half of the people save all the time, the others leave it to autosave
    saves, writes = rng.choice(((0.15, 0.1), (0.01, 0.0)))
    while True:
        number += 1
        if rng.random() < 0.3:
            _, plan = next_plan(session.plan, rng)
        else:
            plan = session.plan
        say("e", number)
        session.commit("Edit", set_plan(plan, name=f"Edit {number}"))
        if rng.random() < saves:
            say("b", number)
            write_bytes(file, encode(session.plan))
            say("s", number)
            session.mark_saved(file)
        if rng.random() < writes:
            recovery.write_now()
        application.processEvents()
        say("t", number)
        time.sleep(rng.choice((0.0, 0.001, 0.01)))


def one_round(folder: Path, seed: int, counts: Counter[str]) -> Loss:
    """What was lost; raises AssertionError where a file is not whole, or more was lost than may be."""
    rng = random.Random(seed)
    file, autosaves = folder / "van.loomplan", folder / "autosave"
    write_bytes(file, encode(set_plan(wired(), name="Edit 0")))
    hear, tell = os.pipe()
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            os.close(hear)
            work(file, autosaves, seed, tell)
        os._exit(1)
    os.close(tell)
    said = b""
    aimed = rng.random() < 0.5
    with os.fdopen(hear, "rb", buffering=0) as pipe:
        while b"\nt" not in said:
            said += pipe.read(4096) or _died()
        time.sleep(rng.uniform(0.0, LONGEST_ROUND_S / (2 if aimed else 1)))
        if aimed:
            os.set_blocking(pipe.fileno(), False)
            ends_s = time.monotonic() + LONGEST_ROUND_S
            while not _is_saving(said) and time.monotonic() < ends_s:
                said += pipe.read(65536) or b""
            time.sleep(rng.uniform(0.0, SAVING_S))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.set_blocking(pipe.fileno(), True)
        while part := pipe.read(65536):
            said += part
    told = Told()
    for line in said.decode().splitlines():
        told.hear(line)
    return _judged(folder, file, autosaves, told, counts)


def _is_saving(said: bytes) -> bool:
    return said.endswith(b"\n") and said[:-1].rpartition(b"\n")[2].startswith(b"b ")


def _died() -> bytes:
    raise AssertionError("the process ended by itself")


def _judged(folder: Path, file: Path, autosaves: Path, told: Told, counts: Counter[str]) -> Loss:
    on_disk = _number(file)
    assert on_disk in (told.saved, told.saving), (
        f"the file holds edit {on_disk}, expected {told.saved} or {told.saving}"
    )
    counts["old file" if on_disk != told.saving else "new file"] += 1
    counts["killed while saving"] += told.saving != told.saved
    kept = on_disk
    for left in left_over(autosaves):
        counts["autosaved plans"] += 1
        kept = max(kept, int(recovered(left).name.removeprefix("Edit ")))
        app.recovery.discard(left)
    assert kept >= max(told.saved, told.kept), f"edit {max(told.saved, told.kept)} was written, {kept} is the newest"
    counts["parts left beside"] += sum(1 for part in folder.rglob("*.part"))
    for part in (*folder.glob("*.part"), *autosaves.glob("*")):
        part.unlink()
    return _loss(told, kept)


def _loss(told: Told, kept: int) -> Loss:
    lost = sorted(number for number in told.edits if number > kept)
    not_given = [number for number in lost if number > max(told.given, told.saved)]
    allowed_s = AT_LEAST_S * COARSE + ROUNDED_S + told.longest_turn_s
    # with the last turn of the event loop every timer that was due has been heard
    waited_s = max((told.turn_s - told.edits[number] for number in not_given), default=0.0)
    assert waited_s <= allowed_s, f"an edit waited {waited_s:.3f} s for autosave, {allowed_s:.3f} s are allowed"
    overtaken = max((ended for edit, ended in told.waiting.items() if edit > kept), default=0)
    assert overtaken <= 1, f"an edit given to autosave was overtaken by {overtaken} writings"
    last_s = max(told.turn_s, *told.edits.values())
    return Loss(len(lost), last_s - told.edits[lost[0]] if lost else 0.0, waited_s / allowed_s)


def _number(file: Path) -> int:
    try:
        return int(read_plan(file).name.removeprefix("Edit "))
    except FileProblem as problem:
        raise AssertionError(f"the file on disk is no whole plan: {problem}") from None


def main(rounds: int, seed: int) -> None:
    started = time.monotonic()
    counts: Counter[str] = Counter()
    losses: list[Loss] = []
    # what a child would load for itself otherwise
    import core.analysis.engine

    assert core.analysis.engine.Analyser(LIBRARY)
    for number in range(20):
        next_plan(wired(), random.Random(number))
    gc.freeze()
    with tempfile.TemporaryDirectory(prefix="loomwright-kill-") as name:
        for number in range(rounds):
            try:
                losses.append(one_round(Path(name), seed * 100_000 + number, counts))
            except BaseException:
                print(f"seed {seed}, round {number}", file=sys.stderr)
                raise
    print(f"{rounds} processes killed in {time.monotonic() - started:.0f} s: every file whole; " + ", ".join(
        f"{word} {count}" for word, count in sorted(counts.items())))  # fmt: skip
    seconds, edits = sorted(loss.seconds for loss in losses), sorted(loss.edits for loss in losses)
    print(f"no edit lost whose writing was told; none waited longer for autosave than it may (at most "
          f"{max(loss.waited for loss in losses):.0%} of it), none was overtaken by two writings")  # fmt: skip
    print(
        f"lost: {edits[rounds // 2]} edits of the last {seconds[rounds // 2]:.3f} s in the median, "
        f"{edits[rounds * 99 // 100]} and {seconds[rounds * 99 // 100]:.3f} s in 1 of 100, at most {edits[-1]} and "
        f"{seconds[-1]:.3f} s; autosave waits {AT_LEAST_S:.2f} s here, {AT_LEAST_S * FASTER:.0f} s in the program"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
