"""Static files as a plant serves them: scripts of the floor leave without their comments, a seventh of their weight."""

from __future__ import annotations

import re
from typing import Any

from django.core.files.base import ContentFile
from whitenoise.storage import CompressedManifestStaticFilesStorage

# A comment has its line to itself in these scripts, or follows the code and stays; none stands within a text.
COMMENT = re.compile(rb"^[ \t]*//[^\n]*\n", re.MULTILINE)
LEAN = "floor/"


def lean(script: bytes) -> bytes:
    """A script without the lines that hold a comment alone.

    >>> lean(b"// Why.\\nconst a = 1; // so\\n  // More.\\n")
    b'const a = 1; // so\\n'
    """
    return COMMENT.sub(b"", script)


class ServedFiles(CompressedManifestStaticFilesStorage):
    """Named by their content and compressed, as whitenoise does it; scripts of the floor are made lean before."""

    def _save(self, name: str, content: Any) -> str:
        if name.startswith(LEAN) and name.endswith(".js"):
            content = ContentFile(
                lean(b"".join(content.chunks())), name=name
            )  # from its beginning, wherever it was read to
        return super()._save(name, content)
