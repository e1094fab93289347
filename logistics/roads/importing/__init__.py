"""Room logistics/roads/importing."""
