"""Cards as a browser prints them: three symptoms, two pages each on A4 and Letter (boxes, then the back), not blank, no type under 6.5 points.

usage: chart_pages.py PINTLE [FOLDER]
Needs chromium, and pdfinfo, pdftotext and pdftoppm of poppler-utils. Leaves HTML, PDF and PGM in FOLDER (a temporary one otherwise).
Exits 1 at the first card that is not as it should be. Standard library only.
"""

import os
import re
import subprocess
import sys
import tempfile

# Symptom, facts of the site, most boxes: planning a box takes seconds, so one card is whole. The least that the front must then have of them.
CARDS = [
    ("slow", ["power=battery-mains", "gate-type=swing", "leaves=single"], 40, 36),
    ("dead", ["power=mains"], 12, 12),
    ("wont-close", ["gate-type=slide"], 12, 12),
]
# What each page must say, and what only the other one does.
FRONT = ["Before anything", "ISOLATE", "MOVES", "Local codes"]
BACK = ["STOP at any of these", "Out of use: how", "Cautions", "safety retest"]
SMALLEST = 6.5
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
    """Share of pixels darker than half, of a PGM file of 8 bits a pixel as pdftoppm writes it: "P5", width, height, 255, the pixels."""
    data = open(path, "rb").read()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    if not head:
        raise SystemExit(f"{path}: no PGM of 8 bits a pixel")
    pixels = data[head.end() :]
    if len(pixels) != int(head[1]) * int(head[2]):
        raise SystemExit(f"{path}: cut off")
    dark = bytes(range(128))
    return (len(pixels) - len(pixels.translate(None, dark))) / len(pixels)


def printed(folder, base, page, lie, paper):
    """The sheet as it would come from a printer set to that paper: a PDF."""
    sheet = base + f"-{paper}.html"
    with open(sheet, "w", encoding="utf-8") as file:
        file.write(page.replace(f"size: {lie};", f"size: {paper} {lie};"))
    pdf = base + f"-{paper}.pdf"
    run([*CHROMIUM, f"--user-data-dir={folder}/profile", f"--print-to-pdf={pdf}", "file://" + os.path.abspath(sheet)])
    return pdf


def check_paper(name, pdf):
    pages = int(re.search(r"^Pages:\s+(\d+)", run(["pdfinfo", pdf]), re.M).group(1))
    if pages != 2:
        raise SystemExit(f"{name}: {pages} pages, not front and back")
    least = 1.0
    for number, here, there in ((1, FRONT, BACK), (2, BACK, FRONT[:1])):
        text = run(["pdftotext", "-layout", "-f", str(number), "-l", str(number), pdf, "-"])
        for words in here:
            if words not in text:
                raise SystemExit(f"{name}: \"{words}\" is not on page {number}")
        for words in there:
            if words in text:
                raise SystemExit(f"{name}: \"{words}\" is on page {number}")
        picture = pdf[: -len(".pdf")] + f"-{number}"
        run(["pdftoppm", "-r", "100", "-gray", "-singlefile", "-f", str(number), "-l", str(number), pdf, picture])
        share = ink(picture + ".pgm")
        if share < INK:
            raise SystemExit(f"{name}: page {number} is as good as blank ({share:.1%} ink)")
        least = min(least, share)
    return least


def check(pintle, folder, symptom, facts, most, fewest):
    base = os.path.join(folder, symptom)
    arguments = [a for fact in facts for a in ("--fact", fact)]
    run([pintle, "chart", symptom, *arguments, "--most", str(most), "--replace", "--out", base + ".html"])
    page = open(base + ".html", encoding="utf-8").read()
    if "<script" in page or "http://" in page.replace("http://www.w3.org/2000/svg", "") or "https://" in page:
        raise SystemExit(f"{symptom}: the card needs something from outside")
    # White type is the stroke in the sign of a caution, or is in a bar as large as the rest.
    sizes = [float(s) for s in re.findall(r'font-size="([0-9.]+)"(?![^>]*fill="#fff")', page)]
    if min(sizes) < SMALLEST:
        raise SystemExit(f"{symptom}: type of {min(sizes)} points")
    boxes = len(re.findall(r'<li id="box-', page))
    if boxes < fewest:
        raise SystemExit(f"{symptom}: {boxes} boxes of {most}, fewer than {fewest}")
    lie = re.search(r"@page \{ size: (\w+)", page).group(1)
    shares = [check_paper(f"{symptom} on {paper}", printed(folder, base, page, lie, paper)) for paper in ("A4", "Letter")]
    print(f"{symptom}: two pages on A4 and Letter, {lie}, {boxes} boxes of {most}, type from {min(sizes)} points, {min(shares):.0%} ink at least", flush=True)


def main():
    pintle = sys.argv[1]
    with tempfile.TemporaryDirectory() as temporary:
        folder = sys.argv[2] if len(sys.argv) > 2 else temporary
        os.makedirs(folder, exist_ok=True)
        for card in CARDS:
            check(pintle, folder, *card)


main()
