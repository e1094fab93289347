"""Room logistics/results."""
