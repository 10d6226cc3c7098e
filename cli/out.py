"""What leaves the command: lines to the terminal, and files that appear whole or not at all.

The answer's lines are held back until its exit code is known, so that a reader who leaves or a disk that is full can
change neither. Everything said is cleaned for a terminal on its way.

* set      - the files of one answer: all of them appear, or none
* own file - one that an earlier run of the same verb wrote into the folder, and that nobody has changed since: the
             folder's list of files (`LIST`) says which. Where it no longer holds it is taken away; nothing else ever is
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import io
import json
import os
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, MutableMapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from clearance_cli import stop

from clearance import opener, plain
from clearance.errors import FileError, OutputError
from clearance.words.fold import folded

# ---- lines


class Held(io.StringIO):
    """Standard output, held back until the exit code is known."""

    def __init__(self, real: Any) -> None:
        super().__init__()
        self.real = real


def say(text: str = "") -> None:
    """A line of the answer, or several; in a terminal none is longer than it is wide."""
    shown = plain.terminal(text)
    _put(sys.stdout, (folded(shown, _width()) if _is_terminal(sys.stdout) else shown) + "\n")


def question(text: str, *, room: int = 16) -> str:
    """What a person is asked, folded so that at least `room` signs of an answer stand behind it on its last line."""
    shown = plain.terminal(text)
    # the colon is put behind it last: a fold could take it to a line of its own, where its blank is lost
    return f"{folded(shown, _width() - room) if _is_terminal(sys.stdout) else shown}: "


def _is_terminal(stream: Any) -> bool:
    return stream is not None and stream.isatty()


def _width() -> int:
    """Of the terminal that is written to, whatever the surroundings say of another."""
    try:
        # a terminal that does not know its width says 0
        return os.get_terminal_size(sys.stdout.fileno()).columns or shutil.get_terminal_size().columns
    except (OSError, ValueError):
        return shutil.get_terminal_size().columns


def show(answer: Any) -> None:
    """One JSON object and nothing else."""
    _put(sys.stdout, plain.json_text(answer) + "\n")


def note(text: str) -> None:
    """A line beside the answer: on stderr, and lost where nobody hears it."""
    with contextlib.suppress(OSError, ValueError):
        shown = plain.terminal(text)
        _put(sys.stderr, (folded(shown, _width()) if _is_terminal(sys.stderr) else shown) + "\n")


def _put(stream: Any, text: str) -> None:
    if stream is None:
        return
    encoding = getattr(stream, "encoding", None) or "utf-8"
    # a terminal of few letters shows the others by their number
    stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
    stream.flush()


def speak_now() -> None:
    """What was held back is said, and the rest as it comes: somebody is asked something."""
    if isinstance(sys.stdout, Held):
        held, sys.stdout = sys.stdout, sys.stdout.real
        sys.stdout.write(held.getvalue())
        sys.stdout.flush()
        held.truncate(0)


# ---- files

LIST = ".clearance-files.json"
"""The folder's list of the files that were written into it, by verb."""
_FORMAT = "clearance-files/1"
_PART = ".part"
_MOST_LISTED = 10_000

_TROUBLE = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is full",
    errno.EFBIG: "the disk takes no file so large",
    errno.EROFS: "it can only be read",
    errno.EACCES: "your account has no right to write here",
    errno.EPERM: "your account has no right to write here",
    errno.ENOTDIR: "what should be a folder is a file",
    errno.EEXIST: "what should be a folder is a file",
    errno.EISDIR: "what should be a file is a folder",
    errno.ENAMETOOLONG: "the name is longer than a file's name can be",
    errno.ELOOP: "it is a link that leads back to itself",
    errno.EIO: "the disk reports a fault",
    errno.EINVAL: "no file can have such a name",
}


Content = bytes | Callable[[], Iterator[bytes]]
"""Of a file: all of it, or what makes it piece by piece."""


def write_all(
    folder: Path, files: Mapping[str, Content], *, of: str = "", beside: Mapping[Path, bytes] | None = None
) -> list[Path]:
    """Write every file of one answer into `folder`, or none of them.

    With `of`, the verb whose answer the folder holds, files that an earlier run of it wrote there and that are not
    among these are taken away; one that was edited since is left, and named. Files `beside` it belong to the same
    answer and stand in folders of their own.

    Raises OutputError where the folder or a file cannot be written; nothing is changed then.
    """
    return _written_sets([_Set(folder=folder, files=files, of=of), *_sets_of(beside or {})])


