"""An independent reader of EDTF: edtf-validate 2.0.0 (BSD), by the specification's levels.

It is written for an older pyparsing and warns on import and use; only those warnings are hidden.
"""

from __future__ import annotations

import warnings

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    from edtf_validate import valid_edtf  # type: ignore[import-untyped]


def is_edtf(text: str, level: int | None = None) -> bool:
    """Return whether a text is EDTF of this level, or of any."""
    names = {
        None: "is_valid",
        0: "conformsLevel0",
        1: "conformsLevel1",
        2: "conformsLevel2",
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return bool(getattr(valid_edtf, names[level])(text))
