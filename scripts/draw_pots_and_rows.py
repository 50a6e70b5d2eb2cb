#!/usr/bin/env python3
"""Draws photos unlike those that the colour rule was made with, and their true masks.

    scripts/draw_pots_and_rows.py FOLDER [--seed 1] [--photos 24]
    target/release/examples/score-masks FOLDER/pots/photos FOLDER/pots/masks --each
    target/release/examples/score-masks FOLDER/rows/photos FOLDER/rows/masks --each

pots: close-ups of 6 to 180 blades in a pot of sand, dry or wet, with its rim and what the pot stands on (stone, wood,
plastic); cover 0.2 to 6 %. rows: broad leaves in two rows on brown soil, 1 to 20 %, two thirds of them in sun with hard
shadows of leaves and clods. Every photo has a white balance, brightness, noise and JPEG quality of its own; 1200 x 900
pixels, drawn twice as large and averaged. Needs numpy and OpenCV.
"""
import argparse
import pathlib

import cv2
import numpy as np

WIDTH, HEIGHT, FINE = 1200, 900, 2
STANDS_ON = [(150, 148, 145), (120, 95, 70), (45, 45, 48), (175, 170, 160), (110, 84, 60), (90, 100, 110)]
RIMS = [(165, 90, 60), (30, 30, 32), (60, 58, 55), (170, 100, 70)]
SANDS = [(203, 188, 150), (190, 172, 130), (225, 215, 190), (170, 150, 115)]
SOILS = [(95, 78, 62), (70, 56, 44), (120, 98, 76), (85, 70, 60), (110, 80, 55)]
BLADES = [(92, 118, 58), (110, 140, 62), (82, 112, 66), (120, 135, 75)]
BROAD = [(105, 140, 60), (90, 130, 55), (130, 160, 80), (80, 115, 65)]
N_BLADES = [6, 14, 30, 60, 110, 180, 26, 45]
COVERS = [0.01, 0.02, 0.04, 0.06, 0.09, 0.12, 0.16, 0.20]


def linear(srgb):
    return (np.array(srgb) / 255.0) ** 2.2


