"""The kept result of a calibration: its data, its line, and which chain it belongs to."""

from dataclasses import dataclass

from anglewright.calibration.points import CalibrationPoint


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationRecord:
    """A calibration as it is kept. Positions in m or rad, `slope` a count; `covariance` of offset and slope.

    `chain` is the fingerprint of the chain it was made on; `withdrawn` is empty or says why it is not used.
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
