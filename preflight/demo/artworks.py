"""The pictures of the demo: a summer fair of allotment gardeners, as an enthusiast might draw them.

Each function draws one picture in millimetres of its print. Some are good; the others carry one of the faults that
customers' files really have, and their functions say which.
"""

from __future__ import annotations

import math

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from preflight.demo.drawing import Colour, Point, Sheet, curve, ellipse, leaf, star, turned

CREAM = "#f3e6c4"
STRAW = "#e2b64a"
RUST = "#b5532f"
BEET = "#8c2f55"
BEET_LIGHT = "#b0567a"
LEAF = "#5f8a4a"
LEAF_DARK = "#3d6238"
EARTH = "#6a4a34"
SKY = "#7fa3b0"
NIGHT = "#33415f"
INK = "#2c2a33"

#: What the sign says; the modules of the code below say the same (version 3, error correction M, ISO/IEC 18004).
CODE_TEXT = "https://thistle-lane.example/swap"
CODE_ROWS = (
    "#######.###....##.....#######",
    "#.....#.##.##...#.##..#.....#",
    "#.###.#.#..#...##.###.#.###.#",
    "#.###.#..###....##..#.#.###.#",
    "#.###.#.###.#.######..#.###.#",
    "#.....#..##.#..####...#.....#",
    "#######.#.#.#.#.#.#.#.#######",
    ".........#.#.#.##............",
    "#..#######.#.#..##...#..#.###",
    "#..#...#.#.#.#..######.##.##.",
    "#.#...##...#.#.#.#........#..",
    "#..###.##..###..##..#.####..#",
    "###...#.#.#..#.##..##.#.....#",
    "#.#....##....##.......#######",
    "..#...#.#..#.#.##.##...##.#.#",
    ".......#.#.#....#.##..#...#.#",
    "...#..#.#.#...###..##..#.#...",
    "##.###.##.######..###...#.##.",
    "##..####..#.#..#.#.#..####..#",
    "###....#.#....#...####...##..",
    "#########.#..#####.#########.",
    "........#.....##..#.#...##...",
    "#######.###...####.##.#.##...",
    "#.....#.#...#.##.#.##...#..##",
    "#.###.#.##.#.###..########.##",
    "#.###.#.##..#..######.......#",
    "#.###.#.....#.##.#..##.##.###",
    "#.....#...#.##.##....#..###.#",
    "#######.#####.###..##...##...",
)


def beetroot_crest() -> Image.Image:
    """A round crest with a beetroot. Good."""
    sheet = Sheet(180, 180)
    middle = (90.0, 90.0)
    sheet.disc(middle, 88, LEAF)
    sheet.disc(middle, 84.5, CREAM)
    sheet.disc(middle, 82.5, LEAF)
    sheet.disc(middle, 57, CREAM)
    sheet.disc(middle, 55, SKY)
    _furrows(sheet, middle, 55)
    _beetroot(sheet, (90, 104), 27)
    sheet.text_round("THISTLE LANE", middle, 69.5, 17, CREAM, bold=0.45)
    sheet.text_round("ALLOTMENTS", middle, 69.5, 17, CREAM, bold=0.45, low=True)
    for x in (20.5, 159.5):
        sheet.shape(star((x, 90), 5.5, 2.4, 5), STRAW)
    return sheet.finish()


def sunflower() -> Image.Image:
    """A sunflower with its name. Good."""
    sheet = Sheet(150, 190)
    head = (75.0, 66.0)
    sheet.line(curve((75, 66), (72, 110), (82, 130), (75, 166)), 5, LEAF)
    for root, tip, width in (((76, 128), (116, 104), 20), ((76, 140), (32, 118), 20)):
        sheet.shape(leaf(root, tip, width), LEAF)
        sheet.line([root, (root[0] + (tip[0] - root[0]) * 0.8, root[1] + (tip[1] - root[1]) * 0.8)], 1.0, LEAF_DARK)
    for ring, colour in ((0.0, RUST), (0.5, STRAW)):
        for step in range(18):
            angle = (step + ring) * 20
            sheet.shape(turned(leaf((head[0], head[1] - 24), (head[0], head[1] - 60), 17), head, angle), colour)
    sheet.disc(head, 30, EARTH)
    for number in range(150):  # seeds sit on a spiral of the golden angle
        angle, radius = number * 2.399963, 2.25 * math.sqrt(number)
        sheet.disc((head[0] + radius * math.cos(angle), head[1] + radius * math.sin(angle)), 0.95, STRAW)
    sheet.text("TALLER THAN YOU", (75, 179), 15, CREAM, bold=0.4)
    return sheet.finish()


