"""Reads hostile PDF and DXF files one after the other, so that a trial need not start a process for each.

`python3 -m tests.soak.fuzz_child` reads jobs from standard input and answers on standard output; job, file and answer
each follow their length in four bytes. A reader that is taken down, or runs too long, ends the process, as it ends the
child of `core.files.underlays`.
"""

import signal
import struct
import subprocess
import sys
import time
from pathlib import Path
from typing import BinaryIO

import msgspec

from core.errors import FileProblem
from core.files import limits
from core.files.underlay_child import answer
from core.files.underlays import Answer, Job

#: Processor seconds that no small file may take.
SLOWEST_S = 6.0
ROOT = Path(__file__).resolve().parents[2]


class Reply(msgspec.Struct):
    answer: Answer
    spent_s: float
    #: What the reader raised; the real child ends with a traceback there, and the file is refused.
    raised: str = ""


class OneAfterTheOther:
    """Stands in for `core.files.underlays._ask`: same answers, one process for many files."""

    def __init__(self) -> None:
        self._child: subprocess.Popen[bytes] | None = None
        self.slowest_s = 0.0
        #: How often a reader took its process down or ran into its limits, and what readers raised.
        self.given_up = 0
        self.raised: dict[str, int] = {}

    def ask(self, data: bytes, job: Job, name: str) -> Answer:
        if self._child is None:
            self._child = subprocess.Popen(
                [sys.executable, "-m", "tests.soak.fuzz_child"],
                cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            )  # fmt: skip
        child = self._child
        assert child.stdin is not None
        assert child.stdout is not None
        try:
            _put(child.stdin, msgspec.json.encode(job))
            _put(child.stdin, data)
            reply = msgspec.msgpack.decode(_get(child.stdout), type=Reply)
        except (OSError, EOFError):
            self.given_up += 1
            self.close()
            raise FileProblem("the file is broken: its reader gave up", name, "a whole file; save it again") from None
        self.slowest_s = max(self.slowest_s, reply.spent_s)
        if reply.raised:
            self.raised[reply.raised] = self.raised.get(reply.raised, 0) + 1
            raise FileProblem("the file is broken: its reader gave up", name, "a whole file; save it again")
        if reply.answer.problem:
            raise FileProblem(reply.answer.problem, name, reply.answer.expected)
        return reply.answer

    def close(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            assert child.stdin is not None
            assert child.stdout is not None
            child.kill()
            child.wait()
            child.stdin.close()
            child.stdout.close()


def _put(stream: BinaryIO, data: bytes) -> None:
    stream.write(struct.pack(">I", len(data)) + data)
    stream.flush()


def _get(stream: BinaryIO) -> bytes:
    (length,) = struct.unpack(">I", _exactly(stream, 4))
    return _exactly(stream, length)


def _exactly(stream: BinaryIO, length: int) -> bytes:
    data = stream.read(length)
    if len(data) < length:
        raise EOFError
    return data


def main() -> None:
    import resource  # POSIX

    resource.setrlimit(resource.RLIMIT_AS, (limits.CHILD_BYTES, limits.CHILD_BYTES))
    while True:
        try:
            job = msgspec.json.decode(_get(sys.stdin.buffer), type=Job)
            data = _get(sys.stdin.buffer)
        except (EOFError, struct.error):
            return
        # its signal ends the process where nobody listens
        signal.setitimer(signal.ITIMER_PROF, SLOWEST_S)
        started_s = time.process_time()
        found, raised = Answer(), ""
        try:
            found = answer(job, data)
        except (MemoryError, RecursionError):
            found = Answer(problem="the file needs more memory than it should", expected="a simpler file")
        except Exception as error:  # noqa: BLE001 - whatever a library raises
            raised = type(error).__name__
        signal.setitimer(signal.ITIMER_PROF, 0)
        _put(sys.stdout.buffer, msgspec.msgpack.encode(Reply(found, time.process_time() - started_s, raised)))


if __name__ == "__main__":
    main()
