"""The computers a stick can serve: system and processor, and how wheels name them."""

from __future__ import annotations

from dataclasses import dataclass

OLDEST_MACOS = 14
"""Wheels of pyproj 3.8 ask for it."""
GLIBC = (28, 27, 26, 25, 24, 17, 12, 5)
"""Minor versions of glibc 2 that wheels are made for; any from 2.28 on runs them."""


@dataclass(frozen=True)
class Target:
    """
    One kind of computer.

    Attributes
    ----------
    system, processor
        In our words, as the install scripts build them.
    resolver
        Name that uv has for it.
    tags
        Platforms that its wheels may be made for, the newest first.
    """

    system: str
    processor: str
    resolver: str
    tags: tuple[str, ...]

    @property
    def label(self) -> str:
        """What the list of contents calls it, such as linux-x86_64."""
        return f"{self.system}-{self.processor}"

    @property
    def program(self) -> str:
        """File name of uv there."""
        return "uv.exe" if self.system == "windows" else "uv"


def _linux(processor: str) -> Target:
    tags = [f"manylinux_2_{minor}_{processor}" for minor in GLIBC]
    tags.append(f"manylinux2014_{processor}")
    return Target("linux", processor, f"{processor}-manylinux_2_28", tuple(tags))


TARGETS = (
    Target("windows", "x86_64", "x86_64-pc-windows-msvc", ("win_amd64",)),
    Target(
        "macos", "arm64", "aarch64-apple-darwin", (f"macosx_{OLDEST_MACOS}_0_arm64",)
    ),
    _linux("x86_64"),
    _linux("aarch64"),
)
"""All kinds of computer for which every library of Loamhaul has a wheel. Macs with an
Intel processor are none: pyvrp 0.14 has no wheel for them."""