def bee_on_white() -> Image.Image:
    """A bee, flattened onto white: the box behind it was left in."""
    sheet = Sheet(120, 100)
    for centre, turn in (((52, 33), -28.0), ((70, 32), 24.0)):
        sheet.oval(centre, 11, 24, INK, turn)
        sheet.oval(centre, 9.6, 22.6, "#cfe0e4", turn)
    body = (60.0, 58.0)
    sheet.oval(body, 34, 22, INK)
    sheet.oval(body, 32.4, 20.4, STRAW)
    for x in (48.0, 62.0, 76.0):
        half = 20.4 * math.sqrt(1 - ((x - 60) / 32.4) ** 2)
        sheet.line(curve((x, 58 - half + 1), (x + 4, 50), (x + 4, 66), (x, 58 + half - 1)), 6.5, INK)
    sheet.shape([(92, 54), (101, 58), (92, 62)], INK)
    sheet.disc((38, 53), 3.4, INK)
    sheet.disc((37, 52), 1.2, CREAM)
    sheet.line(curve((33, 62), (36, 67), (41, 67), (43, 63)), 1.2, INK)
    for knee, tip in (((34, 34), (26, 28)), ((42, 32), (38, 22))):
        sheet.line(curve((38, 42), knee, knee, tip), 1.4, INK)
        sheet.disc(tip, 2.2, INK)
    return _flat(sheet.finish(), (255, 255, 255))


def watering_can_on_squares() -> Image.Image:
    """A watering can on the grey squares that mean transparency, painted in for good."""
    sheet = Sheet(130, 110)
    _watering_can(sheet)
    picture = sheet.finish()
    rows, columns = np.indices((picture.height, picture.width)) // 24
    squares = np.where((rows + columns) % 2 == 0, 255, 204).astype(np.uint8)
    backdrop = Image.merge("RGB", [Image.fromarray(squares)] * 3).convert("RGBA")
    backdrop.alpha_composite(picture)
    return backdrop.convert("RGB")


def carrot_small() -> Image.Image:
    """A bunch of carrots that was saved for a web page: far too few pixels for a back print."""
    sheet = Sheet(260, 240, 62)
    for lean in (-60, 60, -38, 38, -18, 18, 0):
        tip = turned([(130, 6)], (130, 82), lean)[0]
        sheet.shape(leaf((130, 82), tip, 15), LEAF_DARK if lean in (-38, 38, 0) else LEAF)
    for x, turn, colour in ((104.0, 20.0, "#c9662f"), (156.0, -20.0, "#c9662f"), (130.0, 0.0, "#d9783a")):
        _carrot(sheet, (x, 88), turn, colour)
    sheet.line(curve((94, 74), (115, 84), (145, 84), (166, 74)), 6, CREAM)
    sheet.text("PULLED THIS MORNING", (130, 222), 20, CREAM, bold=0.5)
    return sheet.finish()


def moon_with_glow() -> Image.Image:
    """A moon over a wheelbarrow with a soft glow, which white ink cannot follow."""
    sheet = Sheet(120, 120)
    sheet.disc((60, 46), 33, STRAW)
    glow = Image.new("RGBA", sheet.finish().size, STRAW)
    glow.putalpha(sheet.finish().getchannel("A").filter(ImageFilter.GaussianBlur(48)))
    sheet.disc((60, 46), 30, CREAM)
    for centre, radius in (((50, 38), 5.0), ((68, 54), 7.0), ((70, 34), 3.2), ((52, 58), 3.6)):
        sheet.disc(centre, radius, "#ddcb9c")
    _wheelbarrow(sheet, (60, 92))
    glow.alpha_composite(sheet.finish())
    return glow


