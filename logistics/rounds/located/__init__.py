"""Room logistics/rounds/located."""
