"""Drives that can be built from stock: on the axis itself, one pair of wheels, two, or a run along a line."""

import math
from bisect import bisect
from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import Any

from anglewright.catalogue.loading import Catalogue
from anglewright.catalogue.stock import Stock
from anglewright.links.protocol import Part
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.reading import read_part
from anglewright.selection.offers import NOTHING, DriveOffer, Price

MOST_RATIO = 20.0  # of a turning drive, either way [1]
NEAR = 0.05  # two stages are offered where no single one comes as near as this to their ratio [1]


def drive_offers(catalogue: Catalogue, *, rotary: bool, length_m: float = 0.0) -> tuple[DriveOffer, ...]:
    """Every drive that the stock makes, those built into sensors last.

    Parameters
    ----------
    catalogue : Catalogue
        Stock and sensors.
    rotary : bool
        Whether the axis turns.
    length_m : float
        Length from stop to stop of an axis that moves along a line. [m]

    Returns
    -------
    tuple of DriveOffer
        One of each ratio and kind, the cheapest.
    """
    own = [offer.drive for offer in catalogue.sensors if offer.drive is not None]
    if rotary:
        return (_direct(), *_pairs(catalogue), *_double(catalogue))
    return (*_along(catalogue, length_m), *own)


def _offer(table: Mapping[str, Any], pieces: Iterable[tuple[Stock, str, int]]) -> DriveOffer:
    """A drive from its table and the pieces that it is made of, the one on the sensor's shaft last."""
    pieces = tuple(pieces)
    part = _part(table)
    price = Price(low=0.0, high=0.0, year=min(stock.price.year for stock, _, _ in pieces))
    for stock, _, count in pieces:
        price = price.plus(stock.price.times(count))
    bores = [stock.bore_m for stock, _, _ in pieces if stock.bore_m is not None]
    return DriveOffer(
        name=part.describe(),
        part=part,
        table=table,
        price=price,
        pieces=tuple((f"{stock.name}{which}", count) for stock, which, count in pieces),
        bore_m=bores[-1] if bores else None,
    )


def _part(table: Mapping[str, Any]) -> Part:
    reader = TableReader()
    part = read_part("drive", table, reader, where="stock")
    if part is None:
        raise ValueError("; ".join(str(problem) for problem in reader.problems))
    return part


def _direct() -> DriveOffer:
    part = _part({"kind": "direct"})
    return DriveOffer(name=part.describe(), part=part, table={"kind": "direct"}, price=NOTHING)


def _wheels(stock: Iterable[Stock]) -> list[tuple[Stock, int]]:
    """Every wheel that is sold."""
    return [(each, teeth) for each in stock for teeth in each.teeth]


def _toothed(teeth: int) -> str:
    return f", {teeth} teeth"


def _pairs(catalogue: Catalogue) -> Iterator[DriveOffer]:
    """Two wheels: gears that mesh, pulleys with a belt, sprockets with a chain."""
    for driving, driven in _single(catalogue):
        yield _gears((driving, driven))
    for kind, run in (("pulley", "belt"), ("sprocket", "chain")):
        for band in catalogue.of(run):
            wheels = _wheels(each for each in catalogue.of(kind) if each.size == band.size)
            for first, second in _cheapest(product(wheels, wheels)):
                yield _banded(run, band, first, second)


def _single(catalogue: Catalogue) -> list[tuple[tuple[Stock, int], tuple[Stock, int]]]:
    wheels = _wheels(catalogue.of("gear"))
    return _cheapest(pair for pair in product(wheels, wheels) if pair[0][0].size == pair[1][0].size)


