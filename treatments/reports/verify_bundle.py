"""Check an inspection bundle: python3 -I verify.py [--key FINGERPRINT] [FOLDER OR ZIP]

Needs Python 3.10 or newer and nothing else; it shares no code with the server that made the bundle.
Exit codes: 0 all right; 1 something differs; 3 all right, but by no key you named.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import io
import json
import sys
import zipfile
from pathlib import Path
from typing import Any

# Ed25519 as RFC 8032 5.1 defines it: the curve -x^2 + y^2 = 1 + d x^2 y^2 over 2^255 - 19.
P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT_OF_MINUS_ONE = pow(2, (P - 1) // 4, P)
Point = tuple[int, int, int, int]  # extended coordinates x, y, z, t with x/z, y/z, t = xy/z
PARTS_OF_A_LEAF = {"seq", "event", "record_id", "actor", "at", "payload"}
READING = (ValueError, KeyError, TypeError, AttributeError, IndexError, OSError, zipfile.BadZipFile)
LOST = "Signed from here by a key the old one did not vouch for; it is said to be lost since"
FORMULAS = ("=", "+", "-", "@", "\t", "\r")


class Differs(Exception):
    """Something that is not as it must be, in a sentence."""


def add(one: Point, other: Point) -> Point:
    """RFC 8032 5.1.4."""
    a = (one[1] - one[0]) * (other[1] - other[0]) % P
    b = (one[1] + one[0]) * (other[1] + other[0]) % P
    c = 2 * one[3] * other[3] * D % P
    d = 2 * one[2] * other[2] % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return (e * f % P, g * h % P, f * g % P, e * h % P)


def times(number: int, point: Point) -> Point:
    """The point added to itself."""
    found = (0, 1, 1, 0)
    while number:
        if number & 1:
            found = add(found, point)
        point = add(point, point)
        number >>= 1
    return found


def same(one: Point, other: Point) -> bool:
    """Whether two points are one, whatever their z."""
    return all((one[part] * other[2] - other[part] * one[2]) % P == 0 for part in (0, 1))


def x_of(y: int, sign: int) -> int | None:
    """RFC 8032 5.1.3, steps 2 to 4."""
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    if not square:
        return None if sign else 0
    x = pow(square, (P + 3) // 8, P)
    for found in (x, x * ROOT_OF_MINUS_ONE % P):
        if not (found * found - square) % P:
            return P - found if (found & 1) != sign else found
    return None


def point_of(text: bytes) -> Point | None:
    """The point that 32 bytes name, None when they name none."""
    if len(text) != 32:
        return None
    number = int.from_bytes(text, "little")
    y = number & ((1 << 255) - 1)
    x = x_of(y, number >> 255)
    return None if x is None else (x, y, 1, x * y % P)


BASE = point_of((4 * pow(5, P - 2, P) % P).to_bytes(32, "little")) or (0, 1, 1, 0)


def signature_holds(public: bytes, message: bytes, signature: bytes) -> bool:
    """RFC 8032 5.1.7, without multiplying by the cofactor."""
    key, point = point_of(public), point_of(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if key is None or point is None or len(signature) != 64 or scalar >= ORDER:
        return False
    digest = hashlib.sha512(signature[:32] + public + message).digest()
    challenge = int.from_bytes(digest, "little") % ORDER
    return same(times(scalar, BASE), add(point, times(challenge, key)))


def canonical(value: Any) -> bytes:
    """JSON as RFC 8785 writes text, whole numbers, true, false, null, lists and objects."""
    if isinstance(value, float):
        raise Differs("a number with a fraction stands where only whole numbers may")
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: key.encode("utf-16-be", "surrogatepass"))
        parts = [canonical(key) + b":" + canonical(value[key]) for key in keys]
        return b"{" + b",".join(parts) + b"}"
    if isinstance(value, list):
        return b"[" + b",".join(canonical(item) for item in value) + b"]"
    return json.dumps(value, ensure_ascii=False).encode()


def node(left: bytes, right: bytes) -> bytes:
    """RFC 9162 2.1.1."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def up(place: int, last: int) -> tuple[int, int]:
    """To where a node is a right child."""
    while place and not place % 2:
        place, last = place >> 1, last >> 1
    return place, last


