#!/usr/bin/env python3
"""Makes the small photos under tests/data/photos and prints the values that tests expect of them.

    pip install pillow pillow-heif piexif
    python3 scripts/make_photo_fixtures.py tests/data/photos

Pictures are drawn here; makers, models and places are made up. The files are kept in the repository, since
another version of an encoder gives other bytes.
"""

import io
import struct
import sys
import zlib
from pathlib import Path

import piexif
import pillow_heif
from PIL import Image, ImageCms, ImageOps

pillow_heif.register_heif_opener()

SIZE = (64, 48)
SAND, GRASS, SHADE, FLAG, SKY = (190, 160, 110), (84, 140, 52), (40, 60, 30), (200, 40, 40), (90, 130, 200)


def scene():
    """Upright scene in which every corner differs: sand, grass, flag, sky, a strip of shade in the middle."""
    image = Image.new("RGB", SIZE, SAND)
    image.paste(GRASS, (32, 0, 64, 24))
    image.paste(FLAG, (0, 24, 32, 48))
    image.paste(SKY, (32, 24, 64, 48))
    image.paste(SHADE, (24, 16, 40, 32))
    return image


# Centres of the five areas of the upright scene.
PROBES = {"sand": (8, 8), "grass": (56, 8), "flag": (8, 40), "sky": (56, 40), "shade": (32, 24)}


def xyz_matrix(primaries, white=(0.3127, 0.3290)):
    """RGB to XYZ under D50 (Bradford), for an ICC profile."""
    import numpy as np

    def xyz(x, y):
        return np.array([x / y, 1.0, (1 - x - y) / y])

    columns = np.array([xyz(*p) for p in primaries]).T
    rgb_to_xyz = columns * np.linalg.solve(columns, xyz(*white))
    bradford = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
    d50 = np.array([0.9642, 1.0, 0.8249])
    scale = (bradford @ d50) / (bradford @ xyz(*white))
    return np.linalg.inv(bradford) @ np.diag(scale) @ bradford @ rgb_to_xyz


def icc_profile(name, primaries, curve):
    """A display profile of matrix and curve (ICC.1:2022), version 4."""

    def fixed(value):
        return struct.pack(">i", round(value * 65536))

    def text(value):
        utf16 = value.encode("utf-16-be")
        return b"mluc\0\0\0\0" + struct.pack(">II", 1, 12) + b"enUS" + struct.pack(">II", len(utf16), 28) + utf16

    matrix = xyz_matrix(primaries)
    tags = {b"desc": text(name), b"cprt": text("No copyright, use freely"),
            b"wtpt": b"XYZ \0\0\0\0" + b"".join(map(fixed, (0.9642, 1.0, 0.8249)))}
    for index, channel in enumerate((b"r", b"g", b"b")):
        tags[channel + b"XYZ"] = b"XYZ \0\0\0\0" + b"".join(map(fixed, matrix[:, index]))
        tags[channel + b"TRC"] = curve
    directory, data, at = b"", b"", 128 + 4 + 12 * len(tags)
    seen = {}
    for tag, value in tags.items():
        if value not in seen:
            value_padded = value + b"\0" * (-len(value) % 4)
            seen[value] = at
            data += value_padded
            at += len(value_padded)
        directory += tag + struct.pack(">II", seen[value], len(value))
    header = struct.pack(">I4sI4s4s4s", at, b"\0\0\0\0", 0x04400000, b"mntr", b"RGB ", b"XYZ ")
    header += struct.pack(">6H", 2027, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * 28
    header += b"".join(map(fixed, (0.9642, 1.0, 0.8249)))
    header += b"\0" * (128 - len(header))
    return header + struct.pack(">I", len(tags)) + directory + data


def parametric_srgb():
    values = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    return b"para\0\0\0\0" + struct.pack(">HH", 3, 0) + b"".join(struct.pack(">i", round(v * 65536)) for v in values)


def gamma(value):
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(value * 256)) + b"\0\0"


