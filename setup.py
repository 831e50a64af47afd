"""Says which folders make up the package; all else stands in pyproject.toml.

The words in `vocab/` and the schema in `shared/` lie at the top of the repository, where people look
for them, and are installed inside the package. A found list of packages cannot hold such a mapping, and
a written one would miss the next new folder, so both are put together here.
"""

from pathlib import Path

from setuptools import find_packages, setup

setup(
    packages=[
        *find_packages(include=["intake", "intake.*"]),
        "intake._shared",
        "intake._vocab",
        *(f"intake._vocab.{folder.name}" for folder in sorted(Path("vocab").iterdir()) if folder.is_dir()),
    ],
    package_dir={"intake._vocab": "vocab", "intake._shared": "shared"},
)
