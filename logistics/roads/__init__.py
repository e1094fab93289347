"""Room logistics/roads."""
