"""The analogue-to-digital converter: voltage at the pin to a code."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric, nonzero, reached
from anglewright.errors import Problem, RigError
from anglewright.links.bends import Bend
from anglewright.links.conversion import CONVERTER_KEYS
from anglewright.links.fields import Key
from anglewright.links.protocol import (
    Array,
    CodeRange,
    FeedPort,
    Number,
    Port,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.links.sampling import Sampler
from anglewright.links.taps import number
from anglewright.quantities.spread import Spread
from anglewright.shapes import UnknownShape, shape_error
from anglewright.steps import Step

MOST_LEFT = 0.5  # of the channel before, at the end of a sample: beyond it nothing is measured [1]

DUST = 1e-9  # of a code: a voltage so little below the edge of a code stands on it [count]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FeedChannel:
    """The feed as the same converter sees it on a channel of its own. [V, count]

    The code is multiplied by `expected_counts`, which the controller holds, over what that channel reads: a
    change of feed, reference or gain cancels; the channel's divider and noise come in. It is taken to have
    settled.
    """

    volts: Numeric
    noise_counts: Numeric
    expected_counts: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Converter:
    """Code of a voltage; with `rounded` false the mean code of a busy input, for nudging.

    `noise_counts` is the noise of what is handed on: of the mean, where several conversions are averaged.
    `inl` holds the Chebyshev coefficients of the departure from a straight line, shape (..., 7). [count]
    """

    takes: ClassVar[Signal] = Signal.VOLTAGE
    gives: ClassVar[Signal] = Signal.CODE
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    bits: int
    reference_v: Numeric
    noise_counts: Numeric
    offset_counts: Numeric
    gain_error: Numeric = 0.0
    inl: Array | None = None
    bend: Bend | None = None
    feed: FeedChannel | None = None
    sampler: Sampler | None = None
    rounded: bool = True

    @property
    def port(self) -> Port:
        """Nothing that a code could need."""
        return Port()

    @property
    def codes(self) -> CodeRange:
        """The codes it can give; the end ones mean "at or beyond". [count]"""
        return CodeRange.of_bits(self.bits)

    @property
    def top_code(self) -> int:
        """The highest code. [count]"""
        return self.codes.high

    @property
    def _scale(self) -> Numeric:
        """Codes for a voltage as large as the reference. [count]"""
        return 2.0**self.bits * (1.0 + self.gain_error) if nonzero(self.gain_error) else 2.0**self.bits

    @property
    def furnished(self) -> bool:
        """True where there is more than full scale, offset and gain between voltage and code."""
        return not (self.inl is None and self.bend is None and self.feed is None and self.sampler is None)

    def _straight(self, u: Numeric) -> Numeric:
        """Codes of a voltage, by the scale or the table, not rounded. [count]"""
        if self.bend is None:
            return u * (self._scale / self.reference_v)
        code = np.asarray(self.bend.forward(u / self.reference_v * self.bend.full_v)) + 0.5
        return code * (1.0 + self.gain_error)

    def _straight_back(self, codes: Numeric) -> Numeric:
        if self.bend is None:
            return codes / self._scale * self.reference_v
        middle = codes / (1.0 + np.asarray(self.gain_error)) - 0.5
        return self.bend.backward(middle) * (self.reference_v / self.bend.full_v)

    def _level(self, u: Numeric) -> Numeric:
        """Codes of a voltage before offset and noise, not rounded. [count]"""
        if self.inl is None or not np.any(self.inl):
            return self._straight(u)
        return self._straight(u) + np.asarray(shape_error(self.inl, np.clip(u / self.reference_v, 0.0, 1.0)))

    def _level_back(self, codes: Numeric) -> Numeric:
        if self.inl is None or not np.any(self.inl):
            return self._straight_back(codes)
        reach = np.sum(np.abs(self.inl), axis=-1)
        low, high = (np.asarray(self._straight_back(codes + way * reach)) for way in (-1.0, 1.0))
        volts: Numeric = low + (high - low) * reached(
            lambda share: self._level(low + (high - low) * share), codes
        )
        return volts

    @property
    def _correction(self) -> Numeric:
        """What the controller multiplies the code by. [1]"""
        if self.feed is None:
            return 1.0
        read = self._level(self.feed.volts) + np.asarray(self.feed.noise_counts) + self.offset_counts
        return self.feed.expected_counts / read

    def _coded(self, exact: Numeric) -> Numeric:
        code = np.floor(exact + DUST) if self.rounded else exact - 0.5
        return np.clip(code, 0.0, float(self.top_code))

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Code of a settled voltage, clamped to the ends. [count]"""
        if self.sampler is not None:
            u = self.sampler.held(u)
        exact = self._level(u) + self.noise_counts
        code = self._coded(exact + self.offset_counts if nonzero(self.offset_counts) else exact)
        if self.feed is not None:
            code = self._coded((code + 0.5) * self._correction)
        return code if np.ndim(code) else float(code)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Voltage in the middle of a code; at an end code it means "at or beyond". [V]"""
        middle = y + 0.5 if self.feed is None else (y + 0.5) / self._correction
        volts = self._level_back(middle - self.offset_counts)
        if self.sampler is not None:
            volts = self.sampler.at_pin(volts)
        return volts if np.ndim(volts) else float(volts)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the codes. [count]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The code of a quiet input, before the ends clamp it; what plays no part does not show."""
        steps = () if self.sampler is None else self.sampler.steps(u)
        code = self._code_step(steps[-1].result if steps else u)
        return (*steps, code, *self._correction_steps(code.result))

    def _code_step(self, u: float) -> Step:
        u = float(f"{u:.12g}")  # without what the arithmetic of the computer leaves below an edge
        reference, offset, gain = (
            number(each) for each in (self.reference_v, self.offset_counts, self.gain_error)
        )
        straight = {"N": float(self.bits), "V": u, "V_ref": reference}
        formula, exact = "2 ** N * V / V_ref", 2.0**self.bits * u / reference
        if self.bend is not None:
            formula, straight, exact = self.bend.arithmetic(u / reference * self.bend.full_v)
        formula += (" * (1 + g)" if gain else "") + (" + o" if offset else "")
        return Step(
            symbol="n",
            meaning="ideal code" if self.bend is None else "code by the converter's table",
            formula=f"floor({formula})",
            numbers=straight | ({"g": gain} if gain else {}) | ({"o": offset} if offset else {}),
            result=float(np.floor(exact * (1.0 + gain) + offset)),
            unit="count",
            source="practice",
        )

    def _correction_steps(self, code: float) -> tuple[Step, ...]:
        if self.feed is None:
            return ()
        expected = self.feed.expected_counts
        read = expected / number(self._correction)
        step = Step(
            symbol="n_fed",
            meaning="code that the controller works with, corrected for the feed it measured",
            formula="floor((n + 0.5) * F_0 / F)",
            numbers={"n": code, "F_0": expected, "F": read},
            result=float(np.floor((code + 0.5) * expected / read)),
            unit="count",
            source="practice",
        )
        return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class ConverterPart:
    """A converter of so many bits that refers to the feed, or to a voltage of its own."""

    room: ClassVar[str] = "converter"
    kind: ClassVar[str] = "adc"
    label: ClassVar[str] = "Converter"
    KEYS: ClassVar[tuple[Key, ...]] = CONVERTER_KEYS
    bits: int
    reference_v: Spread | None
    noise_counts: Spread | None
    offset_counts: Spread
    noise_v: Spread | None = None
    average: int | None = None
    gain_error: Spread | None = None
    inl: UnknownShape | None = None
    table: tuple[tuple[float, float], ...] | None = None
    feed_ratio: Spread | None = None
    feed_noise_counts: Spread | None = None
    sampling_s: Spread | None = None
    sampling_f: Spread | None = None
    sampling_ohm: Spread | None = None
    neighbour: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Reference, noise, errors, and how it samples."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Converter:
        """The converter with plain numbers."""
        if not isinstance(upstream, FeedPort):
            found = "it must follow analogue wiring"
            raise RigError(Problem("converter", found, "", "Change the wiring's or converter's kind."))
        reference = values.get("reference_v", upstream.feed_v)
        return Converter(
            bits=self.bits,
            reference_v=reference,
            noise_counts=self._noise(values, reference),
            offset_counts=values["offset_counts"],
            gain_error=values.get("gain_error", 0.0),
            inl=values.get("inl"),
            bend=self._bend(upstream),
            feed=self._feed(values, upstream),
            sampler=self._sampler(values, upstream),
        )

    def _full_v(self, upstream: FeedPort) -> float:
        """Full scale as stated. [V]"""
        return upstream.nominal_v if self.reference_v is None else self.reference_v.nominal

    def _bend(self, upstream: FeedPort) -> Bend | None:
        if self.table is None:
            return None
        volts, codes = np.array(self.table).T
        return Bend(volts=volts, codes=codes, full_v=self._full_v(upstream))

    def _feed(self, values: Values, upstream: FeedPort) -> FeedChannel | None:
        if self.feed_ratio is None:
            return None
        share = self.feed_ratio.nominal * upstream.nominal_v / self._full_v(upstream)
        return FeedChannel(
            volts=values["feed_ratio"] * upstream.feed_v,
            noise_counts=values["feed_noise_counts"],
            expected_counts=share * 2.0**self.bits,
        )

    def _sampler(self, values: Values, upstream: FeedPort) -> Sampler | None:
        if self.sampling_s is None:
            return None
        return Sampler(
            pin=upstream.pin,
            pin_f=upstream.pin_f,
            hold_f=values["sampling_f"],
            switch_ohm=values["sampling_ohm"],
            time_s=values["sampling_s"],
            before_v=values["neighbour"] * np.asarray(values.get("reference_v", upstream.feed_v)),
        )

    def _noise(self, values: Values, reference_v: Numeric) -> Numeric:
        """Noise of a reading, of the mean where conversions are averaged. [count]"""
        noise: Numeric
        if self.noise_counts is None:
            noise = values["noise_v"] / reference_v * 2.0**self.bits
        else:
            noise = values["noise_counts"]
        return noise if self.average is None else noise / float(np.sqrt(self.average))

    def describe(self) -> str:
        """Bits and reference."""
        reference = "ratiometric" if self.reference_v is None else f"{self.reference_v.nominal:g} V reference"
        more = [
            f"{self.average} averaged" if self.average not in (None, 1) else "",
            f"table of {len(self.table)} points" if self.table else "",
            "feed measured" if self.feed_ratio else "",
        ]
        return ", ".join([f"{self.bits} bit", reference, *filter(None, more)])

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A table or a limit beyond its codes, a feed that it cannot measure, a sample far too short."""
        if not isinstance(upstream, FeedPort):
            return ()
        return (*_impossible_codes(self), *_impossible_feed(self, upstream), *_too_short(self, upstream))


def _impossible_codes(part: ConverterPart) -> Iterator[Problem]:
    top = 2**part.bits - 1
    ends = (part.table[0][1], part.table[-1][1]) if part.table else (0.0, 0.0)
    if ends[0] < 0.0 or ends[1] > top:
        limit, remedy = f"{part.bits} bits go from 0 to {top}", "Mend the table, or converter.bits."
        yield Problem("converter.table", f"it runs from code {ends[0]:g} to {ends[1]:g}", limit, remedy)
    if part.inl and part.inl.limit >= top / 2:
        limit = f"{part.bits} bits have {top + 1} codes"
        yield Problem("converter.inl", f"a limit of {part.inl.limit:g} LSB", limit, "Mend the value.")


def _impossible_feed(part: ConverterPart, upstream: FeedPort) -> Iterator[Problem]:
    if part.feed_ratio is None:
        return
    if part.reference_v is None:
        found, remedy = "the full scale is the feed itself", "Give 'reference' in volts, or leave it out."
        yield Problem("converter.feed_channel", found, "there is nothing to correct", remedy)
        return
    most, full = part.feed_ratio.limits[1] * upstream.nominal_v, part.reference_v.limits[0]
    if most >= full:
        found, limit = f"it sees {most:.4g} V of the feed", f"full scale can be as low as {full:.4g} V"
        yield Problem("converter.feed_channel", found, limit, "Divide the feed further.")


def _too_short(part: ConverterPart, upstream: FeedPort) -> Iterator[Problem]:
    chosen = {each.field: each.variate.nominal for each in part.numbers}
    sampler = part.link(chosen, upstream).sampler
    left = float(np.max(sampler.left(np.linspace(0.0, 1.0, 101)))) if sampler else 0.0
    if left > MOST_LEFT:
        found = f"the sample ends with {100.0 * left:.3g} % of the channel before it still there"
        remedy = "Sample for longer, or put a capacitor at the pin."
        yield Problem("converter.sampling_time", found, f"{100.0 * MOST_LEFT:g} % is the most", remedy)


PARTS = (ConverterPart,)
