"""Files: bytes to plans and back, and the library that comes with the program."""

from core.files.codec import SUFFIX, decode, encode, read_plan
from core.files.library import DeviceTemplate, Library, load_library, placed

__all__ = ["SUFFIX", "DeviceTemplate", "Library", "decode", "encode", "load_library", "placed", "read_plan"]