def write_places(files: Mapping[Path, bytes]) -> list[Path]:
    """Write every file of one answer to its own place, in whatever folders they are, or none of them.

    Raises OutputError where one cannot be written; nothing is changed then.
    """
    return _written_sets(_sets_of(files))


def write_answer(
    folder: Path | None, files: Mapping[str, Content], *, of: str, beside: Mapping[Path, bytes] | None = None
) -> list[Path]:
    """The files of one answer: into the folder where one was asked for, and those `beside` it, or none of them."""
    return write_places(beside or {}) if folder is None else write_all(folder, files, of=of, beside=beside)


def ready(folder: Path) -> None:
    """Refuses a folder that nothing can be written into, before anything is measured for it; leaves it as it is.

    Raises OutputError. A disk that is full by the time says so when the files are written.
    """
    at = folder
    try:
        while not os.path.lexists(at) and at != at.parent:
            at = at.parent
        with stop.held():
            os.rmdir(tempfile.mkdtemp(prefix=".clearance-", suffix=_PART, dir=at))
    except (OSError, ValueError) as trouble:
        raise OutputError(f"{folder}: cannot write here ({_why(trouble)}). Nothing was changed.") from None


def ready_place(place: Path) -> None:
    """The same of a file's own place: its folder, and what stands there. Raises OutputError."""
    ready(place.parent)
    _hold_places(place.parent, {place.name: b""})


def _sets_of(files: Mapping[Path, bytes]) -> list[_Set]:
    by_folder: dict[Path, dict[str, bytes]] = {}
    for place, content in files.items():
        by_folder.setdefault(place.parent, {})[place.name] = content
    return [_Set(folder=folder, files=some) for folder, some in by_folder.items()]


@dataclass(slots=True, kw_only=True)
class _Set:
    """What goes into one folder, and what it did there."""

    folder: Path
    files: Mapping[str, Content]
    of: str = ""
    made: list[Path] = field(default_factory=list)
    """Folders that were made for it, the outermost first."""
    aside: Path = Path()
    whole: dict[str, Content] = field(default_factory=dict)
    """The files, and the folder's list."""
    stale: dict[str, str] = field(default_factory=dict)
    done: list[str] = field(default_factory=list)
    gone: list[str] = field(default_factory=list)


def _written_sets(sets: list[_Set]) -> list[Path]:
    at = sets[0].folder if sets else Path()
    try:
        with contextlib.ExitStack() as stack:
            for one in sets:
                at = one.folder
                _laid_ready(one, stack)
            with stop.held():
                _changed_over(sets)
    except (OSError, ValueError) as trouble:
        _take_away(sets)
        raise OutputError(f"{at}: cannot write here ({_why(trouble)}). Nothing was changed.") from None
    except OutputError:
        _take_away(sets)
        raise
    for one in sets:
        _tell_of(one)
    return [one.folder / name for one in sets for name in one.files]


def _laid_ready(one: _Set, stack: contextlib.ExitStack) -> None:
    """Everything whole and on the disk, beside the places where it belongs."""
    one.made = _missing_folders(one.folder)
    stack.enter_context(stop.undone_by(lambda: _take_away([one])))
    one.folder.mkdir(parents=True, exist_ok=True)
    alone = stack.enter_context(_alone_in(one.folder))
    one.aside = stack.enter_context(_aside(one.folder, alone=alone))
    lists = _listed(one.folder) if one.of else {}
    one.stale = {name: told for name, told in lists.get(one.of, {}).items() if name not in one.files}
    one.whole = dict(one.files)
    _hold_places(one.folder, [*one.files, *([LIST] if one.of else [])])
    sums = {name: _write(one.aside / "new" / name, content) for name, content in one.files.items()}
    if one.of:
        one.whole[LIST] = _list_of(lists, one.of, sums)
        _write(one.aside / "new" / LIST, one.whole[LIST])


def _why(trouble: Exception) -> str:
    number = trouble.errno if isinstance(trouble, OSError) else errno.EINVAL
    return _TROUBLE.get(number or 0, "the system refuses it")


def _missing_folders(folder: Path) -> list[Path]:
    """The folders on the way that are not there yet, the outermost first."""
    missing = []
    with contextlib.suppress(OSError, ValueError):
        for one in (folder, *folder.parents):
            if one.exists():
                break
            missing.append(one)
    return missing[::-1]