def garlic_drawing() -> Image.Image:
    """A pen drawing of garlic with strokes of 0.2 mm: too fine to hold the powder."""
    sheet = Sheet(110, 140)
    pen = 0.2
    for sense in (-1, 1):
        for pull in (46.0, 33.0, 19.0, 6.0):
            side = curve((55, 58), (55 + sense * 4, 76), (55 + sense * pull, 78), (55 + sense * pull * 0.86, 102))
            under = curve(side[-1], (55 + sense * pull * 0.8, 122), (55 + sense * 12, 122), (55, 122))
            sheet.line(side + under[1:], pen, CREAM)
    for sense in (-1, 1):
        sheet.line(
            curve((55 + sense * 2, 60), (55 + sense * 5, 44), (55 + sense * 1, 24), (55 + sense * 9, 8)), pen, CREAM
        )
    for step in range(9):
        x = 45 + step * 2.5
        sheet.line(curve((x, 122), (x - 1, 126), (x + 2, 128), (x + (step - 4) * 0.8, 134)), pen, CREAM)
    sheet.box(25, 101, 60, 13, RUST, 3)
    sheet.text("NO VAMPIRES", (55, 107.5), 8, CREAM, bold=0.25)
    return sheet.finish()


def aubergine_dark() -> Image.Image:
    """An aubergine in near-black, which vanishes on a black shirt."""
    sheet = Sheet(110, 150)
    body = curve((50, 44), (16, 66), (4, 132), (48, 142)) + curve((48, 142), (104, 150), (92, 84), (66, 44))[1:]
    sheet.shape(body, "#1f1a26")
    sheet.shape(
        curve((34, 78), (24, 96), (24, 116), (34, 126)) + curve((34, 126), (29, 112), (30, 94), (34, 78)), "#3a3244"
    )
    for tip in ((30, 62), (48, 72), (68, 70), (82, 58)):
        sheet.shape(leaf((58, 34), tip, 15), "#26331f")
    sheet.line(curve((58, 40), (57, 28), (62, 20), (70, 12)), 7, "#26331f")
    return sheet.finish()


def seed_swap_sign() -> Image.Image:
    """A sign with a code to scan that is much too small."""
    sheet = Sheet(100, 70)
    sheet.box(0, 0, 100, 70, RUST, 7)
    sheet.box(2, 2, 96, 66, CREAM, 5.4)
    sheet.text("SEED SWAP", (50, 16), 14, BEET, bold=0.45)
    for x, height in ((20, 16.0), (33, 21.0), (46, 26.0)):
        _sprout(sheet, (x, 58), height)
    sheet.line([(12, 58), (56, 58)], 2, EARTH)
    sheet.text("bring some,", (76, 30), 6.5, INK, bold=0.12)
    sheet.text("take some", (76, 37), 6.5, INK, bold=0.12)
    picture = sheet.finish()
    stamp_code(picture, (830, 520), 3)
    return picture


def stamp_code(picture: Image.Image, corner: tuple[int, int], module: int) -> None:
    """Draw the code with its top left at ``corner``, each module ``module`` pixels wide."""
    pen = ImageDraw.Draw(picture)
    left, top = corner
    for row, modules in enumerate(CODE_ROWS):
        for column, mark in enumerate(modules):
            if mark == "#":
                x, y = left + column * module, top + row * module
                pen.rectangle([x, y, x + module - 1, y + module - 1], fill=INK)


def _flat(picture: Image.Image, colour: tuple[int, int, int]) -> Image.Image:
    backdrop = Image.new("RGBA", picture.size, (*colour, 255))
    backdrop.alpha_composite(picture)
    return backdrop.convert("RGB")


def _furrows(sheet: Sheet, middle: Point, radius: float) -> None:
    """Earth in the lower part of a disc, with furrows."""
    level = 106.0
    rim = [point for point in ellipse(middle, radius, radius, 720) if point[1] >= level]
    sheet.shape(rim, EARTH)
    for y in (116.0, 126.0, 135.0):
        half = math.sqrt(radius**2 - (y - middle[1]) ** 2) - 6
        sheet.line(
            curve((90 - half, y), (90 - half / 3, y + 4), (90 + half / 3, y - 4), (90 + half, y)), 1.6, "#82603f"
        )


