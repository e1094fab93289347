"""Room logistics/model/assembly."""