def included(leaf: bytes, index: int, size: int, proof: list[bytes], root: bytes) -> bool:
    """RFC 9162 2.1.3.2."""
    if not 0 <= index < size:
        return False
    place, last, found = index, size - 1, leaf
    for sibling in proof:
        if not last:
            return False
        if place % 2 or place == last:
            found = node(sibling, found)
            place, last = up(place, last)
        else:
            found = node(found, sibling)
        place, last = place >> 1, last >> 1
    return not last and found == root


def consistent(old: int, new: int, was: bytes, now: bytes, proof: list[bytes]) -> bool:
    """RFC 9162 2.1.4.2."""
    if old == new:
        return not proof and was == now
    if not 0 < old < new:
        return False
    path = ([was] if not old & (old - 1) else []) + proof
    return bool(path) and followed(old - 1, new - 1, path) == (was, now)


def followed(place: int, last: int, path: list[bytes]) -> tuple[bytes, bytes] | None:
    """Both roots that a path of consistency leads to; None when its length is wrong."""
    while place % 2:
        place, last = place >> 1, last >> 1
    before = after = path[0]
    for sibling in path[1:]:
        if not last:
            return None
        if place % 2 or place == last:
            before, after = node(sibling, before), node(sibling, after)
            place, last = up(place, last)
        else:
            after = node(after, sibling)
        place, last = place >> 1, last >> 1
    return None if last else (before, after)


def hexes(texts: list[str]) -> list[bytes]:
    """Hashes of 32 bytes from hex."""
    if any(len(text) != 64 for text in texts):
        raise Differs("a hash in a proof has not 32 bytes")
    return [bytes.fromhex(text) for text in texts]


class Files:
    """The files of a bundle, in a folder or still zipped."""

    def __init__(self, place: Path) -> None:
        if place.is_dir():
            self.found = {one.name: one.read_bytes() for one in place.iterdir() if one.is_file()}
        else:
            with zipfile.ZipFile(place) as archive:
                self.found = {name: archive.read(name) for name in archive.namelist()}
                if len(self.found) != len(archive.namelist()):
                    raise Differs("a file stands twice in the zip")

    def read(self, name: str) -> bytes:
        if name not in self.found:
            raise Differs(f"{name} is missing")
        return self.found[name]

    def lines(self, name: str) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.read(name).split(b"\n") if line]


class Bundle:
    """What the files say, read once."""

    def __init__(self, files: Files) -> None:
        self.files = files
        self.manifest = json.loads(files.read("manifest.json"))
        names = ("heads.jsonl", "leaves.jsonl", "records.jsonl")
        self.heads, self.leaves, self.records = map(files.lines, names)
        self.last: dict[int, dict[str, Any]] = {}
        for head in self.heads:
            if head["size"] >= self.last.get(head["branch"], head)["size"]:
                self.last[head["branch"]] = head
        self.said: dict[tuple[int, int], dict[str, Any]] = {}
        self.forgotten, self.unvouched = 0, dict[tuple[int, int], str]()


def check_files(bundle: Bundle) -> None:
    """Every file is there, as it was, and no other one."""
    kept = bundle.manifest["files"]
    for name, digest in kept.items():
        if hashlib.sha256(bundle.files.read(name)).hexdigest() != digest:
            raise Differs(f"{name} is not as it was when the bundle was made")
    wanted = {"README.txt", "records.pdf", "records.csv", "records.jsonl", "leaves.jsonl"}
    if missing := (wanted | {"heads.jsonl"}) - set(kept):
        raise Differs(f"the manifest does not name {sorted(missing)[0]}")
    counted = (len(bundle.records), len(bundle.leaves))
    if counted != (bundle.manifest["records"], bundle.manifest["leaves"]) or not bundle.last:
        raise Differs("the manifest counts other records or leaves, or there is no head")


