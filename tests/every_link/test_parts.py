"""What every kind of part must be, whichever it is."""

from dataclasses import FrozenInstanceError, fields

import pytest

from anglewright.links.fields import QuantityKey
from anglewright.links.protocol import flat_keys, settings_of
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.kinds import ROOMS, USUAL, part_named


def test_every_room_of_the_chain_has_its_usual_kind(every_part):
    assert set(USUAL) == set(ROOMS)
    assert {f"{room}/{kind}" for room, kind in USUAL.items()} <= set(every_part)


def test_every_part_found_is_the_one_a_rig_file_gets(every_part):
    for part in every_part.values():
        assert part_named(part.room, part.kind) is part


def test_no_two_parts_share_a_room_and_a_kind(every_part, every_case):
    assert len({type(case.part) for case in every_case}) == len(every_part)


def test_keys_and_fields_are_named_once_and_explained(every_part):
    for part in every_part.values():
        keys = list(flat_keys(part.KEYS))
        names = [name for name, _ in keys]
        filled = [key.field for _, key in keys]
        assert len(set(names)) == len(names)
        assert len(set(filled)) == len(filled)
        assert all(key.meaning for _, key in keys)
        assert set(filled) <= {field.name for field in fields(part)}


def test_every_default_is_a_quantity_of_its_kind(every_part):
    for part in every_part.values():
        for name, key in flat_keys(part.KEYS):
            if isinstance(key, QuantityKey) and key.default is not None and key.default not in key.words:
                reader = TableReader()
                assert reader.quantity(key.default, key.kinds, f"{part.room}.{name}") is not None
                assert reader.problems == []


def test_a_part_names_itself(case):
    assert case.part.label
    assert case.part.describe()


def test_the_numbers_of_a_part_are_fields_of_it_under_names_of_the_file(case):
    given = dict(settings_of(case.part)) | {"clamp": getattr(case.part, "clamp", None)}
    given |= {"windings": getattr(case.part, "between", None)}  # the step that so many turns of wire make
    given |= {"resolution": getattr(case.part, "between_rad", None)}  # the step that so many bits make
    fields_seen = [number.field for number in case.part.numbers]
    assert len(set(fields_seen)) == len(fields_seen)
    for number in case.part.numbers:
        assert number.meaning
        assert number.cured_by
        assert given[number.name] is number.variate


def test_a_part_cannot_be_changed(case):
    for field in fields(case.part):
        with pytest.raises(FrozenInstanceError):
            setattr(case.part, field.name, None)


def test_a_part_that_follows_the_wrong_link_is_refused_with_a_sentence(case):
    from anglewright.errors import RigError
    from anglewright.links.protocol import Port

    if case.part.room == "motion":  # the first link follows nothing
        assert case.part.link({"clamp": 0.0}, Port()).forward(0.5) == 0.5
        return
    values = {number.field: number.variate.nominal for number in case.part.numbers}
    with pytest.raises(RigError, match=rf"^{case.part.room}: .* must follow .*\. [A-Z].*\.$"):
        case.part.link(values, Port())
