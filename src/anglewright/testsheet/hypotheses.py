"""Every hypothesis about an axis: the healthy one, and each single fault that its kind of sensor can have."""

from collections.abc import Iterator, Mapping

import numpy as np

from anglewright.links.wiring import WireFault
from anglewright.testsheet.checks import STILL
from anglewright.testsheet.faults import LOOSE, SIGNS, Fault
from anglewright.testsheet.model import HEALTHY, Bench, Variant
from anglewright.testsheet.shaftfaults import bad_contacts, slips, tapers, turned_round, wrong_tracks
from anglewright.testsheet.unknowns import Unknown
from anglewright.testsheet.visits import output_share
from anglewright.testsheet.wirefaults import (
    ON_BOARD,
    TOUCH_OHM,
    broken_wire,
    dead_feed,
    ends_swapped,
    ends_touching,
    fixed_share,
    missing_pulls,
    pull_left_on,
    signal_swapped,
    touching,
    unfed,
    wrong_rail,
)


def faults_of(bench: Bench, *, sense: str) -> tuple[Fault, ...]:
    """Every hypothesis for an axis, the healthy one first.

    Parameters
    ----------
    bench : Bench
        The axis to be tested.
    sense : str
        What its reading does when it moves the positive way: ``rises`` or ``falls``.

    Returns
    -------
    tuple of Fault
        Those that its kind of sensor can have.

    References
    ----------
    practice
    """
    found = (
        *_wires(bench, sense),
        *_track(bench),
        *_trackless(bench, sense),
        *_held(bench, sense),
        *_seen(bench, sense),
    )
    return (_none(), *(fault for fault in found if fault.variants))


def _none() -> Fault:
    return Fault(key="fault-none", name="healthy", link="", what="", remedy="", variants=(HEALTHY,))


def other_way(sense: str) -> str:
    """The opposite of ``rises`` or ``falls``."""
    return "falls" if sense == "rises" else "rises"


def _wires(bench: Bench, sense: str) -> Iterator[Fault]:
    """Faults of cable, plug, pulls and feed."""
    if not bench.analogue:
        variant = Variant(unknowns=(*_still(bench).unknowns, dead_feed()), change=unfed, where=ON_BOARD)
        yield _wire("open-feed", "open feed", "there is no feed", (variant,), sense=sense)
        yield _rail(bench, sense)
        return
    for wire, arm, wire_fault in _BROKEN:
        variants = broken_wire(bench, arm, wire_fault)
        yield _wire(f"open-{wire}", f"open {wire}", f"the {arm}'s wire is open", variants, sense=sense)
    short = "Look for a pinched cable, a solder bridge and swarf; do not power it until that is found."
    for other, wire_fault in _SHORTED:
        variants = touching(bench, other, wire_fault)
        name, what = f"short to {other}", f"the signal touches the {other}"
        yield _wire(f"short-to-{other}", name, what, variants, remedy=short, sense=sense)
    yield from _pulls_and_feed(bench, sense)
    if bench.has_track:
        yield from _swapped(sense)


_BROKEN = (
    ("feed", "feed", WireFault.OPEN_FEED),
    ("ground", "ground", WireFault.OPEN_GROUND),
    ("wiper", "signal", WireFault.OPEN_WIPER),
)
_SHORTED = (("ground", WireFault.WIPER_TO_GROUND), ("feed", WireFault.WIPER_TO_FEED))
_SHOWN_BY: Mapping[str, str] = {
    "open-feed": "volts from feed to ground at the sensor itself, plug on: next to none",
    "open-ground": "volts from the sensor's ground to the controller's, plug on: far above zero",
    "open-wiper": "volts at the sensor's own signal terminal, plug on: right there, wrong at the plug",
    "short-to-ground": "ohms from signal to ground at the controller's half of the plug, power off: none",
    "short-to-feed": "ohms from signal to feed at the controller's half of the plug, power off: none",
    "missing-pull": "ohms from signal to ground at the controller's half of the plug, power off: no pull",
    "pull-left-on": "the same reading with the input's pull switched off in the code: it changes",
}
_MEND = "Mend the wire or its crimp, pull at each, and begin the sheet anew."


def _not_turned(sense: str) -> Mapping[str, tuple[str, ...]]:
    """Answers of a fault that may hold the reading still and never makes it go the other way."""
    return dict.fromkeys(SIGNS[:2], (sense, STILL))


