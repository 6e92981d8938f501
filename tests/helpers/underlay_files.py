"""Small PDF and DXF files, made for the tests of underlays."""

import io
from collections.abc import Callable
from typing import Any

import ezdxf


def pdf(content: bytes = b"0 0 0 rg 72 72 144 72 re f", box: str = "0 0 360 720") -> bytes:
    """A PDF of one page, 5 x 10 inches, with a black rectangle 1 inch from the left and from below, 2 x 1 inches."""
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [{box}] /Contents 4 0 R >>".encode(),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
    ]
    out, offsets = b"%PDF-1.4\n", []
    for number, body in enumerate(objects, start=1):
        offsets.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start = len(out)
    out += b"xref\n0 5\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % at for at in offsets)
    return out + b"trailer << /Size 5 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF" % start


def dxf(units: int, fill: Callable[[Any], object], version: str = "R2010") -> bytes:
    """A DXF drawing in a unit by its number in $INSUNITS; `fill` draws in the document."""
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    fill(document)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()
