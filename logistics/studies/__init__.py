"""Room logistics/studies."""
