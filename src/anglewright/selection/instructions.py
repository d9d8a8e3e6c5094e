"""The mounting as one does it: sentences in their order, with every number from the chain."""

from collections.abc import Iterator

import numpy as np

from anglewright.angles import TURN
from anglewright.quantities.showing import show
from anglewright.selection.margins import Margin, margins, repeat_step
from anglewright.selection.mounting import (
    Ends,
    Mounting,
    Target,
    clamp_target,
    ends_of_output,
    expected_at,
    reaches,
)

FINE_V = 0.02  # a band narrower than that is told to a millivolt [V]
WITNESS = "Paint a witness line over shaft, hub and body: a line that has parted shows a shaft that slipped."
READ_AGAIN = "Clamp it and read again: tightening turns a shaft."


def reading_text(target: Target) -> str:
    """A reading with its limits: in volts where a meter can show it, else as a code.

    Examples
    --------
    >>> target = Target(position=0.0, mark="", angle=1.0, share=0.5, code=2048, codes=(2010, 2086))
    >>> reading_text(target)
    'code 2048 (2010 to 2086)'
    """
    if target.volts is None or target.volts_within is None:
        low, high = target.codes
        return f"code {target.code} ({low} to {high})"
    low_v, high_v = target.volts_within
    decimals = 2 if high_v - low_v >= FINE_V else 3
    return f"{target.volts:.{decimals}f} V ({low_v:.{decimals}f} to {high_v:.{decimals}f} V)"


def place_text(mounting: Mounting, mark: str) -> str:
    """A mark as one finds it: its name, its position, how."""
    found = mounting.axis.marks[mark]
    how = f": {found.how}" if found.how else ""
    return f"mark '{mark}' at {show(found.at.nominal, mounting.axis.unit)}{how}"


def other_targets(mounting: Mounting) -> tuple[Target, ...]:
    """What to expect at the other marks; where there are none, at a tenth and nine tenths of the range."""
    axis = mounting.axis
    places = tuple(mark.at.nominal for name, mark in axis.marks.items() if name != mounting.mark)
    span = axis.motion.high - axis.motion.low
    places = places or tuple(axis.motion.low + share * span for share in (0.1, 0.9))
    return tuple(
        expected_at(mounting, q, reach=reach)
        for q, reach in zip(places, reaches(mounting, places), strict=True)
    )


def instructions(mounting: Mounting, others: tuple[Target, ...]) -> tuple[str, ...]:
    """What to do, in the order in which to do it.

    Parameters
    ----------
    mounting : Mounting
        The axis and the mark at which the user stands.
    others : tuple of Target
        What to look at after the clamping, from `other_targets`.

    Returns
    -------
    tuple of str
        Sentences; the cautions that belong before them are the review's.

    References
    ----------
    practice
    """
    start = f"Bring {mounting.axis.name} to the {place_text(mounting, mounting.mark)}."
    setting = {Ends.TRACK: _on_track, Ends.WRAP: _endless, Ends.NONE: _counting}[mounting.ends]
    checks = [_check(mounting, target) for target in others]
    return (start, *setting(mounting), *checks, _direction(mounting), WITNESS)


def _meter(target: Target) -> str:
    return "the controller shows" if target.volts is None else "the meter at the signal reads"


def _on_track(mounting: Mounting) -> Iterator[str]:
    target = clamp_target(mounting)
    if mounting.full > TURN * (1.0 + 1e-9):
        yield _by_turns(mounting, target)
        yield f"Set it finely until {_meter(target)} {reading_text(target)}."
    else:
        reading = f"until {_meter(target)} {reading_text(target)}"
        yield f"Loosen the clamp of the sensor's shaft and turn the shaft {reading}."
    yield READ_AGAIN


def _by_turns(mounting: Mounting, target: Target) -> str:
    """Turns to count from the sensor's own stop, or from where its reading begins to rise."""
    stops = mounting.sensor_stops
    turned = target.angle - (stops[0] if stops else 0.0)
    turns, rest = divmod(turned, TURN)
    whole = f"{turns:.0f} turn{'' if turns == 1 else 's'} and {np.degrees(rest):.0f} deg"
    begin = "gently against its stop" if stops else "to where the reading begins to rise"
    return (
        f"Loosen the clamp, turn the sensor's shaft by hand {begin} at the low end of its reading, then "
        f"{whole} back ({turned / TURN:.2f} turns)."
    )


