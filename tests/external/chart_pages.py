"""Cards as a browser prints them: three symptoms, one page each on A4 and Letter, not blank, no type under 7 points.

usage: chart_pages.py PINTLE [FOLDER]
Needs chromium, and pdfinfo and pdftotext of poppler-utils. Leaves HTML, PDF and PNG in FOLDER (a temporary one otherwise).
Exits 1 at the first card that is not as it should be. Standard library only.
"""

import os
import re
import struct
import subprocess
import sys
import tempfile
import zlib

# Symptom, facts of the site.
CARDS = [
    ("slow", ["power=battery-mains", "gate-type=swing", "leaves=single"]),
    ("dead", ["power=mains"]),
    ("wont-close", ["gate-type=slide"]),
]
CHROMIUM = [
    "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-pdf-header-footer",
]
# Least share of pixels that are not white: a page of text has several per cent.
INK = 0.02


def run(command):
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(command)}: {done.stderr}")
    return done.stdout


def ink(path):
    """Share of pixels darker than half, of an 8-bit RGB or RGBA PNG that is not interlaced."""
    data = open(path, "rb").read()
    at, packed, size = 8, b"", None
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + length]
        if kind == b"IHDR":
            wide, high, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", body)
            if depth != 8 or colour not in (2, 6) or interlaced:
                raise SystemExit(f"{path}: a PNG of another kind")
            size = (wide, high, 3 if colour == 2 else 4)
        elif kind == b"IDAT":
            packed += body
        at += length + 12
    wide, high, n = size
    raw = zlib.decompress(packed)
    row = wide * n
    before = bytearray(row)
    dark = 0
    for y in range(high):
        how = raw[y * (row + 1)]
        line = bytearray(raw[y * (row + 1) + 1 : (y + 1) * (row + 1)])
        for i in range(row):
            left = line[i - n] if i >= n else 0
            up = before[i]
            corner = before[i - n] if i >= n else 0
            if how == 1:
                line[i] = (line[i] + left) & 255
            elif how == 2:
                line[i] = (line[i] + up) & 255
            elif how == 3:
                line[i] = (line[i] + (left + up) // 2) & 255
            elif how == 4:
                p = left + up - corner
                a, b, c = abs(p - left), abs(p - up), abs(p - corner)
                best = left if a <= b and a <= c else up if b <= c else corner
                line[i] = (line[i] + best) & 255
        dark += sum(1 for x in range(0, row, n) if line[x] < 128)
        before = line
    return dark / (wide * high)


def check(pintle, folder, symptom, facts):
    base = os.path.join(folder, symptom)
    arguments = [a for fact in facts for a in ("--fact", fact)]
    run([pintle, "chart", symptom, *arguments, "--replace", "--out", base + ".html"])
    page = open(base + ".html", encoding="utf-8").read()
    if "<script" in page or "http://" in page.replace("http://www.w3.org/2000/svg", "") or "https://" in page:
        raise SystemExit(f"{symptom}: the card needs something from outside")
    sizes = [float(s) for s in re.findall(r'font-size="([0-9.]+)"(?![^>]*fill="#fff")', page)]
    if min(sizes) < 7:
        raise SystemExit(f"{symptom}: type of {min(sizes)} points")
    lie = re.search(r"@page \{ size: (\w+)", page).group(1)
    for paper in ("A4", "Letter"):
        # The sheet that the printer would be set to.
        sheet = base + f"-{paper}.html"
        with open(sheet, "w", encoding="utf-8") as file:
            file.write(page.replace(f"size: {lie};", f"size: {paper} {lie};"))
        pdf = base + f"-{paper}.pdf"
        run([*CHROMIUM, f"--user-data-dir={folder}/profile", f"--print-to-pdf={pdf}", "file://" + os.path.abspath(sheet)])
        pages = int(re.search(r"^Pages:\s+(\d+)", run(["pdfinfo", pdf]), re.M).group(1))
        if pages != 1:
            raise SystemExit(f"{symptom}: {pages} pages on {paper}")
        text = run(["pdftotext", "-layout", pdf, "-"])
        for words in ("Local codes", "STOP at any of these", "Out of use: how", "1. "):
            if words not in text:
                raise SystemExit(f"{symptom} on {paper}: \"{words}\" is not on the page")
    wide, high = (1100, 850) if lie == "landscape" else (850, 1100)
    png = base + ".png"
    run([*CHROMIUM, f"--user-data-dir={folder}/profile", f"--window-size={wide},{high}", f"--screenshot={png}", "file://" + os.path.abspath(base + ".html")])
    share = ink(png)
    if share < INK:
        raise SystemExit(f"{symptom}: the page is as good as blank ({share:.1%} ink)")
    extent = re.search(r"<p>(\d+ boxes[^<]*|All of the walk[^<]*)</p>", page).group(1)
    print(f"{symptom}: one page on A4 and Letter, {lie}, type from {min(sizes)} points, {share:.0%} ink; {extent}")


def main():
    pintle = sys.argv[1]
    with tempfile.TemporaryDirectory() as temporary:
        folder = sys.argv[2] if len(sys.argv) > 2 else temporary
        os.makedirs(folder, exist_ok=True)
        for symptom, facts in CARDS:
            check(pintle, folder, symptom, facts)


main()
