"""A curve packed for keeping and drawing: exact at the decimals written, small without any special library. No Django.

Each column apart: whole numbers at its declared decimals, first differences folded to unsigned, zlib with Huffman
coding only, which suits differences better than a dictionary (measured: within 4 % of their entropy).
"""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MAGIC = b"FTC1"
MOST_DECIMALS = 6
# In place of decimals: the column is kept as the floating numbers that it is.
AS_THEY_ARE = -1
# Whole numbers above this are not exact as floating numbers.
_MOST_STEPS = 2.0**52
# What rounding to decimals may change, as a share of all that the column moves.
_LOST = 1e-6


@dataclass(frozen=True)
class Curve:
    """Seconds since the first row, and channels by name; nan where there is no reading. [s; each channel's unit]"""

    seconds: Floats
    channels: dict[str, Floats]


def pack(curve: Curve) -> bytes:
    """Bytes of a curve.

    Examples
    --------
    >>> curve = Curve(np.array([0.0, 5.0]), {"TC1": np.array([21.5, np.nan])})
    >>> unpack(pack(curve)).channels["TC1"].tolist()
    [21.5, nan]
    """
    head, blocks = [], []
    for name, values in {"": curve.seconds, **curve.channels}.items():
        decimals, block = _pack_column(np.asarray(values, dtype=float))
        head.append([name, decimals, len(block)])
        blocks.append(block)
    told = json.dumps({"rows": len(curve.seconds), "columns": head}, separators=(",", ":")).encode()
    return MAGIC + struct.pack("<I", len(told)) + told + b"".join(blocks)


def unpack(packed: bytes) -> Curve:
    """Curve of packed bytes. Raises ValueError for bytes that are none."""
    if packed[:4] != MAGIC:
        raise ValueError("these bytes are no packed curve")
    (length,) = struct.unpack("<I", packed[4:8])
    told: Mapping = json.loads(packed[8 : 8 + length])
    at = 8 + length
    columns = {}
    for name, decimals, size in told["columns"]:
        columns[name] = _unpack_column(packed[at : at + size], decimals, told["rows"])
        at += size
    return Curve(columns.pop(""), columns)


def decimals_of(values: Floats) -> int:
    """Fewest decimals at which all finite values are whole, six at most."""
    finite = values[np.isfinite(values)]
    for decimals in range(MOST_DECIMALS):
        scaled = finite * 10.0**decimals
        if np.allclose(scaled, np.round(scaled), rtol=0, atol=1e-6):
            return decimals
    return MOST_DECIMALS


def _pack_column(values: Floats) -> tuple[int, bytes]:
    decimals = decimals_of(values)
    if not _fits(values, decimals):
        return AS_THEY_ARE, zlib.compress(values.astype("<f8").tobytes(), 9)
    there = np.isfinite(values)
    whole = np.round(np.where(there, values, 0.0) * 10.0**decimals).astype(np.int64)[there]
    steps = np.diff(whole, prepend=0)
    folded = ((steps << 1) ^ (steps >> 63)).astype("<u8")
    planes = folded.view(np.uint8).reshape(-1, 8).T if folded.size else np.zeros((8, 0), np.uint8)
    huffman = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_HUFFMAN_ONLY)
    return decimals, (
        struct.pack("<I", len(mask := zlib.compress(np.packbits(there).tobytes(), 9)))
        + mask
        + huffman.compress(planes.tobytes())
        + huffman.flush()
    )


def _fits(values: Floats, decimals: int) -> bool:
    """Whether whole numbers at these decimals hold a column: none is too large, and small ones are not rounded away."""
    finite = values[np.isfinite(values)]
    if not finite.size:
        return True
    scaled = finite * 10.0**decimals
    if np.abs(scaled).max() > _MOST_STEPS:
        return False
    lost = np.abs(np.round(scaled) - scaled).max() / 10.0**decimals
    return bool(lost <= _LOST * max(np.ptp(finite), np.abs(finite).max()))


def _unpack_column(block: bytes, decimals: int, rows: int) -> Floats:
    if decimals == AS_THEY_ARE:
        return np.frombuffer(zlib.decompress(block), "<f8").astype(np.float64)
    (length,) = struct.unpack("<I", block[:4])
    mask = np.frombuffer(zlib.decompress(block[4 : 4 + length]), np.uint8)
    there = np.unpackbits(mask, count=rows).astype(bool)
    planes = np.frombuffer(zlib.decompress(block[4 + length :], -15), np.uint8).reshape(8, -1)
    folded = np.ascontiguousarray(planes.T).view("<u8").reshape(-1)
    steps = (folded >> np.uint64(1)).astype(np.int64) ^ -(folded & np.uint64(1)).astype(np.int64)
    values = np.full(rows, np.nan)
    values[there] = np.cumsum(steps) / 10.0**decimals
    return values
