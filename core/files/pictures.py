"""PNG and JPEG without decoding them: is this a whole picture, how large is it, may it be opened at all?

Chunk and marker layouts: PNG specification (W3C), clause 5; JPEG, ITU-T T.81 annex B; EXIF orientation, CIPA DC-008
(all from memory). Writing is PNG only, for pixels that this program made.
"""

import struct
import zlib
from typing import Any, Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.errors import FileProblem
from core.files.limits import IMPORT_BYTES, MOST_PIXELS, MOST_SIDE, PICTURE_BYTES, PICTURE_PIXELS

PNG = b"\x89PNG\r\n\x1a\n"
#: Start-of-frame markers of JPEG; the gaps are DHT, JPG and DAC.
FRAMES = frozenset({0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF})


class PictureInfo(msgspec.Struct, frozen=True, kw_only=True):
    """What the head of a picture says. `turned` pictures are to be turned by the EXIF orientation (1 is upright)."""

    media_type: Literal["image/png", "image/jpeg"]
    width_px: int
    height_px: int
    size_bytes: int
    orientation: int = 1

    @property
    def fits(self) -> bool:
        """Whether it can be stored as it is."""
        small = self.size_bytes <= PICTURE_BYTES and max(self.width_px, self.height_px) <= PICTURE_PIXELS
        return small and self.orientation == 1

    @property
    def reduced_px(self) -> tuple[int, int]:
        """Width and height it is to be reduced to before it is stored (before it is turned)."""
        share = min(1.0, PICTURE_PIXELS / max(self.width_px, self.height_px))
        return max(1, round(self.width_px * share)), max(1, round(self.height_px * share))


def look_at_picture(data: bytes, name: str = "the picture") -> PictureInfo:
    """Size and kind of a PNG or JPEG. Raises FileProblem for anything else, a broken one, and one too large to open."""
    if len(data) > IMPORT_BYTES:
        raise FileProblem(f"the file has {len(data) / 2**20:.0f} MB", name, f"at most {IMPORT_BYTES // 2**20} MB")
    if data.startswith(PNG):
        info = _png(data, name)
    elif data.startswith(b"\xff\xd8"):
        info = _jpeg(data, name)
    else:
        raise FileProblem("this is no picture that can be placed", name, "a PNG or JPEG file, a PDF page or a DXF")
    if info.width_px < 1 or info.height_px < 1:
        raise FileProblem("the picture has no pixels", name)
    if max(info.width_px, info.height_px) > MOST_SIDE or info.width_px * info.height_px > MOST_PIXELS:
        raise FileProblem(
            f"the picture says it has {info.width_px:,} × {info.height_px:,} pixels",
            name,
            f"at most {MOST_SIDE:,} on a side and {MOST_PIXELS // 1_000_000} million in all",
        )
    return info


def _png(data: bytes, name: str) -> PictureInfo:
    """Walks all chunks: each must be there as long as it says, the first must be the head, the last the end."""
    at, size = len(PNG), (0, 0)
    first = True
    pixels = False
    while True:
        if at + 12 > len(data):
            raise FileProblem("the PNG file breaks off", name, "a whole file; save or copy it again")
        (length,), kind = struct.unpack(">I", data[at : at + 4]), data[at + 4 : at + 8]
        if length > len(data) - at - 12:
            raise FileProblem("the PNG file breaks off", name, "a whole file; save or copy it again")
        if first and kind != b"IHDR":
            raise FileProblem("the PNG file has no head", name)
        if kind == b"IHDR":
            if length != 13 or not first:
                raise FileProblem("the head of the PNG file is broken", name)
            size = struct.unpack(">II", data[at + 8 : at + 16])
            wanted = struct.unpack(">I", data[at + 21 : at + 25])[0]
            if zlib.crc32(data[at + 4 : at + 21]) != wanted:
                raise FileProblem("the head of the PNG file is broken", name)
        pixels = pixels or kind == b"IDAT"
        if kind == b"IEND":
            break
        first = False
        at += 12 + length
    if not pixels:
        raise FileProblem("the PNG file holds no picture", name)
    return PictureInfo(media_type="image/png", width_px=size[0], height_px=size[1], size_bytes=len(data))


def _jpeg(data: bytes, name: str) -> PictureInfo:
    """Walks the segments up to the frame, and sees that the file has an end."""
    at, orientation = 2, 1
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            raise FileProblem("the JPEG file is broken", name)
        marker = data[at + 1]
        if marker == 0xFF or marker == 0x01 or 0xD0 <= marker <= 0xD8:  # fill bytes and markers without length
            at += 1 if marker == 0xFF else 2
            continue
        (length,) = struct.unpack(">H", data[at + 2 : at + 4])
        if length < 2 or at + 2 + length > len(data):
            break
        body = data[at + 4 : at + 2 + length]
        if marker == 0xE1 and body.startswith(b"Exif\0\0"):
            orientation = _orientation(body[6:])
        if marker in FRAMES:
            if len(body) < 6:
                break
            height, width = struct.unpack(">HH", body[1:5])
            if b"\xff\xd9" not in data[at:]:
                break
            return PictureInfo(
                media_type="image/jpeg", width_px=width, height_px=height, size_bytes=len(data), orientation=orientation
            )
        if marker in (0xDA, 0xD9):
            break
        at += 2 + length
    raise FileProblem("the JPEG file breaks off", name, "a whole file; save or copy it again")


def _orientation(tiff: bytes) -> int:
    """The EXIF orientation 1 to 8; 1 where it cannot be read."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 8:
        return 1
    (at,) = struct.unpack(order + "I", tiff[4:8])
    if at + 2 > len(tiff):
        return 1
    (count,) = struct.unpack(order + "H", tiff[at : at + 2])
    for k in range(min(count, 200)):
        entry = tiff[at + 2 + 12 * k : at + 14 + 12 * k]
        if len(entry) == 12 and struct.unpack(order + "H", entry[:2])[0] == 0x0112:
            value = int(struct.unpack(order + "H", entry[8:10])[0])
            return value if 1 <= value <= 8 else 1
    return 1


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """A PNG of rows x columns (grey) or rows x columns x 3 (red, green, blue), 8 bits each."""
    if pixels.dtype != np.uint8 or pixels.ndim not in (2, 3) or (pixels.ndim == 3 and pixels.shape[2] != 3):
        raise ValueError(f"cannot write pixels of shape {pixels.shape} and type {pixels.dtype}")
    high, wide = pixels.shape[:2]
    colour = 0 if pixels.ndim == 2 else 2
    flat: Any = np.ascontiguousarray(pixels).reshape(high, -1)
    rows = np.zeros((high, flat.shape[1] + 1), dtype=np.uint8)
    # Filter "up": most rows of a drawing are like the one above.
    rows[:, 0] = 2
    rows[0, 1:] = flat[0]
    rows[1:, 1:] = flat[1:] - flat[:-1]

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", wide, high, 8, colour, 0, 0, 0)
    return PNG + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows.tobytes(), 6)) + chunk(b"IEND", b"")