def _take_away(sets: list[_Set]) -> None:
    """Folders that were made for nothing, as far as nobody has put anything into them."""
    for one in sets:
        with contextlib.suppress(OSError):
            for folder in reversed(one.made):
                folder.rmdir()


@contextlib.contextmanager
def _alone_in(folder: Path) -> Iterator[bool]:
    """Two runs into one folder change it one after the other, so that it holds the whole set of one of them.

    Gives whether that is sure: some systems and some disks know no such lock.
    """
    handle = _locked(folder)
    try:
        yield handle is not None
    finally:
        if handle is not None:
            os.close(handle)


def _locked(folder: Path) -> int | None:
    """A handle that holds a folder until it is closed; None where there is no such thing."""
    try:
        import fcntl
    except ImportError:
        return None
    handle = None
    try:
        handle = os.open(folder, os.O_RDONLY)
        fcntl.flock(handle, fcntl.LOCK_EX)
    except OSError:
        if handle is not None:
            os.close(handle)
        return None
    return handle


@contextlib.contextmanager
def _aside(folder: Path, *, alone: bool) -> Iterator[Path]:
    """A folder beside the places of the files, for what is not whole yet; gone at the end, however that comes.

    What stands there already was left by a run that was killed outright, and is taken away too.
    """
    for left in folder.glob(f".clearance-*{_PART}") if alone else ():
        if left.is_dir() and not left.is_symlink():
            shutil.rmtree(left, ignore_errors=True)
    with contextlib.ExitStack() as stack:
        with stop.held():
            aside = Path(tempfile.mkdtemp(prefix=".clearance-", suffix=_PART, dir=folder))
            stack.enter_context(stop.undone_by(lambda: shutil.rmtree(aside, ignore_errors=True)))
        stack.callback(shutil.rmtree, aside, ignore_errors=True)
        (aside / "new").mkdir()
        (aside / "old").mkdir()
        yield aside


def _hold_places(folder: Path, files: Iterable[str]) -> None:
    """Refuses a place where something stands that no file may replace."""
    for name in files:
        place = folder / name
        if place.name != name or place.parent != folder or name in (".", ".."):
            raise OutputError(f"{place}: this is no name for a file. Nothing was changed.")
        try:
            kind = place.stat().st_mode
        except OSError:
            continue
        if stat.S_ISDIR(kind):
            raise OutputError(f"{place}: a folder stands where a file would be written. Nothing was changed.")
        if not stat.S_ISREG(kind):
            raise OutputError(f"{place}: this is a device or a pipe and no file. Nothing was changed.")


def _pieces(content: Content) -> Iterator[bytes]:
    return iter((content,)) if isinstance(content, bytes) else content()


def _write(place: Path, content: Content) -> str:
    """Write a file, and tell its content from any other."""
    told = hashlib.sha256()
    with open(place, "wb") as stream:
        for piece in _pieces(content):
            told.update(piece)
            stream.write(piece)
        stream.flush()
        # a disk that is full may say so only here
        os.fsync(stream.fileno())
    return told.hexdigest()


def _changed_over(sets: list[_Set]) -> None:
    """Every file into its place, and away with what no longer holds: all of it, or none."""
    try:
        for one in sets:
            for name in one.whole:
                place, old = one.folder / name, one.aside / "old" / name
                _kept(place, old)
                one.done.append(name)
                os.replace(one.aside / "new" / name, place)
            for name, told in one.stale.items():
                place = one.folder / name
                if _sum_of(place) == told:
                    os.replace(place, one.aside / "old" / name)
                    one.done.append(name)
                    one.gone.append(name)
    except OSError:
        for one in reversed(sets):
            for name in reversed(one.done):
                _put_back(one.folder / name, one.aside / "old" / name)
        raise


def _kept(place: Path, old: Path) -> None:
    """Keep what stands in a place until the whole set has changed over."""
    if not os.path.lexists(place):
        return
    try:
        # a second name for the old file, so that the place is never empty
        os.link(place, old, follow_symlinks=False)
    except (OSError, NotImplementedError):
        os.replace(place, old)


def _put_back(place: Path, old: Path) -> None:
    with contextlib.suppress(OSError):
        if os.path.lexists(old):
            os.replace(old, place)
        else:
            place.unlink(missing_ok=True)