def check_leaves(bundle: Bundle) -> None:
    """Each leaf is canonical JSON and stands in the log of the last head of its branch."""
    for line in bundle.leaves:
        name = f"leaf {line['seq']} of branch {line['branch']}"
        text = line["leaf"].encode()
        said = json.loads(text)
        if canonical(said) != text or set(said) != PARTS_OF_A_LEAF:
            raise Differs(f"{name} is not in the form of a leaf")
        head = bundle.last[line["branch"]]
        if said["seq"] != line["seq"]:
            raise Differs(f"{name} says another number")
        digest = hashlib.sha256(b"\x00" + text).digest()
        root = bytes.fromhex(head["root"])
        if not included(digest, line["seq"], head["size"], hexes(line["proof"]), root):
            raise Differs(f"{name} is not in the log that was signed")
        bundle.said[line["branch"], line["seq"]] = said


def name_of(public: str) -> str:
    """The fingerprint of a key."""
    return hashlib.sha256(bytes.fromhex(public)).hexdigest()


def rotations_of(bundle: Bundle, branch: int) -> list[tuple[int, dict[str, Any]]]:
    """The changes of the key, each signed by the old and by the new one."""
    leaves = [(seq, said) for (of, seq), said in sorted(bundle.said.items()) if of == branch]
    found = [(seq, said["payload"]) for seq, said in leaves if said["event"] == "key"]
    for seq, change in found:
        lost = ("lost_since",) * ("lost_since" in change)  # then the new key signs alone
        said = {name: change[name] for name in ("branch", "old", "new", "at", *lost)}
        message = canonical(said | {"format": f"eaveline-{'lost-' * len(lost)}key/1"})
        if lost:
            bundle.unvouched[branch, seq] = f"{LOST} {change['lost_since']} (leaf {seq})."
        for side in ("new",) if lost else ("old", "new"):
            signature = bytes.fromhex(change[f"signed_by_{side}"])
            if not signature_holds(bytes.fromhex(change[side]), message, signature):
                raise Differs(f"leaf {seq}: the {side} key did not sign the change of the key")
        if change["branch"] != branch:
            raise Differs(f"leaf {seq}: the change of the key is of another log")
    return found


def check_heads(bundle: Bundle) -> None:
    """Each head is signed by the key of its time and is a beginning of the last one."""
    for branch, last in bundle.last.items():
        rotations = rotations_of(bundle, branch)
        own = sorted((h for h in bundle.heads if h["branch"] == branch), key=lambda h: h["size"])
        expected = name_of(rotations[0][1]["old"]) if rotations else own[0]["key"]
        for head in own:
            for seq, change in rotations:
                if seq < head["size"] and name_of(change["old"]) == expected:
                    expected = name_of(change["new"])
            check_head(head, last, expected)


def check_head(head: dict[str, Any], last: dict[str, Any], expected: str) -> None:
    name = f"the head of {head['at']} over {head['size']} leaves"
    parts = ("branch", "size", "root", "at", "key")
    message = canonical({"format": "eaveline-head/1"} | {part: head[part] for part in parts})
    public, signature = bytes.fromhex(head["public_key"]), bytes.fromhex(head["signature"])
    if name_of(head["public_key"]) != head["key"] or head["key"] != expected:
        raise Differs(f"{name} is signed by a key that was not the key then")
    if not signature_holds(public, message, signature):
        raise Differs(f"the signature of {name} does not hold")
    was, now = bytes.fromhex(head["root"]), bytes.fromhex(last["root"])
    if head["size"] and not consistent(head["size"], last["size"], was, now, hexes(head["proof"])):
        raise Differs(f"{name} is no beginning of the last one")


def check_records(bundle: Bundle) -> None:
    """Each record is what its leaf says, and no leaf of a record is left out."""
    seen, followed = set(), {one["said"]["record"]["corrects_id"] for one in bundle.records}
    for record in bundle.records:
        name = f"record {record['record_id']}"
        said = bundle.said.get(place := (record["branch"], record["seq"]))
        if said is None or said["record_id"] != record["record_id"]:
            raise Differs(f"{name} has no leaf")
        if said["payload"] != record["said"]:
            raise Differs(f"{name} is not what its leaf says")
        counts = record["record_id"] not in followed and record["said"]["record"]["entry"] != "void"
        if record["in_force"] is not counts:
            raise Differs(f"{name} is not in force as the leaves say")
        check_personal(bundle, name, said["payload"].get("personal", {}), record["personal"])
        seen.add(place)
    for place, said in bundle.said.items():
        if said["record_id"] is not None and place not in seen:
            raise Differs(f"record {said['record_id']} has a leaf and is left out")


