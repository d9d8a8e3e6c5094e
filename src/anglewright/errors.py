"""The one family of exceptions, each of which can speak to a student at a bench.

::

    AnglewrightError        exit code 3
    ├── UsageError          exit code 2   a command, option, axis or mark that does not exist
    ├── RigError            exit code 3   a rig file that cannot be built into a machine
    ├── DataError           exit code 3   a log, sheet, reading or calibration record
    ├── QuantityError       exit code 3   a text that is not the quantity asked for
    ├── RangeError          exit code 3   a number outside the validity of a formula
    └── DeviceError         exit code 4   a port, an instrument, a missing program
"""

TYPE_CHECKING = False  # a type checker takes it as true: this module must be quick to import
if TYPE_CHECKING:
    from collections.abc import Iterable


class Problem:
    """One thing that is wrong: where, what was found, the limit and whose it is, one remedy.

    Not a dataclass: this is imported before any command is known, and ``dataclasses`` takes longer than
    the rest.
    """

    __slots__ = ("found", "limit", "remedy", "where")

    def __init__(self, where: str, found: str, limit: str = "", remedy: str = "") -> None:
        """Keep the four texts; `limit` and `remedy` may be empty."""
        self.where, self.found, self.limit, self.remedy = where, found, limit, remedy

    def __eq__(self, other: object) -> bool:
        """Equal where all four texts are."""
        return isinstance(other, Problem) and self._texts == other._texts

    def __hash__(self) -> int:
        """By the four texts."""
        return hash(self._texts)

    def __repr__(self) -> str:
        """The four texts, for a developer."""
        return f"Problem{self._texts!r}"

    @property
    def _texts(self) -> tuple[str, str, str, str]:
        return (self.where, self.found, self.limit, self.remedy)

    def __str__(self) -> str:
        """The problem as one sentence and its remedy."""
        head = f"{self.where}: {self.found}" if self.where else self.found
        if self.limit:
            head = f"{head}, {self.limit}"
        return f"{head}. {self.remedy}".strip()

    def within(self, place: str) -> "Problem":
        """The same problem, said from one level further out."""
        where = f"{place}, {self.where}" if self.where else place
        return Problem(where, self.found, self.limit, self.remedy)


class AnglewrightError(Exception):
    """Root of the family; carries every problem found, so that all are shown together."""

    exit_code: int = 3

    def __init__(self, problems: "Problem | Iterable[Problem]") -> None:
        """Keep one or several problems."""
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UsageError(AnglewrightError):
    """A command, option, axis or mark that does not exist."""

    exit_code = 2


class RigError(AnglewrightError):
    """A rig file that cannot be built into a machine."""


class DataError(AnglewrightError):
    """A log, sheet, reading or calibration record that cannot be used."""


class QuantityError(AnglewrightError):
    """A text that is not the quantity asked for."""


class RangeError(AnglewrightError, ValueError):
    """A number outside the validity of a formula."""


class DeviceError(AnglewrightError):
    """A port, an instrument, or a program that is missing."""

    exit_code = 4


def nearest(name: str, known: "Iterable[str]") -> str:
    """Remedy for an unknown name: the nearest known ones, else all of them."""
    from difflib import get_close_matches

    names = sorted(known)
    close = get_close_matches(name, names, n=3, cutoff=0.55)
    if close:
        return "Did you mean " + " or ".join(f"'{item}'" for item in close) + "?"
    return "Known: " + ", ".join(names) + "."
