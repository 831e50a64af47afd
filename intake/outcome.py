"""What a run did, file by file, told once at the end; it decides the exit code."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

EXIT_DONE = 0  # all went well
EXIT_FAILED = 1  # nothing could be done
EXIT_USAGE = 2  # the command's words were off
EXIT_PARTLY = 3  # done, but some file could not be used


@dataclass
class Outcome:
    """What went well (`done`), what a person should look at (`flagged`), what failed (`failed`: name, reason)."""

    done: list[str] = field(default_factory=list)
    flagged: list[tuple[str, str]] = field(default_factory=list)
    failed: list[tuple[str, str]] = field(default_factory=list)

    @property
    def exit_code(self) -> int:
        """0 when nothing failed, 3 when something did but not all, 1 when nothing went well."""
        if not self.failed:
            return EXIT_DONE
        return EXIT_PARTLY if self.done else EXIT_FAILED

    def to_dict(self) -> dict[str, Any]:
        """Plain data for `--json`."""
        return {
            "done": self.done,
            "flagged": [list(f) for f in self.flagged],
            "failed": [{"file": name, "reason": reason} for name, reason in self.failed],
            "exit_code": self.exit_code,
        }