def _beetroot(sheet: Sheet, centre: Point, radius: float) -> None:
    x, y = centre
    for tip, width in (((x - 29, y - 53), 17.0), ((x + 29, y - 53), 17.0), ((x, y - 64), 19.0)):
        sheet.shape(leaf((x, y - radius + 3), tip, width), LEAF)
        rib = (x + (tip[0] - x) * 0.82, y - radius + 3 + (tip[1] - y + radius - 3) * 0.82)
        sheet.line([(x, y - radius + 4), rib], 1.8, BEET)
    tail = curve((x + radius * 0.55, y + radius * 0.8), (x + 4, y + radius * 1.2), (x + 3, y + 38), (x - 4, y + 44))
    back = curve((x - 4, y + 44), (x - 2, y + 36), (x - 4, y + radius * 1.2), (x - radius * 0.55, y + radius * 0.8))
    sheet.shape(tail + back, BEET)
    sheet.disc(centre, radius, BEET)
    for share, width in ((0.78, 2.0), (0.52, 1.8)):
        arc = [
            point for point in ellipse(centre, radius * share, radius * share) if point[0] < x - 3 and point[1] < y + 4
        ]
        sheet.line(arc, width, BEET_LIGHT)


def _carrot(sheet: Sheet, crown: Point, turn: float, colour: Colour) -> None:
    x, y = crown

    def put(points: list[Point]) -> list[Point]:
        return turned(points, crown, turn)

    left = curve((x - 20, y), (x - 18, y + 40), (x - 8, y + 76), (x, y + 112))
    right = curve((x, y + 112), (x + 8, y + 76), (x + 18, y + 40), (x + 20, y))
    top = curve((x + 20, y), (x + 17, y - 15), (x - 17, y - 15), (x - 20, y))
    sheet.shape(put(left + right[1:] + top[1:]), colour)
    for depth, sense in ((18.0, -1), (36.0, 1), (54.0, -1)):
        edge = 17 - depth * 0.13
        sheet.line(put([(x + sense * edge, y + depth), (x + sense * (edge - 9), y + depth + 2)]), 2.2, RUST)


def _watering_can(sheet: Sheet) -> None:
    sheet.line(curve((84, 40), (122, 20), (126, 84), (90, 84)), 6, NIGHT)
    sheet.line(curve((46, 38), (52, 12), (76, 12), (82, 38)), 6, NIGHT)
    sheet.shape([(44, 74), (44, 88), (14, 44), (22, 38)], NIGHT)
    sheet.shape([(6, 45), (25, 29), (29, 36), (12, 51)], NIGHT)
    sheet.shape([(40, 38), (88, 38), (94, 96), (34, 96)], SKY)
    sheet.oval((64, 38), 24, 6, NIGHT)
    sheet.box(33, 92, 62, 7, NIGHT, 3)
    sheet.shape(star((64, 66), 13, 6, 8), CREAM)
    sheet.disc((64, 66), 5, STRAW)
    for x, y in ((8, 60), (2.8, 70), (14, 66), (9, 80), (18, 78)):
        sheet.shape(leaf((x, y - 4), (x, y + 4), 3.2), SKY)


def _wheelbarrow(sheet: Sheet, middle: Point) -> None:
    x, y = middle
    sheet.line([(x - 44, y - 14), (x + 22, y + 4)], 3, RUST)
    sheet.shape([(x - 24, y - 18), (x + 34, y - 18), (x + 20, y + 3), (x - 12, y + 3)], LEAF)
    sheet.line([(x - 8, y + 4), (x - 16, y + 22)], 3, RUST)
    sheet.line([(x + 16, y + 2), (x + 30, y + 14)], 3, RUST)
    sheet.disc((x + 30, y + 14), 9, EARTH)
    sheet.disc((x + 30, y + 14), 6, CREAM)
    sheet.disc((x + 30, y + 14), 2.4, EARTH)
    for offset, radius, colour in ((-12, 8.0, RUST), (4, 10.0, STRAW), (20, 7.5, BEET)):
        sheet.disc((x + offset, y - 21), radius, colour)
    sheet.shape([(x - 26, y - 20), (x + 36, y - 20), (x + 35, y - 16), (x - 25, y - 16)], LEAF_DARK)


def _sprout(sheet: Sheet, root: Point, height: float) -> None:
    x, y = root
    sheet.line([(x, y), (x, y - height + 4)], 1.6, LEAF)
    for share, sense in ((0.45, -1), (0.7, 1)):
        at = (x, y - height * share)
        sheet.shape(leaf(at, (x + sense * 9, at[1] - 6), 5), LEAF)
    sheet.shape(leaf((x, y - height + 6), (x, y - height - 3), 5), LEAF_DARK)
