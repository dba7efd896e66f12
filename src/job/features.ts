import * as z from "zod";
import type { SideName } from "../holding/types.ts";
import { flatten } from "../kernel/contour.ts";
import type { Polygon } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";

/*
 * The part of job.json that says what of the neck is cut, in the neck frame: x from the nut's edge at the board toward the bridge,
 * z = 0 the glue plane, +z out of the face. Lengths mm, angles degrees. What an order does not ask for is an empty list or left out.
 */

type Vec2 = readonly [number, number];

export interface JobFeatures {
  /** Closed polygons, counter-clockwise; `chord` is their largest distance from the exact curves. */
  readonly outline: { readonly neck: readonly Vec2[]; readonly board: readonly Vec2[]; readonly chord: number };
  /** Ends of the slot's centreline; depth below the finished board surface, everywhere along the slot. */
  readonly frets: readonly {
    readonly id: string;
    readonly number: number;
    readonly bass: Vec2;
    readonly treble: Vec2;
    readonly kerf: number;
    readonly depth: number;
    readonly ends: "through" | "blind";
  }[];
  /** `diameter` is the largest of the steps; x, y where the bore opens; `tilt` from upright, in the plane of x and z. */
  readonly tuners: readonly {
    readonly id: string;
    readonly string: number;
    readonly x: number;
    readonly y: number;
    readonly diameter: number;
    readonly steps: readonly { readonly diameter: number; readonly zTop: number; readonly zBottom: number }[];
    readonly tilt?: number | undefined;
  }[];
  /** xMin and xMax on the centreline; `slope` is dx/dy of both walls. */
  readonly nut: {
    readonly id: string;
    readonly kind: "seat" | "shelf";
    readonly xMin: number;
    readonly xMax: number;
    readonly zFloor: number;
    readonly slope: number;
  };
  readonly markers: readonly {
    readonly id: string;
    readonly x: number;
    readonly y: number;
    readonly diameter: number;
    readonly zFloor: number;
  }[];
  /** Channels along x about y, with round ends that reach exactly to xMin and xMax; `sag`: the floor's middle lies that much deeper. */
  readonly rod: readonly {
    readonly id: string;
    readonly from: SideName;
    readonly xMin: number;
    readonly xMax: number;
    readonly y: number;
    readonly width: number;
    readonly zFloor: number;
    readonly sag: number;
    readonly rodHeight: number;
  }[];
  readonly screws: readonly {
    readonly id: string;
    readonly x: number;
    readonly y: number;
    readonly diameter: number;
    readonly zFrom: number;
    readonly zTo: number;
  }[];
  readonly headSlots: readonly {
    readonly id: string;
    readonly xMin: number;
    readonly xMax: number;
    readonly y: number;
    readonly width: number;
  }[];
  readonly tenon: {
    readonly id: string;
    readonly xMin: number;
    readonly xMax: number;
    readonly width: number;
    readonly depth: number;
    readonly angle: number;
  } | null;
  /** Drilled by hand from the sides: no program cuts these. */
  readonly sideMarkers: readonly {
    readonly id: string;
    readonly x: number;
    readonly y: number;
    readonly z: number;
    readonly diameter: number;
    readonly depth: number;
  }[];
  readonly rollers: readonly {
    readonly id: string;
    readonly side: "bass" | "treble";
    readonly x: number;
    readonly y: number;
    readonly z: number;
    readonly diameter: number;
    readonly depth: number;
  }[];
}

const num = z.number();
const text = z.string();
const vec2 = z.tuple([num, num]);

/** The same as a schema, for reading job.json. */
export const FEATURES_SCHEMA: z.ZodType<JobFeatures> = z.object({
  outline: z.object({ neck: z.array(vec2), board: z.array(vec2), chord: num }),
  frets: z.array(z.object({ id: text, number: num, bass: vec2, treble: vec2, kerf: num, depth: num, ends: z.enum(["through", "blind"]) })),
  tuners: z.array(
    z.object({
      id: text,
      string: num,
      x: num,
      y: num,
      diameter: num,
      steps: z.array(z.object({ diameter: num, zTop: num, zBottom: num })),
      tilt: num.optional(),
    }),
  ),
  nut: z.object({ id: text, kind: z.enum(["seat", "shelf"]), xMin: num, xMax: num, zFloor: num, slope: num }),
  markers: z.array(z.object({ id: text, x: num, y: num, diameter: num, zFloor: num })),
  rod: z.array(
    z.object({
      id: text,
      from: z.enum(["board", "carve"]),
      xMin: num,
      xMax: num,
      y: num,
      width: num,
      zFloor: num,
      sag: num,
      rodHeight: num,
    }),
  ),
  screws: z.array(z.object({ id: text, x: num, y: num, diameter: num, zFrom: num, zTo: num })),
  headSlots: z.array(z.object({ id: text, xMin: num, xMax: num, y: num, width: num })),
  tenon: z.object({ id: text, xMin: num, xMax: num, width: num, depth: num, angle: num }).nullable(),
  sideMarkers: z.array(z.object({ id: text, x: num, y: num, z: num, diameter: num, depth: num })),
  rollers: z.array(z.object({ id: text, side: z.enum(["bass", "treble"]), x: num, y: num, z: num, diameter: num, depth: num })),
});

