"""Room logistics/rounds."""
