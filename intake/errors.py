"""The errors a user may meet. Each says what happened, to which file, and what to do.

IntakeError
  ShopError            the shop folder, its config or its lock
  CaptureError         a recording, photo or transcript that cannot be used
  ModelError           the recognizer's weights are missing, damaged or unusable
  VocabularyError      a vocabulary file that breaks its grammar
  RecordsError         the database
    NewerDatabaseError it was written by a newer version of this program
    NotFoundError      no such walk, unit or photo
  UsageError           what was asked for makes no sense (the command's words are off)
"""

from __future__ import annotations

from pathlib import Path


class IntakeError(Exception):
    """Root of all errors meant for the user; `path` is the file at fault, if there is one."""

    def __init__(self, message: str, *, path: Path | str | None = None, hint: str = "") -> None:
        self.path = path
        self.hint = hint
        super().__init__(message)

    def __str__(self) -> str:
        where = f"{self.path!s}: " if self.path is not None else ""
        todo = f" {self.hint}" if self.hint else ""
        return f"{where}{self.args[0]}{todo}"


class ShopError(IntakeError):
    """The shop folder cannot be used: not there, not writable, locked by another run."""


class CaptureError(IntakeError):
    """A file of a capture cannot be used; the rest of the walk can."""


class ModelError(IntakeError):
    """The recognizer's weights are missing, damaged or cannot be loaded."""


class VocabularyError(IntakeError):
    """A vocabulary file breaks its grammar."""


class RecordsError(IntakeError):
    """The database cannot do what was asked."""


class NewerDatabaseError(RecordsError):
    """The database was written by a newer version of this program."""


class NotFoundError(RecordsError):
    """No walk, unit or photo goes by that name."""


class UsageError(IntakeError):
    """The words of a command make no sense together."""
