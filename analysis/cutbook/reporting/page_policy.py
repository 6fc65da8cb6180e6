"""Keep a page to itself: its content policy, and data that cannot leave their script element."""

from __future__ import annotations

import base64
import hashlib
import json
from typing import Any


def json_in_page(data: Any) -> str:
    """JSON that can stand inside a script element: no <, > or & in it, so no end tag and no entity."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def policy(scripts: list[str], css: str) -> str:
    """The content policy: these scripts and this style, pictures from within, and nothing else."""

    def hashed(text: str) -> str:
        digest = hashlib.sha256(text.encode("utf-8")).digest()
        return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"

    return (
        f"default-src 'none'; script-src {' '.join(map(hashed, scripts))}; style-src {hashed(css)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
