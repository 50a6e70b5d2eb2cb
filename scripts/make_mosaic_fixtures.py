#!/usr/bin/env python3
"""Writes the small GeoTIFF files in tests/data/mosaics with rasterio (1.4) and pyproj; run from the repository.

Each is 96 x 80 pixels whose red is the column, green the row and blue 255 - column, so that a test knows every pixel.
"""
import pathlib
import sys

import numpy as np
import rasterio
from pyproj import Transformer
from rasterio.transform import Affine

OUT = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else "tests/data/mosaics")
WIDTH, HEIGHT, PIXEL = 96, 80, 0.05
EAST, NORTH = 644000.0, 3996300.0

column = np.arange(WIDTH, dtype=np.uint8)[None, :].repeat(HEIGHT, 0)
row = np.arange(HEIGHT, dtype=np.uint8)[:, None].repeat(WIDTH, 1)
RGB = np.stack([column, row, 255 - column])
SHOWN = np.full((HEIGHT, WIDTH), 255, np.uint8)
SHOWN[-10:, -10:] = 0


def write(name, bands=RGB, crs="EPSG:32617", transform=Affine(PIXEL, 0, EAST, 0, -PIXEL, NORTH), mask=None, **how):
    how = {"photometric": "RGB", **how}
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True):
        with rasterio.open(
            OUT / name, "w", driver="GTiff", width=WIDTH, height=HEIGHT, count=len(bands), dtype=bands.dtype,
            crs=crs, transform=transform, **how,
        ) as file:
            file.write(bands)
            if mask is not None:
                file.write_mask(mask)


OUT.mkdir(parents=True, exist_ok=True)
TILES = {"tiled": True, "blockxsize": 32, "blockysize": 32}
hidden = RGB * (SHOWN > 0)
write("plain.tif")
write("lzw_strips.tif", compress="lzw", blockysize=7, predictor=2)
write("deflate_tiles_alpha.tif", np.concatenate([RGB, SHOWN[None]]), compress="deflate", ALPHA="YES", **TILES)
write("planar_tiles.tif", compress="deflate", interleave="band", **TILES)
write("big_predictor.tif", compress="deflate", predictor=2, BIGTIFF="YES", **TILES)
write("no_data.tif", hidden, nodata=0, compress="deflate", **TILES)
write("jpeg_ycbcr_mask.tif", RGB, mask=SHOWN, compress="jpeg", photometric="YCBCR", JPEG_QUALITY=100,
      **TILES)
write("jpeg_rgb.tif", compress="jpeg", JPEG_QUALITY=100, **TILES)
write("sixteen_bits.tif", RGB.astype(np.uint16) * 257, compress="deflate", **TILES)
write("nowhere.tif", crs=None, transform=None, compress="deflate")
write("unknown.tif", crs=None, compress="deflate")
# What shows nothing: the left 40 columns, named or not, or a corner of black with a black square on the ground.
left, corner = RGB.copy(), RGB.copy()
left[:, :, :40] = 0
corner[:, row.astype(int) + column < 60] = 0
corner[:, 40:60, 60:80] = 0
JPEG = {"compress": "jpeg", "photometric": "YCBCR", "JPEG_QUALITY": 85}
write("jpeg_no_data_tiles.tif", left, nodata=0, **JPEG, **TILES)
write("jpeg_no_data_strips.tif", left, nodata=0, blockysize=16, **JPEG)
write("black_corner.tif", corner, compress="deflate", **TILES)
write("black_left_jpeg.tif", left, **JPEG, **TILES)
write("white_left.tif", np.where(left.max(0) > 0, left, np.uint8(255)), compress="deflate")
write("sparse.tif", np.where(column < 64, RGB, np.uint8(0)), compress="deflate", SPARSE_OK="TRUE", **TILES)


def same_ground(code):
    """Corner and pixel sizes of the same ground in another projection, north up."""
    to = Transformer.from_crs(32617, code, always_xy=True)
    x0, y0 = to.transform(EAST, NORTH)
    x1, _ = to.transform(EAST + 96 * PIXEL, NORTH)
    _, y1 = to.transform(EAST, NORTH - 80 * PIXEL)
    return Affine((x1 - x0) / 96, 0, x0, 0, (y1 - y0) / 80, y0)


write("degrees.tif", crs="EPSG:4326", transform=same_ground(4326), compress="lzw")
write("web_mercator.tif", crs="EPSG:3857", transform=same_ground(3857), compress="lzw")
write("state_feet.tif", crs="EPSG:2264", transform=same_ground(2264), compress="lzw")
with rasterio.open(
    OUT / "point.tif", "w", driver="GTiff", width=WIDTH, height=HEIGHT, count=3, dtype="uint8", crs="EPSG:32617",
    transform=Affine(PIXEL, 0, EAST, 0, -PIXEL, NORTH), photometric="RGB", compress="lzw",
) as file:
    file.update_tags(AREA_OR_POINT="Point")
    file.write(RGB)
