"""Lead screw: a nut that moves along a line turns the screw on the sensor's shaft."""

from dataclasses import dataclass
from typing import ClassVar

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import Number, Port, Values, numbers_of
from anglewright.links.ratio import (
    SEAT_KEYS,
    TURN,
    ConstantRatio,
    behind_motion,
    felt_half,
    flat_backlash,
    seat_problems,
    takes_length,
    travel_figure,
)
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind


def lead(pitch_m: Numeric, *, starts: int) -> Numeric:
    """Travel of the nut per turn of the screw. [m]

    Examples
    --------
    Four starts of 2 mm pitch: ten turns of a sensor span 80 mm.

    >>> round(10e3 * lead(2e-3, starts=4), 9)
    80.0
    """
    return pitch_m * starts


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewPart:
    """A screw on the sensor's shaft and a nut on the axis."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "screw"
    label: ClassVar[str] = "Lead screw"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="pitch",
            field="pitch_m",
            meaning="pitch of the thread, from one turn of it to the next",
            kinds=(Kind.LENGTH,),
            required=True,
            above=0.0,
            example="2 mm",
        ),
        WholeKey(
            name="starts",
            field="starts",
            meaning="starts of the thread, the turns that run side by side",
            least=1,
            most=20,
            default=1,
        ),
        flat_backlash("nut", default="0.1 mm"),
        *SEAT_KEYS,
    )
    pitch_m: Spread
    starts: int
    backlash_m: Spread
    sensor_at: str = "joint"
    flank: str = "friction"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Pitch and backlash."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The screw with plain numbers, behind a motion along a line."""
        travel = lead(values["pitch_m"], starts=self.starts)
        numbers = {"n": float(self.starts), "p": 1e3 * values["pitch_m"]}
        return ConstantRatio(
            ratio=TURN / travel,
            half_play=felt_half(values["backlash_m"] / 2.0, sensor_at=self.sensor_at, flank=self.flank),
            clamped_at=behind_motion(upstream),
            rotary=False,
            figures=(travel_figure("n * p", numbers, travel_m=travel, source="practice"),),
        )

    def describe(self) -> str:
        """Its lead."""
        return f"Screw, lead {1e3 * float(lead(self.pitch_m.nominal, starts=self.starts)):g} mm"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A turning motion, or a flank that nothing holds."""
        return takes_length(upstream) or seat_problems(self.sensor_at, self.flank)


PARTS = (ScrewPart,)
