"""Text for terminals and files that do not know every sign: a near one in its place."""

from __future__ import annotations

import codecs
import sys
import unicodedata

NEAR = {"–": "-", "—": "-", "−": "-", "‑": "-", "×": "x", "·": ".", "…": "...",
        "’": "'", "‘": "'", "“": '"', "”": '"', "≤": "<=", "≥": ">=", "→": "->",
        "±": "+-"}  # fmt: skip
"""Signs of ours, and what stands for them where they cannot be written."""

HANDLER = "near"


def near(text: str) -> str:
    """
    Write a text in the letters and signs that every encoding has.

    >>> near("5–7 t CO₂e, Río −3 m²"), near("مطحنة")
    ('5-7 t CO2e, Rio -3 m2', '?????')
    """
    parts = []
    for sign in text:
        plain = NEAR.get(sign) or unicodedata.normalize("NFKD", sign)
        bare = "".join(one for one in plain if one.isascii())
        parts.append(bare or "?")
    return "".join(parts)


def _handled(error: UnicodeError) -> tuple[str, int]:
    """Give the codec what stands for the signs it does not have."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return near(error.object[error.start : error.end]), error.end


def plain_output() -> None:
    """Let both outputs write near signs in place of those they cannot write."""
    codecs.register_error(HANDLER, _handled)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # nothing to do where an output is closed
            stream.reconfigure(errors=HANDLER)
