"""The printable pages as a browser prints them: python3 record_pages.py PINTLE [KEEP_FOLDER]

Makes calls out of case files, renders the record and the customer's page with headless Chromium, and looks whether they fit their sheets, are not
blank, hold what they must, and are the same without scripts. Needs chromium, pdfinfo, pdftotext and pdftoppm (packages chromium and poppler-utils).
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
PINTLE = pathlib.Path(sys.argv[1]).resolve()
FLAGS = [
    "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-pdf-header-footer",
]
CASE = ROOT / "examples/cases/worn-battery.yaml"
PLACES = ("left post, 18 in", "right post, 18 in", "leading edge of the left leaf")
PLAYED = {}
SITE = "12 Orchard Lane <script>north</script>"


def run(*arguments):
    return subprocess.run(arguments, check=True, capture_output=True, timeout=300).stdout


def events(folder, place="gate"):
    """The events of a case played to its end, at the gate or on the phone; each is played once."""
    if place not in PLAYED:
        text = re.sub(r"(?m)^at: .*$", f"at: {place}", CASE.read_text())
        file = folder / f"{CASE.stem}-{place}.yaml"
        file.write_text(text)
        PLAYED[place] = run(PINTLE, "diagnose", "--case", file, "--json", "--site", SITE).decode().splitlines()
    return [json.loads(line) for line in PLAYED[place]]


def timed(entries):
    """Five minutes between an event and the next; a visit begins three hours after the phone."""
    minutes = 8 * 60
    for entry in entries:
        minutes += 180 if entry["event"] == "resumed" else 3
        entry["time"] = f"2026-03-04T{minutes // 60 % 24:02}:{minutes % 60:02}:00-05:00"
    return entries


def fixed(folder):
    return timed(events(folder))


def phone_then_gate(folder):
    phone = [e for e in events(folder, "phone") if e["event"] != "ended"]
    gate = events(folder)
    resumed = {"event": "resumed", "knowledge": gate[0]["knowledge"], "at": "gate"}
    note = {"event": "note", "text": "Asked for the batteries' label; the caller could not read it."}
    known = [e["fact"] for e in phone if e["event"] == "fact"]
    later = [e for e in gate if e["event"] not in ("opened", "complaint") and e.get("fact") not in known]
    # As long as it gets: thirty things on the truck, three devices on every line that has devices.
    for entry in phone:
        if entry["event"] == "visit" and entry["plan"]["load"]:
            load = entry["plan"]["load"]
            entry["plan"]["load"] = (load * 30)[:30]
    for entry in later:
        if entry.get("line") in ("zones-closing", "zones-opening", "eyes", "monitored"):
            entry["each"] = [{"what": f"{place}: stopped it at 12, 40 and 61 in", "passed": True} for place in PLACES]
    return timed(phone + [note, resumed] + later)


def out_of_use(folder):
    entries = [e for e in events(folder) if e["event"] != "ended"]
    for entry in entries:
        if entry.get("line") == "stop-button":
            entry.update(passed=False, note="stops it opening only; does nothing while it closes")
        if entry.get("line") == "second-hit":
            entry.update(passed=None, note="rain came on")
        if entry.get("line") == "eyes":
            entry.update(note="inner eye: turned back at 40 in; outer eye: turned back at 61 in")
    why = "2 line(s) of the safety retest are not passed"
    entries.append({"event": "out-of-use", "why": [why], "made-safe": True})
    entries.append({"event": "ended", "ending": "out-of-use", "text": why})
    return timed(entries)


def told_on_the_phone(folder):
    entries = [e for e in events(folder, "phone") if e["event"] == "opened"]
    entries.append({"event": "signs", "yes": ["leaf-off"], "unsure": ["tingle"]})
    entries.append({"event": "out-of-use", "why": ["leaf-off", "tingle"], "made-safe": True})
    entries.append({"event": "ended", "ending": "out-of-use", "text": "a technician has to come"})
    return timed(entries)


def waiting(folder):
    entries = events(folder)
    first = next(i for i, e in enumerate(entries) if e["event"] == "repaired")
    return timed(entries[:first] + [{"event": "ended", "ending": "waiting", "text": "batteries are ordered"}])


CALLS = {
    "fixed": (fixed, ["Ended as: FIXED", "Battery", "passed"], ["Repaired and tested", "You may use the gate again"]),
    "phone-gate": (phone_then_gate, ["Told on the phone", "Seen and measured at the gate", "the caller could not read it", "left post"], ["Repaired and tested"]),
    "out-of-use": (out_of_use, ["OUT OF USE", "NOT PASSED", "NOT DONE", "told in writing"], ["OUT OF USE", "Nobody may run this gate", "FAILED"]),
    "phone-stop": (told_on_the_phone, ["OUT OF USE", "on the phone"], ["OUT OF USE", "Nobody may run this gate", "leaning"]),
    "waiting": (waiting, ["Ended as: WAITING", "Not done"], ["Not finished", "does not say that the gate is safe"]),
}
SAFE = ["You may use the gate again", "Repaired and tested"]


def chromium(folder, *arguments):
    with tempfile.TemporaryDirectory() as profile:
        run(*FLAGS, f"--user-data-dir={profile}", *arguments)


def ink(pdf, folder, name):
    """Share of dark pixels on each sheet, from a grey picture of 60 dots an inch."""
    run("pdftoppm", "-gray", "-r", "60", pdf, folder / name)
    shares = []
    for sheet in sorted(folder.glob(f"{name}-*.pgm")):
        data = sheet.read_bytes()
        header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
        pixels = data[header.end():]
        shares.append(sum(p < 128 for p in pixels) / len(pixels))
        sheet.unlink()
    return shares


def printed(html, folder, name, most):
    pdf = folder / f"{name}.pdf"
    chromium(folder, f"--print-to-pdf={pdf}", html.as_uri())
    pages = int(re.search(rb"Pages:\s+(\d+)", run("pdfinfo", pdf)).group(1))
    assert pages <= most, f"{name}: {pages} sheets, {most} at most"
    shares = ink(pdf, folder, name)
    assert len(shares) == pages and min(shares) > 0.003, f"{name}: a blank sheet: {shares}"
    text = run("pdftotext", "-layout", pdf, "-").decode()
    return pages, " ".join(text.split())


def same_without_scripts(html, folder, name):
    """A picture of the page as it is, and one with every script forbidden by a policy in its head."""
    forbidden = folder / f"{name}-off.html"
    policy = "<meta http-equiv=\"Content-Security-Policy\" content=\"script-src 'none'\" />"
    forbidden.write_text(html.read_text().replace("<head>", "<head>" + policy, 1))
    pictures = []
    for mode, page in (("on", html), ("off", forbidden)):
        picture = folder / f"{name}-{mode}.png"
        chromium(folder, "--window-size=900,2600", f"--screenshot={picture}", page.as_uri())
        pictures.append(picture.read_bytes())
    assert pictures[0] == pictures[1], f"{name}: another picture without scripts"
    assert len(pictures[0]) > 20_000, f"{name}: the picture is empty"


def check(name, entries, of_record, of_customer, folder):
    call = folder / f"{name}.jsonl"
    call.write_text("".join(json.dumps(e) + "\n" for e in entries))
    for form, most, words in (("html", 2, of_record), ("customer", 1, of_customer)):
        for paper in ("a4", "letter"):
            page = f"{name}-{form}-{paper}"
            html = folder / f"{page}.html"
            run(PINTLE, "report", call, f"--{form}", "--paper", paper, "--company", "Example Gates & Co", "--out", html)
            source = html.read_text()
            assert "<script" not in source and "http" not in source.replace("http://www.w3.org/", ""), f"{page}: a script or an address"
            pages, text = printed(html, folder, page, most)
            for word in [*words, "Example Gates & Co"]:
                assert word in text, f"{page}: {word!r} is not on it"
            assert "<script>north" in text, f"{page}: the site's name is not shown as it was given"
            if form == "customer" and name not in ("fixed", "phone-gate"):
                assert not any(s in text for s in SAFE), f"{page}: reads as safe"
            print(f"{page}: {pages} sheet(s)")
        same_without_scripts(folder / f"{name}-{form}-a4.html", folder, f"{name}-{form}")


def main(folder):
    for name, (make, of_record, of_customer) in CALLS.items():
        check(name, make(folder), of_record, of_customer, folder)
    print("record pages: all as they should be")


if len(sys.argv) > 2:
    kept = pathlib.Path(sys.argv[2]).resolve()
    kept.mkdir(parents=True)
    main(kept)
else:
    with tempfile.TemporaryDirectory() as temporary:
        main(pathlib.Path(temporary))
