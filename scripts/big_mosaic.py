#!/usr/bin/env python3
"""Makes a season with one large orthomosaic (40,000 x 40,000 pixels by default) to measure memory and time with.

    scripts/big_mosaic.py SEASON [SIDE] [jpeg|deflate]

18 greens of 24 x 22 m lie on a course of SIDE pixels of 2.5 cm; the picture is written tile by tile with rasterio.
Then: /usr/bin/time -v sprigcast measure SEASON
"""
import json
import pathlib
import sys

import numpy as np
import rasterio
from pyproj import Transformer
from rasterio.transform import Affine
from rasterio.windows import Window

season = pathlib.Path(sys.argv[1])
side = int(sys.argv[2]) if len(sys.argv) > 2 else 40_000
form = sys.argv[3] if len(sys.argv) > 3 else "jpeg"
PIXEL, TILE = 0.025, 512
WEST, NORTH = 644000.0, 3996300.0
(season / "photos").mkdir(parents=True, exist_ok=True)

to_degrees = Transformer.from_crs(32617, 4326, always_xy=True)
course = ['[course]\nname = "Pennywhistle Bend"\n\n[cover]\nhue = [65.0, 150.0]\nsaturation = [10.0, 100.0]\n']
features = []
for n in range(18):
    x = WEST + side * PIXEL * (0.08 + 0.15 * (n % 6))
    y = NORTH - side * PIXEL * (0.1 + 0.3 * (n // 6))
    ring = [to_degrees.transform(x + e, y - s) for e, s in ((0, 22), (24, 22), (24, 0), (0, 0), (0, 22))]
    features.append({
        "type": "Feature", "properties": {"green": f"G{n + 1:02}"},
        "geometry": {"type": "Polygon", "coordinates": [[list(at) for at in ring]]},
    })
    course.append(f'\n[[green]]\nid = "G{n + 1:02}"\nplanted = 2026-05-18\n')
(season / "course.toml").write_text("".join(course))
(season / "greens.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": features}))

random = np.random.default_rng(3)
leaf, sand = np.array((60, 130, 40)), np.array((205, 190, 160))
turf = random.random((TILE // 4, TILE // 4)).repeat(4, 0).repeat(4, 1) < 0.4
tile = np.where(turf[..., None], leaf, sand).transpose(2, 0, 1) + random.integers(-20, 20, (3, TILE, TILE))
tile = tile.astype(np.uint8)
how = {"compress": "jpeg", "photometric": "YCBCR"} if form == "jpeg" else {"compress": "deflate", "zlevel": 1, "ALPHA": "YES"}
count = 3 if form == "jpeg" else 4
if count == 4:
    tile = np.concatenate([tile, np.full((1, TILE, TILE), 255, np.uint8)])
with rasterio.open(
    season / "photos" / "2026-06-15_course.tif", "w", driver="GTiff", width=side, height=side, count=count,
    dtype="uint8", crs="EPSG:32617", transform=Affine(PIXEL, 0, WEST, 0, -PIXEL, NORTH), tiled=True, blockxsize=TILE,
    blockysize=TILE, BIGTIFF="IF_SAFER", **{"photometric": "RGB", **how},
) as file:
    for row in range(0, side, TILE):
        for column in range(0, side, TILE):
            width, height = min(TILE, side - column), min(TILE, side - row)
            file.write(tile[:, :height, :width], window=Window(column, row, width, height))
