"""Drives as columns of numbers: ratio, play and what the planned calibration leaves of each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anglewright.links.fields import ONE_SIDED
from anglewright.links.protocol import Array, ClampedPort, Link
from anglewright.selection.curves import left_over
from anglewright.selection.needs import Need
from anglewright.selection.offers import DriveOffer


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Drives:
    """D drives of constant ratio: shaft angle per position (D,), half the free motion at the axis (D,).

    `variance` (D, P) is that of everything else in the drive after the planned calibration, `loose` (D,) that
    of half the free motion. [rad/m or rad/rad, m or rad, m2 or rad2] `cost` (D,) in units of money.
    """

    offers: tuple[DriveOffer, ...]
    ratio: Array
    half_play: Array
    loose: Array
    variance: Array
    cost: Array

    def __len__(self) -> int:
        """How many there are. [1]"""
        return len(self.offers)


def drives_of(need: Need, offers: Sequence[DriveOffer]) -> Drives:
    """The columns of some drives for a need.

    Parameters
    ----------
    need : Need
        The axis with its plan.
    offers : sequence of DriveOffer
        The drives, all for a motion of this kind.

    Returns
    -------
    Drives
        Their numbers. [m or rad]
    """
    looked = [_Look(need=need, offer=offer) for offer in offers]
    links = [look.at() for look in looked]
    return Drives(
        offers=tuple(offers),
        ratio=np.array([float(link.forward(1.0)) - float(link.forward(0.0)) for link in links]),
        half_play=np.array([float(np.mean(link.lag)) for link in links]),
        loose=np.array([look.loose() for look in looked]),
        variance=np.array([look.variance() for look in looked]).reshape(len(looked), len(need.places)),
        cost=np.array([offer.price.middle for offer in offers]),
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Look:
    """One drive with its numbers nudged."""

    need: Need
    offer: DriveOffer

    def at(self, *, field: str = "", value: float = 0.0) -> Link:
        """Every number at its mean but one."""
        values = {number.field: number.variate.mean for number in self.offer.part.numbers}
        if field:
            values[field] = value
        return self.offer.part.link(values, ClampedPort(at=0.0, rotary=self.need.axis.motion.rotary))

    def loose(self) -> float:
        """Variance of half the free motion. [m2 or rad2]"""
        total = 0.0
        for number in self.offer.part.numbers:
            if number.cured_by == ONE_SIDED and not number.variate.is_exact:
                for low, high in number.variate.nudges:
                    lags = [
                        float(np.mean(self.at(field=number.field, value=value).lag)) for value in (low, high)
                    ]
                    total += ((lags[1] - lags[0]) / 2.0) ** 2
        return total

    def variance(self) -> Array:
        """Variance of all but the free motion after the planned calibration, (P,). [m2 or rad2]"""
        numbers = [n for n in self.offer.part.numbers if n.cured_by != ONE_SIDED and not n.variate.is_exact]
        looked, total = len(self.need.places), np.zeros(len(self.need.places))
        at = self.need.span * np.concatenate([self.need.places, self.need.planned])
        for number in numbers:
            for low, high in number.variate.nudges:
                ends = [
                    np.asarray(self.at(field=number.field, value=value).forward(at)) for value in (low, high)
                ]
                curve = np.broadcast_to((ends[1] - ends[0]) / 2.0 / self._ratio, at.shape)
                total += left_over(
                    self.need, curve[:looked], curve[looked:], persistence=number.variate.persistence
                )
        return total

    @property
    def _ratio(self) -> float:
        link = self.at()
        return float(link.forward(1.0)) - float(link.forward(0.0))
