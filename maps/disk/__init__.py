"""Files on the disk: written whole or not at all, and locks that go with a program."""

from maps.disk.locks import hold, is_held
from maps.disk.whole_files import read_json, write_json, write_set, write_whole

__all__ = ["hold", "is_held", "read_json", "write_json", "write_set", "write_whole"]
