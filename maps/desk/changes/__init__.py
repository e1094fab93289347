"""Changes at the desk: forms, the tray, change files, and what a change does."""
