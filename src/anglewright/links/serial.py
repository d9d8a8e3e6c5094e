"""A magnetic absolute sensor that sends its position as a word of so many bits."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from anglewright.links.absolute import TURN_KEYS, AbsolutePart
from anglewright.links.fields import Key, WholeKey
from anglewright.links.protocol import Values, WordPort
from anglewright.quantities.units import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class SerialPart(AbsolutePart):
    """A magnetic absolute sensor read over a serial line: its word is its position, from 0 up."""

    kind: ClassVar[str] = "serial"
    label: ClassVar[str] = "Serial sensor"
    GOES_WITH: ClassVar[Mapping[str, str]] = {"wiring": "digital", "converter": "serial-word"}
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="bits",
            field="bits",
            meaning="bits of the word, for one turn",
            least=6,
            most=24,
            default=14,
            kind=Kind.BITS,
        ),
        *TURN_KEYS,
    )
    bits: int

    @property
    def positions_a_turn(self) -> int:
        """Words that one turn is divided into. [1]"""
        return int(2**self.bits)

    def sends(self, values: Values) -> WordPort:
        """How many words there are, and how late they are."""
        return WordPort(positions=self.positions_a_turn, delay_s=values["delay_s"])

    def describe(self) -> str:
        """The bits of its word."""
        return f"Serial word, {self.bits} bit a turn"


PARTS = (SerialPart,)
