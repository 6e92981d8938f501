"""What a plan file may hold at most. One table, so that reading, importing and the papers agree."""

from typing import Final

#: Bytes of a plan file.
FILE_BYTES: Final = 64 * 1024 * 1024
#: Bytes of one picture inside a plan, and its longer side in pixels after import.
PICTURE_BYTES: Final = 2 * 1024 * 1024
PICTURE_PIXELS: Final = 2_000
#: Records and lists inside each other. A plan of this format needs 9, one with variants 12.
DEPTH: Final = 64
#: Records (JSON objects) of a file, its lists (a point is a list), its texts (names of fields count) and its values.
RECORDS: Final = 1_000_000
LISTS: Final = 4_000_000
TEXTS: Final = 10_000_000
VALUES: Final = 5_000_000
#: Digits of one number. Anything longer is no measurement; Python refuses to read it too.
DIGITS: Final = 400
#: Problems of one file that are listed; the rest are counted.
LISTED: Final = 200
