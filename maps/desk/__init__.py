"""The desk: the scenarios of a folder in the browser, on this computer only."""

from maps.desk.serving import Opened, open_port, serve

__all__ = ["Opened", "open_port", "serve"]
