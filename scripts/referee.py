#!/usr/bin/env python3
"""A second opinion on a finished season: recomputes its results in another language and compares.

    pip install numpy scipy opencv-python-headless pyproj
    python3 scripts/referee.py SEASON [--photos DIR] [--masks DIR]

SEASON is a season folder after `sprigcast run`. Recomputed from the photos, the ledger's settings and visits:

cover       every photo decoded by OpenCV (libjpeg-turbo), each pixel's hue and saturation in float64
masks       with --masks (made by `sprigcast measure --masks DIR`): the ledger's count against the mask's, and the
            mask against this script's own pixel by pixel, which separates the decoder from the colour rule
visits      mean and standard deviation of the photos of a green and date
curve       scipy.optimize.curve_fit with the forecast's weights, the date of full cover and its interval
places      geodesic distance on WGS84 between a photo's position in the ledger and in its EXIF block

Prints a table of worst differences. Exit code 0: all within tolerance; 1: not; 77: a package is missing.
"""

import argparse
import collections
import csv
import datetime
import json
import math
import pathlib
import sqlite3
import struct
import sys
import tomllib

try:
    import cv2
    import numpy as np
    import pyproj
    import scipy.optimize
    import scipy.stats
except ImportError as missing:
    print(f"referee: left out: {missing.name} is not installed; "
          "pip install numpy scipy opencv-python-headless pyproj", file=sys.stderr)
    sys.exit(77)

# Points of percent cover. libjpeg-turbo and the image crate's decoder round colours up to 5 levels apart; on 67
# real photos that moved cover by at most 0.16 points. The same decoder, and formats without loss, leave no room.
COVER_OTHER_DECODER = 0.2
COVER_SAME_PIXELS = 1e-9
# Levels that the two decoders may differ by in a channel.
DECODER_LEVELS = 6
# Share of a photo's pixels, in percent, that mask and script may judge differently although no colour within
# DECODER_LEVELS would change sides: none.
FAR_PIXELS = 1e-9
# forecast.json has four significant digits: half a unit of the last is at most 5e-4 of the value.
FIT_RELATIVE = 6e-4
# It has whole days; two solvers agree far better than this part of one.
DAYS = 0.02
# Root mean square error is written with three decimals.
RMSE_POINTS = 6e-4
VISIT_POINTS = 1e-9
METRES = 1e-3

# Where greens learn from each other: how far a curve may be from the green's own, in the own one's standard errors.
POOLED_ERRORS = 3

# Variance of a visit as the forecast takes it, in fractions of ground: a single photo's usual scatter at bare or
# full and at half cover, how many photos that expectation weighs as, and the curve's own error.
PHOTO_SD_ENDS, PHOTO_SD_MIDDLE = 0.01, 0.06
PRIOR_PHOTOS = 3
MODEL_SD = 0.015
# Student's t, one degree of freedom, 80 %: what the forecast uses where nothing is known of the scatter.
QUANTILE_UNKNOWN = 3.078
# Rounding in the last digit must not decide on a hue exactly on a limit; 8-bit colours lie further apart.
ON_THE_LIMIT = 1e-9


class Comparison:
    """Differences in one quantity."""

    def __init__(self, quantity, unit):
        self.quantity, self.unit = quantity, unit
        self.n, self.worst, self.where = 0, None, ""
        self.tolerance, self.failures = None, []
        self.left_out = collections.Counter()

    def add(self, difference, tolerance, where):
        self.n += 1
        difference = math.inf if math.isnan(difference) else abs(difference)
        if difference > tolerance:
            self.failures.append(where)
        # Tolerances may differ within a row, which shows what is worst against its own.
        if self.worst is None or difference / tolerance > self.worst / self.tolerance:
            self.worst, self.tolerance, self.where = difference, tolerance, where

    def leave_out(self, why):
        self.left_out[why] += 1

    def row(self):
        if self.n == 0:
            return [self.quantity, "0", "", "", "", "not compared"]
        verdict = f"{len(self.failures)} BEYOND" if self.failures else "ok"
        return [self.quantity, str(self.n), f"{self.worst:.3g} {self.unit}", f"{self.tolerance:.3g}", self.where,
                verdict]


