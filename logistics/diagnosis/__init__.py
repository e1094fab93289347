"""Room logistics/diagnosis."""
