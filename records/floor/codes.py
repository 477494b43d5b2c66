"""What leaves a tablet as codes on its screen: lines that another tablet has read, put together again. No Django.

Each symbol holds one line: mark, set, number, how many, sum, and a piece, parted by points. A set is the first eight
signs of the SHA-256 of all pieces together, a sum the first four of that of its own piece. Letters and digits alone
stand in it, and none that keyboard layouts swap or eyes take for another (no I, O, Y, Z), so that a scanner set to
another language types it all the same. The pieces together are a file of the tablet, deflated (RFC 1950).
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

from records.ledger.refusals import Refused

MARK = "FTC"
SIGNS = "0123456789ABCDEFGHJKLMNPQRSTUVWX"
PLAINLY = str.maketrans(SIGNS, "0123456789abcdefghijklmnopqrstuv")  # as Python writes numbers of base 32
LINE = re.compile(rf"{MARK}\.([0-9A-F]{{8}})\.(\d{{1,4}})\.(\d{{1,4}})\.([0-9A-F]{{4}})\.([{SIGNS}]+)")
# A file so long is no tablet's: it would take thousands of symbols.
MOST_BYTES = 20_000_000


@dataclass(frozen=True)
class Piece:
    """One line: of which set, which of how many, and what it holds."""

    of: str
    n: int
    many: int
    text: str


def read_piece(line: str) -> Piece:
    """One line as it was scanned. Refuses ``malformed`` for another code, or one that was read wrong."""
    match = LINE.fullmatch("".join(line.split()).upper())
    if match is None:
        raise Refused("malformed", "“%(line)s” is no code of a tablet’s screen. Scan it once more.", line=line[:24])
    of, n, many, sum_of, text = match[1], int(match[2]), int(match[3]), match[4], match[5]
    if not 1 <= n <= many or _sum(text, 4) != sum_of:
        raise Refused("malformed", "Code %(n)s was read wrong. Scan it once more.", n=n)
    return Piece(of, n, many, text)


def file_of_lines(lines: Iterable[str]) -> bytes:
    """The file that the lines of all symbols make, in whatever order they were read, each as often as may be.

    Refuses ``malformed`` with what is missing or does not belong.
    """
    pieces = [read_piece(line) for line in lines if line.strip()]
    if not pieces:
        raise Refused("malformed", "Scan the codes on the other tablet’s screen first.")
    sets = {(piece.of, piece.many) for piece in pieces}
    if len(sets) > 1:
        raise Refused("malformed", "These codes are of two tablets, or of two moments. Begin again with one of them.")
    ((of, many),) = sets
    texts = {piece.n: piece.text for piece in pieces}
    missing = [str(n) for n in range(1, many + 1) if n not in texts]
    if missing:
        raise Refused("malformed", "Not all were read. Missing: %(missing)s.", missing=", ".join(missing))
    whole = "".join(texts[n] for n in range(1, many + 1))
    if _sum(whole, 8) != of:
        raise Refused("malformed", "The codes do not fit together. Show them once more and scan them again.")
    return _inflated(bytes_of(whole))


def bytes_of(text: str) -> bytes:
    """Bytes of a text of five bits a sign; what is left of the last sign is nothing.

    Examples
    --------
    >>> bytes_of("D1JNQT3F")
    b'hello'
    """
    length = len(text) * 5 // 8
    value = int(text.translate(PLAINLY) or "0", 32)
    return (value >> (len(text) * 5 - length * 8)).to_bytes(length, "big")


def _inflated(raw: bytes) -> bytes:
    unpacking = zlib.decompressobj()
    try:
        told = unpacking.decompress(raw, MOST_BYTES)
    except zlib.error as wrong:
        raise Refused("malformed", "The codes can't be read. Show them once more and scan them again.") from wrong
    if not unpacking.eof:
        raise Refused("malformed", "The codes can't be read. Show them once more and scan them again.")
    return told


def _sum(text: str, signs: int) -> str:
    return sha256(text.encode()).hexdigest()[:signs].upper()
