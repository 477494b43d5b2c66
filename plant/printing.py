"""A label sent to a printer by IPP (RFC 8010 and RFC 8011).

It goes as PDF in a Print-Job, so any printer or print server that speaks IPP and takes PDF will do. Numbers of
operations, tags and states are those of the two RFCs, from memory.
"""

from __future__ import annotations

import http.client
from struct import pack
from urllib.parse import SplitResult, urlsplit

from records.ledger.refusals import Refused

PRINT_JOB, OPERATION, JOB, END = 0x0002, 0x01, 0x02, 0x03
KEYWORD, NAME, URI, CHARSET, LANGUAGE, MEDIA_TYPE = 0x44, 0x42, 0x45, 0x47, 0x48, 0x49
PORT, PATIENCE_S = 631, 8.0
# The most that a printer's answer is read of; its state stands in the first eight bytes.
LONGEST_ANSWER = 65_536


def send_pdf(file: bytes, *, address: str, printer: str, job: str, by: str) -> None:
    """Send a PDF to a printer. Refuses ``printer`` where it does not answer or does not take it."""
    told = read_address(address)
    secure = told.scheme == "ipps"
    connection_class = http.client.HTTPSConnection if secure else http.client.HTTPConnection
    connection = connection_class(told.hostname or "", told.port or PORT, timeout=PATIENCE_S)
    try:
        head = {"Content-Type": "application/ipp", "Accept": "application/ipp"}
        connection.request("POST", told.path or "/", print_job(address, file, job=job, by=by), head)
        answer = connection.getresponse()
        body = answer.read(LONGEST_ANSWER)
    except (OSError, http.client.HTTPException) as wrong:
        words = "%(printer)s does not answer. Take the file, or choose another printer."
        raise Refused("printer", words, printer=printer) from wrong
    finally:
        connection.close()
    status = int.from_bytes(body[2:4], "big") if len(body) >= 8 else -1
    if answer.status != 200 or not 0 <= status <= 0x00FF:
        told_status = f"{status:#06x}" if status >= 0 else str(answer.status)
        words = "%(printer)s did not take the label (%(status)s). Look at it, or take the file."
        raise Refused("printer", words, printer=printer, status=told_status)


def print_job(address: str, file: bytes, *, job: str, by: str) -> bytes:
    """A Print-Job of IPP 1.1 that holds a PDF, printed at its own size."""
    head = pack(">BBHI", 1, 1, PRINT_JOB, 1) + bytes([OPERATION])
    head += _attribute(CHARSET, "attributes-charset", "utf-8")
    head += _attribute(LANGUAGE, "attributes-natural-language", "en")
    head += _attribute(URI, "printer-uri", address)
    head += _attribute(NAME, "requesting-user-name", by)
    head += _attribute(NAME, "job-name", job)
    head += _attribute(MEDIA_TYPE, "document-format", "application/pdf")
    head += bytes([JOB]) + _attribute(KEYWORD, "print-scaling", "none")
    return head + bytes([END]) + file


def _attribute(tag: int, name: str, value: str) -> bytes:
    key, told = name.encode("ascii"), value.encode("utf-8")[:255]
    return pack(">BH", tag, len(key)) + key + pack(">H", len(told)) + told


def read_address(text: str) -> SplitResult:
    """The IPP address of a printer. Refuses ``wrong-kind``."""
    try:
        told = urlsplit(text.strip())
        is_one = told.scheme in ("ipp", "ipps") and bool(told.hostname) and (told.port or PORT) > 0
    except ValueError:
        is_one = False
    if not is_one:
        raise Refused(
            "wrong-kind", "A printer's address is written as ipp://HOST:631/ipp/print, not %(text)s.", text=text
        )
    return told
