"""Room logistics/model/solving."""
