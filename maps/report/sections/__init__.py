"""Room maps/report/sections."""
