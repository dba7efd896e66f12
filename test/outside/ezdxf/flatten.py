"""Reads DXF files with ezdxf and prints, as JSON, every curve of the model space as points within 1e-4 of it, blocks resolved."""

import json
import sys

import ezdxf
from ezdxf import path


def curves(entities):
    for e in entities:
        if e.dxftype() == "INSERT":
            yield from curves(e.virtual_entities())
        else:
            yield [[p.x, p.y] for p in path.make_path(e).flattening(1e-4, segments=16)]


json.dump([list(curves(ezdxf.readfile(name).modelspace())) for name in sys.argv[1:]], sys.stdout)
