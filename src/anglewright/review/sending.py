"""Theme: a sensor that sends pulses, words or lines: its level at the pin, its start, its broken wire."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.links.counter import CounterPart
from anglewright.links.digital import DigitalPart
from anglewright.links.pulse_timer import PulseTimerPart
from anglewright.links.serial_word import SerialWordPart
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Design
from anglewright.review.divider import FEED, divider_for

KEYS: Mapping[str, str] = {
    "level-at-pin": "feed of a sensor that sends levels, against the pin of a usual controller",
    "power-up": "how long after the power came on the first reading counts",
    "open-line": "what the reading does when a wire of a sensor that sends pulses, words or lines breaks",
}

PIN_V, STANDS_V = 3.3, 3.6  # usual supply of a controller (assumed), and what its pins stand [V]
_SECOND, _VOLT = UNITS["s"], UNITS["V"]


def findings(design: Design) -> tuple[Finding, ...]:
    """What is to be said of a sensor on digital wiring; nothing of any other."""
    wiring, converter = (design.axis.part(room) for room in ("wiring", "converter"))
    if not isinstance(wiring, DigitalPart):
        return ()
    found = [_level(design, wiring)]
    if isinstance(converter, PulseTimerPart | SerialWordPart):
        found.append(_start(design, converter))
    return (*found, _open_line(design))


def _level(design: Design, wiring: DigitalPart) -> Finding:
    feed, limit = wiring.feed_v.nominal, STANDS_V
    fine = feed <= limit
    said = f"The sensor is fed with {show(feed, _VOLT)}, and its levels are taken to be as high"
    text = f"{said}: a pin of {show(PIN_V, _VOLT)} stands that."
    if not fine:
        text = f"{said}: a pin of {show(PIN_V, _VOLT)} (assumed) can be damaged by them."
    divider = None if fine else divider_for(feed, asked_v=feed * (1.0 + FEED), limit_v=PIN_V)
    divided = "" if divider is None else f" or, for slow edges, a divider, {divider.said}"
    remedy = f"See that the pin stands it; else feed the sensor lower, fit a level shifter{divided}."
    return Finding(
        key="level-at-pin",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="wiring",
        text=text,
        remedy="" if fine else remedy,
        source="practice",
        measured=feed,
        limit=limit,
        unit="V",
        steps=() if divider is None else (divider.top,),
    )


def _start(design: Design, converter: PulseTimerPart | SerialWordPart) -> Finding:
    wait, frames = show(converter.ready_s.nominal, _SECOND), converter.good_frames
    return Finding(
        key="power-up",
        severity=Severity.NOTE,
        axis=design.axis.name,
        link="converter",
        text=f"The sensor is not ready at power-up: no reading counts before {wait} or {frames} good frames.",
        remedy="Hold the drive still until then, and report a fault if no good frame comes at all.",
        source="practice",
    )


_PULSE = (
    "When a wire breaks the pulses stop: the last reading stands still at a legal value.",
    "Let a frame that is overdue, twice its length, be a fault.",
)
_WORD = (
    "When a wire breaks the word reads all zeros, all ones or what it read before: all legal positions.",
    "Judge by the status and check bits of the word, count what fails, and never by the value alone.",
)
_LINES = (
    "When a wire of one track breaks the count goes to and fro by one; when both break it stands still: it "
    "keeps a legal value.",
    "Check for a drive that does not move the axis, and for the right count from index to index.",
)


def _open_line(design: Design) -> Finding:
    converter = design.axis.part("converter")
    lines = isinstance(converter, CounterPart)
    text, remedy = _LINES if lines else _PULSE if isinstance(converter, PulseTimerPart) else _WORD
    return Finding(
        key="open-line",
        severity=Severity.CAUTION,
        axis=design.axis.name,
        link="wiring",
        text=text,
        remedy=remedy,
        source="practice",
    )
