"""Files: bytes to plans and back, and the library that comes with the program."""

from core.files.codec import SUFFIX, decode, encode, read_plan

__all__ = ["SUFFIX", "decode", "encode", "read_plan"]
