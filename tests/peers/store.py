"""Reading and writing the committed JSON files, plain or gzipped."""

import gzip
import json


def dump(value, unfold, indent=0):
    """JSON with the first `unfold` levels on lines of their own. Floats in full (repr)."""
    if unfold == 0 or not value or not isinstance(value, (dict, list)):
        return json.dumps(value, allow_nan=False, ensure_ascii=False)
    pad = " " * (indent + 1)
    if isinstance(value, dict):
        items = [
            f"{json.dumps(key, ensure_ascii=False)}: {dump(item, unfold - 1, indent + 1)}"
            for key, item in value.items()
        ]
        return "{\n" + ",\n".join(pad + item for item in items) + "\n" + " " * indent + "}"
    items = [dump(item, unfold - 1, indent + 1) for item in value]
    return "[\n" + ",\n".join(pad + item for item in items) + "\n" + " " * indent + "]"


def read_json(path):
    """What a file holds; gzipped if its name ends in .gz."""
    data = path.read_bytes()
    return json.loads(gzip.decompress(data) if path.suffix == ".gz" else data)


def write_json(path, value, unfold):
    """Writes a file unless it says the same already: gzip differs from one zlib to the next."""
    path.parent.mkdir(parents=True, exist_ok=True)
    text = dump(value, unfold) + "\n"
    data = text.encode("utf-8")
    if path.suffix == ".gz":
        if path.exists() and gzip.decompress(path.read_bytes()) == data:
            return path.stat().st_size
        data = gzip.compress(data, 9, mtime=0)
    path.write_bytes(data)
    return len(data)
