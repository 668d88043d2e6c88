"""What the pages of the language say of a code: read off the pages themselves, so that it is written once."""

from __future__ import annotations

import re
from functools import lru_cache

from circuitcheck.language.shipped import shipped


@lru_cache(maxsize=1)
def mistakes() -> dict[str, tuple[str, str]]:
    """What is wrong and how to fix it, for each code of a mistake."""
    rows = re.findall(r"^\| (CKT\d{3}) \| (.*?) \| (.*?) \|$", shipped("README.md"), re.MULTILINE)
    return {code: (what, mend) for code, what, mend in rows}


def sources_of_settings() -> dict[str, str]:
    """Where the values come from that each setting has in the named sets of rules."""
    rows = re.findall(r"^\| `(\w+)` \|(?: [^|]+ \|){3} ([^|]+) \| ", shipped("RULES.md"), re.MULTILINE)
    return dict(rows)


@lru_cache(maxsize=1)
def rules() -> dict[str, str]:
    """The section of the page of rules about each rule, in Markdown and without its heading."""
    parts = re.split(r"^#+ (.*)$", shipped("RULES.md"), flags=re.MULTILINE)
    return {title: text.strip() for title, text in zip(parts[1::2], parts[2::2], strict=True)}