def _wire(
    key: str, name: str, what: str, variants: tuple[Variant, ...], *, sense: str, remedy: str = _MEND
) -> Fault:
    return Fault(
        key=f"fault-{key}",
        name=name,
        link="wiring",
        what=what,
        remedy=remedy,
        variants=variants,
        free=LOOSE,
        demands=_not_turned(sense),
        shown_by=_SHOWN_BY.get(key, ""),
    )


def _swapped(sense: str) -> Iterator[Fault]:
    turned = other_way(sense)
    yield Fault(
        key="fault-ends-swapped",
        name="swapped ends",
        link="wiring",
        what="feed and ground are swapped at the ends of the track",
        remedy=(
            "Change the two outer wires of the track over; where the wires are right and the sensor sits the "
            "other way round, change mount.output in the rig file."
        ),
        variants=(Variant(change=ends_swapped),),
        free=("wiggle-coupling",),
        demands={"sign-by-hand": (turned,), "sign-of-motor": (turned,), "sign-of-loop": ("runs away",)},
    )
    stop = (
        "Do not power it: near an end the wiper would short the feed and burn the track. Find each contact "
        "with a meter."
    )
    for key, name, other in (
        ("feed-and-wiper", "wiper and feed swapped", "feed"),
        ("ground-and-wiper", "wiper and ground swapped", "ground"),
    ):
        variant = Variant(change=signal_swapped(other))
        what = f"the wires of wiper and {other} are swapped"
        yield _wire(key, name, what, (variant,), remedy=stop, sense=sense)
    touch = (Unknown(key="touch", low=0.0, high=TOUCH_OHM),)
    variant = Variant(unknowns=touch, change=ends_touching)
    stop = "Do not power it: find where the two wires touch."
    name, what = "feed shorted to ground", "feed and ground touch"
    yield _wire("feed-to-ground", name, what, (variant,), remedy=stop, sense=sense)


def _pulls_and_feed(bench: Bench, sense: str) -> Iterator[Fault]:
    yield _wire(
        "missing-pull",
        "missing pull",
        "a pull resistor of the file is not there",
        missing_pulls(bench),
        remedy="Fit the pull resistor, or take it out of the rig file.",
        sense=sense,
    )
    yield _wire(
        "pull-left-on",
        "pull-up left on",
        "the controller's own pull-up is on at this input",
        pull_left_on(bench),
        remedy="Switch the controller's own pull-up off: set the pin as an analogue input without pull.",
        sense=sense,
    )
    yield _rail(bench, sense)


def _rail(bench: Bench, sense: str) -> Fault:
    return _wire(
        "wrong-rail",
        "feed from the wrong rail",
        "the sensor is fed from another rail than the file says",
        wrong_rail(bench),
        remedy="Cut the power: a higher rail can damage the input. Then feed it from the rail of the file.",
        sense=sense,
    )


def _track(bench: Bench) -> Iterator[Fault]:
    """Faults of a resistive track and its wiper."""
    yield Fault(
        key="fault-wrong-track",
        name="wrong total resistance",
        link="sensor",
        what="the track has another total resistance than the file says",
        remedy="Check the part's marking; fit the right one, or mend sensor.track in the rig file.",
        variants=wrong_tracks(bench),
    )
    yield Fault(
        key="fault-taper",
        name="logarithmic taper",
        link="sensor",
        what="the track is logarithmic",
        remedy="Fit a sensor with a linear taper; taper letters differ by maker and era.",
        variants=tapers(bench),
        free=("noise", "wiggle-coupling"),
    )
    yield Fault(
        key="fault-bad-contact",
        name="bad wiper contact",
        link="sensor",
        what="the wiper's contact has more ohms than a sound one, both parts of the track add up to too much",
        remedy="Clean or replace the sensor; pull at the crimp of the signal's wire.",
        variants=bad_contacts(bench),
        free=("noise", "resistance-turning"),
    )


def _trackless(bench: Bench, sense: str) -> Iterator[Fault]:
    """Faults of a sensor without a track."""
    turned = other_way(sense)
    yield Fault(
        key="fault-turned-round",
        name="counts the other way",
        link="mount",
        what="the sensor counts the other way than the file says",
        remedy="Change mount.output in the rig file, or the sensor's own direction.",
        variants=turned_round(bench),
        demands={"sign-by-hand": (turned,), "sign-of-motor": (turned,), "sign-of-loop": ("runs away",)},
    )
    yield Fault(
        key="fault-no-signal",
        name="no signal",
        link="wiring",
        what="the reading stands still, whatever the axis does",
        remedy="Check feed and ground at the sensor, then each wire of the signal, then the pin in the code.",
        variants=() if bench.analogue else (_still(bench),),
        free=LOOSE,
        demands=dict.fromkeys(SIGNS[:2], (STILL,)),
    )


