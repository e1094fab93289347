"""Loamhaul outputs: map, workbook, geodata, command line."""
