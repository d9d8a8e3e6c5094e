"""The measuring chain: links in a row whose kinds fit, run forward, backward and in time."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.protocol import Array, CodeRange, Link, State

_STEP = 1e-5  # of the central difference in `slope` [rad or m]


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """Links from the motion to the code, each taking what the one before gives.

    Raises
    ------
    RigError
        Two neighbours do not fit; both are named, with what one gives and the other takes.
    """

    links: tuple[Link, ...]

    def __post_init__(self) -> None:
        """Refuse neighbours that do not fit."""
        for before, after in zip(self.links, self.links[1:], strict=False):
            if before.gives is not after.takes:
                raise RigError(
                    Problem(
                        "chain",
                        f"a {type(before).__name__} gives the {before.gives.value}",
                        f"a {type(after).__name__} takes the {after.takes.value}",
                        "Put the link between them that turns one into the other.",
                    )
                )

    def sides(self, side: Numeric, *, at: int | None = None) -> tuple[Numeric, ...]:
        """Side of approach as each link sees it; with `at`, zero for every link but that one. [1]"""
        seen: list[Numeric] = []
        for index, link in enumerate(self.links):
            seen.append(side if at in (None, index) else 0)
            side = side if link.sense == 1 else side * link.sense
        return tuple(seen)

    def trace(self, q: Numeric, *, side: Numeric = 0) -> tuple[Numeric, ...]:
        """The value that leaves each link, for a position reached from a side. [unit of the link's signal]"""
        values = []
        for link, seen in zip(self.links, self.sides(side), strict=True):
            q = link.forward(q, side=seen)
            values.append(q)
        return tuple(values)

    def forward(self, q: Numeric, *, side: Numeric = 0, at: int | None = None) -> Numeric:
        """Code at rest of a position.

        Parameters
        ----------
        q : float or array, (P,)
            Position of the axis. [m or rad]
        side : float or array
            Side of approach: +1 rising, -1 falling, 0 the middle of any play. [1]
        at : int or None
            Let only the link of this index lag; None lets all. [1]

        Returns
        -------
        float or array, (P,) or (B, P)
            What leaves the last link; B virtual builds where the links hold arrays. [count]
        """
        for link, seen in zip(self.links, self.sides(side, at=at), strict=True):
            q = link.forward(q, side=seen)
        return q

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Position that rests at a code, approached from a side. [m or rad]"""
        for link, seen in zip(reversed(self.links), reversed(self.sides(side)), strict=True):
            y = link.backward(y, side=seen)
        return y

    def follow(
        self, q: Array, t: Array, *, states: Sequence[State] | None = None
    ) -> tuple[Array, tuple[State, ...]]:
        """Codes along a path of positions.

        Parameters
        ----------
        q : array, (P,)
            Positions in the order of time. [m or rad]
        t : array, (P,)
            Times. [s]
        states : sequence or None
            Memory of each link as an earlier call left it; None starts at rest in mid play.

        Returns
        -------
        codes : array, (P,) or (B, P)
            What leaves the last link. [count]
        memories : tuple
            The memory of each link, to go on with.
        """
        memories: list[State] = list(states) if states is not None else [None] * len(self.links)
        for index, link in enumerate(self.links):
            q, memories[index] = link.follow(q, t, memories[index])
        return q, tuple(memories)

    def unrounded(self) -> "Chain":
        """The same chain without steps and without a wrap: the mean code of a busy input."""
        return Chain(tuple(_smooth(link) for link in self.links))

    @property
    def codes(self) -> CodeRange:
        """The codes that the last link can give. [count]

        Raises
        ------
        RigError
            It gives no codes.
        """
        found = getattr(self.links[-1], "codes", None)
        if not isinstance(found, CodeRange):
            last = f"a {type(self.links[-1]).__name__} gives no codes"
            raise RigError(Problem("chain", last, "", "Put a converter at its end."))
        return found

    def slope(self, q: Numeric) -> Numeric:
        """Codes per unit of position, by a central difference without rounding. [count/m or count/rad]"""
        smooth = self.unrounded()
        high, low = smooth.forward(np.asarray(q) + _STEP), smooth.forward(np.asarray(q) - _STEP)
        slope = (np.asarray(high) - low) / (2.0 * _STEP)
        return slope if np.ndim(slope) else float(slope)

    def resolution(self, q: Numeric) -> Numeric:
        """Change of position that one code stands for; infinite where the code stands still. [m or rad]"""
        with np.errstate(divide="ignore"):
            step = 1.0 / np.abs(np.asarray(self.slope(q)))
        return step if np.ndim(step) else float(step)


def _smooth(link: Link) -> Link:
    """A link that rounds, without its rounding; any other as it is."""
    if not getattr(link, "rounded", False):
        return link
    rounding: Any = link
    smooth: Link = replace(rounding, rounded=False)
    return smooth