def _endless(mounting: Mounting) -> Iterator[str]:
    target = clamp_target(mounting)
    reading = f"until {_meter(target)} {reading_text(target)}"
    yield f"Loosen the sensor's shaft, magnet or body and turn it {reading}."
    yield READ_AGAIN
    yield _wrap(mounting)


def _wrap(mounting: Mounting) -> str:
    """Where the reading wraps, and how to move that out of the way."""
    ends = [show(q, mounting.axis.unit) for q in sorted(ends_of_output(mounting))]
    if mounting.axis.motion.endless:
        return (
            f"The axis turns endlessly and so crosses the wrap, at {ends[0]}. Where it is clamped moves the "
            "wrap: put it where the axis seldom rests, and let the code unwrap it."
        )
    said = f"The reading wraps at {' and '.join(ends)}."
    if all(margin.fine for margin in margins(mounting)):
        return f"{said} That lies clear of the range."
    shift = np.degrees(mounting.centred)
    share = (clamp_target(mounting).share + mounting.centred / mounting.full) % 1.0
    return (
        f"{said} That is too near: turn the sensor {abs(shift):.0f} deg {'on' if shift > 0 else 'back'}, so "
        f"that it reads {100 * share:.1f} % of full output here; the wrap then lies opposite the range."
    )


def _counting(mounting: Mounting) -> Iterator[str]:
    mount = mounting.axis.part("mount")
    onto, side = getattr(mount, "onto", "switch"), getattr(mount, "side", "rising")
    yield "Clamp the sensor's shaft as it comes: a sensor that counts has no angle to be set."
    yield (
        f"Home it here from the {side} side onto the {onto}; the counter is set to "
        f"{clamp_target(mounting).code} there. It must be homed after each start: until then its code "
        "means nothing."
    )


def _check(mounting: Mounting, target: Target) -> str:
    unit = mounting.axis.unit
    where = f"the {place_text(mounting, target.mark)}" if target.mark else show(target.position, unit)
    return f"Move to {where}; expect {reading_text(target)}."


def _direction(mounting: Mounting) -> str:
    rises = "rises" if mounting.sense > 0 else "falls"
    cures = {Ends.TRACK: "change the two outer wires of the track over"}
    cure = cures.get(mounting.ends, "change mount.output in the rig file")
    way = mounting.axis.motion.positive
    return f"Moved the positive way ({way}) by hand, the reading {rises}. If it does not, {cure} first."


def margin_text(mounting: Mounting, margin: Margin) -> str:
    """Room at one end in a sentence.

    Parameters
    ----------
    mounting : Mounting
        The axis as clamped.
    margin : Margin
        Room at one end of its range.

    Returns
    -------
    str
        What is left, what is needed, whether that is enough.
    """
    needs = margin.needed.numbers
    made = ", ".join(
        f"{name} {needs[key]:.3g}"
        for key, name in (
            ("over_travel", "over-travel"),
            ("play", "play"),
            ("clamping", "clamping error"),
            ("spare", "to spare"),
        )
    )
    verdict = "enough" if margin.fine else "too little"
    return (
        f"Beyond {show(margin.position, mounting.axis.unit)} the shaft has {margin.left.result:.3g} deg left "
        f"before {mounting.ends.value}; it needs {margin.needed.result:.3g} deg ({made}): {verdict}."
    )


def start_text(mounting: Mounting) -> str:
    """What the reading can mean at power-up, in a sentence; empty where there is nothing to say."""
    step = repeat_step(mounting)
    if step is None:
        return ""
    name, repeat, stops = mounting.axis.unit.name, step.numbers["repeat"], step.numbers["stops"]
    because = f"the same one comes again {repeat:.4g} {name} on, and the stops are {stops:.4g} {name} apart."
    if step.result > 0.0:
        return f"At power-up each reading means one place only: {because}"
    return f"At power-up a reading can mean two places: {because} Start within the working range."
