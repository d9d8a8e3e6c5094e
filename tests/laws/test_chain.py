"""Laws of the whole chain, for rigs drawn at random: there and back, order kept, time at rest."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.chain import Chain
from anglewright.errors import RigError
from anglewright.links.converter import Converter
from anglewright.links.coupling import Coupling
from anglewright.links.motion import Motion
from anglewright.rig import at_nominal, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

RANGE = (-0.4, 1.6)  # of the axis, clamped in its middle [rad]
FRAME = """
[axis.a]
motion = { from = "-0.4 rad", to = "1.6 rad" }
need = { error = "1 deg" }
when_unpowered = "holds"
sensor = { electrical_travel = "6 rad", linearity = "0 %" }
converter = { noise = "0 LSB", offset = "0 LSB" }
"""

pulls = st.one_of(st.none(), st.floats(2e3, 1e6))
sides = st.sampled_from([-1, 0, 1])
positions = st.floats(*RANGE)


@st.composite
def chains(draw):
    """A chain whose every link may lag, fall, be pulled, and whose range lies inside the track."""
    document = parse_document(FRAME, source="law.toml")
    axis = document["axis"]["a"]
    teeth = draw(st.tuples(st.integers(10, 50), st.integers(20, 50)))
    pull = {"down": draw(pulls), "up": draw(pulls)}
    axis["drive"] = {"gears": list(teeth), "backlash": f"{draw(st.floats(0.0, 0.3))!r} mm"}
    axis["coupling"] = {"play": f"{draw(st.floats(0.0, 0.1))!r} rad"}
    axis["mount"] = {"output": draw(st.sampled_from(["rises", "falls"])), "within": "0 deg"}
    axis["sensor"]["track"] = f"{draw(st.floats(1e3, 1e5))!r} ohm"
    axis["converter"]["bits"] = draw(st.integers(8, 16))
    axis["wiring"] = {
        "feed": f"{draw(st.floats(1.8, 12.0))!r} V",
        "series": f"{draw(st.floats(0.0, 1e4))!r} ohm",
        "capacitor": f"{draw(st.floats(0.0, 200.0))!r} nF",
        "pull": {name: f"{ohms!r} ohm" for name, ohms in pull.items() if ohms is not None}
        | {"at": draw(st.sampled_from(["pin", "lead"]))},
    }
    return realise(build_rig(document, source="law.toml").axis("a"), at_nominal)


@given(chains(), positions, sides)
def test_back_from_the_code_comes_out_within_half_a_count(chain, q, side):
    # the middle of a code is at most half a count from what gave it, so over the steepest count nearby
    back = chain.backward(chain.forward(q, side=side), side=side)
    exact = chain.unrounded()
    assert abs(exact.forward(back, side=side) - exact.forward(q, side=side)) <= 0.5 + 1e-6


@given(chains(), sides)
def test_codes_keep_the_order_of_the_positions(chain, side):
    codes = chain.forward(np.linspace(*RANGE, 301), side=side)
    sense = np.prod([link.sense for link in chain.links])
    assert np.all(sense * np.diff(codes) >= 0.0)
    assert np.all(codes == np.floor(codes))
    assert codes.min() >= 0
    assert codes.max() <= chain.links[-1].top_code


@given(chains(), positions, sides)
def test_the_trace_ends_in_the_code_and_holds_one_value_a_link(chain, q, side):
    trace = chain.trace(q, side=side)
    assert len(trace) == len(chain.links)
    assert trace[-1] == chain.forward(q, side=side)


@given(chains(), positions)
def test_slope_is_the_change_of_the_mean_code(chain, q):
    exact, step = chain.unrounded(), 1e-3
    secant = (exact.forward(q + step) - exact.forward(q - step)) / (2.0 * step)
    assert chain.slope(q) == pytest.approx(secant, rel=2e-3)
    assert chain.resolution(q) == pytest.approx(1.0 / abs(chain.slope(q)), rel=1e-12)


@given(chains(), st.sampled_from([-1, 1]))
def test_a_chain_moved_and_held_ends_at_the_code_of_that_side(chain, side):
    place = 0.6
    start = place - side * 0.9
    q = np.concatenate([np.linspace(start, place, 120), np.full(40, place)])
    codes, _ = chain.follow(q, np.arange(len(q)) * 0.02)
    assert abs(codes[-1] - chain.forward(place, side=side)) <= 1.0  # the last bit of the settling


@given(chains(), st.integers(1, 79))
def test_a_chain_remembers_between_two_calls(chain, cut):
    q = 0.6 + 0.8 * np.sin(np.arange(80) / 7.0)
    t = np.arange(80) * 1e-3
    whole, _ = chain.unrounded().follow(q, t)
    first, memories = chain.unrounded().follow(q[:cut], t[:cut])
    second, _ = chain.unrounded().follow(q[cut:], t[cut:], states=memories)
    assert np.allclose(np.concatenate([first, second]), whole, rtol=1e-12, atol=1e-9)


@given(chains(), positions)
def test_one_link_at_a_time_the_sides_add_up_to_all_of_them(chain, q):
    # lag acts before every nonlinear link, so the differences at the shaft add exactly
    shaft = Chain(chain.links[:4])
    apart = sum(
        shaft.forward(q, side=1, at=index) - shaft.forward(q, side=-1, at=index) for index in range(4)
    )
    assert apart == pytest.approx(shaft.forward(q, side=1) - shaft.forward(q, side=-1), abs=1e-12)


def test_links_that_do_not_fit_are_refused_by_name():
    motion = Motion(clamped_at=0.0)
    with pytest.raises(RigError) as refused:
        Chain((motion, Coupling(half_play_rad=0.0, clamped_at_rad=0.0)))
    assert str(refused.value) == (
        "chain: a Motion gives the position of the axis, a Coupling takes the angle of the sensor-side "
        "shaft. Put the link between them that turns one into the other."
    )


def test_where_the_code_stands_still_a_count_has_no_end():
    converter = Converter(bits=8, reference_v=5.0, noise_counts=0.0, offset_counts=0.0)
    assert Chain((converter,)).resolution(7.0) == np.inf