def _cheapest(
    pairs: Iterable[tuple[tuple[Stock, int], tuple[Stock, int]]],
) -> list[tuple[tuple[Stock, int], tuple[Stock, int]]]:
    """One pair of each ratio: the cheapest, then that with the fewest teeth."""
    best: dict[tuple[int, int], tuple[tuple[float, int], tuple[tuple[Stock, int], tuple[Stock, int]]]] = {}
    for first, second in pairs:
        divisor = math.gcd(first[1], second[1])
        key = (first[1] // divisor, second[1] // divisor)
        rank = (first[0].price.middle + second[0].price.middle, first[1] + second[1])
        if 1.0 / MOST_RATIO <= first[1] / second[1] <= MOST_RATIO and (
            key not in best or rank < best[key][0]
        ):
            best[key] = (rank, (first, second))
    return [pair for _, pair in best.values()]


def _gears(wheels: tuple[tuple[Stock, int], ...]) -> DriveOffer:
    stock = wheels[0][0]
    table = {
        "gears": [teeth for _, teeth in wheels],
        "backlash": stock.backlash,
        "module": stock.size,
    }
    return _offer({"kind": "gears"} | table, [(each, _toothed(teeth), 1) for each, teeth in wheels])


def _banded(run: str, band: Stock, first: tuple[Stock, int], second: tuple[Stock, int]) -> DriveOffer:
    table = {
        "kind": run,
        "pitch": band.size,
        "teeth": second[1],
        "axis_teeth": first[1],
        "backlash": band.backlash,
    }
    wheels = [(stock, _toothed(teeth), 1) for stock, teeth in (first, second)]
    return _offer(table, [(band, "", 1), *wheels])


def _double(catalogue: Catalogue) -> Iterator[DriveOffer]:
    """Two pairs of gears for ratios that one pair does not come near to, the cheapest of each."""
    single = _single(catalogue)
    taken = sorted(first[1] / second[1] for first, second in single)
    best: dict[int, tuple[float, int, tuple[tuple[Stock, int], ...]]] = {}
    for one, two in product(single, single):
        wheels = (*one, *two)
        ratio = one[0][1] / one[1][1] * two[0][1] / two[1][1]
        place = _bin(ratio)
        if (
            _is_near(ratio, taken)
            or one[0][0].size != two[0][0].size
            or not 1.0 / MOST_RATIO <= ratio <= MOST_RATIO
        ):
            continue
        rank = _rank(wheels)
        if place not in best or rank < best[place][:2]:
            best[place] = (*rank, wheels)
    for place in sorted(best):
        yield _gears(best[place][2])


def _is_near(ratio: float, taken: list[float]) -> bool:
    """Whether one of some ratios, in rising order, is as near as `NEAR`."""
    place = bisect(taken, ratio)
    return any(max(ratio / each, each / ratio) <= 1.0 + NEAR for each in taken[max(place - 1, 0) : place + 1])


def _bin(ratio: float) -> int:
    return round(math.log(ratio) / math.log1p(NEAR))


def _along(catalogue: Catalogue, length_m: float) -> Iterator[DriveOffer]:
    """Drives of a motion along a line."""
    for rack in catalogue.of("rack"):
        pinions = _wheels(each for each in catalogue.of("gear") if each.size == rack.size)
        for stock, teeth in pinions:
            table = {"kind": "rack", "teeth": teeth, "module": rack.size, "backlash": rack.backlash}
            yield _offer(table, [(rack, "", _lengths(rack, length_m)), (stock, _toothed(teeth), 1)])
    yield from _geared_racks(catalogue, length_m)
    for kind, run in (("pulley", "belt"), ("sprocket", "chain")):
        for band in catalogue.of(run):
            for stock, teeth in _wheels(each for each in catalogue.of(kind) if each.size == band.size):
                table = {"kind": run, "pitch": band.size, "teeth": teeth, "backlash": band.backlash}
                yield _offer(table, [(band, "", _lengths(band, length_m)), (stock, _toothed(teeth), 1)])
    for drum, rope in product(catalogue.of("drum"), catalogue.of("rope")):
        table = {"kind": "drum", "diameter": drum.size, "rope": rope.size}
        yield _offer(table, [(rope, "", _lengths(rope, length_m)), (drum, "", 1)])
    for screw in catalogue.of("screw"):
        table = {"kind": "screw", "pitch": screw.size, "backlash": screw.backlash}
        yield _offer(table, [(screw, "", _lengths(screw, length_m))])


def _geared_racks(catalogue: Catalogue, length_m: float) -> Iterator[DriveOffer]:
    """A rack with a pair of gears behind its pinion, for travels that no pinion alone comes near to."""
    for rack in catalogue.of("rack"):
        pinions = _wheels(each for each in catalogue.of("gear") if each.size == rack.size)
        taken = sorted(float(teeth) for _, teeth in pinions)
        best: dict[int, tuple[float, int, tuple[tuple[Stock, int], ...]]] = {}
        for pinion, (first, second) in product(pinions, _single(catalogue)):
            teeth = pinion[1] * second[1] / first[1]
            place = _bin(teeth)
            rank = _rank((pinion, first, second))
            if not _is_near(teeth, taken) and (place not in best or rank < best[place][:2]):
                best[place] = (*rank, (pinion, first, second))
        for place in sorted(best):
            yield _geared_rack(rack, best[place][2], _lengths(rack, length_m))


def _rank(wheels: tuple[tuple[Stock, int], ...]) -> tuple[float, int]:
    """Cost and teeth of some wheels: the less of both the better."""
    return sum(each.price.middle for each, _ in wheels), sum(count for _, count in wheels)


def _geared_rack(rack: Stock, wheels: tuple[tuple[Stock, int], ...], lengths: int) -> DriveOffer:
    (_, pinion), (stock, first), (_, second) = wheels
    gears = {"kind": "gears", "gears": [first, second], "backlash": stock.backlash, "module": stock.size}
    stages = [{"kind": "rack", "teeth": pinion, "module": rack.size, "backlash": rack.backlash}, gears]
    pieces = [(rack, "", lengths), *((each, _toothed(teeth), 1) for each, teeth in wheels)]
    return _offer({"kind": "stages", "stages": stages}, pieces)


def _lengths(stock: Stock, length_m: float) -> int:
    """How many of the lengths in which it is sold cover the axis. [1]"""
    return 1 if stock.length_m is None else max(1, math.ceil(length_m / stock.length_m - 1e-9))