def check_personal(
    bundle: Bundle, name: str, digests: dict[str, str], kept: dict[str, dict[str, str]]
) -> None:
    for field, one in kept.items():
        parts = (bytes.fromhex(one["salt"]), field.encode(), one["value"].encode())
        digest = hashlib.sha256(b"\x00".join(parts)).hexdigest()
        if len(parts[0]) != 32 or digests.get(field) != digest:
            raise Differs(f"{name}: {field} is not what was recorded")
    bundle.forgotten += len(set(digests) - set(kept))


def part_of(record: Any, path: str) -> str:
    """One part of a record by its path, as a cell says it."""
    if isinstance(record, list):
        return "; ".join(part_of(one, path) for one in record)
    if path:
        name, _, rest = path.partition(".")
        return part_of(record.get(name) if isinstance(record, dict) else None, rest)
    return str({"True": "yes", "False": "no", "None": ""}.get(repr(record), record))


def check_table(bundle: Bundle) -> None:
    """The table says what the records say."""
    rows = list(csv.reader(io.StringIO(bundle.files.read("records.csv").decode(), newline="")))
    columns = bundle.manifest["columns"]
    if rows[0] != [name for name, _ in columns] or len(rows) != len(bundle.records) + 1:
        raise Differs("records.csv has other columns or rows than there are records")
    for row, record in zip(rows[1:], bundle.records, strict=True):
        for cell, (name, path) in zip(row, columns, strict=True):
            value = part_of(record, path)
            if cell != (f"'{value}" if value.startswith(FORMULAS) else value):
                raise Differs(f"records.csv: {name} of record {record['record_id']} differs")


def is_known(bundle: Bundle, key: str) -> bool:
    """Whether every last head is signed by this key or by one that it handed over to."""
    for branch, last in bundle.last.items():
        trusted = {key}
        for _, change in rotations_of(bundle, branch):
            if name_of(change["old"]) in trusted and "lost_since" not in change:
                trusted.add(name_of(change["new"]))
        if last["key"] not in trusted:
            return False
    return True


def verify(place: Path, key: str) -> int:
    """Check everything and say what was found."""
    try:
        bundle = Bundle(Files(place))
        for check in (check_files, check_leaves, check_heads, check_records, check_table):
            check(bundle)
        if key and not bundle.unvouched and not is_known(bundle, key):
            raise Differs(f"the log is not signed by the key {key}")
    except Differs as found:
        print(f"DIFFERS: {found}.")
        return 1
    except READING as failure:
        print(f"DIFFERS: the bundle cannot be read: {type(failure).__name__} {failure}.")
        return 1
    return say(bundle, key)


def say(bundle: Bundle, key: str) -> int:
    print(f"{len(bundle.records)} records, {len(bundle.leaves)} leaves, {len(bundle.heads)} heads:")
    print("every record is in the log that was signed, as it was recorded.")
    if bundle.forgotten:
        print(f"{bundle.forgotten} personal values are no longer kept; only their digests are.")
    told = [f"The server said when it made this: {one}" for one in bundle.manifest["differences"]]
    for sentence in (*told, *bundle.unvouched.values()):
        print(sentence)
    for last in bundle.last.values():
        print(f"Branch {last['branch']}: {last['size']} leaves, root {last['root']}, signed")
        print(f"  {last['at']} with the key {last['key']}")
    known = bool(key) and is_known(bundle, key)
    no = "signature not checked against a key you know (say --key FINGERPRINT)"
    print("Signed by the key you know." if known else no)
    return 0 if known else 3


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("place", nargs="?", type=Path, default=Path(__file__).resolve().parent)
    parser.add_argument("--key", default="", help="fingerprint of a key you know")
    given = parser.parse_args()
    sys.exit(verify(given.place, given.key.strip().lower()))
