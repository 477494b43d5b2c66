"""The Data Matrix of a code: the modules as a plain table, so that they are drawn as sharp boxes.

On papers the symbol holds the code alone; on labels a message of bytes that names the copy too (``plant.scans``).
ISO/IEC 16022; square always, as old readers can't read the long forms.
"""

from __future__ import annotations

import zxingcpp

# Modules of quiet zone that the standard asks for on each side.
QUIET = 1


def data_matrix(text: str | bytes) -> list[list[bool]]:
    """Dark modules of the symbol of a code or a message, row by row from the top; without the quiet zone.

    Examples
    --------
    >>> modules = data_matrix("TW-26-000396-8")
    >>> len(modules), all(len(row) == len(modules) for row in modules), all(modules[-1])
    (16, True, True)
    """
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, force_square=True)
    image = symbol.to_image(scale=1, add_quiet_zones=False)
    high, wide = image.shape
    dark = memoryview(image)  # type: ignore[arg-type]  # it is a buffer, its stub does not say so
    return [[dark[y, x] == 0 for x in range(wide)] for y in range(high)]
