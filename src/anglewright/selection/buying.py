"""What to buy for a choice: pieces with spares, what must match, the connector; lead times are left blank."""

from collections.abc import Mapping
from dataclasses import dataclass

from anglewright.findings import Finding, Severity
from anglewright.selection.offers import DriveOffer, SensorOffer

KEYS: Mapping[str, str] = {
    "shaft-and-bore": "bore of the wheel on the sensor's shaft, against the diameter of the shaft",
}

SPARES, SPARES_THAT_WEAR = 1, 2  # of a sensor [1]
FITS = 0.05e-3  # by which bore and shaft may differ in their nominal size [m]
WITHOUT_SHAFT = ("magnet", "hollow", "wire")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the list: how many in use and spare, what, and what to look at."""

    in_use: int
    spare: int
    what: str
    note: str

    @property
    def quantity(self) -> int:
        """How many to buy. [1]"""
        return self.in_use + self.spare


def parts_list(sensor: SensorOffer, drive: DriveOffer) -> tuple[Line, ...]:
    """What to buy for one axis.

    Parameters
    ----------
    sensor : SensorOffer
        The chosen sensor.
    drive : DriveOffer
        The chosen drive.

    Returns
    -------
    tuple of Line
        Sensor, pieces of the drive, cable.

    References
    ----------
    practice
    """
    spare = SPARES_THAT_WEAR if sensor.wears else SPARES
    shaft = f"shaft {_mm(sensor.shaft.diameter_m)}, {sensor.shaft.form}; {sensor.shaft.bush}"
    lines = [Line(in_use=1, spare=spare, what=sensor.name, note=shaft)]
    for name, count in drive.pieces:
        lines.append(Line(in_use=count, spare=0, what=name, note=""))
    if drive.bore_m is not None:
        lines[-1] = Line(
            in_use=lines[-1].in_use,
            spare=0,
            what=lines[-1].what,
            note=f"bore {_mm(drive.bore_m)}, on the sensor's shaft",
        )
    cable = Line(in_use=1, spare=1, what="cable, made up and tested", note=f"connector: {sensor.connector}")
    return (*lines, cable)


def _mm(length_m: float) -> str:
    return f"{1e3 * length_m:g} mm"


def mismatch(axis: str, sensor: SensorOffer, *, drive: DriveOffer) -> Finding | None:
    """A bore that does not fit the shaft, 6 mm on 6.35 mm for one; None where they fit or none is needed.

    Parameters
    ----------
    axis : str
        Name of the axis.
    sensor : SensorOffer
        The chosen sensor.
    drive : DriveOffer
        The chosen drive.

    Returns
    -------
    Finding or None
        With both diameters. [mm]
    """
    if drive.bore_m is None or sensor.shaft.form in WITHOUT_SHAFT:
        return None
    if abs(drive.bore_m - sensor.shaft.diameter_m) <= FITS:
        return None
    bore, shaft = _mm(drive.bore_m), _mm(sensor.shaft.diameter_m)
    return Finding(
        key="shaft-and-bore",
        severity=Severity.CAUTION,
        axis=axis,
        link="drive",
        text=f"The wheel on the sensor's shaft has a bore of {bore}, and the shaft is {shaft}.",
        remedy=f"Buy the wheel with a bore of {shaft} or have it bored, or a sensor with a {bore} shaft.",
        source="practice",
        measured=1e3 * drive.bore_m,
        limit=1e3 * sensor.shaft.diameter_m,
        unit="mm",
    )
