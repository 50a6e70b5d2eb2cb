#!/usr/bin/env python3
"""How far cover is off where pixels are coarse: photos of the sample season averaged over squares of pixels.

    scripts/mixed_pixels.py        from the repository; numpy and OpenCV

The sample's pixels are 0.95 mm wide (760 mm across 800 pixels); cover is by the window of its course file.
"""
import csv

import cv2
import numpy as np

PHOTOS = "sample-images/pennywhistle-bend/photos/"
FACTORS = (1, 2, 4, 8, 16, 32)
BANDS = ((0, 10), (10, 30), (30, 50), (50, 70), (70, 90), (90, 101))


def green(rgb, hue=(54, 150), saturation=0.30):
    most, least = rgb.max(2), rgb.min(2)
    spread = most - least
    red, leaf, blue = rgb[..., 0], rgb[..., 1], rgb[..., 2]
    with np.errstate(all="ignore"):
        angle = 60 * np.where(
            most == red, (leaf - blue) / spread % 6,
            np.where(most == leaf, (blue - red) / spread + 2, (red - leaf) / spread + 4),
        )
        return (angle >= hue[0]) & (angle <= hue[1]) & (spread / most >= saturation)


rows = []
for row in csv.DictReader(open("tests/data/pennywhistle-bend-truth.csv")):
    photo = cv2.imread(PHOTOS + row["photo"]) if row["true_cover_percent"] else None
    if photo is None:
        continue
    photo = photo[..., ::-1].astype(np.float32)
    truth = float(row["true_cover_percent"])
    errors = []
    for k in FACTORS:
        height, width = photo.shape[0] // k, photo.shape[1] // k
        coarse = photo[: height * k, : width * k].reshape(height, k, width, k, 3).mean((1, 3))
        errors.append(100 * green(coarse).mean() - truth)
    rows.append([truth, *errors])
rows = np.array(rows)
print(f"{len(rows)} photos; pixel in mm:   ", *(f"{0.95 * k:6.1f}" for k in FACTORS))
for low, high in BANDS:
    band = rows[(rows[:, 0] >= low) & (rows[:, 0] < high)]
    print(f"error at {low:2}-{min(high, 100):3} % cover    ", *(f"{e:+6.1f}" for e in band[:, 1:].mean(0)))
print("mean error without sign      ", *(f"{e:6.1f}" for e in abs(rows[:, 1:]).mean(0)))
