"""What the code must do follows from what the mechanism does; the cautions are always there."""

import pytest

from anglewright.errors import UsageError
from anglewright.handover.cautions import MECHANISMS, cautions_for, fault_action


@pytest.mark.parametrize("mechanism", ["sinks", "drops", "springs"])
def test_a_mechanism_that_moves_by_itself_is_never_let_coast(mechanism: str) -> None:
    assert fault_action(mechanism).startswith("Brake and hold; do not let the motor coast.")


def test_four_mechanisms_have_four_different_actions_and_cautions() -> None:
    assert len({fault_action(mechanism) for mechanism in MECHANISMS}) == 4
    assert len({cautions_for(mechanism) for mechanism in MECHANISMS}) == 4


@pytest.mark.parametrize("mechanism", MECHANISMS)
@pytest.mark.parametrize(
    "said", ["not a safety device", "With the motor off", "out of its coupling", "First power-up",
             "lock it out", "ISO 12100", "ISO 13849-1", "IEC 60204-1", "licensed"],
)  # fmt: skip
def test_every_caution_that_can_save_a_hand_stands_in_the_list(mechanism: str, said: str) -> None:
    assert said in " ".join(cautions_for(mechanism))


def test_an_unknown_mechanism_is_answered_with_the_nearest_known_one() -> None:
    with pytest.raises(UsageError) as caught:
        fault_action("spring")
    assert str(caught.value) == (
        "when_unpowered: 'spring' does not say what the mechanism does with the motor off. "
        "Did you mean 'springs'?"
    )
