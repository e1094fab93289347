"""What somebody who goes on site must know; common practice, no source."""

ON_SITE = {
    "sources": (
        "Fish waste: wear gloves and boots, do not touch it, wash your hands.",
        "Mills: keep clear of belts, blowers and moving trucks; ask before you enter.",
        "Husk heaps may smoulder inside: do not climb them.",
    ),
    "yards": (
        "Do not walk close to loaders or on steep heaps; stay where drivers see you.",
        "Run-off from heaps carries germs: do not wade through it, wash your hands.",
        "A form is no permit: local codes decide whether a site may be used.",
    ),
    "markets": ("Stand off the road; ask before you photograph people or fields.",),
    "roads": (
        "Never walk or drive into moving water to measure it: ask people nearby.",
    ),
}
"""Table -> cautions."""
