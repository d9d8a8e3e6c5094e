"""The kept result of a calibration: its data, its line, and which chain it belongs to."""

from dataclasses import dataclass

from anglewright.calibration.points import CalibrationPoint

CALIBRATION, ZERO = "calibration", "zero"
"""Kinds of a record: slope and zero were found, or the zero alone was moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationRecord:
    """A calibration as it is kept. Positions in m or rad, `slope` a count; `covariance` of offset and slope.

    `chain` is the fingerprint of the chain it was made on; `withdrawn` is empty or says why it is not used.
    `machine` is the machine it was made on, empty where there is but one without a name; `serial` that of the
    sensor, empty where it was not said. Where only the zero was moved `kind` is ``zero``, `based_on` names
    the calibration whose slope it keeps, and `because` says why it was moved so far, if it was.
    """

    name: str
    date: str
    rig: str
    axis: str
    chain: str
    sensor: str
    offset: float
    slope: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    residual_sd: float
    half_width_95: float
    verdict: str
    points: tuple[CalibrationPoint, ...]
    model: str = "line"
    withdrawn: str = ""
    machine: str = ""
    serial: str = ""
    kind: str = CALIBRATION
    based_on: str = ""
    because: str = ""

    @property
    def order(self) -> tuple[str, int]:
        """Day and number: a later record has the greater. [1]"""
        day, _, number = self.name.rpartition("-")
        return day, int(number)
