#!/usr/bin/env python3
"""Draws photos of slates: the cards of a slates.pdf, seen by a phone's lens at many sizes, slants and lights, lying
on the ground of other photos.

    sprigcast walk SEASON --pdf
    scripts/draw_slates.py SEASON/out/slates.pdf OUT GROUND_PHOTO... [--width 4000] [--seed 1]
    cargo run --release --example score-slates -- OUT/*

Needs numpy, OpenCV and pdftoppm. A file is named after the id on its card, so that the reader can be judged; a
folder holds one condition. The same options draw the same photos.
"""

import argparse
import pathlib
import subprocess
import tempfile

import cv2
import numpy as np

DPI = 254  # ten pixels a millimetre


def cards(pdf):
    """Every card of the file: its id and its picture."""
    ids = []
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    for word in text.split():
        if word.startswith("SPRIGCAST/1/"):
            ids.append(word.rsplit("/", 1)[1])
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-png", pdf, folder + "/page"], check=True)
        pages = [cv2.imread(str(path), cv2.IMREAD_GRAYSCALE) for path in sorted(pathlib.Path(folder).glob("page*"))]
    halves = [half for page in pages for half in np.array_split(page, 2)]
    return [(id_, trimmed(half)) for id_, half in zip(ids, halves)]


def trimmed(half):
    """The card without the rest of its sheet: what is printed and a margin of 14 mm."""
    half = half.copy()
    half[-40:] = 255  # the line to cut along
    half[:40] = 255
    # Ink or paper: renderers leave hairs of grey between squares that touch, printers do not.
    half = np.where(half < 128, 0, 255).astype(np.uint8)
    rows, columns = np.where(half < 128)
    margin = 140
    top, left = max(rows.min() - margin, 0), max(columns.min() - margin, 0)
    return half[top : rows.max() + margin, left : columns.max() + margin]


def code_pixels(card):
    """Side of the code with its blank margin, in pixels of the card."""
    rows, _ = np.where(card < 128)
    return (rows.max() - rows.min()) * 1.2


