"""A district's tables as a grid: what it shows, edits, drafts, faults, saving."""
