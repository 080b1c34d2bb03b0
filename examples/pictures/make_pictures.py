#!/usr/bin/env python3
"""Make the pictures of the README: barwise as it runs in a terminal, each screen as an SVG beside this file.

  examples/pictures/make_pictures.py [PROGRAM]

PROGRAM is target/release/barwise unless named. Needs tmux; no sound, no instrument. What is kept goes to a folder that is
deleted at the end.
"""
import html
import importlib.machinery
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
RIG_SCREEN = os.path.join(ROOT, "tests", "rig", "screen")
CELL_WIDTH, CELL_HEIGHT, MARGIN = 8.4, 17, 10
INK, PAPER = (224, 224, 224), (18, 18, 18)

# Each picture: its name, size, key script, arguments, and what it shows in words.
PICTURES = [
    ("playing", (80, 24), "wait:chorus.1 4000 shot:now q", ["demo", "--no-audio"],
     "The playing screen: the chart with functions below its chords, the chord that sounds and the one that comes, "
     "one position on the neck."),
    ("after", (80, 24), "64000 wait:landed 500 shot:now q", ["demo", "--no-audio"],
     "After the chorus: under each chord the degree it was met with, a star where it was landed, a question mark for each "
     "note left open; below it the counts, and what to play next."),
    ("reading", (80, 24), "wait:charts 300 Home Down r wait:esc.back Right Right s 300 shot:now", ["--no-audio"],
     "A chart that is read: a cursor on a chord, below it the chord's function and scale, and what another scale would "
     "change."),
    ("progress", (80, 30), "500 shot:now", ["progress", "--demo", "--color", "always"],
     "Weeks of a chart: the chord share of each week with its interval, and what changed."),
]


def rig_screen():
    """The reader of terminals that the tests use."""
    loader = importlib.machinery.SourceFileLoader("rig_screen", RIG_SCREEN)
    module = importlib.util.module_from_spec(importlib.util.spec_from_loader("rig_screen", loader))
    loader.exec_module(module)
    return module


def runs(row):
    """The cells of a row, joined where they look alike: (column, text, style)."""
    found = []
    for column, (sign, style) in enumerate(row):
        if found and found[-1][2] == style:
            found[-1][1].append(sign or " ")
        else:
            found.append((column, [sign or " "], style))
    return [(column, "".join(signs), style) for column, signs, style in found]


def svg(cells, words):
    """A screen as SVG."""
    width = len(cells[0]) * CELL_WIDTH + 2 * MARGIN
    height = len(cells) * CELL_HEIGHT + 2 * MARGIN
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" role="img" '
           f'font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="14">',
           f"<title>{html.escape(words)}</title>",
           f'<rect width="100%" height="100%" rx="6" fill="rgb{PAPER}"/>']
    for y, row in enumerate(cells):
        for column, text, style in runs(row):
            if not text.strip():
                continue
            ink = style.get("fg", INK)
            if style.get("dim"):
                ink = tuple((a + b) // 2 for a, b in zip(ink, PAPER))
            weight = ' font-weight="bold"' if style.get("bold") else ""
            x, base = MARGIN + column * CELL_WIDTH, MARGIN + (y + 0.78) * CELL_HEIGHT
            out.append(f'<text x="{x:g}" y="{base:g}" textLength="{len(text) * CELL_WIDTH:g}" xml:space="preserve" '
                       f'fill="rgb{ink}"{weight}>{html.escape(text)}</text>')
    return "\n".join(out + ["</svg>"]) + "\n"


def main():
    program = os.path.abspath(sys.argv[1] if len(sys.argv) > 1 else os.path.join(ROOT, "target", "release", "barwise"))
    rig = rig_screen()
    for name, (columns, rows), keys, arguments, words in PICTURES:
        with tempfile.TemporaryDirectory() as folder:
            env = dict(os.environ, BARWISE_DATA_DIR=folder, BARWISE_CONFIG_DIR=folder)
            shutil.copy(os.path.join(ROOT, "backing", "bus-shelter.bars"), folder)
            out = os.path.join(folder, "shot")
            shot = subprocess.run(
                [RIG_SCREEN, "--no-png", "--size", f"{columns}x{rows}", "--out", out, "--keys", keys, "--", program, *arguments],
                env=env, cwd=folder, capture_output=True, text=True, check=False)
            if not os.path.exists(out + "-now.ansi"):
                raise SystemExit(f"{name}: {shot.stderr}")
            with open(out + "-now.ansi") as file:
                cells = rig.parse(file.read(), columns, rows)
        with open(os.path.join(HERE, name + ".svg"), "w") as file:
            file.write(svg(cells, words))
        print(f"wrote {name}.svg")


if __name__ == "__main__":
    main()