lon, lat = Transformer.from_crs(32617, 4326, always_xy=True).transform(EAST, NORTH)
print(f"corner: latitude {lat!r}, longitude {lon!r}; rasterio {rasterio.__version__}")

# An orthomosaic of two greens of 24 x 22 m with cells of known cover, and what pyproj says which pixel is in which.
import csv

COURSE_PIXEL = 0.025
PER_DEGREE = (110960.0, 90049.7)
SIDE = 0.5
LEAF, SAND = (60, 130, 40), (205, 190, 160)


def degrees(east, north):
    return -79.4 + east / PER_DEGREE[1], 36.1 + north / PER_DEGREE[0]


to_utm = Transformer.from_crs(4326, 32617, always_xy=True)
corners = [to_utm.transform(*degrees(x, y)) for x in (-2, 56) for y in (-2, 24)]
west, north = min(x for x, _ in corners), max(y for _, y in corners)
width = int((max(x for x, _ in corners) - west) / COURSE_PIXEL) + 1
height = int((north - min(y for _, y in corners)) / COURSE_PIXEL) + 1
x, y = np.meshgrid(west + (np.arange(width) + 0.5) * COURSE_PIXEL, north - (np.arange(height) + 0.5) * COURSE_PIXEL)
lon, lat = Transformer.from_crs(32617, 4326, always_xy=True).transform(x, y)
turf = np.zeros((height, width), bool)
noise = np.random.default_rng(7).random((height // 4 + 1, width // 4 + 1)).repeat(4, 0).repeat(4, 1)[:height, :width]
rows = []
for green, east in (("G03", 0.0), ("G07", 30.0)):
    (lon0, lat0), (lon1, lat1) = degrees(east, 0), degrees(east + 24, 22)
    plane = Transformer.from_crs(
        4326, f"+proj=aeqd +lat_0={(lat0 + lat1) / 2!r} +lon_0={(lon0 + lon1) / 2!r} +ellps=WGS84", always_xy=True
    )
    px, py = plane.transform(lon, lat)
    inside = (lon > lon0) & (lon < lon1) & (lat > lat0) & (lat < lat1)
    column, row = np.floor(px / SIDE).astype(int), np.floor(py / SIDE).astype(int)
    # More turf to the east, a bare patch, and grass beside the green that must not count.
    share = np.clip(0.5 + (column * SIDE) / 30 + 0.1 * np.sin(row * SIDE), 0, 1)
    share[(px + 4) ** 2 + (py - 3) ** 2 < 9] = 0.05
    turf |= inside & (noise < share)
    cells, place = np.unique(np.stack([column[inside], row[inside]]), axis=1, return_inverse=True)
    n_turf, n_all = np.bincount(place.ravel(), turf[inside]), np.bincount(place.ravel())
    rows += [(green, c, r, int(t), int(n)) for c, r, t, n in zip(*cells.tolist(), n_turf, n_all)]
    beside = ~inside & (lon > lon0 - 2e-5) & (lon < lon1 + 2e-5) & (lat > lat0 - 2e-5) & (lat < lat1 + 2e-5)
    turf |= beside
picture = np.where(turf[None], np.array(LEAF, np.uint8)[:, None, None], np.array(SAND, np.uint8)[:, None, None])
alpha = np.full((1, height, width), 255, np.uint8)
with rasterio.open(
    OUT / "course.tif", "w", driver="GTiff", width=width, height=height, count=4, dtype="uint8", crs="EPSG:32617",
    transform=Affine(COURSE_PIXEL, 0, west, 0, -COURSE_PIXEL, north), photometric="RGB", ALPHA="YES", compress="deflate",
    zlevel=9, tiled=True, blockxsize=256, blockysize=256,
) as file:
    file.write(np.concatenate([picture, alpha]))
    file.update_tags(TIFFTAG_DATETIME="2026:06:17 09:00:00")
with open(OUT / "course_cells.csv", "w", newline="") as file:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(["green", "column", "row", "turf", "all"])
    writer.writerows(rows)
for green in ("G03", "G07"):
    turf_pixels, all_pixels = (sum(r[k] for r in rows if r[0] == green) for k in (3, 4))
    print(f"{green}: {100 * turf_pixels / all_pixels:.3f} % of {all_pixels} pixels")
