"""What is kept for later is opened only if this computer wrote it."""

import os
import pickle
import stat
import zlib

import pytest

from maps.desk import kept as module
from maps.desk.kept import SEAL, keep, kept, secret_file


@pytest.fixture
def office(tmp_path, monkeypatch):
    """Move to an office by its name: each has a secret of its own."""

    def at(name: str):
        monkeypatch.setattr(module, "secret_file", lambda: tmp_path / name / "key")
        module._secret.cache_clear()

    at("ours")
    yield at
    module._secret.cache_clear()


def test_what_was_kept_comes_back(office, tmp_path):
    keep({"a": 1.5}, tmp_path / "x", "plan 1")
    assert kept(tmp_path / "x", "plan 1") == {"a": 1.5}
    module._secret.cache_clear()  # the program is started again
    assert kept(tmp_path / "x", "plan 1") == {"a": 1.5}
    key = tmp_path / "ours" / "key"
    assert len(key.read_bytes()) == SEAL
    if os.name == "posix":
        assert stat.S_IMODE(key.stat().st_mode) == 0o600


def test_it_is_not_taken_for_another_thing(office, tmp_path):
    keep(1, tmp_path / "x", "plan 1")
    assert kept(tmp_path / "x", "plan 2") is None
    assert kept(tmp_path / "none", "plan 1") is None


class Attack:
    """Writes a file when it is opened."""

    def __init__(self, path):
        self.path = path

    def __reduce__(self):
        return (os.mkdir, (str(self.path),))


def test_a_file_from_elsewhere_is_never_opened(office, tmp_path):
    trap = tmp_path / "sprung"
    content = zlib.compress(pickle.dumps(Attack(trap)))
    (tmp_path / "x").write_bytes(bytes(SEAL) + content)
    assert kept(tmp_path / "x", "plan 1") is None
    office("theirs")
    keep(Attack(trap), tmp_path / "x", "plan 1")
    office("ours")
    assert kept(tmp_path / "x", "plan 1") is None
    assert not trap.exists()
    office("theirs")  # it is opened by its own office: the trap does work
    kept(tmp_path / "x", "plan 1")
    assert trap.exists()


@pytest.mark.parametrize("place", [0, SEAL - 1, SEAL, -1])
def test_a_byte_that_changed_is_noticed(office, tmp_path, place):
    keep([1, 2], tmp_path / "x", "plan 1")
    whole = bytearray((tmp_path / "x").read_bytes())
    whole[place] ^= 1
    (tmp_path / "x").write_bytes(whole)
    assert kept(tmp_path / "x", "plan 1") is None


def test_what_another_version_kept_is_left_alone(office, tmp_path, monkeypatch):
    keep(1, tmp_path / "x", "plan 1")
    monkeypatch.setattr(module, "version", lambda name: "0.0")
    assert kept(tmp_path / "x", "plan 1") is None


def test_a_link_and_a_file_too_large_are_left_alone(office, tmp_path, monkeypatch):
    keep(1, tmp_path / "x", "plan 1")
    size = (tmp_path / "x").stat().st_size
    (tmp_path / "link").symlink_to(tmp_path / "x")
    assert kept(tmp_path / "link", "plan 1") is None
    monkeypatch.setattr(module, "MOST", size)
    assert kept(tmp_path / "x", "plan 1") == 1
    monkeypatch.setattr(module, "MOST", size - 1)
    assert kept(tmp_path / "x", "plan 1") is None


def test_the_secret_lies_in_no_scenario(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    assert secret_file().name == "desk.key"
    assert secret_file().parent.name == "loamhaul"
