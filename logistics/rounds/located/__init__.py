"""Yards and rounds chosen together: the search, its checks, and a day of the plan."""

from logistics.rounds.located.choice import FREE, PLANNED, YardChoice, choose_yards
from logistics.rounds.located.collecting_day import NoChoiceError

__all__ = ["FREE", "PLANNED", "NoChoiceError", "YardChoice", "choose_yards"]
