"""Ctrl-C within one process: what libraries make of it is no error of ours."""

import os
import signal
import time

import pytest

from maps.commands import interrupts
from maps.commands.interrupts import answering


class EndedError(BaseException):
    """In place of the end of the process."""


def ended():
    raise EndedError


def made_of_a_press(pressed):
    """Do as a library does that turns a press into an error of its own."""
    with answering():
        try:
            if pressed:
                os.kill(os.getpid(), signal.SIGINT)
                time.sleep(1)
        except KeyboardInterrupt:
            pass
        message = "made of a press"
        raise TypeError(message)


@pytest.mark.parametrize(("pressed", "error"), [(True, EndedError), (False, TypeError)])
def test_an_error_that_a_library_makes_of_a_press_ends_the_program(
    pressed, error, monkeypatch
):
    """NumPy turned one into "Cannot compare structured arrays"."""
    monkeypatch.setattr(interrupts, "end_at_once", ended)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with pytest.raises(error):
            made_of_a_press(pressed)
    finally:
        signal.signal(signal.SIGINT, before)
