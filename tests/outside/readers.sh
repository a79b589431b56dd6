#!/usr/bin/env bash
# What visviva writes is read by others: the JSON document by Python, the pictures by an XML reader and a renderer of SVG.
set -euo pipefail
cd "$(dirname "$0")/../.."

need() { # command, package
  command -v "$1" >/dev/null || { apt-get update -q >/dev/null; DEBIAN_FRONTEND=noninteractive apt-get install -y -q "$2" >/dev/null; }
}
need python3 python3
need rsvg-convert librsvg2-bin

# A Python that reads PNG: the one at hand, the system's own, or one of our own with its library beside it.
reads_png() { command -v "$1" >/dev/null && "$1" -c 'from PIL import Image' 2>/dev/null; }
python=python3
reads_png "$python" || python=/usr/bin/python3
if ! reads_png "$python"; then
  { apt-get update -q >/dev/null && DEBIAN_FRONTEND=noninteractive apt-get install -y -q python3-pil >/dev/null; } || true
fi
if ! reads_png "$python"; then
  own=$(mktemp -d)
  python3 -m venv "$own" && "$own/bin/pip" install --quiet pillow
  python="$own/bin/python"
fi

cargo build --quiet --release
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
./target/release/visviva run scripts/mars-and-back.rhai --json --pictures "$folder" >"$folder/run.json"
./target/release/visviva run scripts/mars-porkchop.rhai --json --pictures "$folder" >"$folder/grid.json"
./target/release/visviva check scripts/mars-and-back.rhai --json >"$folder/check.json"

"$python" - "$folder" <<'PYTHON'
import glob, json, math, sys, xml.etree.ElementTree as xml

folder = sys.argv[1]
run = json.load(open(f"{folder}/run.json"))
assert run["format"] == 1 and run["status"] == 0, run["status"]
for key in ("script", "inputs", "records", "requirements", "voyages", "ledger", "audit", "diagnostics"):
    assert key in run, key
assert run["records"] and run["ledger"] and run["audit"]
assert all(row["verdict"] == "good" for row in run["audit"])
assert all(demand["met"] for demand in run["requirements"])

def numbers(value):
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, float):
        yield value

assert all(math.isfinite(number) for number in numbers(run))
inputs = json.load(open(f"{folder}/check.json"))
assert inputs, "check lists the inputs"

pictures = glob.glob(f"{folder}/*.svg")
assert pictures, "the mission draws a picture"
for picture in pictures:
    root = xml.parse(picture).getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert any(element.tag.endswith("polyline") for element in root.iter())

# Every picture is there as points too, of twice its size, in more than its ground's one colour.
from PIL import Image
for picture in pictures:
    root = xml.parse(picture).getroot()
    points = Image.open(picture.removesuffix("svg") + "png")
    points.load()
    assert points.size == (2 * int(root.get("width")), 2 * int(root.get("height"))), points.size
    assert len(points.convert("RGB").getcolors(1 << 24)) > 50
assert any("porkchop" in picture for picture in pictures)
print(f"read: {len(run['records'])} records, {len(run['ledger'])} ledger rows, {len(run['audit'])} audit rows, {len(pictures)} pictures")
PYTHON

# A second renderer of SVG draws about what ours drew: letters and lines differ at their edges.
for picture in "$folder"/*.svg; do
  rsvg-convert --zoom 2 "$picture" -o "$folder/picture.png"
  "$python" - "$folder/picture.png" "${picture%.svg}.png" <<'PYTHON'
import sys
from PIL import Image, ImageChops, ImageStat
theirs, ours = (Image.open(name).convert("RGB") for name in sys.argv[1:])
assert theirs.size == ours.size, (theirs.size, ours.size)
mean = sum(ImageStat.Stat(ImageChops.difference(theirs, ours)).mean) / 3
assert mean < 4, f"the two renderings differ by {mean:.1f} of 255 on average"
PYTHON
  [ "$(wc -c <"$folder/picture.png")" -gt 10000 ] || { echo "$picture renders to nothing"; exit 1; }
done
echo "1 passed, 0 failed"
