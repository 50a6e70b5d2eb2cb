#!/usr/bin/env python3
"""Draws the orthomosaic of the sample season: G12 of Pennywhistle Bend from above on Jul 26, 2027.

Needs numpy, SciPy, Pillow, pyproj, shapely and rasterio; run from the repository. Leaves and sand have the colours of
the sample's own photos of that green and day. Ground is drawn in squares of 5 mm, each leaf or sand, whose share under
the outline is the true cover; a pixel of 2 cm is the mean of 16 of them. A washout in the north-east is thinner than
the rest. Prints the true cover of the green and of the washout.
"""
import json
import pathlib

import numpy as np
import rasterio
import shapely
from PIL import Image
from pyproj import Transformer
from rasterio.features import geometry_mask
from rasterio.transform import Affine
from scipy.ndimage import gaussian_filter
from scipy.special import ndtr
from shapely.geometry import Point, shape

SEASON = pathlib.Path("sample-images/pennywhistle-bend")
OUT = SEASON / "photos/from-above/G12_2027-07-26.tif"
UTM_17_NORTH = 32617
PIXEL, FINER, MARGIN = 0.02, 4, 0.6  # metres, squares per pixel and side, metres beyond the outline
WASHOUT_RADIUS, WASHOUT_LACKS = 4.5, 0.45  # metres; share of ground that lost its turf in the middle of it
COVER = 0.655  # share of leaves elsewhere

rng = np.random.default_rng(20270726)


def outline():
    features = json.loads((SEASON / "greens.geojson").read_text())["features"]
    here = next(shape(f["geometry"]) for f in features if f["properties"]["green"] == "G12")
    to_utm = Transformer.from_crs(4326, UTM_17_NORTH, always_xy=True).transform
    return shapely.transform(here, to_utm, interleaved=False)


def colours():
    """Colours of leaves and of sand, one row for each of many pixels, 0 to 255."""
    photos = [SEASON / f"photos/G12/IMG_{number:04}.jpg" for number in (845, 846, 847)]
    pixels = np.concatenate([np.asarray(Image.open(p).convert("RGB")).reshape(-1, 3) for p in photos]).astype(float)
    greenness = pixels @ [-7, 10, -3]
    leaf, sand = pixels[greenness > 330], pixels[np.abs(greenness) < 120]
    return leaf, sand


def noise(height, width):
    """Standard normal, in grains of centimetres and clumps of decimetres."""
    field = np.zeros((height, width), np.float32)
    for metres, weight in [(0.008, 0.5), (0.035, 1.0), (0.12, 0.8)]:
        grain = gaussian_filter(rng.standard_normal((height, width), np.float32), metres / PIXEL * FINER)
        field += weight * grain / grain.std()
    return field / field.std()


green = outline()
west, south, east, north = green.buffer(MARGIN).bounds
width, height = int(np.ceil((east - west) / PIXEL)), int(np.ceil((north - south) / PIXEL))
place = Affine(PIXEL, 0, west, 0, -PIXEL, north)
fine = place * Affine.scale(1 / FINER)

middle = green.centroid
washout = Point(middle.x + 6.0, middle.y + 6.5)
rows, columns = np.mgrid[0 : height * FINER, 0 : width * FINER].astype(np.float32)
x, y = west + (columns + 0.5) * PIXEL / FINER, north - (rows + 0.5) * PIXEL / FINER
apart = np.hypot(x - washout.x, y - washout.y)
wanted = COVER - WASHOUT_LACKS * np.clip(1.5 * (1 - apart / WASHOUT_RADIUS), 0, 1)
is_leaf = ndtr(noise(height * FINER, width * FINER)) < wanted

leaf, sand = colours()
light = 1 + 0.05 * gaussian_filter(rng.standard_normal(is_leaf.shape, np.float32), 40) * 40 * 3.5
drawn = np.empty((*is_leaf.shape, 3), np.float32)
for kind, of in ((is_leaf, leaf), (~is_leaf, sand)):
    drawn[kind] = of[rng.integers(len(of), size=int(kind.sum()))]
drawn *= light[..., None]
blocks = drawn.reshape(height, FINER, width, FINER, 3)
# Means of light, not of the numbers that stand for it.
rgb = np.clip(np.mean((blocks / 255) ** 2.2, axis=(1, 3)) ** (1 / 2.2) * 255, 0, 255).astype(np.uint8)

near = ~geometry_mask([green.buffer(MARGIN)], (height, width), place)
OUT.parent.mkdir(parents=True, exist_ok=True)
with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True):
    with rasterio.open(
        OUT, "w", driver="GTiff", width=width, height=height, count=3, dtype="uint8", crs=f"EPSG:{UTM_17_NORTH}",
        transform=place, tiled=True, blockxsize=256, blockysize=256, compress="jpeg", photometric="YCBCR",
        JPEG_QUALITY=80,
    ) as file:
        file.write(np.moveaxis(rgb * near[..., None], 2, 0))
        file.write_mask(near.astype(np.uint8) * 255)

inside = ~geometry_mask([green], is_leaf.shape, fine)
thin = inside & (apart < WASHOUT_RADIUS / 2)
print(f"{OUT}: {width} x {height}, {OUT.stat().st_size / 1e6:.2f} MB, green of {green.area:.0f} m2")
print(f"true cover {100 * is_leaf[inside].mean():.2f} %, in the middle of the washout {100 * is_leaf[thin].mean():.2f} %")
