"""The sensor's body as a link: a loose nut and a weak bracket let it turn with the shaft."""

import math

import numpy as np
import pytest

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.errors import RigError
from anglewright.rig import at_nominal, datasheet_line, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

FRAME = """
[axis.pan]
motion = {{ from = "0 deg", to = "90 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
drive = {{ gears = [{teeth}] }}
coupling = {{ kind = "rigid" }}
mount = {{ {mount} }}
"""


def pan(mount, teeth="20, 20"):
    document = parse_document(FRAME.format(mount=mount, teeth=teeth), source="pan.toml")
    return build_rig(document, source="pan.toml").axis("pan")


def mount_of(axis):
    return realise(axis, at_nominal).links[3]


def rows(axis, play=Play.TWO_SIDED):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(5))
    return [each for each in contributions(errors, play) if each.link == "mount"]


def test_a_body_that_does_not_give_is_not_listed():
    axis = pan("")
    assert not any("body" in each.key or "deflection" in each.key for each in axis.assumptions)
    assert [row.quantity for row in rows(axis)] == ["within"]
    assert mount_of(axis).lag == 0.0
    assert [step.symbol for step in mount_of(axis).explain(0.3)] == ["dphi"]


# half of the nut's play and all of the bracket's give, by hand
GIVES = [
    ('body_play = "2 deg"', 1.0),
    ('deflection = "0.5 deg"', 0.5),
    ('body_play = "2 deg", deflection = "0.5 deg"', 1.5),
]


@pytest.mark.parametrize(("mount", "lag_deg"), GIVES)
@pytest.mark.parametrize("output", ["rises", "falls"])
def test_the_sensor_lags_by_what_its_body_gives(mount, lag_deg, output):
    link = mount_of(pan(f'{mount}, output = "{output}"'))
    up, middle, down = (link.forward(1.0, side=side) for side in (1, 0, -1))
    way = 1.0 if output == "rises" else -1.0
    assert math.degrees(middle - up) * way == pytest.approx(lag_deg, rel=1e-9)
    assert math.degrees(down - middle) * way == pytest.approx(lag_deg, rel=1e-9)


def test_what_the_body_gives_is_divided_by_the_ratio_at_the_axis():
    (row,) = (each for each in rows(pan('body_play = "2 deg"', teeth="40, 20")) if each.lags)
    assert (row.meaning, row.persistence.value) == ("play of the sensor's body", "motion")
    assert np.degrees(row.standard_uncertainty) == pytest.approx(0.5, rel=1e-6)


def test_an_approach_from_one_side_cures_it():
    assert [row.quantity for row in rows(pan('body_play = "2 deg"'), Play.ONE_SIDED)] == ["within"]


def test_the_body_moves_back_only_after_the_whole_of_its_play(there_and_back):
    link = mount_of(pan('body_play = "10 deg"'))
    path, _ = link.follow(there_and_back, np.arange(600.0), None)
    middle = link.forward(there_and_back)
    assert np.max(np.abs(np.degrees(path - middle))) == pytest.approx(5.0, rel=1e-9)
    turned = int(np.argmax(there_and_back[:500])) + 1
    assert path[turned] == path[turned - 1]  # the first step of the way back turns the body alone


def test_a_body_cannot_give_less_than_nothing():
    with pytest.raises(RigError) as refused:
        pan('deflection = "0.1 deg ± 0.2 deg"')
    assert [str(problem) for problem in refused.value.problems] == [
        "pan.toml, axis 'pan', mount.deflection: '0.1 deg ± 0.2 deg' can be as low as -0.1 deg, "
        "it cannot be less than nothing. Mend the value or its spread."
    ]
