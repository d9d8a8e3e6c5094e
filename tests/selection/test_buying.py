"""What to buy: spares, cable, connector, and a bore that must fit the shaft."""

from dataclasses import replace
from typing import Any

import pytest

from anglewright.findings import Severity
from anglewright.selection.buying import mismatch, parts_list
from anglewright.selection.offers import DriveOffer, SensorOffer, Shaft

POT = {"kind": "potentiometer"}


@pytest.fixture
def pot(make: Any) -> SensorOffer:
    """A potentiometer that wears, with a 6 mm shaft."""
    found: SensorOffer = make.sensor("pot", POT, life_cycles=10000)
    return found


@pytest.fixture
def gears(make: Any) -> DriveOffer:
    """Two wheels, the second with a bore of 6 mm."""
    found: DriveOffer = make.gears([48, 24])
    return replace(found, pieces=(("wheel, 48 teeth", 1), ("wheel, 24 teeth", 1)))


def test_two_spares_of_what_wears_one_of_what_does_not_and_a_cable(
    pot: SensorOffer, gears: DriveOffer
) -> None:
    rows = [(line.what, line.in_use, line.spare, line.quantity) for line in parts_list(pot, gears)]
    assert rows == [
        ("pot", 1, 2, 3),
        ("wheel, 48 teeth", 1, 0, 1),
        ("wheel, 24 teeth", 1, 0, 1),
        ("cable, made up and tested", 1, 1, 2),
    ]
    lasting = replace(pot, life_cycles=None)
    assert parts_list(lasting, gears)[0].spare == 1


def test_shaft_bore_and_connector_are_named(pot: SensorOffer, gears: DriveOffer) -> None:
    notes = [line.note for line in parts_list(pot, gears)]
    assert notes == ["shaft 6 mm, flat; bush", "", "bore 6 mm, on the sensor's shaft", "connector: 3-pin"]


def test_a_quarter_inch_shaft_does_not_go_into_6_mm(pot: SensorOffer, gears: DriveOffer) -> None:
    inch = replace(pot, shaft=Shaft(diameter_m=6.35e-3, form="round", bush="bush"))
    finding = mismatch("arm", inch, drive=gears)
    assert finding is not None
    assert (finding.key, finding.severity, finding.axis) == ("shaft-and-bore", Severity.CAUTION, "arm")
    assert (finding.measured, finding.unit) == (6.0, "mm")
    assert finding.limit == pytest.approx(6.35)
    assert finding.text == "The wheel on the sensor's shaft has a bore of 6 mm, and the shaft is 6.35 mm."
    assert finding.remedy == (
        "Buy the wheel with a bore of 6.35 mm or have it bored, or a sensor with a 6 mm shaft."
    )


@pytest.mark.parametrize("form", ["magnet", "hollow", "wire"])
def test_what_has_no_shaft_of_its_own_fits(pot: SensorOffer, gears: DriveOffer, form: str) -> None:
    bare = replace(pot, shaft=Shaft(diameter_m=10e-3, form=form, bush=""))
    assert mismatch("arm", bare, drive=gears) is None


def test_equal_diameters_and_drives_without_a_bore_fit(pot: SensorOffer, gears: DriveOffer) -> None:
    assert mismatch("arm", pot, drive=gears) is None
    inch = replace(pot, shaft=Shaft(diameter_m=6.35e-3, form="round", bush="bush"))
    assert mismatch("arm", inch, drive=replace(gears, bore_m=None)) is None