P3 = icc_profile("Fixture P3", [(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)], parametric_srgb())
ADOBE = icc_profile("Fixture wide RGB", [(0.64, 0.33), (0.21, 0.71), (0.15, 0.06)], gamma(2.19921875))
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def rationals(degrees):
    minutes = (degrees % 1) * 60
    return ((int(degrees), 1), (int(minutes), 1), (round((minutes % 1) * 60 * 10000), 10000))


def full_exif(**changes):
    """Everything that a phone writes; taken at 09:05:07 on 14 June 2027, four hours behind UTC."""
    exif = {
        "0th": {
            piexif.ImageIFD.Make: b"Hollyhock",
            piexif.ImageIFD.Model: b"Hollyhock H4",
            piexif.ImageIFD.Software: b"9.1",
            piexif.ImageIFD.DateTime: b"2027:07:01 12:00:00",
        },
        "Exif": {
            piexif.ExifIFD.DateTimeOriginal: b"2027:06:14 09:05:07",
            piexif.ExifIFD.DateTimeDigitized: b"2027:06:14 09:05:07",
            piexif.ExifIFD.OffsetTimeOriginal: b"-04:00",
            piexif.ExifIFD.FocalLength: (425, 100),
            piexif.ExifIFD.FocalLengthIn35mmFilm: 26,
            piexif.ExifIFD.DigitalZoomRatio: (3, 2),
        },
        "GPS": {
            piexif.GPSIFD.GPSLatitudeRef: b"N",
            piexif.GPSIFD.GPSLatitude: rationals(36.1001),
            piexif.GPSIFD.GPSLongitudeRef: b"W",
            piexif.GPSIFD.GPSLongitude: rationals(79.4002),
            piexif.GPSIFD.GPSAltitudeRef: 0,
            piexif.GPSIFD.GPSAltitude: (2015, 10),
            piexif.GPSIFD.GPSHPositioningError: (475, 100),
            piexif.GPSIFD.GPSDateStamp: b"2027:06:14",
            piexif.GPSIFD.GPSTimeStamp: ((13, 1), (5, 1), (6, 1)),
        },
    }
    for part, values in changes.items():
        if values is None:
            exif.pop(part)
        else:
            exif[part] = {k: v for k, v in {**exif.get(part, {}), **values}.items() if v is not None}
    return exif


def exif_bytes(exif):
    return piexif.dump(exif)


def png(width, height, depth, colour_type, rows, chunks=()):
    """A PNG of any depth, which Pillow does not write."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    raw = b"".join(b"\0" + row for row in rows)
    out = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour_type, 0, 0, 0))
    for kind, data in chunks:
        out += chunk(kind, data)
    return out + chunk(b"IDAT", zlib.compress(raw, 9)) + chunk(b"IEND", b"")


def tiff16(image):
    """An uncompressed little-endian TIFF of 16 bits a sample, which Pillow does not write."""
    width, height = image.size
    pixels = b"".join(struct.pack("<H", v * 257) for p in image.get_flattened_data() for v in p)
    entries = [
        (256, 3, 1, width), (257, 3, 1, height), (258, 3, 3, 8 + 2 + 12 * 11 + 4), (259, 3, 1, 1), (262, 3, 1, 2),
        (273, 4, 1, 8 + 2 + 12 * 11 + 4 + 6), (274, 3, 1, 1), (277, 3, 1, 3), (278, 3, 1, height),
        (279, 4, 1, len(pixels)), (284, 3, 1, 1),
    ]
    ifd = struct.pack("<H", len(entries)) + b"".join(
        struct.pack("<HHI", tag, kind, n) + (struct.pack("<HH", v, 0) if kind == 3 and n == 1 else struct.pack("<I", v))
        for tag, kind, n, v in entries) + struct.pack("<I", 0)
    return b"II*\0" + struct.pack("<I", 8) + ifd + struct.pack("<HHH", 16, 16, 16) + pixels


ATTRIBUTES_XMP = b"""<?xpacket begin="\xef\xbb\xbf" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:air="http://example.com/air/1.0/"
 air:AbsoluteAltitude="+251.32" air:RelativeAltitude="+30.10" air:GimbalRollDegree="+0.00"
 air:GimbalYawDegree="-17.40" air:GimbalPitchDegree="-89.90" air:FlightYawDegree="-18.20"/>