def _still(bench: Bench) -> Variant:
    shares = output_share(bench.axis, bench.positions)
    low, high = min(float(np.min(shares)), 0.0), max(float(np.max(shares)), 1.0)
    return Variant(unknowns=(Unknown(key="still", low=low, high=high),), change=fixed_share)


def _held(bench: Bench, sense: str) -> Iterator[Fault]:
    """Faults of how the sensor is held; the readings cannot tell the two apart, the witness line can."""
    variants = slips(bench)
    yield Fault(
        key="fault-body-turned",
        name="body turned",
        link="mount",
        what="the sensor's body has turned",
        remedy="Look for a loose nut or a locating tab out of its hole; set it anew by: anglewright mount.",
        variants=variants,
        free=("wiggle-coupling", *SIGNS),
        demands={"witness-line": ("body",), **_not_turned(sense)},
    )
    yield Fault(
        key="fault-shaft-slipped",
        name="shaft slipped",
        link="coupling",
        what="the sensor's shaft has slipped in its coupling",
        remedy="Clamp it rigidly, on a flat where there is one; set it anew by: anglewright mount.",
        variants=variants,
        free=("wiggle-coupling", *SIGNS),
        demands={"witness-line": ("shaft",), **_not_turned(sense)},
    )


def _seen(bench: Bench, sense: str) -> Iterator[Fault]:
    """Faults that leave the numbers as they are and show in one check."""
    for key, name, link, what, remedy, check in _BEYOND:
        yield Fault(
            key=f"fault-{key}",
            name=name,
            link=link,
            what=what,
            remedy=remedy,
            variants=(HEALTHY,),
            beyond=check,
        )
    for key, name, what, remedy, demands in _ANSWERS:
        yield Fault(
            key=f"fault-{key}",
            name=name,
            link="sensor" if key == "jumping-track" else "motion",
            what=what,
            remedy=remedy,
            variants=(HEALTHY,),
            demands={
                check: tuple(word or other_way(sense) for word in words) for check, words in demands.items()
            },
        )
    yield from _digital(bench)


def _digital(bench: Bench) -> Iterator[Fault]:
    if bench.analogue:
        return
    yield Fault(
        key="fault-dead-frame",
        name="damaged frames",
        link="wiring",
        what="frames are missing or damaged, while the positions that arrive are right",
        remedy="Check ground, speed and length of the line; drop readings by their status, not their value.",
        variants=(HEALTHY,),
        demands={"frame": ("damaged",)},
        free=("noise",),
    )


_BEYOND = (
    ("supply", "supply current", "sensor", "the sensor draws too much or too little",
     "Cut the power; look for feed and ground swapped, a short, or no feed at all.", "supply-current"),
    ("loose-coupling", "loose coupling", "coupling", "the coupling gives more than the file says",
     "Tighten or replace the coupling; a worn or loose print gives 10 to 15 deg.", "wiggle-coupling"),
    ("flexing-cable", "flexing cable", "wiring", "the reading moves with the cable",
     "Pull at every crimp, give it strain relief, or replace the cable.", "wiggle-cable"),
    ("noise", "noisy reading", "converter", "the reading at rest is noisier than the file says",
     "Repeat it with two equal resistors for the sensor: noise that stays is the supply's.", "noise"),
    ("lost-counts", "lost counts", "sensor", "counts are lost, or the homing does not repeat",
     "Check the edge rate, both tracks and the switch; go out and back slowly, then fast.", "homing-twice"),
    ("lost-counts", "lost counts on the way", "sensor", "counts are lost between going out and coming back",
     "Check the edge rate and both tracks; go out and back slowly, then fast.", "out-and-back"),
)  # fmt: skip
_ANSWERS = (
    ("jumping-track", "jumping track", "the ohms jump as the wiper moves along the track",
     "Replace the sensor: the track is worn or burnt.", {"resistance-turning": ("jumps",)}),
    ("motor-sign", "motor's sign inverted", "the motor turns the other way than its command says",
     "Change the motor's leads over, or the sign of its command, and begin the first power-up anew.",
     {"sign-of-motor": ("",), "sign-of-loop": ("runs away",)}),
    ("loop-sign", "loop's sign inverted", "the loop drives away from its target, though hand and motor agree",
     "Change the sign of the loop's error or of its gain, and begin the first power-up anew.",
     {"sign-of-loop": ("runs away",)}),
)  # fmt: skip