def _sum_of(place: Path) -> str:
    """What tells a file's content from any other; empty where it is no plain file any more."""
    try:
        return hashlib.sha256(opener.bytes_of(place, most=2**32)).hexdigest() if not place.is_symlink() else ""
    except FileError:
        return ""


def _listed(folder: Path) -> dict[str, dict[str, str]]:
    """The folder's list: verb, name, sum of its content. What cannot be read counts as no list: nothing is taken."""
    try:
        found = opener.json_value(opener.text_of(folder / LIST))
    except (FileError, opener.NotJson):
        return {}
    runs = found.get("runs") if isinstance(found, dict) and found.get("format") == _FORMAT else None
    if not isinstance(runs, dict):
        return {}
    lists: dict[str, dict[str, str]] = {}
    for verb, names in runs.items():
        if isinstance(names, dict) and len(names) <= _MOST_LISTED:
            # a name that leads out of the folder was never ours
            lists[verb] = {n: s for n, s in names.items() if isinstance(s, str) and Path(n).name == n and n != LIST}
    return lists


def _list_of(lists: Mapping[str, Mapping[str, str]], of: str, sums: Mapping[str, str]) -> bytes:
    runs = {verb: {n: s for n, s in names.items() if n not in sums} for verb, names in lists.items() if verb != of}
    runs[of] = dict(sums)
    kept = {verb: dict(sorted(names.items())) for verb, names in sorted(runs.items()) if names}
    return (json.dumps({"format": _FORMAT, "runs": kept}, indent=1) + "\n").encode()


def _tell_of(one: _Set) -> None:
    if one.gone:
        note(f"{one.folder}: taken away, since this answer has no such file: {', '.join(sorted(one.gone))}.")
    left = sorted(name for name in one.stale if name not in one.gone and os.path.lexists(one.folder / name))
    if left:
        note(f"{one.folder}: of an earlier answer and edited since, so they were left: {', '.join(left)}.")


# ---- what was finished of long work


class Kept(MutableMapping[str, str]):
    """Finished pieces of long work by their names, in a folder beside its answer; each appears whole or not at all."""

    def __init__(self, out: Path) -> None:
        self._folder = out / KEPT

    def __getitem__(self, name: str) -> str:
        try:
            return opener.text_of(self._place(name), most=_MOST_PIECE)
        except FileError:
            raise KeyError(name) from None

    def __setitem__(self, name: str, text: str) -> None:
        write_places({self._place(name): text.encode()})

    def __delitem__(self, name: str) -> None:
        with contextlib.suppress(OSError):
            self._place(name).unlink()

    def __iter__(self) -> Iterator[str]:
        return (place.stem for place in sorted(self._folder.glob(f"*{_PIECE}")))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def only(self, names: Iterable[str]) -> None:
        """Take away what belongs to no piece of these."""
        wanted = set(names)
        for name in list(self):
            if name not in wanted:
                del self[name]

    def _place(self, name: str) -> Path:
        return self._folder / f"{name}{_PIECE}"


KEPT = "finished"
"""The folder of pieces."""
_PIECE = ".piece"
_MOST_PIECE = 2**30


# ---- progress


class Progress:
    """Says on stderr what is going on, for work that takes over a second; silent before that.

    Call it with (done, total, what); on a terminal the line is rewritten in place.
    """

    def __init__(self, *, quiet: bool = False) -> None:
        self._start = time.monotonic()
        self._last = self._start
        self._quiet = quiet
        self._shown = False

    def __call__(self, done: int, total: int, what: str) -> None:
        """Say how many of the total are done, in whatever is counted; at most a few times a second."""
        now = time.monotonic()
        pause = 0.2 if self._on_terminal() else 2.0
        if self._quiet or now - self._start < 1.0 or (self._shown and now - self._last < pause):
            return
        self._last = now
        line = plain.visible(f"{what}: {done} of {total}, {now - self._start:.0f} s")
        self._tell(f"\r\x1b[K{line}" if self._on_terminal() else line + "\n")
        self._shown = True

    def close(self) -> None:
        """Leave the line clean."""
        if self._shown and self._on_terminal():
            self._tell("\r\x1b[K")

    def _on_terminal(self) -> bool:
        return sys.stderr is not None and sys.stderr.isatty()

    def _tell(self, text: str) -> None:
        # who closed stderr wants no progress, and no fault instead of an answer either
        with contextlib.suppress(OSError, ValueError):
            _put(sys.stderr, text)