</rdf:RDF></x:xmpmeta><?xpacket end="w"?>"""

ELEMENTS_XMP = b"""<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:fly="http://example.com/fly/">
<fly:RelativeAltitude>24.5</fly:RelativeAltitude><fly:FlightYawDegree>271.5</fly:FlightYawDegree>
<fly:GimbalPitchDegree>-90</fly:GimbalPitchDegree></rdf:Description></rdf:RDF></x:xmpmeta>"""


def with_xmp(jpeg, packet):
    payload = b"http://ns.adobe.com/xap/1.0/\0" + packet
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(payload) + 2) + payload + jpeg[2:]


def main():
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    image = scene()

    def save(name, picture=image, **options):
        picture.save(folder / name, **options)

    best = dict(quality=95, subsampling=0)
    save("baseline.jpg", quality=90)
    save("progressive.jpg", progressive=True, **best)
    save("grey.jpg", image.convert("L"), quality=95)
    save("cmyk.jpg", image.convert("CMYK"), quality=95)
    save("restart.jpg", restart_marker_rows=1, **best)

    # Stored so that the orientation makes each of them the upright scene.
    undo = {1: None, 2: Image.FLIP_LEFT_RIGHT, 3: Image.ROTATE_180, 4: Image.FLIP_TOP_BOTTOM,
            5: Image.TRANSPOSE, 6: Image.ROTATE_90, 7: Image.TRANSVERSE, 8: Image.ROTATE_270}
    for number, method in undo.items():
        stored = image if method is None else image.transpose(method)
        save(f"orientation_{number}.jpg", stored,
             exif=exif_bytes({"0th": {piexif.ImageIFD.Orientation: number}}), **best)
        assert same(ImageOps.exif_transpose(Image.open(folder / f"orientation_{number}.jpg")), image)

    save("p3.jpg", icc_profile=P3, **best)
    save("wide_rgb.jpg", icc_profile=ADOBE, **best)
    save("srgb_profile.jpg", icc_profile=SRGB, **best)
    save("broken_profile.jpg", icc_profile=P3[:200], **best)
    save("adobe_by_exif.jpg", exif=exif_bytes({
        "Exif": {piexif.ExifIFD.ColorSpace: 0xFFFF}, "Interop": {piexif.InteropIFD.InteroperabilityIndex: b"R03"},
    }), **best)
    save("p3.webp", lossless=True, icc_profile=P3)
    save("p3.png", icc_profile=P3)
    save("p3.tif", icc_profile=P3, compression="tiff_lzw")

    save("lossy.webp", quality=90, exif=exif_bytes(full_exif()))
    save("lzw.tif", compression="tiff_lzw")
    (folder / "sixteen_bit.tif").write_bytes(tiff16(image))
    width, height = SIZE
    deep = [b"".join(struct.pack(">H", v * 257) for x in range(width) for v in image.getpixel((x, y)))
            for y in range(height)]
    (folder / "sixteen_bit.png").write_bytes(png(width, height, 16, 2, deep))
    save("grey_16_bit.png", Image.new("I;16", (4, 4), 25700))
    save("palette.png", image.quantize(8))
    transparent = image.convert("RGBA")
    transparent.paste((84, 140, 52, 0), (0, 0, 16, 48))
    save("transparent.png", transparent)
    (folder / "exif_xmp.png").write_bytes(png(
        width, height, 8, 2, [image.crop((0, y, width, y + 1)).tobytes() for y in range(height)],
        [(b"eXIf", exif_bytes(full_exif())[6:]),
         (b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + ATTRIBUTES_XMP)]))

    # The container turns the picture and EXIF says it again: applying both would turn it twice.
    stored = image.transpose(Image.ROTATE_90)
    save("turned.heic", stored, quality=90, exif=exif_bytes(full_exif(**{"0th": {piexif.ImageIFD.Orientation: 6}})),
         xmp=ATTRIBUTES_XMP)
    save("p3_profile.heic", quality=95, icc_profile=P3, chroma=444)
    save("p3_code_points.heic", quality=95, chroma=444, color_primaries=12, transfer_characteristics=13,
         matrix_coefficients=6, full_range_flag=1)

    tiny = Image.new("RGB", (8, 8), GRASS)

    def tagged(name, exif):
        save(name, tiny, exif=exif_bytes(exif), quality=80)

    tagged("everything.jpg", full_exif())
    tagged("no_offset.jpg", full_exif(Exif={piexif.ExifIFD.OffsetTimeOriginal: None}))
    tagged("gps_time_only.jpg", full_exif(Exif=None, **{"0th": {piexif.ImageIFD.DateTime: None}}))
    tagged("blank_dates.jpg", full_exif(GPS=None, Exif={
        piexif.ExifIFD.DateTimeOriginal: b"0000:00:00 00:00:00", piexif.ExifIFD.DateTimeDigitized: b"    :  :     :  :  ",
        piexif.ExifIFD.OffsetTimeOriginal: b"   :  "}))
    tagged("nowhere.jpg", full_exif(GPS={piexif.GPSIFD.GPSLatitude: rationals(0.0),
                                         piexif.GPSIFD.GPSLongitude: rationals(0.0)}))
    tagged("nothing.jpg", {})
    plain = io.BytesIO()
    tiny.save(plain, "JPEG", quality=80)
    (folder / "drone_attributes.jpg").write_bytes(with_xmp(plain.getvalue(), ATTRIBUTES_XMP))
    (folder / "drone_elements.jpg").write_bytes(with_xmp(plain.getvalue(), ELEMENTS_XMP))

    report(folder)


def same(a, b):
    return a.size == b.size and all(
        abs(x - y) < 12 for p in PROBES.values() for x, y in zip(a.convert("RGB").getpixel(p), b.getpixel(p)))


def report(folder):
    """What Pillow and little CMS make of the files."""
    total = 0
    for path in sorted(folder.iterdir()):
        if path.suffix == ".md":
            continue
        total += path.stat().st_size
        picture = ImageOps.exif_transpose(Image.open(path))
        icc = picture.info.get("icc_profile")
        if picture.mode not in ("RGB", "RGBA"):
            picture = picture.convert("RGB")
        elif icc and path.name != "broken_profile.jpg":
            source = ImageCms.ImageCmsProfile(io.BytesIO(icc))
            picture = ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB"), renderingIntent=1)
        if picture.size == SIZE:
            print(path.name, path.stat().st_size, {k: picture.getpixel(v)[:3] for k, v in PROBES.items()})
        else:
            print(path.name, path.stat().st_size, picture.size, picture.getpixel((2, 2)))
    green = Image.new("RGB", (3, 1))
    for x, colour in enumerate([(0, 255, 0), (84, 140, 52), (128, 128, 128)]):
        green.putpixel((x, 0), colour)
    for name, icc in (("P3", P3), ("wide", ADOBE)):
        out = ImageCms.profileToProfile(
            green, ImageCms.ImageCmsProfile(io.BytesIO(icc)), ImageCms.createProfile("sRGB"), renderingIntent=1)
        print(name, [out.getpixel((x, 0)) for x in range(3)])
    print("total", total)


if __name__ == "__main__":
    main()
