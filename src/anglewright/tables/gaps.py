"""Faults of the times in a log: standing still, running back, gaps, bursts; counted as blocks go by."""

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_GAP = 100.0  # usual steps that make a gap [1]
_GAP_S = 10.0  # and the least that is one [s]
_RARE = 0.02  # share of steps below which long ones are gaps, and not the pauses between positions [1]
_BURST = 0.1  # of the usual step, below which rows came in a burst [1]
_MANY = 0.05  # share of steps from which on bursts are told [1]
_STEPS = 10_000  # first steps that say which is the usual one [1]


class TimeWatch:
    """Counts what is wrong with the times of the rows, in their order."""

    def __init__(self) -> None:
        """Begin with nothing seen."""
        self._last = math.nan
        self._usual = math.nan
        self._steps = self._still = self._bursts = self._long = 0
        self._back: list[int] = []
        self._longest = (0.0, 0)
        self._first_still = 0

    def see(self, times: Array, lines: NDArray[np.int64]) -> None:
        """Take note of the times of some rows and the lines they stand in. [s]"""
        if len(times) == 0:
            return
        steps = np.diff(np.concatenate([[self._last], times]))
        self._last = float(times[-1])
        ahead = steps[steps > 0]
        if math.isnan(self._usual) and len(ahead):
            self._usual = float(np.median(ahead[:_STEPS]))
        still = np.flatnonzero(steps == 0.0)
        if len(still) and not self._still:
            self._first_still = int(lines[still[0]])
        self._steps += int(np.count_nonzero(np.isfinite(steps)))
        self._still += len(still)
        self._bursts += int(np.count_nonzero((steps > 0.0) & (steps < _BURST * self._usual)))
        self._back += lines[np.flatnonzero(steps < 0.0)].tolist()
        self._see_gaps(steps, lines)

    def _see_gaps(self, steps: Array, lines: NDArray[np.int64]) -> None:
        long = np.flatnonzero(steps > max(_GAP_S, _GAP * self._usual))
        self._long += len(long)
        if len(long):
            widest = long[np.argmax(steps[long])]
            self._longest = max(self._longest, (float(steps[widest]), int(lines[widest])))

    def decisions(self, *, place: str = "line") -> tuple[str, ...]:
        """What is wrong with the times, a sentence each."""
        said = []
        if self._still:
            share = f"{100.0 * self._still / max(self._steps, 1):.2g} %"
            first = f"first {place} {self._first_still}"
            said.append(f"rows with the time of the row before: {self._still} ({share}), {first}")
        if self._back:
            said.append(
                f"the time runs back {len(self._back)} times, first in {place} {self._back[0]}: "
                f"{len(self._back) + 1} stretches, each in its own time"
            )
        if 0 < self._long < _RARE * self._steps:
            length, line = self._longest
            said.append(f"gaps in time: {self._long}, the longest {length:.3g} s before {place} {line}")
        if self._bursts > _MANY * self._steps:
            said.append(f"rows in bursts, much closer than the usual {self._usual:.3g} s: {self._bursts}")
        return tuple(said)
