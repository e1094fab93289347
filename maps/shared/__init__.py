"""Room maps/shared."""
