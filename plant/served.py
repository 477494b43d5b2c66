"""Static files as a plant serves them: scripts of the floor, and styles, leave without their comments."""

from __future__ import annotations

import re
from typing import Any

from django.core.files.base import ContentFile
from whitenoise.storage import CompressedManifestStaticFilesStorage

# A comment has its lines to itself in these files, or follows what it tells of and stays; none stands within a text.
COMMENTS = {
    ".js": re.compile(rb"^[ \t]*//[^\n]*\n", re.MULTILINE),
    ".css": re.compile(rb"^[ \t]*/\*(?:[^*]|\*(?!/))*\*/[ \t]*\n", re.MULTILINE),
}
LEAN = re.compile(r"floor/[\w-]+\.(?:js|css)|plant/[\w-]+\.css")


def lean(name: str, content: bytes) -> bytes:
    """A file as it is served: without the lines that hold comments alone, if it is one of our own.

    >>> lean("floor/a.js", b"// Why.\\nconst a = 1; // so\\n  // More.\\n")
    b'const a = 1; // so\\n'
    >>> lean("floor/a.css", b"/* Why,\\n   at length. */\\n.a { color: red; } /* so */\\n")
    b'.a { color: red; } /* so */\\n'
    >>> lean("vendor/a.js", b"// Licence.\\n")
    b'// Licence.\\n'
    """
    return COMMENTS["." + name.rpartition(".")[2]].sub(b"", content) if LEAN.fullmatch(name) else content


class ServedFiles(CompressedManifestStaticFilesStorage):
    """Named by their content and compressed, as whitenoise does it; our own are made lean before."""

    def _save(self, name: str, content: Any) -> str:
        if LEAN.fullmatch(name):
            whole = b"".join(content.chunks())  # from its beginning, wherever it was read to
            content = ContentFile(lean(name, whole), name=name)
        return super()._save(name, content)
