"""The codes at which a wrong copy of the line would show itself."""

from dataclasses import replace

import pytest

from anglewright.handover.plan import HandoverPlan
from anglewright.handover.vectors import vectors
from anglewright.links.protocol import CodeRange


def test_the_codes_hold_every_edge_with_its_neighbours_and_what_is_beyond(shoulder: HandoverPlan) -> None:
    raws = [vector.raw for vector in vectors(shoulder)]
    assert raws == [-1, 0, 228, 229, 230, 2047, 3865, 3866, 3867, 4095, 4096, 65535]


def test_the_positions_are_those_of_the_line_and_none_where_not_believed(shoulder: HandoverPlan) -> None:
    # Written out again here: half a turn of joint less 10 deg over 4096 codes, middle of the code.
    for raw, place, fault in vectors(shoulder):
        if 229 <= raw <= 3866:
            assert fault == 0
            assert place == pytest.approx(47.5 + 170.0 * ((raw + 0.5) / 4096.0 - 0.5), abs=1e-12)
        else:
            assert fault != 0
            assert place is None


def test_a_16_bit_converter_lists_its_top_code_once(shoulder: HandoverPlan) -> None:
    raws = [vector.raw for vector in vectors(replace(shoulder, codes=CodeRange.of_bits(16)))]
    assert raws.count(65535) == 1
    assert raws == sorted(set(raws))