def ground(path, width, rng):
    """A ground of the wanted size from a smaller photo: mirrored tiles at a random scale, with its own grain."""
    photo = cv2.imread(str(path))
    scale = rng.uniform(0.9, 2.2)
    photo = cv2.resize(photo, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    height = width * 3 // 4
    wide = np.concatenate([photo, photo[:, ::-1]], axis=1)
    tile = np.concatenate([wide, wide[::-1]], axis=0)
    times = (height // tile.shape[0] + 2, width // tile.shape[1] + 2, 1)
    big = np.tile(tile, times)
    top, left = rng.integers(0, tile.shape[0]), rng.integers(0, tile.shape[1])
    return big[top : top + height, left : left + width].astype(np.float32)


def seen(card, width, share, slant_deg, rng):
    """The map from the card to the picture: the code's width is `share` of the picture's."""
    height = width * 3 // 4
    focal = 0.72 * width
    code = code_pixels(card)
    rows, columns = card.shape
    distance = focal * code / (share * width)
    turn, axis = rng.uniform(0, 2 * np.pi), rng.uniform(0, 2 * np.pi)
    slant = np.deg2rad(slant_deg)
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    k = np.array([np.cos(axis), np.sin(axis), 0])
    cross = np.array([[0, -k[2], k[1]], [k[2], 0, -k[0]], [-k[1], k[0], 0]])
    tilt = np.eye(3) + np.sin(slant) * cross + (1 - np.cos(slant)) * cross @ cross
    # The code's middle, not the card's, is what people aim at.
    middle = np.array([code * 0.5 + 60, rows / 2, 0])
    corners = np.array([[0, 0, 0], [columns, 0, 0], [columns, rows, 0], [0, rows, 0]], float) - middle
    code_corners = np.array([[-0.5, -0.5, 0], [0.5, -0.5, 0], [0.5, 0.5, 0], [-0.5, 0.5, 0]]) * code
    for _ in range(200):
        aim = np.array([rng.uniform(-0.35, 0.35) * width, rng.uniform(-0.35, 0.35) * height])

        def projected(points):
            placed = points @ (tilt @ spin).T
            depth = distance + placed[:, 2]
            return placed[:, :2] / depth[:, None] * focal + aim + [width / 2, height / 2]

        inside = projected(code_corners)
        if (inside > 8).all() and (inside < [width - 8, height - 8]).all():
            break
    at = projected(corners).astype(np.float32)
    source = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float32)
    return cv2.getPerspectiveTransform(source, at)


def drawn(card, path, width, rng, share=0.33, slant=15.0, light="sun", blur=0.0, quality=88):
    picture = ground(path, width, rng)
    height = picture.shape[0]
    matrix = seen(card, width, share, slant, rng)
    # Drawn at twice the size, so that edges are those of a lens and not of a screen.
    double = np.diag([2.0, 2.0, 1.0]) @ matrix
    size = (2 * width, 2 * height)
    paper = cv2.warpPerspective(card, double, size, flags=cv2.INTER_AREA, borderValue=255)
    shape = cv2.warpPerspective(np.full_like(card, 255), double, size, flags=cv2.INTER_LINEAR, borderValue=0)
    paper = cv2.resize(paper, (width, height), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
    shape = cv2.resize(shape, (width, height), interpolation=cv2.INTER_AREA).astype(np.float32)[..., None] / 255
    # Ink is a twentieth of the light of paper, and paper a little warm; in linear light.
    bright = 0.05 + 0.83 * paper[..., None] * np.array([0.94, 0.98, 1.0], np.float32)
    linear = (picture / 255) ** 2.2 * (1 - shape) + bright * shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    if light == "part shade":
        # A shadow's edge runs across the card.
        angle = rng.uniform(0, 2 * np.pi)
        centre = cv2.perspectiveTransform(np.array([[[card.shape[0] / 2, card.shape[0] / 2]]], np.float32), matrix)[0, 0]
        away = (x - centre[0]) * np.cos(angle) + (y - centre[1]) * np.sin(angle)
        linear *= (0.17 + 0.83 / (1 + np.exp(-np.clip(away / (0.004 * width), -30, 30))))[..., None]
    elif light == "dappled":
        blotches = cv2.resize(rng.random((9, 12)).astype(np.float32), (width, height), interpolation=cv2.INTER_CUBIC)
        linear *= (0.17 + 0.83 / (1 + np.exp(-(blotches - 0.5) * 30)))[..., None]
    elif light == "dim":
        linear *= 0.10
    elif light == "bright":
        linear *= 2.2
    elif light == "glare":
        centre = cv2.perspectiveTransform(np.array([[[card.shape[0] / 2, card.shape[0] / 2]]], np.float32), matrix)[0, 0]
        spot = np.exp(-(((x - centre[0]) / (share * width * 0.1)) ** 2 + ((y - centre[1]) / (share * width * 0.1)) ** 2))
        linear += 1.2 * spot[..., None] * shape
    if blur > 0:
        linear = cv2.GaussianBlur(linear, (0, 0), blur * width / 4000)
    sd = 0.03 if light == "dim" else 0.010
    linear += rng.normal(0, 1, linear.shape).astype(np.float32) * sd * np.sqrt(np.clip(linear, 0, 1) * 0.2 + 0.002)
    encoded = np.clip(linear, 0, 1) ** (1 / 2.2) * 255
    return encoded.round().astype(np.uint8), quality


CONDITIONS = {
    "a third of the width, straight": dict(share=0.33, slant=5),
    "slant 30": dict(share=0.30, slant=30),
    "slant 45": dict(share=0.30, slant=45),
    "slant 60": dict(share=0.30, slant=60),
    "near, half": dict(share=0.50, slant=10),
    "far, a sixth": dict(share=0.16, slant=15),
    "far, a tenth": dict(share=0.10, slant=15),
    "far, a sixteenth": dict(share=0.06, slant=15),
    "part shade": dict(light="part shade"),
    "dappled shade": dict(light="dappled"),
    "dim": dict(light="dim"),
    "overexposed": dict(light="bright"),
    "glare on the middle": dict(light="glare"),
    "blur of 4 pixels": dict(blur=4),
    "blur of 10 pixels": dict(blur=10),
    "blur of 4 pixels, a tenth": dict(blur=4, share=0.10),
    "slant 45, a sixth, part shade": dict(share=0.16, slant=45, light="part shade"),
}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("slates")
    parser.add_argument("out", type=pathlib.Path)
    parser.add_argument("grounds", nargs="+")
    parser.add_argument("--width", type=int, default=4000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", type=int, default=24, help="photos of each condition")
    options = parser.parse_args()
    all_cards = cards(options.slates)
    rng = np.random.default_rng(options.seed)
    for condition, how in CONDITIONS.items():
        folder = options.out / condition.replace(",", "").replace(" ", "-")
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(options.each):
            id_, card = all_cards[number % len(all_cards)]
            path = options.grounds[rng.integers(len(options.grounds))]
            picture, quality = drawn(card, path, options.width, rng, **how)
            name = folder / f"{id_}_{number:02}.jpg"
            cv2.imwrite(str(name), picture, [cv2.IMWRITE_JPEG_QUALITY, quality])


if __name__ == "__main__":
    main()
