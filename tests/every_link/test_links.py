"""The laws of every link, whichever it is: DEFINITIONS section 7."""

import math
from dataclasses import FrozenInstanceError, fields, is_dataclass, replace

import numpy as np
import pytest

from anglewright.links.code import CodeLine

BUILDS = 4
TIME_STEP_S = 0.002


def smooth(link):
    """The link without rounding, where it rounds."""
    return replace(link, rounded=False) if hasattr(link, "rounded") else link


def test_every_class_of_link_is_reached_by_a_part_or_is_the_code(every_link, every_case):
    reached = {type(case.link()) for case in every_case} | {CodeLine}
    assert set(every_link.values()) == reached


def test_an_array_gives_what_its_elements_give(case):
    link, u = case.link(), case.inputs(23)
    for side in (-1, 0, 1):
        whole = link.forward(u, side=side)
        assert np.array_equal(whole, [link.forward(float(each), side=side) for each in u])
        back = smooth(link).backward(np.asarray(whole), side=side)
        each_back = [smooth(link).backward(float(each), side=side) for each in whole]
        assert np.allclose(back, each_back, rtol=1e-13, atol=1e-15)


def test_a_number_gives_a_number(case):
    link = case.link()
    u = float(case.inputs(3)[1])
    assert isinstance(link.forward(u), float)
    assert isinstance(link.backward(float(link.forward(u))), float)


def test_builds_and_positions_make_a_table(case):
    together, alone = case.builds(BUILDS)
    u = case.inputs(9)
    table = np.broadcast_to(case.link(together).forward(u, side=1), (BUILDS, len(u)))
    for row, pick in zip(table, alone, strict=True):
        assert np.allclose(row, case.link(pick).forward(u, side=1), rtol=1e-13, atol=1e-15)


def test_builds_keep_their_table_on_the_way_back(case):
    together, alone = case.builds(BUILDS)
    y = np.asarray(smooth(case.link()).forward(case.inputs(5)))
    table = np.broadcast_to(smooth(case.link(together)).backward(y, side=-1), (BUILDS, len(y)))
    for row, pick in zip(table, alone, strict=True):
        assert np.allclose(row, smooth(case.link(pick)).backward(y, side=-1), rtol=1e-11, atol=1e-13)


def test_builds_move_in_time_as_each_of_them_alone(case):
    together, alone = case.builds(BUILDS)
    low, high = case.inputs(2)
    u = np.concatenate([np.linspace(low, high, 40), np.linspace(high, low, 30)])
    t = np.arange(len(u)) * TIME_STEP_S
    path, _ = case.link(together).follow(u, t, None)
    for row, pick in zip(np.broadcast_to(path, (BUILDS, len(u))), alone, strict=True):
        assert np.allclose(row, case.link(pick).follow(u, t, None)[0], rtol=1e-12, atol=1e-14)


@pytest.mark.parametrize("side", [-1, 0, 1])
def test_the_way_back_undoes_the_way_there(case, side):
    link, u = smooth(case.link()), case.inputs(31)
    assert np.allclose(link.backward(link.forward(u, side=side), side=side), u, rtol=1e-9, atol=1e-12)


def test_drawn_builds_are_undone_as_well(case):
    # numbers drawn within their spreads, the departure from linearity within a fifth of its usual limit:
    # beyond that a member of the family may fold back on itself, and has no way back
    together, _ = case.builds(BUILDS)

    def mild(number):
        value = together(number)
        return value / 5.0 if number.field == "shape" else value

    link = smooth(case.link(mild))
    middle = np.mean(case.inputs(2))
    u = middle + 0.5 * (case.inputs(15) - middle)
    back = link.backward(link.forward(u, side=1), side=1)
    assert np.allclose(back, np.broadcast_to(u, np.shape(back)), rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("side", [-1, 1])
def test_a_path_held_still_ends_where_the_static_map_says(case, side):
    link = case.link()
    low, high = case.inputs(2)
    place = (low + high) / 2.0
    start = low if side > 0 else high
    assert abs(place - start) > 2.0 * link.lag
    u = np.concatenate([np.linspace(start, place, 60), np.full(60, place)])
    path, _ = link.follow(u, np.arange(len(u)) * TIME_STEP_S, None)
    assert path[-1] == pytest.approx(link.forward(place, side=side), rel=1e-12)


def test_a_path_that_never_moved_stays_in_the_middle_of_any_play(case):
    link = case.link()
    place = float(np.mean(case.inputs(2)))
    path, _ = link.follow(np.full(5, place), np.arange(5) * TIME_STEP_S, None)
    assert np.allclose(path, link.forward(place), rtol=1e-13)


def test_a_path_in_two_pieces_is_the_path_in_one(case):
    link = case.link()
    low, high = case.inputs(2)
    u = (low + high) / 2.0 + (high - low) / 2.0 * np.sin(np.arange(80) / 9.0)
    t = np.arange(80) * 1e-4
    whole, _ = link.follow(u, t, None)
    first, memory = link.follow(u[:37], t[:37], None)
    second, _ = link.follow(u[37:], t[37:], memory)
    assert np.allclose(np.concatenate([first, second], axis=-1), whole, rtol=1e-13, atol=1e-15)


def test_what_is_not_a_number_stays_so_and_harms_no_neighbour(case):
    link, u = case.link(), case.inputs(5)
    holed = u.copy()
    holed[2] = math.nan
    for there, argument in ((link.forward, u), (smooth(link).backward, np.asarray(link.forward(u)))):
        broken = argument.copy()
        broken[2] = math.nan
        assert math.isnan(there(math.nan))
        assert np.isnan(there(broken)).tolist() == [False, False, True, False, False]
        keep = [0, 1, 3, 4]
        # a root is sought for all inputs together, so that the last bits may differ
        assert np.asarray(there(broken))[keep] == pytest.approx(np.asarray(there(argument))[keep], rel=1e-12)


def test_the_sense_is_the_sign_of_the_slope(case):
    link, u = smooth(case.link()), case.inputs(12)
    assert np.all(np.sign(np.diff(link.forward(u))) == link.sense)


def test_lag_is_half_of_what_the_side_changes_at_the_input(case):
    link, place = smooth(case.link()), float(np.mean(case.inputs(2)))
    moved = link.backward(link.forward(place, side=-1)) - link.backward(link.forward(place, side=1))
    assert moved == pytest.approx(2.0 * link.lag, abs=1e-12)


def test_a_link_cannot_be_changed(case):
    link = case.link()
    assert is_dataclass(link)
    for field in fields(link):
        with pytest.raises(FrozenInstanceError):
            setattr(link, field.name, 1.0)


def test_the_code_line_keeps_the_same_laws():
    line, codes = CodeLine(offset=-0.4, slope=7e-4), np.arange(0.0, 4096.0, 137.0)
    assert np.array_equal(line.forward(codes), [line.forward(code) for code in codes])
    assert np.allclose(line.backward(line.forward(codes)), codes, rtol=1e-12, atol=1e-9)
    assert np.array_equal(line.follow(codes, codes, None)[0], line.forward(codes))
    assert isinstance(line.forward(3.0), float)
    assert math.isnan(line.forward(math.nan))
    assert (line.sense, replace(line, slope=-7e-4).sense) == (1, -1)
    with pytest.raises(FrozenInstanceError):
        line.offset = 0.0
