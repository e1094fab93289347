"""Room logistics/model/rules."""
