"""What is drawn of each link: plain records with no more in them than the drawing needs.

`phases` says how many numbers move a drawing, and its docstring what they mean. An angle turns against the
clock as it is drawn; a share runs from 0 to 1.
"""

from dataclasses import dataclass
from typing import ClassVar, Literal

Pull = Literal["", "down", "up"]
Way = Literal["right", "left", "up", "down"]
Form = Literal["voltage", "pulse", "word"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A turning motion with its two ends; moved by the position. [deg]"""

    phases: ClassVar[int] = 1
    low_deg: float
    high_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A turning motion without ends; moved by the position. [deg]"""

    phases: ClassVar[int] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """A carriage on a rail, for a motion along a line that rises to a side; moved by its place. [1]"""

    phases: ClassVar[int] = 1
    way: Way = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Direct:
    """A sensor on the axis itself; moved by the place on the axis and the angle of the shaft. [1, deg]"""

    phases: ClassVar[int] = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Gears:
    """A train of wheels, teeth in pairs from the axis to the sensor; moved as `Direct` is. [1, deg]

    The hand of the first wheel follows the shaft through the ratio.
    """

    phases: ClassVar[int] = 2
    teeth: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack:
    """A rack that turns a pinion; moved as `Direct` is. [1, deg]"""

    phases: ClassVar[int] = 2
    teeth: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A chain of rollers or a toothed belt round two wheels, axis first; moved as `Direct` is. [1, deg]"""

    phases: ClassVar[int] = 2
    teeth: tuple[int, int]
    rollers: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A chain of rollers or a toothed belt that runs over one wheel; moved as `Direct` is. [1, deg]"""

    phases: ClassVar[int] = 2
    rollers: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Drum:
    """A rope that leaves a drum on one of its layers; moved as `Direct` is. [1, deg]"""

    phases: ClassVar[int] = 2
    layer: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawWire:
    """A wire drawn out of a case with a drum and its spring; moved as `Direct` is. [1, deg]"""

    phases: ClassVar[int] = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw:
    """A nut on a screw; moved as `Direct` is. [1, deg]"""

    phases: ClassVar[int] = 2
    starts: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class FourBar:
    """Two levers and the rod between them, each bar with its length.

    `box` is what the bars sweep: left, low, right and high, from the pivot of the input lever, in the unit of
    the lengths. Moved by three angles from the line between the pivots: that of the input lever, that of
    the rod less that of the input lever, that of the output lever. [deg]
    """

    phases: ClassVar[int] = 3
    ground: float
    input: float
    coupler: float
    output: float
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class DBore:
    """A flat shaft in its bore, with room between them or not; moved by the angles of both sides. [deg]"""

    phases: ClassVar[int] = 2
    play: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampHub:
    """A slit hub closed by a screw; moved by the angles of both sides. [deg]"""

    phases: ClassVar[int] = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Bellows:
    """A coupling that bends and does not turn; moved by the angles of both sides. [deg]"""

    phases: ClassVar[int] = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """A piece of soft tube over two shafts; moved by the angles of both sides. [deg]"""

    phases: ClassVar[int] = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Universal:
    """Two shafts that meet at an angle in a cross; moved by the angles of both sides. [deg]"""

    phases: ClassVar[int] = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Rollers:
    """Two plain wheels that roll on each other; moved by the angles of both sides. [deg]"""

    phases: ClassVar[int] = 2
    ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Clamp:
    """A sensor clamped at a mark; moved by its turn since then. [deg]"""

    phases: ClassVar[int] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """A vane that runs onto a switch, or an index that passes a head; moved by the turn since then. [deg]"""

    phases: ClassVar[int] = 1
    index: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """A track within one turn and its wiper; moved by the place on it and the turn since the clamping."""

    phases: ClassVar[int] = 2
    travel_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Helix:
    """A track of several turns and its wiper; moved as `Track` is."""

    phases: ClassVar[int] = 2
    turns: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet:
    """A magnet over its sensor, and the form of what that sends; moved by its share and the turn. [1, deg]"""

    phases: ClassVar[int] = 2
    sends: Form


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """A disc of lines before two heads; moved by the share and the turn since the homing. [1, deg]"""

    phases: ClassVar[int] = 2
    lines: int
    index: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two magnets on gears of different teeth; moved by the share and the driving gear's turn. [1, deg]

    `teeth` are those of the driving, the first and the second gear.
    """

    phases: ClassVar[int] = 2
    teeth: tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """Analogue wiring behind a track, or behind a `driven` output; moved by the level at the pin. [1]"""

    phases: ClassVar[int] = 1
    series: bool = False
    capacitor: bool = False
    pull: Pull = ""
    driven: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """A cable that carries low and high levels; moved by what is sent, in shares or turns. [1]"""

    phases: ClassVar[int] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Staircase:
    """An analogue-to-digital converter; moved by the code as a share of full scale. [1]"""

    phases: ClassVar[int] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """A pulse in its frame under the ticks of a timer; moved by the code as a share of full scale. [1]

    Without `whole` the pulse alone is timed, not the frame.
    """

    phases: ClassVar[int] = 1
    whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """The bits of a word at each of its values; moved by the code as a share of full scale. [1]"""

    phases: ClassVar[int] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """Two tracks a quarter apart and those of their four edges that count.

    Moved by the count, and by its place among those of the range. [1]
    """

    phases: ClassVar[int] = 2
    counted: int = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeSheet:
    """The code's line; moved by the place of what it reports within the range. [1]"""

    phases: ClassVar[int] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A link of a kind that has no drawing of its own; moved by its output's place in its range. [1]"""

    phases: ClassVar[int] = 1


Symbol = (
    Arc
    | Circle
    | Rail
    | Direct
    | Gears
    | Rack
    | Loop
    | Run
    | Drum
    | DrawWire
    | Screw
    | FourBar
    | DBore
    | ClampHub
    | Bellows
    | Tube
    | Universal
    | Rollers
    | Clamp
    | Home
    | Track
    | Helix
    | Magnet
    | Lines
    | Pair
    | Circuit
    | Cable
    | Staircase
    | Pulse
    | Word
    | Edges
    | CodeSheet
    | Box
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Drives one behind the other, each drawn small; moved by the phases of each in turn."""

    stages: tuple[Symbol, ...]

    @property
    def phases(self) -> int:
        """How many numbers move it. [1]"""
        return sum(stage.phases for stage in self.stages)


Drawing = Symbol | Row
