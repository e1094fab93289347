"""The stick: whole or not at all, and what its list says of each file."""

import hashlib
import os
import platform
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from support.places import TESTS
from typer.testing import CliRunner

from maps.commands import app
from maps.stick import TARGETS, Order, fetching, stick, write_stick
from maps.stick.fetching import StickFault, Tools

HERE = f"{sys.version_info.major}.{sys.version_info.minor}"


def wheel(folder: Path, name: str) -> Path:
    path = folder / f"{name}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr(zipfile.ZipInfo(f"{name}.py"), name)
    return path


def order(tmp_path: Path, **other) -> Order:
    own = wheel(tmp_path, "loamhaul-0.2.0")
    return Order(
        **{"systems": ("linux",), "pythons": (HERE,), "manual": "<p>"}
        | other
        | {"wheel": own}
    )


@pytest.fixture
def no_index(monkeypatch):
    """Two small wheels for each target instead of what an index has."""

    def fetched(tools, target, python, own, folder):
        return wheel(folder, "a_b-1.0"), wheel(folder, f"c_{target.processor}-2.0")

    monkeypatch.setattr(stick, "find_tools", lambda: Tools(("uv",), ("pip",)))
    monkeypatch.setattr(stick, "fetch", fetched)
    monkeypatch.setattr(stick, "fetch_uv", lambda *_: b"program")


@pytest.mark.usefixtures("no_index")
def test_the_list_has_every_file_with_its_checksum(tmp_path):
    made = tmp_path / "made"
    installer = tmp_path / "python.exe"
    installer.write_bytes(b"installer")
    systems = ("windows", "linux")
    wish = order(tmp_path, systems=systems, installers=(installer,))
    size = write_stick(made, wish, lambda _: None)
    lines = [x.split(" ") for x in (made / "contents.txt").read_text().splitlines()]
    on_disk = {x.relative_to(made).as_posix() for x in made.rglob("*") if x.is_file()}
    assert {name for *_, name in lines} == on_disk - {"contents.txt"}
    for checksum, length, _, name in lines:
        content = (made / name).read_bytes()
        assert (hashlib.sha256(content).hexdigest(), len(content)) == (
            checksum,
            int(length),
        )
    assert size == sum((made / name).stat().st_size for name in on_disk)
    labels = {
        label
        for _, _, label, name in lines
        if name == "wheels/a_b-1.0-py3-none-any.whl"
    }
    served = [x.label for x in TARGETS if x.system in systems]
    assert labels == {f"{label}-{HERE}" for label in served}
    assert {
        "install.cmd",
        "install.ps1",
        "install.sh",
        "README.txt",
        "manual.html",
    } <= on_disk
    assert "install.command" not in on_disk
    assert "demos/brackwater/scenario.toml" in on_disk
    assert [x[2] for x in lines if x[3] == "python/python.exe"] == ["windows-x86_64"]
    pinned = (made / "pins" / f"windows-x86_64-{HERE}.txt").read_text()
    a_b = hashlib.sha256((made / "wheels/a_b-1.0-py3-none-any.whl").read_bytes())
    assert f"a_b==1.0 --hash=sha256:{a_b.hexdigest()}\n" in pinned
    assert "loamhaul==0.2.0 --hash" in pinned
    assert "c_aarch64" not in pinned


@pytest.mark.usefixtures("no_index")
def test_half_a_stick_is_none(tmp_path, monkeypatch):
    def broken(*_):
        message = "no wheel"
        raise StickFault(message)

    wish = order(tmp_path)
    before = set(tmp_path.iterdir())
    monkeypatch.setattr(stick, "fetch", broken)
    with pytest.raises(StickFault, match="no wheel"):
        write_stick(tmp_path / "made", wish, lambda _: None)
    assert set(tmp_path.iterdir()) == before


