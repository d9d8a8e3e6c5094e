"""Which drawing shows a part, and how it differs with what the part has."""

from collections.abc import Callable
from typing import get_args

import numpy as np

from anglewright.jobs.passages import Passage
from anglewright.links.belt_chain import BeltPart, ChainPart
from anglewright.links.counter import CounterPart
from anglewright.links.coupling import DBorePart
from anglewright.links.drum import DrumPart
from anglewright.links.friction import FrictionPart
from anglewright.links.gear_pair import GearPairPart
from anglewright.links.gears import GearsPart
from anglewright.links.incremental import IncrementalPart
from anglewright.links.linkage import FourBar, FourBarPart
from anglewright.links.motion import MotionPart
from anglewright.links.mount import HomedPart
from anglewright.links.potentiometer import PotentiometerPart
from anglewright.links.protocol import Part
from anglewright.links.pulse_timer import PulseTimerPart
from anglewright.links.rack import RackPart
from anglewright.links.screw import ScrewPart
from anglewright.links.wiring import Wiring, WiringPart
from anglewright.quantities.spread import Spread
from anglewright.report import symbols

FULL_TURN_DEG = 360.0  # [deg]
_WAYS: dict[str, symbols.Way] = {way: way for way in get_args(symbols.Way)}


def always(drawing: symbols.Symbol) -> Callable[[Passage, Part], symbols.Symbol]:
    """One drawing, whatever the part has."""
    return lambda passage, part: drawing


def motion(passage: Passage, part: MotionPart) -> symbols.Symbol:
    """A motion round and round, between the two ends of an arc, or along a rail."""
    if not part.rotary:
        return symbols.Rail(way=_WAYS.get(part.positive, "right"))
    if part.endless:
        return symbols.Circle()
    low, high = (passage.way * float(np.degrees(end)) for end in (part.low, part.high))
    return symbols.Arc(low_deg=low, high_deg=high)


def gears(_: Passage, part: GearsPart) -> symbols.Symbol:
    """The wheels of a train."""
    return symbols.Gears(teeth=part.teeth)


def rack(_: Passage, part: RackPart) -> symbols.Symbol:
    """A rack under the pinion with its teeth."""
    return symbols.Rack(teeth=part.pinion_teeth)


def band(_: Passage, part: ChainPart | BeltPart) -> symbols.Symbol:
    """A chain or belt round two wheels, or along a line over one."""
    rollers = isinstance(part, ChainPart)
    if part.axis_teeth is None:
        return symbols.Run(rollers=rollers)
    return symbols.Loop(teeth=(part.axis_teeth, part.sensor_teeth), rollers=rollers)


def drum(_: Passage, part: DrumPart) -> symbols.Symbol:
    """A drum with as many layers of rope as are wound."""
    return symbols.Drum(layer=part.layer)


def screw(_: Passage, part: ScrewPart) -> symbols.Symbol:
    """A nut on a screw of so many starts."""
    return symbols.Screw(starts=part.starts)


def four_bar(passage: Passage, part: FourBarPart) -> symbols.Symbol:
    """The bars in proportion, and the room that they sweep."""
    link = passage.link
    lengths = [each.mean for each in (part.ground_m, part.input_m, part.coupler_m, part.output_m)]
    box = _swept(link, passage) if isinstance(link, FourBar) else (0.0, -lengths[1], lengths[0], lengths[1])
    ground, lever, rod, output = lengths
    return symbols.FourBar(ground=ground, input=lever, coupler=rod, output=output, box=box)


def _swept(link: FourBar, passage: Passage) -> tuple[float, float, float, float]:
    """Left, low, right and high ends of all that the pivots and both tips touch over the motion. [m]"""
    theta, _, out = link.levers(passage.goes_in)
    ends = [0.0, float(np.mean(link.ground))]
    along = np.concatenate([ends, link.input * np.cos(theta), ends[1] + link.output * np.cos(out)])
    across = passage.way * np.concatenate([[0.0], link.input * np.sin(theta), link.output * np.sin(out)])
    return float(along.min()), float(across.min()), float(along.max()), float(across.max())


def d_bore(_: Passage, part: DBorePart) -> symbols.Symbol:
    """A flat shaft in its bore, loose where there is play that no spring takes up."""
    sizes = (part.play_rad, part.gap_m)
    loose = any(isinstance(size, Spread) and size.nominal > 0.0 for size in sizes)
    return symbols.DBore(play=loose and not part.preloaded)


def rollers(_: Passage, part: FrictionPart) -> symbols.Symbol:
    """Two wheels in the ratio of their diameters."""
    return symbols.Rollers(ratio=part.driving_m.nominal / part.driven_m.nominal)


def home(_: Passage, part: HomedPart) -> symbols.Symbol:
    """What ends the homing."""
    return symbols.Home(index=part.onto_index)


def track(_: Passage, part: PotentiometerPart) -> symbols.Symbol:
    """A track within one turn, or one of several turns."""
    travel = float(np.degrees(part.travel_rad.nominal))
    if travel > FULL_TURN_DEG:
        return symbols.Helix(turns=travel / FULL_TURN_DEG)
    return symbols.Track(travel_deg=travel)


def lines(_: Passage, part: IncrementalPart) -> symbols.Symbol:
    """A disc with its lines, and its index."""
    return symbols.Lines(lines=part.lines, index=part.index == "yes")


def pair(_: Passage, part: GearPairPart) -> symbols.Symbol:
    """Both gears on the driving one."""
    return symbols.Pair(teeth=(part.driving, part.first, part.second))


def circuit(passage: Passage, part: WiringPart) -> symbols.Symbol:
    """What drives the pin, and what stands between."""
    series, held = (part.series_ohm, part.upper_ohm), (part.pull_down_ohm, part.lower_ohm)
    pull: symbols.Pull = "down" if any(each is not None for each in held) else ""
    return symbols.Circuit(
        series=any(each is not None and each.nominal > 0.0 for each in series),
        capacitor=part.capacitor_f.nominal > 0.0,
        pull="up" if part.pull_up_ohm is not None else pull,
        driven=isinstance(passage.link, Wiring) and passage.link.output is not None,
    )


def pulse(_: Passage, part: PulseTimerPart) -> symbols.Symbol:
    """A pulse, and its frame where that is timed too."""
    return symbols.Pulse(whole=part.method == "ratio")


def edges(_: Passage, part: CounterPart) -> symbols.Symbol:
    """Those edges of a line that are counted."""
    return symbols.Edges(counted=part.decode)
