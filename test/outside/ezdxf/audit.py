"""Reads DXF files with ezdxf and prints, as JSON, what its audit says and what it finds in them."""

import json
import sys

import ezdxf
from ezdxf.math import area

out = []
for path in sys.argv[1:]:
    doc = ezdxf.readfile(path)
    auditor = doc.audit()
    space = doc.modelspace()
    kinds = {}
    closed = {}
    for e in space:
        kinds[e.dxftype()] = kinds.get(e.dxftype(), 0) + 1
        if e.dxftype() == "POLYLINE" and e.is_closed and e.dxf.layer in ("OUTLINE", "BOARD"):
            points = []
            for part in e.virtual_entities():
                if part.dxftype() == "LINE":
                    points.append(part.dxf.start)
                else:
                    # an arc is always counter-clockwise here: put its points in the polyline's order
                    arc = list(part.flattening(1e-5))
                    if points and arc[0].distance(points[-1]) > arc[-1].distance(points[-1]):
                        arc.reverse()
                    points.extend(arc[:-1])
            closed.setdefault(e.dxf.layer, []).append(abs(area(points)))
    out.append(
        {
            "version": doc.dxfversion,
            "errors": [e.message for e in auditor.errors],
            "fixes": [f.message for f in auditor.fixes],
            "layers": sorted(layer.dxf.name for layer in doc.layers),
            "kinds": kinds,
            "areas": closed,
        }
    )
json.dump(out, sys.stdout)
