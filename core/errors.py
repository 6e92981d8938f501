"""The errors that are meant for a person. Everything else that is raised is a fault of the program.

A bad plan is no error: it gives findings.
"""


class LoomwrightError(Exception):
    """What went wrong, in a sentence a person can act on: ``str(error)``."""


class EditRefused(LoomwrightError):
    """An edit that makes no sense. The plan is unchanged; the text is the reason."""


class FileProblem(LoomwrightError):
    """A file that cannot be read (or written).

    `location` says where: a JSON path (``$.nodes[3].at``), a line (``line 12``) or the file's name.
    `expected` says what would have been right; it may be empty where the message says it already.
    `others` are further problems of the same file, so that all can be listed at once.
    """

    def __init__(self, message: str, location: str = "", expected: str = "", others: tuple["FileProblem", ...] = ()):
        self.message = message
        self.location = location
        self.expected = expected
        self.others = others
        super().__init__(message, location, expected)

    def __str__(self) -> str:
        where = f"{self.location}: " if self.location else ""
        wanted = f" (expected {self.expected})" if self.expected else ""
        return f"{where}{self.message}{wanted}"


class Stopped(LoomwrightError):
    """Somebody did not want to wait any longer; nothing was changed."""
