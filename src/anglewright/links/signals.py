"""The wires between a sensor and its controller beside feed and ground, and what is read with one open."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalWire:
    """One wire that carries a signal: its name, and what it is at either end."""

    name: str
    at_sensor: str = "output"
    at_controller: str = "input of the controller"


ONE_SIGNAL = (SignalWire(name="signal"),)
"""Of a sensor that says no more about its wires."""

WIPER = (SignalWire(name="wiper", at_sensor="wiper"),)
PULSES = (SignalWire(name="pulses"),)

NO_PULSES = ("With the pulses' wire open no pulse comes: wait no longer than two frames for one.",)
ONE_TRACK = (
    "With A or B open the count stands, goes to and fro by one, or runs one way however the shaft turns."
)
NO_INDEX = "With the index open a homing that ends at it never ends: give it a limit."
WORD_NAMES = "Data, clock and select, or what its data sheet names: it may want a wire more."
ONE_AT_A_TIME = (
    "Data and clock are shared: select one sensor at a time, as two at once both drive the data wire."
)
SAME_WORD = (
    "With data, clock or select open the word is all ones, all zeros, or jumps about, and each of these is a "
    "position too: see that it moves with the shaft, and check parity or status where they are sent."
)
_ORDINALS = {1: "first", 2: "second", 3: "third"}


def track_wires(*, index: bool) -> tuple[SignalWire, ...]:
    """One wire for each track of lines: A, B, and the index where there is one."""
    names = ("A", "B", "index") if index else ("A", "B")
    return tuple(SignalWire(name=name, at_sensor=f"{name} output") for name in names)


def word_wires(senders: int) -> tuple[SignalWire, ...]:
    """Data and clock, shared by all senders of words, and a select for each.

    Parameters
    ----------
    senders : int
        Sensors that are read. [1]

    Returns
    -------
    tuple of SignalWire
        In the order of the connector, under the trade terms of synchronous serial lines.

    Examples
    --------
    >>> [wire.name for wire in word_wires(2)]
    ['data', 'clock', 'first select', 'second select']
    """
    data = SignalWire(name="data", at_sensor="data output")
    if senders == 1:
        return (data, _asking("clock"), _asking("select"))
    which = (_ORDINALS.get(rank, f"{rank}th") for rank in range(1, senders + 1))
    clock = _asking("clock", of="of every sensor")
    return (data, clock, *(_asking("select", which=each, of=f"of the {each} sensor") for each in which))


def _asking(name: str, *, which: str = "", of: str = "") -> SignalWire:
    """A wire that the controller drives."""
    return SignalWire(
        name=f"{which} {name}".strip(),
        at_sensor=f"{name} input {of}".strip(),
        at_controller="output of the controller",
    )
