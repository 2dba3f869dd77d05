"""Files of points and scans, whole and then broken by lot."""

from __future__ import annotations

import io
import json
import random
from collections.abc import Iterator

import ezdxf
import laspy
import numpy as np
import openpyxl

POINTS = [(str(k), 10.0 * (k % 5), 7.0 * (k // 5), 100 + 0.1 * k, "GND") for k in range(20)]


def whole() -> dict[str, bytes]:
    """Return a small file of each format by its name."""
    rng = np.random.default_rng(1)
    xyz = rng.uniform(0, 6, (3000, 3))
    xyz[:, 2] *= 0.01
    made = {}
    for ending, format_ in (("las", 3), ("laz", 3), ("laz", 6), ("las", 6)):
        header = laspy.LasHeader(point_format=format_, version="1.4" if format_ > 5 else "1.2")
        header.scales, header.offsets = [0.001] * 3, [0.0] * 3
        data = laspy.LasData(header)
        data.x, data.y, data.z = xyz.T
        stream = io.BytesIO()
        data.write(stream, do_compress=ending == "laz")
        made[f"scan{format_}.{ending}"] = stream.getvalue()
    head = "ply\nformat {} 1.0\nelement vertex 3000\nproperty float x\nproperty float y\n"
    head += "property float z\nend_header\n"
    made["little.ply"] = head.format("binary_little_endian").encode() + xyz.astype("<f4").tobytes()
    text = "\n".join(" ".join(f"{v:.4f}" for v in row) for row in xyz)
    made["text.ply"] = (head.format("ascii") + text + "\n").encode()
    made["scan.xyz"] = text.encode()
    rows = "\n".join(",".join(map(str, row)) for row in POINTS)
    made["shots.csv"] = rows.encode()
    made["named.csv"] = ("point,north,east,elevation,description\n" + rows).encode()
    made["shots.geojson"] = json.dumps(
        {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "properties": {"name": name, "code": code},
                    "geometry": {"type": "Point", "coordinates": [x, y, z]},
                }
                for name, x, y, z, code in POINTS
            ],
        }
    ).encode()
    pnts = "".join(
        f'<CgPoint name="{n}" code="{c}">{y} {x} {z}</CgPoint>' for n, x, y, z, c in POINTS
    )
    made["shots.xml"] = (
        '<?xml version="1.0"?><LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" '
        'version="1.2"><Units><Imperial linearUnit="foot"/></Units>'
        f"<CgPoints>{pnts}</CgPoints></LandXML>"
    ).encode()
    drawing = ezdxf.new("R12")
    for _, x, y, z, _ in POINTS:
        drawing.modelspace().add_point((x, y, z))
    drawing.modelspace().add_polyline3d([(0, 0, 1), (9, 9, 2), (20, 9, 3)])
    text_stream = io.StringIO()
    drawing.write(text_stream)
    made["shots.dxf"] = text_stream.getvalue().encode()
    book = openpyxl.Workbook()
    for row in [("point", "y", "x", "z", "code"), *POINTS]:
        book.active.append(row)
    packed = io.BytesIO()
    book.save(packed)
    made["shots.xlsx"] = packed.getvalue()
    return made


def broken(data: bytes, seed: int, count: int) -> Iterator[bytes]:
    """Yield a file cut short, with bytes changed, left out, repeated, or with others in it."""
    lot = random.Random(seed)
    for _ in range(count):
        made = bytearray(data)
        for _ in range(lot.choice((1, 1, 2, 5))):
            if not made:
                break
            # Heads are where the most is believed.
            most = len(made) if lot.random() < 0.5 else min(len(made), 500)
            at = lot.randrange(most)
            match lot.randrange(6):
                case 0:
                    del made[at:]
                case 1:
                    made[at] ^= 1 << lot.randrange(8)
                case 2:
                    made[at : at + lot.randrange(1, 9)] = bytes(
                        lot.choice((0, 255, lot.randrange(256))) for _ in range(8)
                    )
                case 3:
                    del made[at : at + lot.randrange(1, 200)]
                case 4:
                    made[at:at] = made[at : at + lot.randrange(1, 200)]
                case _:
                    words = (b"nan", b"inf", b"1e999", b"-", b'"', b",,", b"\n", b"\0", b"9" * 400)
                    made[at:at] = lot.choice(words)
        yield bytes(made)
