"""install.sh: what it refuses, and that nothing is left of what failed."""

import hashlib
import platform
import subprocess
import sys
from pathlib import Path

import pytest
from support.places import ROOT

SCRIPT = ROOT / "maps" / "stick" / "scripts" / "install.sh"
TARGET = f"linux-{platform.machine()}"
UV = """#!/bin/sh
case "$1 $2" in
  "python find") [ "$5" = 3.13 ] && echo /usr/bin/python3 ;;
  "venv -q") mkdir -p "$6/bin"
    printf '#!/bin/sh\\necho "loamhaul $*"\\n' >"$6/bin/loamhaul"
    chmod +x "$6/bin/loamhaul" ;;
  "pip install") [ ! -e "$HOME/fail" ] ;;
esac
"""
"""Stands for uv: finds Python 3.13, makes an environment, installs unless told not."""

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="a script for Linux")


@pytest.fixture
def made(tmp_path):
    """A small stick with a file of each kind."""
    made = tmp_path / "a stick"
    files = {
        f"programs/{TARGET}/uv": (TARGET, UV),
        f"pins/{TARGET}-3.13.txt": (f"{TARGET}-3.13", "a==1"),
        f"pins/{TARGET}-3.14.txt": (f"{TARGET}-3.14", "a==1"),
        "wheels/a-1-py3-none-any.whl": (f"{TARGET}-3.13", "wheel"),
        "README.txt": ("reading", "read"),
        "manual.html": ("reading", "manual"),
    }
    lines = []
    for name, (label, text) in files.items():
        (made / name).parent.mkdir(parents=True, exist_ok=True)
        (made / name).write_text(text)
        checksum = hashlib.sha256(text.encode()).hexdigest()
        lines.append(f"{checksum} {len(text.encode())} {label} {name}\n")
    (made / "contents.txt").write_text("".join(lines))
    (made / "install.sh").write_bytes(SCRIPT.read_bytes())
    (tmp_path / "home").mkdir()
    return made


def install(made: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", str(made / "install.sh")],
        env={"HOME": str(made.parent / "home"), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )


def place(made: Path) -> Path:
    return made.parent / "home" / ".local/share/loamhaul/program"


def test_it_installs_and_says_how_to_take_it_away(made):
    done = install(made)
    assert done.returncode == 0, done.stderr
    starter = made.parent / "home" / "Desktop" / "loamhaul.desktop"
    assert f'Exec=/bin/sh "{place(made)}/desk.sh"\n' in starter.read_text()
    told = done.stdout.partition("To take it away again, delete")[2]
    assert all(str(x) in told for x in (place(made), starter))
    ran = subprocess.run(
        ["sh", str(place(made) / "desk.sh")], capture_output=True, text=True, check=True
    )
    assert ran.stdout == "loamhaul desk\n"
    assert install(made).returncode == 0, "a second time brings it up to date"
    assert not place(made).with_name("program.old").exists()


@pytest.mark.parametrize(
    "name", [f"programs/{TARGET}/uv", "wheels/a-1-py3-none-any.whl"]
)
@pytest.mark.parametrize("fault", ["missing", "not as long", "damaged"])
def test_a_damaged_stick_installs_nothing(made, name, fault):
    content = (made / name).read_bytes()
    if fault == "missing":
        (made / name).unlink()
    else:
        last = b"" if fault == "not as long" else bytes([content[-1] ^ 1])
        (made / name).write_bytes(content[:-1] + last)
    done = install(made)
    assert done.returncode == 1
    assert name in done.stderr
    assert fault in done.stderr
    assert not place(made).exists()
    assert not (made.parent / "home" / "Desktop").exists()


def test_an_installation_that_fails_leaves_the_older_one(made):
    assert install(made).returncode == 0
    (place(made) / "older").touch()
    (made.parent / "home" / "fail").touch()
    done = install(made)
    assert done.returncode == 1
    assert "Nothing was installed." in done.stderr
    assert (place(made) / "older").exists()


def test_a_folder_of_somebody_else_is_left_alone(made):
    place(made).mkdir(parents=True)
    (place(made) / "mine").touch()
    done = install(made)
    assert done.returncode == 1
    assert "is not Loamhaul's" in done.stderr
    assert [x.name for x in place(made).iterdir()] == ["mine"]


def test_without_a_python_it_says_which(made):
    (made / "pins" / f"{TARGET}-3.13.txt").unlink()
    done = install(made)
    assert done.returncode == 1
    assert "no Python that the stick is made for:\nPython 3.14\n" in done.stderr
    assert not place(made).exists()


def test_a_stick_for_other_computers_is_refused(made):
    text = (made / "contents.txt").read_text()
    (made / "contents.txt").write_text(text.replace(TARGET, "macos-arm64"))
    done = install(made)
    assert done.returncode == 1
    assert f"nothing for this computer ({TARGET})" in done.stderr
