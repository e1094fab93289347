"""Runs that need no plan: squares, with a log of who was run; also as a program."""

import os
import sys
import time
from pathlib import Path

from logistics.studies.runs import KeyedRun, Work, open_store, run_all


def prepare(setup):
    return {**setup, "prepared": os.getpid()}


def square(context, number):
    """Square a number; wait, fail or die first if the setup says so."""
    time.sleep(context.get("wait", 0.0))
    if log := context.get("log"):
        with Path(log).open("a") as lines:
            lines.write(f"{number}\n")
    if number in context.get("fails", ()):
        message = f"no square of {number}"
        raise ValueError(message)
    if number in context.get("dies", ()):
        os._exit(1)
    return {"square": number * number + 0.1, "by": context["prepared"]}


def work(**setup):
    return Work("squares", prepare, square, setup)


def jobs(count):
    return [KeyedRun(f"n{number}", number) for number in range(count)]


def main(path, count, wait, log):
    with open_store(Path(path)) as store:
        run_all(work(wait=float(wait), log=log), jobs(int(count)), store, workers=2)


if __name__ == "__main__":
    main(*sys.argv[1:])
