#!/usr/bin/env python3
"""A second verifier of parcels, written from the format text and independent of the service.

Usage: verify_parcel.py FILE
Prints one JSON object; exit status 0 valid, 1 not valid, 2 not a readable parcel.
Python 3 standard library only.
"""
import base64, hashlib, json, re, sys

GENESIS = hashlib.sha256(b"lotwarden ledger format 1 genesis").hexdigest()
MEMBERS = ["action", "actor", "at", "data", "ledger", "position", "previous", "station", "subject", "v"]
AT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)


class Bad(Exception):
    """What does not fit: (position or None, reason)."""


def refuse(*_):
    raise ValueError("outside the profile")


def pairs(items):
    keys = [key for key, _ in items]
    if keys != sorted(set(keys)) or not all(re.fullmatch("[a-z0-9_]+", key, re.ASCII) for key in keys):
        refuse()
    return dict(items)


def integer(text):
    return int(text) if abs(int(text)) < 2**53 else refuse()


def outside(value, depth=32):
    """Tells whether a null stands in the value, or more than 32 levels."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else None
    return value is None or inner is not None and (depth == 0 or any(outside(each, depth - 1) for each in inner))


def canonical(line):
    """Reads a line; it must be the one canonical form of an object of the profile."""
    value = json.loads(line, object_pairs_hook=pairs, parse_float=refuse, parse_constant=refuse, parse_int=integer)
    again = json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()
    if again != line or not isinstance(value, dict) or outside(value):
        refuse()
    return value


def b64(data):
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def need(holds, position, reason):
    if not holds:
        raise Bad(position, reason)


def verify(stream):
    whole, number, pending = hashlib.sha256(), 0, b""

    def line(position=None):
        nonlocal number, pending
        whole.update(pending)
        pending, number = stream.readline(), number + 1
        need(pending.endswith(b"\n"), position, f"line {number} is missing or cut")
        return pending[:-1]

    def entry_of(text, position):
        try:
            return canonical(text)
        except (ValueError, RecursionError):
            raise Bad(position, f"line {number} is not canonical JSON") from None

    def section(name):
        found = re.fullmatch(name.encode() + rb" (0|[1-9][0-9]*)", line())
        need(found, None, f"line {number}: {name} is due")
        return int(found[1])

    try:
        if line() != b"lotwarden-parcel 1":
            refuse()
        header = canonical(line())
        if sorted(header) != ["entries", "exported_at", "facility", "from", "head", "ledger", "previous"]:
            refuse()
        if section("entries") != header["entries"] or header["from"] == 0 and header["previous"] != GENESIS:
            refuse()
    except (ValueError, Bad):
        return 2, {"valid": False, "position": None, "reason": "not a parcel of format 1"}

    previous, before, last = header["previous"], "", header["from"] + header["entries"] - 1
    commitments, signed = {}, {}
    for position in range(header["from"], last + 1):
        text = line(position)
        entry = entry_of(text, position)
        need(list(entry) in (MEMBERS, [m for m in MEMBERS if m != "station"]), position, "members")
        need(entry["ledger"] == header["ledger"] and text.endswith(b',"v":1}'), position, "another ledger or format")
        need(entry["position"] == position and len(text) < 2**16, position, "another position")
        need(entry["previous"] == previous, position, "the link is not the hash of the entry before")
        need(AT.fullmatch(entry["at"]) and entry["at"] >= before, position, "the time")
        previous, before = hashlib.sha256(b"\0" + text).hexdigest(), entry["at"]
        for name, digest in entry["data"].get("commitments", {}).items():
            commitments[position, name] = digest
        if entry["action"] == "sign_case":
            signed[position] = {**entry["data"], **{k: entry[k] for k in ("actor", "subject", "at")}}
    need(previous == header["head"] and before == header["exported_at"], last, "the head is another")
    need(entry["action"] == "export_parcel", last, "the last entry is not the export")

    counts, attached = {}, hashlib.sha256()
    for name in ["cases", "signatures", "people"]:
        counts[name] = section(name)
        attached.update(pending)
        for _ in range(counts[name]):
            row = entry_of(line(), None)
            attached.update(pending)
            if name == "signatures":
                data = signed.pop(row["position"], {})
                same = [data.get(k) for k in ("signature", "record_hash", "meaning", "name", "actor", "subject", "at")]
                says = [row[k] for k in ("id", "record_hash", "meaning", "name")]
                says += ["person:" + row["person"], "case:" + row["case"], row["signed_at"]]
                need(same == says, row["position"], "signature")
    bound = {**counts, "attachments": attached.hexdigest(), "facility": header["facility"]}
    need(all(entry["data"].get(k) == v for k, v in bound.items()), last, "it binds other attachments")

    disclosed = section("disclosures")
    for _ in range(disclosed):
        row = entry_of(line(), None)
        array = json.dumps([row["salt"], row["name"], row["value"]], ensure_ascii=False, separators=(",", ":"))
        digest = b64(hashlib.sha256(b64(array.encode()).encode()).digest())
        open_ = commitments.pop((row["position"], row["name"]), None)
        need(open_ == digest, row["position"], f"line {number} is not a disclosure of it")
    need(line() == b"end " + whole.hexdigest().encode(), None, "the end digest")
    need(stream.read(1) == b"", None, "bytes after the end")
    return 0, {"valid": True, "entries": header["entries"], "head": previous, **counts,
               "disclosed": disclosed, "withheld": len(commitments)}


def main():
    try:
        with open(sys.argv[1], "rb") as stream:
            status, report = verify(stream)
    except OSError as fault:
        status, report = 2, {"valid": False, "position": None, "reason": str(fault)}
    except (Bad, KeyError, TypeError, AttributeError) as fault:
        position, reason = fault.args if isinstance(fault, Bad) else (None, "a member is missing")
        status, report = 1, {"valid": False, "position": position, "reason": reason}
    print(json.dumps(report))
    sys.exit(status)


main()
