"""Room maps/studies."""
