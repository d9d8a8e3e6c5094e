"""A single fault as the sheet knows it: what it is called, which link it is in, what cures it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from anglewright.testsheet.model import HEALTHY, Variant

SIGNS = ("sign-by-hand", "sign-of-motor", "sign-of-loop")
LOOSE = (
    "supply-current",
    "frame",
    "noise",
    "wiggle-coupling",
    "wiggle-cable",
    "homing-twice",
    "out-and-back",
    *SIGNS,
)
"""Checks that mean nothing while a wire is at fault."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fault:
    """One hypothesis: an axis with this fault and no other.

    `free` are checks whose answer it leaves open, `demands` answers that it asks for, `beyond` the check
    whose limit it goes beyond, `shown_by` a reading beyond the sheet that shows it.
    """

    key: str
    name: str
    link: str
    what: str
    remedy: str
    variants: tuple[Variant, ...]
    free: tuple[str, ...] = ()
    demands: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    beyond: str = ""
    shown_by: str = ""

    @property
    def shows_alone(self) -> bool:
        """True where every number is that of a healthy axis."""
        return self.variants == (HEALTHY,)

    @property
    def asks(self) -> tuple[str, ...]:
        """Checks in which it shows beside the numbers."""
        return (*self.demands, *((self.beyond,) if self.beyond else ()))

    @property
    def is_none(self) -> bool:
        """True for the healthy axis."""
        return self.key == "fault-none"


KEYS: Mapping[str, str] = {
    "fault-open-feed": "test sheet: the feed's wire is open",
    "fault-open-ground": "test sheet: the ground's wire is open",
    "fault-open-wiper": "test sheet: the signal's wire is open",
    "fault-ends-swapped": "test sheet: feed and ground are swapped at the track",
    "fault-feed-and-wiper": "test sheet: wiper and feed are swapped",
    "fault-ground-and-wiper": "test sheet: wiper and ground are swapped",
    "fault-short-to-ground": "test sheet: the signal touches ground",
    "fault-short-to-feed": "test sheet: the signal touches the feed",
    "fault-feed-to-ground": "test sheet: feed and ground touch",
    "fault-wrong-track": "test sheet: the track's total resistance is not the one of the file",
    "fault-taper": "test sheet: the track is logarithmic",
    "fault-bad-contact": "test sheet: the wiper's contact has too many ohms",
    "fault-missing-pull": "test sheet: a pull resistor is missing",
    "fault-pull-left-on": "test sheet: the controller's own pull-up is on",
    "fault-wrong-rail": "test sheet: the sensor is fed from the wrong rail",
    "fault-body-turned": "test sheet: the sensor's body has turned",
    "fault-shaft-slipped": "test sheet: the sensor's shaft has slipped",
    "fault-turned-round": "test sheet: the sensor counts the other way",
    "fault-no-signal": "test sheet: the reading stands still",
    "fault-dead-frame": "test sheet: frames are missing or damaged",
    "fault-lost-counts": "test sheet: counts are lost, or homing does not repeat",
    "fault-loose-coupling": "test sheet: the coupling gives more than it may",
    "fault-flexing-cable": "test sheet: the reading moves with the cable",
    "fault-noise": "test sheet: the reading is noisier than it may be",
    "fault-jumping-track": "test sheet: the ohms jump along the track",
    "fault-supply": "test sheet: the sensor draws too much or too little",
    "fault-motor-sign": "test sheet: the motor's sign is inverted",
    "fault-loop-sign": "test sheet: the loop's sign is inverted",
    "fault-unknown": "test sheet: none of the known single faults",
    "cannot-tell": "test sheet: the readings leave several faults open",
}
"""What `testsheet` can find, by the key of its findings."""