def green_pixels(bgr, window):
    """Which pixels lie in the window, by the hexcone model (Smith 1978) in float64, both limits included."""
    out = np.empty(bgr.shape[:2], bool)
    strip = max(1, 1_000_000 // max(1, bgr.shape[1]))
    for top in range(0, bgr.shape[0], strip):
        b, g, r = (bgr[top:top + strip, :, i].astype(np.float64) for i in range(3))
        out[top:top + strip] = in_window(r, g, b, window)
    return out


def in_window(r, g, b, window):
    high = np.maximum(np.maximum(r, g), b)
    spread = high - np.minimum(np.minimum(r, g), b)
    safe = np.where(spread > 0, spread, 1)
    sector = np.where(high == r, (g - b) / safe, np.where(high == g, 2 + (b - r) / safe, 4 + (r - g) / safe))
    hue = np.mod(60 * sector, 360)
    saturation = 100 * spread / np.where(high > 0, high, 1)
    (hue_low, hue_high), (sat_low, sat_high) = window["hue"], window["saturation"]
    # Measured from the lower limit, so that a window may pass through 0.
    along = np.mod(hue - hue_low + ON_THE_LIMIT, 360)
    in_hue = along <= (hue_high - hue_low) % 360 + 2 * ON_THE_LIMIT
    in_sat = (saturation >= sat_low - ON_THE_LIMIT) & (saturation <= sat_high + ON_THE_LIMIT)
    return in_hue & in_sat & (spread > 0)


def far_pixels(bgr, window, ours, theirs):
    """How many pixels are judged differently although no colour within DECODER_LEVELS changes sides."""
    odd = bgr[ours != theirs].astype(np.float64)
    verdict = ours[ours != theirs]
    undecided = np.ones(len(odd), bool)
    steps = np.linspace(-DECODER_LEVELS, DECODER_LEVELS, 5)
    for shift in np.array(np.meshgrid(steps, steps, steps)).T.reshape(-1, 3):
        near = np.clip(odd + shift, 0, 255)
        undecided &= in_window(near[:, 2], near[:, 1], near[:, 0], window) == verdict
    return int(undecided.sum())


def crop_of(text, width, height):
    """Pixel slices of a crop as the ledger writes it: edges rounded to the nearest pixel edge, one pixel at least."""
    left, top, right, bottom = (float(part) for part in text.split()) if text else (0, 0, 1, 1)

    def span(low, high, length):
        first = min(math.floor(low * length + 0.5), length - 1)
        return slice(first, max(first + 1, math.floor(high * length + 0.5)))

    return span(top, bottom, height), span(left, right, width)


def is_rectangle(text):
    """Whether a crop is told by its edges: not the outlines of greens, nor the ground of an earlier photo."""
    try:
        return not text or len([float(part) for part in text.split()]) == 4
    except ValueError:
        return False


def why_not_decodable(path, data):
    """Why OpenCV's pixels would not be the program's: formats and colours that it treats otherwise."""
    if data[4:8] == b"ftyp":
        return "HEIC, which OpenCV does not read"
    profile = b"ICC_PROFILE\0" in data or b"iCCP" in data[:4096] or b"ICCP" in data[:64]
    if profile and b"sRGB" not in data[:200_000]:
        return "has a colour profile, which OpenCV ignores"
    return None


def load_photos(ledger):
    """The measured photos of the layer, each with crop, window and decoder of its reading."""
    readings = collections.defaultdict(list)
    for row in ledger.execute(
            "SELECT s.photo, r.crop, r.green_pixels, r.analysed_pixels, t.json, s.missing_since FROM readings r"
            " JOIN sightings s USING (content) JOIN settings t USING (settings)"):
        readings[row["photo"]].append(row)
    for photo in ledger.execute("SELECT * FROM photos WHERE outcome = 'measured' ORDER BY photo"):
        counts = (photo["green_pixels"], photo["analysed_pixels"])
        window = {"hue": [photo["hue_low"], photo["hue_high"]],
                  "saturation": [photo["saturation_low"], photo["saturation_high"]]}
        match = None
        for reading in readings[photo["photo"]]:
            settings = json.loads(reading["json"])
            if (reading["green_pixels"], reading["analysed_pixels"]) == counts and \
                    settings["rule"].get("window") == window:
                match = reading["crop"], window, settings["decoder"]
        yield photo, match


def tolerance_of(data, decoder):
    if data[:2] == b"\xff\xd8" and "turbo" not in decoder:
        return COVER_OTHER_DECODER
    return COVER_SAME_PIXELS


def compare_photos(ledger, photo_folder, mask_folder):
    cover = Comparison("percent cover of a photo", "points")
    mask_count = Comparison("green pixels, ledger and mask", "pixels")
    mask_pixels = Comparison("pixels judged otherwise, not near a limit", "%")
    for photo, match in load_photos(ledger):
        name = photo["photo"]
        path = photo_folder / name
        if match is None:
            cover.leave_out("no window of hue and saturation in the ledger")
            continue
        if not path.exists():
            cover.leave_out("no longer in the photo folder")
            continue
        crop, window, decoder = match
        if not is_rectangle(crop):
            cover.leave_out("counted within outlines or on the ground of an earlier photo")
            continue
        data = path.read_bytes()
        if why := why_not_decodable(path, data):
            cover.leave_out(why)
            continue
        image = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
        if image is not None and (image.dtype != np.uint8 or (image.ndim == 3 and image.shape[2] == 4)):
            cover.leave_out("16-bit or transparent, which OpenCV reduces in its own way")
            continue
        # Upright, as crops and masks are.
        bgr = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
        if bgr is None:
            cover.leave_out("OpenCV cannot decode it")
            continue
        ours = green_pixels(bgr, window)
        part = crop_of(crop, bgr.shape[1], bgr.shape[0])
        percent = 100 * np.count_nonzero(ours[part]) / ours[part].size
        cover.add(percent - photo["cover_percent"], tolerance_of(data, decoder), name)
        if mask_folder is None:
            continue
        mask = cv2.imread(str(mask_folder / f"{name}.png"), cv2.IMREAD_GRAYSCALE)
        if mask is None:
            mask_count.leave_out("no mask")
            continue
        if mask.shape != ours.shape:
            mask_pixels.add(math.inf, FAR_PIXELS, name)
            continue
        mask_count.add(np.count_nonzero(mask[part] == 255) - photo["green_pixels"], 0.5, name)
        far = far_pixels(bgr[part], window, ours[part], mask[part] == 255)
        mask_pixels.add(100 * far / ours[part].size, FAR_PIXELS, name)
    return [cover] + ([mask_count, mask_pixels] if mask_folder else [])


def compare_visits(ledger, cover_csv):
    mean = Comparison("percent cover of a visit", "points")
    spread = Comparison("standard deviation of a visit", "points")
    with open(cover_csv, encoding="utf-8", newline="") as table:
        estimates = {(row["green"], row["date"]): row["estimate"] for row in csv.DictReader(table)}
    covers = collections.defaultdict(list)
    for row in ledger.execute("SELECT green, date, cover_percent FROM photos WHERE outcome = 'measured'"):
        covers[row["green"], row["date"]].append(row["cover_percent"])
    for visit in ledger.execute("SELECT * FROM visits ORDER BY green, date"):
        where = f"{visit['green']} {visit['date']}"
        photos = covers[visit["green"], visit["date"]]
        if estimates[visit["green"], visit["date"]] != "mean":
            mean.leave_out("weighted by area, or seen from above")
            continue
        if not visit["photos"] == visit["spots"] == len(photos):
            mean.leave_out("several photos of one spot")
            continue
        mean.add(np.mean(photos) - visit["cover_percent"], VISIT_POINTS, where)
        if visit["sd_percent"] is not None:
            spread.add(np.std(photos, ddof=1) - visit["sd_percent"], VISIT_POINTS, where)
    return [mean, spread]


def visit_sigma(visit):
    """Standard deviation of a visit about the curve, as a fraction of ground."""
    share, n, sd = visit["cover_percent"] / 100, visit["spots"], visit["sd_percent"]
    variance = PHOTO_SD_ENDS ** 2 + PHOTO_SD_MIDDLE ** 2 * 4 * share * (1 - share)
    if sd is not None and n > 1:
        variance = ((n - 1) * (sd / 100) ** 2 + PRIOR_PHOTOS * variance) / (n - 1 + PRIOR_PHOTOS)
    return math.sqrt(variance / n + MODEL_SD ** 2)


def logistic(ceiling):
    return lambda u, rate, midpoint: ceiling / (1 + np.exp(-rate * (u - midpoint)))


def interval_days(level, ceiling, rate, midpoint, covariance, quantile):
    """Both ends of all the days on which the curve does not differ significantly from `level`."""

    def excess(u):
        share = 1 / (1 + math.exp(-rate * (u - midpoint)))
        gradient = ceiling * share * (1 - share) * np.array([u - midpoint, -rate])
        return abs(ceiling * share - level) - quantile * math.sqrt(gradient @ covariance @ gradient)

    estimate = midpoint + math.log(level / (ceiling - level)) / rate
    for direction in (-1, 1):
        outer = estimate
        while 0 <= outer <= 400 and excess(outer) <= 0:
            outer += direction * 0.05
        inside = 0 < outer < 400
        yield scipy.optimize.brentq(excess, outer - direction * 0.05, outer) if inside else None


def beyond_day(days, whole_day):
    """How far `days` is from being rounded up to `whole_day`."""
    return max(0, days - whole_day, whole_day - 1 - days)


def compare_curves(ledger, forecast, pooled):
    unit = "standard errors" if pooled else "relative"
    rate_row = Comparison("rate of the curve", unit)
    midpoint_row = Comparison("midpoint of the curve", unit)
    errors_row = Comparison("standard errors of the curve", "relative")
    rmse_row = Comparison("scatter about the curve", "points")
    date_row = Comparison("date of full cover", "days")
    ends_row = Comparison("ends of its interval", "days")
    level = forecast["goal_percent"] / 100
    for green in forecast["greens"]:
        name, curve = green["green"], green["curve"]
        if curve is None:
            rate_row.leave_out("green without a curve")
            continue
        if curve["clock"] != "days_after_planting":
            rate_row.leave_out(f"clock of {curve['clock']}")
            continue
        planted = datetime.date.fromisoformat(green["planted"])
        visits = ledger.execute(
            "SELECT * FROM visits WHERE green = ? AND date BETWEEN ? AND ? ORDER BY date",
            (name, green["planted"], forecast["as_of"])).fetchall()
        days = np.array([(datetime.date.fromisoformat(visit["date"]) - planted).days for visit in visits], float)
        cover = np.array([visit["cover_percent"] for visit in visits]) / 100
        sigma = np.array([visit_sigma(visit) for visit in visits])
        ceiling = curve["ceiling_percent"] / 100
        model = logistic(ceiling)
        (rate, midpoint), covariance = scipy.optimize.curve_fit(
            model, days, cover, p0=(0.1, float(np.mean(days))), sigma=sigma, absolute_sigma=True, xtol=1e-14,
            ftol=1e-14, gtol=1e-14, maxfev=10_000)
        residuals = model(days, rate, midpoint) - cover
        freedom = len(days) - 2
        quantile = QUANTILE_UNKNOWN
        if freedom > 0:
            # Few visits can lie on a curve by luck: the scatter is never taken to be less than the photos' own.
            covariance = covariance * max(1.0, float(np.sum((residuals / sigma) ** 2)) / freedom)
            quantile = scipy.stats.t.ppf(0.5 + green["full_cover"]["level"] / 2, freedom)
        errors = dict(zip(("rate", "midpoint"), np.sqrt(np.diag(covariance))))
        if pooled:
            rate_row.add((curve["rate"] - rate) / errors["rate"], POOLED_ERRORS, name)
            midpoint_row.add((curve["midpoint"] - midpoint) / errors["midpoint"], POOLED_ERRORS, name)
            continue
        rate_row.add(curve["rate"] / rate - 1, FIT_RELATIVE, name)
        midpoint_row.add(curve["midpoint"] / midpoint - 1, FIT_RELATIVE, name)
        for key, error in errors.items():
            errors_row.add(curve["se"][key] / error - 1, FIT_RELATIVE, name)
        rmse_row.add(curve["rmse_percent"] - 100 * math.sqrt(np.mean(residuals ** 2)), RMSE_POINTS, name)
        full = green["full_cover"]
        if full["days_after_planting"] is not None:
            estimate = midpoint + math.log(level / (ceiling - level)) / rate
            date_row.add(beyond_day(estimate, full["days_after_planting"]), DAYS, name)
        for key, end in zip(("early", "late"), interval_days(level, ceiling, rate, midpoint, covariance, quantile)):
            if full[key] is not None and end is not None:
                whole = (datetime.date.fromisoformat(full[key]) - planted).days
                ends_row.add(beyond_day(end, whole), DAYS, f"{name} {key}")
    rows = [rate_row, midpoint_row]
    return rows if pooled else rows + [errors_row, rmse_row, date_row, ends_row]


def exif_block(data):
    """The TIFF structure that holds EXIF, or None."""
    if data[:4] in (b"II*\0", b"MM\0*"):
        return data
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        at = 8
        while at + 8 <= len(data):
            length, kind = struct.unpack(">I4s", data[at:at + 8])
            if kind == b"eXIf":
                return data[at + 8:at + 8 + length]
            at += 12 + length
    at = 2 if data[:2] == b"\xff\xd8" else len(data)
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != 0xDA:
        length = struct.unpack(">H", data[at + 2:at + 4])[0]
        if data[at + 1] == 0xE1 and data[at + 4:at + 10] == b"Exif\0\0":
            return data[at + 10:at + 2 + length]
        at += 2 + length
    return None


def exif_position(data):
    """Latitude and longitude of the GPS directory (EXIF 2.32, section 4.6.6), or None."""
    tiff = exif_block(data)
    if tiff is None:
        return None
    order = "<" if tiff[:2] == b"II" else ">"

    def directory(at):
        count = struct.unpack_from(order + "H", tiff, at)[0]
        entries = (struct.unpack_from(order + "HHI4s", tiff, at + 2 + 12 * i) for i in range(count))
        return {tag: (n, value) for tag, _, n, value in entries}

    def offset(value):
        return struct.unpack(order + "I", value)[0]

    def degrees(entry, sign):
        parts = struct.unpack_from(order + "6I", tiff, offset(entry[1]))
        whole, minutes, seconds = (a / b if b else 0 for a, b in zip(parts[::2], parts[1::2]))
        return (whole + minutes / 60 + seconds / 3600) * (-1 if sign[1][:1] in b"SW" else 1)

    try:
        gps = directory(offset(directory(offset(tiff[4:8]))[0x8825][1]))
        return degrees(gps[2], gps[1]), degrees(gps[4], gps[3])
    except (KeyError, struct.error):
        return None


def point_of(blob):
    """Longitude and latitude of a GeoPackage point without envelope, little endian."""
    return struct.unpack_from("<dd", blob, 13)


def compare_places(ledger, photo_folder):
    row = Comparison("place of a photo, ledger and EXIF", "m")
    ellipsoid = pyproj.Geod(ellps="WGS84")
    for photo in ledger.execute("SELECT photo, position FROM photos WHERE position IS NOT NULL ORDER BY photo"):
        path = photo_folder / photo["photo"]
        place = exif_position(path.read_bytes()) if path.exists() else None
        if place is None:
            row.leave_out("no place in an EXIF block that this script reads")
            continue
        longitude, latitude = point_of(photo["position"])
        metres = ellipsoid.inv(longitude, latitude, place[1], place[0])[2]
        row.add(metres, METRES, photo["photo"])
    return [row]


def print_table(rows):
    table = [["quantity", "n", "worst", "allowed", "where", ""]] + [row.row() for row in rows]
    widths = [max(len(line[i]) for line in table) for i in range(len(table[0]))]
    for line in table:
        print("  ".join(cell.ljust(width) for cell, width in zip(line, widths)).rstrip())
    for row in rows:
        for why, n in sorted(row.left_out.items()):
            print(f"left out of {row.quantity}: {n}, {why}")


def photo_folder_of(season):
    course = tomllib.loads((season / "course.toml").read_text(encoding="utf-8"))
    return season / course.get("photos", {}).get("folder", "photos")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("season", type=pathlib.Path, help="season folder after a run")
    parser.add_argument("--photos", type=pathlib.Path, help="photo folder, where not as course.toml says")
    parser.add_argument("--masks", type=pathlib.Path, help="folder of masks of the same photos")
    parser.add_argument("--pooled", action="store_true",
                        help="greens learn from each other: compare curves within the errors of each green's own fit")
    args = parser.parse_args()
    for needed in (args.season / "ledger.gpkg", args.season / "out" / "forecast.json", args.season / "out" / "cover.csv"):
        if not needed.exists():
            parser.error(f"no {needed}; run sprigcast on the season first")
    photo_folder = args.photos or photo_folder_of(args.season)
    ledger = sqlite3.connect(f"{(args.season / 'ledger.gpkg').resolve().as_uri()}?mode=ro", uri=True)
    ledger.row_factory = sqlite3.Row
    forecast = json.loads((args.season / "out" / "forecast.json").read_text(encoding="utf-8"))

    rows = compare_photos(ledger, photo_folder, args.masks)
    rows += compare_visits(ledger, args.season / "out" / "cover.csv")
    rows += compare_curves(ledger, forecast, args.pooled)
    rows += compare_places(ledger, photo_folder)
    print_table(rows)
    if rows[0].n == 0:
        print("referee: no photo could be compared", file=sys.stderr)
        return 1
    return 1 if any(row.failures for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
