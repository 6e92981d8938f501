"""What a file, a text or a clipboard may hold at most. One table, so that reading, importing and the papers agree."""

from typing import Final

# --- plans -----------------------------------------------------------------------------------------------------------

#: Bytes of a plan file.
FILE_BYTES: Final = 64 * 1024 * 1024
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

# --- pictures --------------------------------------------------------------------------------------------------------

#: Bytes of one picture inside a plan, and its longer side in pixels after import.
PICTURE_BYTES: Final = 2 * 1024 * 1024
PICTURE_PIXELS: Final = 2_000
#: A file to import may be larger than what is kept of it: a camera's picture is reduced before it is stored.
IMPORT_BYTES: Final = 64 * 1024 * 1024
#: More pixels than any camera has would fill the memory when opened.
MOST_PIXELS: Final = 120_000_000
MOST_SIDE: Final = 30_000

# --- PDF and DXF, read by a child process ----------------------------------------------------------------------------

#: Its time by the clock and by the processor, in s, and its memory in bytes: enough for a page of 8,000 pixels and a
#: drawing of a million points.
CHILD_SECONDS: Final = 30
CHILD_CPU_SECONDS: Final = 25
CHILD_BYTES: Final = 2 * 1024**3
PAGES: Final = 500
#: What a drawing may hold; more is no underlay of a vehicle.
DRAWING_LINES: Final = 100_000
DRAWING_POINTS: Final = 1_000_000
#: A drawing wider than this was not drawn in the unit it names.
DRAWING_MM: Final = 1_000_000.0
#: How far from its origin it may lie: surveyors draw in the coordinates of a country.
DRAWING_REACH_MM: Final = 1e9
#: Blocks in blocks in blocks.
BLOCK_DEPTH: Final = 8

# --- tables, own libraries, the clipboard ----------------------------------------------------------------------------

#: A table that somebody typed is smaller than this: bytes, rows, cells of a row, letters of a cell.
TABLE_BYTES: Final = 4 * 1024 * 1024
TABLE_ROWS: Final = 5_000
TABLE_COLUMNS: Final = 64
TABLE_CELL: Final = 2_000
#: Bytes of one file of a person's own library.
LIBRARY_BYTES: Final = 4 * 1024 * 1024
#: Things pasted at once, and bytes of the clipboard looked at.
CLIP_THINGS: Final = 10_000
CLIP_BYTES: Final = 16 * 1024 * 1024
#: Bytes of a lock or a request of another program.
NOTE_BYTES: Final = 64 * 1024
