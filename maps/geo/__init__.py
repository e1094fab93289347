"""Room maps/geo."""
