"""A write that is interrupted loses nothing and leaves nothing behind."""

import os
from pathlib import Path

import pytest

from anglewright.errors import DataError
from anglewright.rigfile.storing import hold_foreign, write_whole


def test_a_file_is_written_whole_into_folders_made_for_it(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "rig.toml"
    write_whole(path, "x = 1\n± 2\n")
    assert path.read_bytes() == "x = 1\n± 2\n".encode()
    assert [each.name for each in path.parent.iterdir()] == ["rig.toml"]


@pytest.mark.parametrize("where", ["os.fsync", "pathlib.Path.replace"])
@pytest.mark.parametrize(
    "fault", [OSError(28, "No space left on device"), KeyboardInterrupt()], ids=["full disk", "interrupt"]
)
def test_the_old_file_stays_and_no_part_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str, fault: BaseException
) -> None:
    path = tmp_path / "rig.toml"
    write_whole(path, "old")

    def fail(*_: object) -> None:
        raise fault

    monkeypatch.setattr(where, fail)
    with pytest.raises((DataError, KeyboardInterrupt)) as caught:
        write_whole(path, "new")
    if isinstance(fault, OSError):
        assert str(caught.value) == (
            f"{path}: it cannot be written (no space left on device). Name a place that you may write to."
        )
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("links", [True, False], ids=["a disk with links", "a disk without"])
def test_a_fresh_file_takes_the_place_of_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:

        def unknown(*_: object, **__: object) -> None:
            raise OSError(95, "Operation not supported")

        monkeypatch.setattr(os, "link", unknown)
    path = tmp_path / "sheet.csv"
    write_whole(path, "first", fresh=True)
    with pytest.raises(DataError) as caught:
        write_whole(path, "second", fresh=True)
    assert str(caught.value) == f"{path}: there is a file of that name. Name another; yours is kept."
    assert path.read_text(encoding="utf-8") == "first"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_among_the_folders_is_named(tmp_path: Path) -> None:
    (tmp_path / "code").write_text("mine", encoding="utf-8")
    for path in (tmp_path / "code" / "a.c", tmp_path / "code" / "deep" / "a.c"):
        with pytest.raises(DataError) as caught:
            write_whole(path, "x")
        assert str(caught.value) == (
            f"{tmp_path / 'code'}: it is a file, a folder belongs here. Name another place."
        )


def test_only_files_that_bear_the_sign_may_be_written_over(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    hold_foreign(path, "<!doctype html>")
    path.write_text("<!doctype html> ours", encoding="utf-8")
    hold_foreign(path, "<!doctype html>")
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(DataError) as caught:
        hold_foreign(path, "<!doctype html>")
    assert str(caught.value) == f"{path}: there is a file of that name. Name another; yours is kept."
