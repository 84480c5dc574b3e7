"""Files written whole or not at all (layer: outputs).

Public entry points: `write_new`, `replace_file`.
"""

from __future__ import annotations

import os
import stat
import tempfile
from pathlib import Path

from bedplan.errors import OutputError


def write_new(path: Path, data: bytes) -> None:
    """Write a file that must not exist yet.

    Raises
    ------
    OutputError
        If it exists, or cannot be written.
    """
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError:
        message = f"{path} exists already; nothing was written. Choose another name or move it"
        raise OutputError(message) from None
    except OSError as error:
        raise _unwritten(path, error) from None


def replace_file(path: Path, data: bytes) -> None:
    """Write a file in one step: readers see the old one or the new one, never a part.

    An old file's permissions stay. A link stays a link: what it leads to is written.

    Raises
    ------
    OutputError
        If it cannot be written; an old file then stands as it was.
    """
    target = Path(os.path.realpath(path))
    try:
        mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else 0o644
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(name).chmod(mode)
            Path(name).replace(target)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise _unwritten(path, error) from None


def _unwritten(path: Path, error: OSError) -> OutputError:
    return OutputError(f"{path} cannot be written ({error.strerror}); nothing was changed")