/** Largest distance of the outline's polygons in job.json from the exact curves. */
const CHORD = 0.005;

/** Twelve digits hold every length to a picometre and drop the last bits of an addition; integers stay as they are. */
export const tidy = (v: number): number => (Number.isFinite(v) ? Number(v.toPrecision(12)) + 0 : v);

const degrees = (rad: number): number => tidy((rad * 180) / Math.PI);

const ring = (polygon: Polygon): Vec2[] => {
  const points: Vec2[] = [];
  for (let k = 0; k + 1 < polygon.length; k += 2) points.push([tidy(polygon[k]), tidy(polygon[k + 1])]);
  return points;
};

export function jobFeatures(neck: Neck): JobFeatures {
  const f = neck.features;
  return {
    outline: { neck: ring(flatten(neck.outline, CHORD)), board: ring(flatten(neck.board, CHORD)), chord: CHORD },
    frets: f.frets.map((s) => ({
      id: s.id,
      number: s.number,
      bass: [tidy(s.bass.x), tidy(s.bass.y)],
      treble: [tidy(s.treble.x), tidy(s.treble.y)],
      kerf: s.kerf,
      depth: s.depth,
      ends: s.ends,
    })),
    tuners: f.tuners.map((t) => ({
      id: t.id,
      string: t.string,
      x: tidy(t.x),
      y: tidy(t.y),
      diameter: Math.max(...t.steps.map((s) => s.diameter)),
      steps: t.steps.map((s) => ({ diameter: s.diameter, zTop: tidy(s.zTop), zBottom: tidy(s.zBottom) })),
      ...(t.tilt === undefined ? {} : { tilt: degrees(t.tilt) }),
    })),
    nut: {
      id: f.nut.id,
      kind: f.nut.kind,
      xMin: tidy(f.nut.xMin),
      xMax: tidy(f.nut.xMax),
      zFloor: tidy(f.nut.zFloor),
      slope: tidy(f.nut.slope),
    },
    markers: f.markers.map((m) => ({ id: m.id, x: tidy(m.x), y: tidy(m.y), diameter: m.diameter, zFloor: tidy(m.zFloor) })),
    rod: f.rod.map((r) => ({
      id: r.id,
      from: r.from,
      xMin: tidy(r.xMin),
      xMax: tidy(r.xMax),
      y: tidy(r.y ?? 0),
      width: r.width,
      zFloor: tidy(r.zFloor),
      sag: tidy(r.sag ?? 0),
      rodHeight: r.rodHeight,
    })),
    screws: f.screws.map((s) => ({ id: s.id, x: tidy(s.x), y: tidy(s.y), diameter: s.diameter, zFrom: tidy(s.zFrom), zTo: tidy(s.zTo) })),
    headSlots: f.headSlots.map((s) => ({ id: s.id, xMin: tidy(s.xMin), xMax: tidy(s.xMax), y: tidy(s.y), width: s.width })),
    tenon:
      f.tenon === null
        ? null
        : {
            id: f.tenon.id,
            xMin: tidy(f.tenon.xMin),
            xMax: tidy(f.tenon.xMax),
            width: f.tenon.width,
            depth: tidy(f.tenon.depth),
            angle: degrees(f.tenon.angle),
          },
    sideMarkers: f.sideMarkers.map((m) => ({
      id: m.id,
      x: tidy(m.x),
      y: tidy(m.y),
      z: tidy(m.z),
      diameter: m.diameter,
      depth: m.depth,
    })),
    rollers: f.rollers.map((r) => ({
      id: r.id,
      side: r.side,
      x: tidy(r.x),
      y: tidy(r.y),
      z: tidy(r.z),
      diameter: r.diameter,
      depth: r.depth,
    })),
  };
}
