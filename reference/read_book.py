"""Reads a book without the program: nothing but Python's standard library.

    python3 reference/read_book.py FILE...

FILE is a `book.sqlite`, a book's folder, an exported archive (`.tar`) or a `log.jsonl`. For each,
one line of JSON is printed: how many entries there are, the hash of the last, how many of each
kind, how many parts, and how many photos were found to be what their entries say (where there are
photos). The chain is reckoned anew from the text; the first thing that is wrong ends it, with
exit code 1. Meant as the proof that a record can be read in twenty years, from docs/book.md
alone.
"""

import contextlib
import hashlib
import json
import pathlib
import sqlite3
import sys
import tarfile

START = "0" * 64
MARK = ',"hash":"'
ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}


class Wrong(Exception):
    """What is wrong with a book."""


def chain(lines):
    """Each line's JSON, with its hash and its place reckoned anew."""
    before = START
    for number, line in enumerate(lines, 1):
        said, mark, rest = line.rpartition(MARK)
        if not mark or len(rest) != 66 or not rest.endswith('"}'):
            raise Wrong(f"line {number} does not end with its hash")
        digest = hashlib.sha256(said.encode("utf-8")).hexdigest()
        if digest != rest[:64]:
            raise Wrong(f"line {number} was altered")
        entry = json.loads(line)
        if entry["seq"] != number:
            raise Wrong(f"line {number} is entry {entry['seq']}")
        if entry["before"] != before:
            raise Wrong(f"line {number} does not follow the one before")
        # What stands for a lost entry hands on the hash of the one that was lost.
        lost = entry["body"].get("hash") if entry["kind"] == "lost" else None
        before = lost or digest
        yield entry


def struck(entries):
    """The numbers that do not count: struck by a strike that is not itself struck."""
    gone = set()
    # A strike only names what came before it, so the last ones are settled first.
    for entry in reversed(entries):
        if entry["kind"] == "strike" and entry["seq"] not in gone:
            gone.add(entry["body"]["seq"])
    return gone


def told(lines, photo_bytes):
    """What is said of one book. `photo_bytes` gives a photo's file, or None."""
    entries = list(chain(lines))
    kinds, parts, photos = {}, set(), {"named": 0, "right": 0}
    gone = struck(entries)
    for entry in entries:
        kind, body = entry["kind"], entry["body"]
        kinds[kind] = kinds.get(kind, 0) + 1
        if kind == "part" and entry["seq"] not in gone:
            parts.add(body["part"])
        if kind == "photo":
            photos["named"] += 1
            sha = body["sha256"]
            file = photo_bytes(f"{sha[:2]}/{sha}.{ENDINGS[body['media']]}")
            if file is not None and hashlib.sha256(file).hexdigest() == sha:
                photos["right"] += 1
    return {
        "entries": len(entries),
        "last": entries[-1]["hash"] if entries else START,
        "kinds": dict(sorted(kinds.items())),
        "parts": len(parts),
        "struck": len(gone),
        "photos": photos,
    }


def read_lines(text):
    """A text's lines; only the line feed ends one."""
    if text and not text.endswith("\n"):
        raise Wrong("the last line does not end")
    return text.split("\n")[:-1]


def in_folder(folder):
    def photo(name):
        path = folder / "photos" / name
        return path.read_bytes() if path.is_file() else None

    return photo


def read(path):
    if path.is_dir():
        path = path / "book.sqlite"
    if path.suffix == ".sqlite":
        uri = f"{path.resolve().as_uri()}?mode=ro"
        with contextlib.closing(sqlite3.connect(uri, uri=True)) as db:
            rows = db.execute("SELECT line FROM entry ORDER BY seq")
            return told((line for (line,) in rows), in_folder(path.parent))
    if path.suffix == ".tar":
        with tarfile.open(path) as tar:
            names = set(tar.getnames())
            text = tar.extractfile("log.jsonl").read().decode("utf-8")

            def photo(name):
                name = f"photos/{name}"
                return tar.extractfile(name).read() if name in names else None

            return told(read_lines(text), photo)
    return told(read_lines(path.read_bytes().decode("utf-8")), in_folder(path.parent))


def main(names):
    if not names:
        print(__doc__, file=sys.stderr)
        return 2
    for name in names:
        try:
            print(json.dumps(read(pathlib.Path(name))))
        except (Wrong, OSError, sqlite3.Error, tarfile.TarError, ValueError, KeyError) as why:
            print(f"{name}: {why}", file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
