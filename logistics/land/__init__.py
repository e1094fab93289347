"""Room logistics/land."""