def texture(random, scales, shape):
    """Noise of several sizes in pixels, each with its standard deviation."""
    height, width = shape
    sum_of = np.zeros(shape, np.float32)
    for size, sd in scales:
        coarse = random.normal(size=(height // size + 3, width // size + 3)).astype(np.float32)
        how = cv2.INTER_CUBIC if size > 1 else cv2.INTER_NEAREST
        sum_of += sd * cv2.resize(coarse, (width, height), interpolation=how)
    return sum_of


def surface(random, srgb, scales, shape, turn=0.02):
    light = np.exp(texture(random, scales, shape) - 0.05)[..., None] * linear(srgb)
    hue = texture(random, ((1, 1.0), (7, 1.0)), shape)
    light[..., 0] *= 1 + turn * hue
    light[..., 2] *= 1 - 1.5 * turn * hue
    return light.astype(np.float32)


def blade(random, mask, shade, x, y, length, width, heading, bend):
    brightness, n = random.uniform(0.65, 1.35), 24
    for step in range(n):
        thick = max(1, int(width * (1 - (step / n) ** 2) + 0.6))
        heading += bend / n
        to = (x + length / n * np.cos(heading), y + length / n * np.sin(heading))
        ends = (int(x), int(y)), (int(to[0]), int(to[1]))
        cv2.line(mask, *ends, 1, thick)
        cv2.line(shade, *ends, float(brightness), thick)
        x, y = to


def composed(random, ground, mask, shade, leaf, in_sun, shift):
    grain = np.exp(texture(random, ((9, 0.12), (30, 0.15)), mask.shape))
    image = np.where(mask[..., None] > 0, linear(leaf) * (shade * grain)[..., None], ground)
    if in_sun:
        thrown = np.roll(mask.astype(np.float32), shift, (1, 0))
        thrown = np.clip(cv2.blur(thrown, (5, 5)), 0, 1)
        image = image * (1 - 0.78 * thrown * (1 - 0.5 * (mask > 0)))[..., None]
    return image.astype(np.float32)


def taken(random, image, mask, most_noise):
    """As a phone takes it: sRGB bytes (blue first), and the mask."""
    cast = np.exp(random.normal(0, 0.05, 3)).astype(np.float32) * random.uniform(0.75, 1.25)
    small = cv2.resize(image * cast, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), 0.7)
    stored = 255 * np.clip(small, 0, 1) ** (1 / 2.2)
    stored = stored + random.normal(0, random.uniform(1, most_noise), stored.shape)
    share = cv2.resize(mask.astype(np.float32), (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
    return np.clip(stored, 0, 255).astype(np.uint8)[..., ::-1], share > 0.5


def pot(random, number):
    shape = height, width = HEIGHT * FINE, WIDTH * FINE
    image = surface(random, STANDS_ON[number % 6], ((3, 0.06), (40, 0.1), (300, 0.15)), shape, 0.01)
    middle = width / 2 + random.normal(0, 60), height / 2 + random.normal(0, 40)
    radius = height * random.uniform(0.40, 0.47)
    y, x = np.mgrid[:height, :width]
    from_middle = np.hypot(x - middle[0], y - middle[1])
    rim = surface(random, RIMS[number % 4], ((5, 0.05), (60, 0.1)), shape, 0.01)
    image[from_middle < 1.1 * radius] = rim[from_middle < 1.1 * radius]
    sand = surface(random, SANDS[number % 4], ((1, 0.12), (3, 0.1), (12, 0.06), (90, 0.06)), shape)
    if number % 3 == 0:
        sand *= 1 - 0.45 * np.clip(texture(random, ((220, 0.5),), shape), 0, 1)[..., None]
    is_sand = from_middle < radius
    image[is_sand] = sand[is_sand]
    mask, shade = np.zeros(shape, np.uint8), np.ones(shape, np.float32)
    n_blades = N_BLADES[number % 8]
    for _ in range(n_blades):
        spread = 0.85 * np.sqrt(random.uniform()) if n_blades > 100 else 0.55 * random.uniform()
        at = random.uniform(0, 2 * np.pi)
        place = (middle[0] + spread * radius * np.cos(at), middle[1] + spread * radius * np.sin(at))
        size = random.uniform(0.12, 0.35) * radius, random.uniform(7, 16)
        blade(random, mask, shade, *place, *size, random.uniform(0, 2 * np.pi), random.normal(0, 0.8))
    mask[from_middle > 1.02 * radius] = 0
    in_sun = number // 2 % 2 == 0
    image = composed(random, image, mask, shade, BLADES[number % 4], in_sun, (18, 22))
    if in_sun:
        of_rim = ((np.hypot(x - middle[0] - 60, y - middle[1] - 75) > radius) & is_sand).astype(np.float32)
        image *= (1 - 0.75 * cv2.blur(of_rim, (9, 9)))[..., None]
    return taken(random, image, mask, 4)


def row(random, number):
    shape = HEIGHT * FINE, WIDTH * FINE
    scales = ((2, 0.10), (5, 0.16), (14, 0.18), (40, 0.14), (160, 0.12))
    ground = surface(random, SOILS[number % 5], scales, shape, 0.015)
    in_sun = number % 3 < 2
    if in_sun:
        clods = texture(random, ((14, 1.0), (40, 1.2)), shape)
        steep = clods - np.roll(clods, (8, 10), (1, 0))
        ground = 1.25 * ground * (1 - 0.65 * np.clip(steep - 1.1, 0, 1))[..., None]
    mask, shade = np.zeros(shape, np.uint8), np.ones(shape, np.float32)
    while mask.mean() < COVERS[number % 8]:
        y = random.choice([0.3, 0.72]) * shape[0] + random.normal(0, 40)
        x, size = random.uniform(0, shape[1]), random.uniform(25, 80)
        for _ in range(random.integers(3, 6)):
            heading, brightness = random.uniform(0, 2 * np.pi), float(random.uniform(0.7, 1.4))
            middle = int(x + size * np.cos(heading)), int(y + size * np.sin(heading))
            axes = int(size), int(size * random.uniform(0.4, 0.7))
            cv2.ellipse(mask, middle, axes, np.degrees(heading), 0, 360, 1, -1)
            cv2.ellipse(shade, middle, axes, np.degrees(heading), 0, 360, brightness, -1)
            cv2.line(mask, (int(x), int(y)), middle, 1, 5)
    return taken(random, composed(random, ground, mask, shade, BROAD[number % 4], in_sun, (26, 32)), mask, 5)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--photos", type=int, default=24)
    options = parser.parse_args()
    for kind, draw in (("pots", pot), ("rows", row)):
        random = np.random.default_rng(options.seed)
        for part in ("photos", "masks"):
            (options.folder / kind / part).mkdir(parents=True, exist_ok=True)
        for number in range(options.photos):
            photo, mask = draw(random, number)
            name = f"{kind}-{number:02d}"
            quality = [cv2.IMWRITE_JPEG_QUALITY, (90, 85, 95)[number % 3]]
            cv2.imwrite(str(options.folder / kind / "photos" / f"{name}.jpg"), photo, quality)
            cv2.imwrite(str(options.folder / kind / "masks" / f"{name}.png"), mask.astype(np.uint8) * 255)


if __name__ == "__main__":
    main()
