"""The shoulder in several variants, and virtual builds of it sampled without the chain."""

from dataclasses import dataclass

import numpy as np
import pytest

from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig
from anglewright.shapes import UnknownShape


@pytest.fixture
def shoulder(root):
    """The shoulder of a variant of the rover, after some changes."""

    def read(variant, *changes):
        document = load_document(root / "examples" / "rover" / f"{variant}.toml")
        return build_rig(with_changes(document, changes), source=variant).axis("shoulder")

    return read


@dataclass(frozen=True)
class Builds:
    """Virtual builds of the shoulder in plain degrees and ohms, one row each; written out by hand.

    Spreads of the example file: track 10 kohm +-20 %, travel 340 +-5 deg, clamped at 47.5 +-0.05 deg where
    it reads 50 %, +-3 deg of shaft, linearity 1 %, 3 deg of play, 0.1 mm of backlash on 48 mm.
    """

    track: np.ndarray
    travel: np.ndarray
    clamped: np.ndarray
    error: np.ndarray
    shape: np.ndarray
    pull: float
    rng: np.random.Generator
    noise: float = 1.5

    HALF_PLAY = 3.0 / 2.0 / 2.0 + np.degrees(
        0.1 / 48.0
    )  # of joint: shaft play over the ratio, backlash [deg]

    @classmethod
    def drawn(cls, count, *, pull, seed, noise=1.5):
        """So many builds."""
        rng = np.random.default_rng(seed)

        def within(reach):
            return rng.uniform(-reach, reach, (count, 1))

        return cls(
            track=10e3 * (1.0 + within(0.2)),
            travel=340.0 + within(5.0),
            clamped=47.5 + within(0.05),
            error=within(3.0),
            shape=np.moveaxis(UnknownShape(limit=0.01).draw(rng, (count, 1)), -1, 0),
            pull=pull,
            rng=rng,
            noise=noise,
        )

    def __len__(self):
        return len(self.track)

    def volts(self, q, side=0):
        """Level over feed at the pin, behind 1 kohm, with the pull there."""
        turn = 2.0 * (q - side * self.HALF_PLAY - self.clamped) + self.error
        straight = np.clip(0.5 + turn / self.travel, 0.0, 1.0)
        t = 2.0 * straight - 1.0
        bend = sum(c * np.cos(k * np.arccos(t)) for k, c in enumerate(self.shape))
        x = np.clip(straight + bend, 0.0, 1.0)
        source = self.track * x * (1.0 - x) + 1e3
        return x * self.pull / (self.pull + source) if np.isfinite(self.pull) else x

    def codes(self, q, side=0, readings=1):
        """Mean of so many codes of 12 bit, each read with fresh noise."""
        exact = 4096.0 * self.volts(q, side)
        noise = self.rng.normal(0.0, self.noise, (readings, *np.shape(exact))) if self.noise else 0.0
        return np.mean(np.clip(np.floor(exact + noise), 0, 4095), axis=0) if self.noise else np.floor(exact)

    def sides(self, shape):
        """A side of approach for each reading."""
        return self.rng.choice([-1, 1], shape)

    def datasheet(self, codes):
        """Joint angle by the nominal line through the middles of the codes. [deg]"""
        return 47.5 + 170.0 * ((codes + 0.5) / 4096.0 - 0.5)

    def errors(self, q):
        """Errors of one reading at each place by the data sheet's line. [deg]"""
        return self.datasheet(self.codes(q, self.sides((len(self), len(q))))) - q

    def zeroed_errors(self, q, readings=4):
        """The same after setting the offset at the pin, which the joint meets within 0.05 deg."""
        met = 47.5 + self.rng.uniform(-0.05, 0.05, (len(self), 1))
        seen = self.datasheet(self.codes(met, 0, readings)) - 47.5
        return self.errors(q) - seen

    def calibrated_errors(self, q, readings=4):
        """The same after a line through nine places, up and down, beside a reference of 0.1 and 0.1 deg."""
        shared = self.rng.uniform(-0.1, 0.1, (len(self), 1))
        rows, true = [], np.linspace(-20.0, 115.0, 9)
        for side in (1, -1):
            shown = true + shared + self.rng.uniform(-0.1, 0.1, (len(self), 9))
            rows.append((self.codes(true[None, :], side, readings), shown))
        codes, shown = (np.concatenate(each, axis=1) for each in zip(*rows, strict=True))
        middle = codes.mean(axis=1, keepdims=True)
        slope = np.sum((codes - middle) * shown, axis=1, keepdims=True)
        slope /= np.sum((codes - middle) ** 2, axis=1, keepdims=True)
        offset = shown.mean(axis=1, keepdims=True) - slope * middle
        return offset + slope * self.codes(q, self.sides((len(self), len(q)))) - q


@pytest.fixture(scope="session")
def builds():
    """The class of builds."""
    return Builds