@pytest.mark.usefixtures("no_index")
def test_two_wheels_of_one_name_must_be_the_same(tmp_path, monkeypatch):
    """Else the sum of the first stands in the list, and the second is on the stick."""
    named = []

    def another_each_time(tools, target, python, own, folder):
        named.append(target)
        path = folder / "a_b-1.0-py3-none-any.whl"
        path.write_bytes(b"%d" % len(named))
        return (path,)

    wish = order(tmp_path, systems=("linux", "windows"))
    monkeypatch.setattr(stick, "fetch", another_each_time)
    with pytest.raises(StickFault, match=r"different files .* a_b-1\.0"):
        write_stick(tmp_path / "made", wish, lambda _: None)


@pytest.mark.usefixtures("no_index")
def test_a_folder_with_files_stays_as_it_is_and_an_empty_one_is_used(tmp_path):
    made = tmp_path / "made"
    made.mkdir()
    write_stick(made, order(tmp_path), lambda _: None)
    (made / "README.txt").write_text("mine")
    before = {x: x.stat().st_mtime_ns for x in made.rglob("*")}
    with pytest.raises(StickFault, match="holds files already"):
        write_stick(made, order(tmp_path), lambda _: None)
    assert {x: x.stat().st_mtime_ns for x in made.rglob("*")} == before


def test_a_wish_that_cannot_be_met_is_named_at_once(tmp_path):
    with pytest.raises(StickFault, match=r"Python 3\.11 is none of 3\.12, "):
        order(tmp_path, pythons=("3.11",))
    for name in ("python.pkg", "two words.exe", "absent.exe"):
        file = tmp_path / name
        if not name.startswith("absent"):
            file.touch()
        with pytest.raises(StickFault, match="no installer for the systems named"):
            order(tmp_path, systems=("windows",), installers=(file,))
    ended = CliRunner().invoke(app, ["stick", str(tmp_path / "x"), "--python", "2.7"])
    assert (ended.exit_code, (tmp_path / "x").exists()) == (2, False)
    assert "Nothing was written: Python 2.7 is none of" in ended.output


def test_without_source_it_asks_for_the_wheel(tmp_path, monkeypatch):
    tools = Tools(("uv",), ("pip",))
    monkeypatch.setattr(fetching, "SOURCE", tmp_path)
    with pytest.raises(StickFault, match="Name its wheel with --wheel FILE"):
        fetching.own_wheel(tools, None, tmp_path)
    for name in ("other-1.0-py3-none-any.whl", "loamhaul-0.2.0-py3-none-any.whl"):
        (tmp_path / name).write_text("no archive")
        with pytest.raises(StickFault, match="wheel"):
            fetching.own_wheel(tools, tmp_path / name, tmp_path / "there")


def test_a_program_that_fails_says_why():
    with pytest.raises(StickFault, match=r"Trying failed: no such wheel$"):
        fetching.run(
            [sys.executable, "-c", "raise SystemExit('no such wheel.')"], "Trying"
        )


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform != "linux", reason="installs as on Linux")
def test_it_installs_and_opens_without_network(tmp_path, monkeypatch):
    """The real wheels, an empty home, no network but the loopback."""
    apart = ["unshare", "-n"] if os.geteuid() == 0 else ["unshare", "-rn"]
    if subprocess.run([*apart, "true"], check=False).returncode:
        pytest.skip("no network can be taken away here")
    ours = tuple(
        x for x in TARGETS if (x.system, x.processor) == ("linux", platform.machine())
    )
    monkeypatch.setattr(stick, "TARGETS", ours)
    made, home = tmp_path / "my stick", tmp_path / "home"
    home.mkdir()
    wish = Order(systems=("linux",), pythons=(HERE,), manual="<p>")
    write_stick(made, wish, lambda _: None)
    path = f"{Path(sys.base_prefix) / 'bin'}:/usr/bin:/bin"
    script = TESTS / "support" / "offline_install.py"
    done = subprocess.run(
        [*apart, sys.executable, str(script), str(made)],
        env={"HOME": str(home), "PATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "<title>" in done.stdout
    assert "Loamhaul" in done.stdout.partition("<title>")[2]
