"""Room maps/field."""
