"""One line of arithmetic in an explanation, in a form that a test can evaluate again."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A symbol, its formula, the numbers put in, the result and where the formula is from.

    `formula` is an arithmetic expression in the names of `numbers` (with `sqrt`, `floor`, `pi`,
    `exp`, `tan`, `sin`, `cos`, `atan` and `log`): evaluated with them it gives `result`, in `unit`. A
    test does so for every step that the program can show.
    """

    symbol: str
    meaning: str
    formula: str
    numbers: Mapping[str, float]
    result: float
    unit: str
    source: str
    link: str = ""
    units: Mapping[str, str] = field(default_factory=dict)

    @property
    def put_in(self) -> str:
        """The formula with the numbers in place of the names; a negative one in brackets."""
        import re

        def number(match: "re.Match[str]") -> str:
            name = match.group(0)
            if name not in self.numbers:
                return name
            text = f"{self.numbers[name]:.6g}"
            return f"({text})" if text.startswith("-") else text

        return re.sub(r"[A-Za-z_]\w*", number, self.formula)
