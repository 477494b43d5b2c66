"""The Data Matrix of a code, or the QR code of a link: modules as a plain table, to be drawn as sharp boxes.

On papers the symbol holds the code alone; on labels a message that names the copy too (``plant.messages``).
ISO/IEC 16022, square always, as old readers can't read the long forms; for owners ISO/IEC 18004.
"""

from __future__ import annotations

from collections.abc import Sequence

import zxingcpp

# Modules of quiet zone that the standards ask for on each side of a Data Matrix and of a QR code.
QUIET, QUIET_OF_QR = 1, 4


def data_matrix(text: str | bytes, *, is_gs1: bool = False) -> list[list[bool]]:
    """Dark modules of the symbol of a code or a message, row by row from the top; without the quiet zone.

    A GS1 message is told with its identifiers in brackets.

    Examples
    --------
    >>> modules = data_matrix("TW-26-000396-8")
    >>> len(modules), all(len(row) == len(modules) for row in modules), all(modules[-1])
    (16, True, True)
    """
    matrix = zxingcpp.BarcodeFormat.DataMatrix
    # An option that the writer does not know it passes over in silence, so none is told that isn't needed.
    more = {"gs1": True} if is_gs1 else {}
    return _modules(zxingcpp.create_barcode(text, matrix, force_square=True, **more))


def qr_code(text: str) -> list[list[bool]]:
    """Dark modules of a QR code with error correction Q (a quarter may be lost), as labels get dirty."""
    return _modules(zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="Q"))


def dark_runs(row: Sequence[bool]) -> list[tuple[int, int]]:
    """Stretches of dark modules in a row, each from where it begins to behind its end.

    Examples
    --------
    >>> dark_runs([True, True, False, True])
    [(0, 2), (3, 4)]
    """
    found, start = [], None
    for x, is_dark in enumerate([*row, False]):
        if is_dark and start is None:
            start = x
        elif not is_dark and start is not None:
            found.append((start, x))
            start = None
    return found


def _modules(symbol: zxingcpp.Barcode) -> list[list[bool]]:
    image = symbol.to_image(scale=1, add_quiet_zones=False)
    high, wide = image.shape
    dark = memoryview(image)  # type: ignore[arg-type]  # it is a buffer, its stub does not say so
    return [[dark[y, x] == 0 for x in range(wide)] for y in range(high)]
