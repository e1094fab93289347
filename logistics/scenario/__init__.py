"""Room logistics/scenario."""
