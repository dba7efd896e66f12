import { degToRad } from "../units/index.ts";
import type { Cutter, Machine } from "./types.ts";

/** Two routers and a few cutters for tests and benches; orders of magnitude from memory. */

export const lightRouter: Machine = {
  name: "light belt-driven router",
  bed: { x: 600, y: 900 },
  along: "y",
  travel: { x: 600, y: 900, z: 90 },
  clearance: 8,
  approach: 1,
  feed: { x: 2500 / 60, y: 2500 / 60, z: 800 / 60 },
  rapid: { x: 60, y: 60, z: 20 },
  acceleration: { x: 300, y: 300, z: 150 },
  junctionDeviation: 0.02,
  repeat: 0.08,
  stiffness: { x: 110, y: 110, z: 160 },
  spindle: { min: 10000, max: 27000, power: 710 },
  controller: { dialect: "reduced", arcs: true, decimals: 4 },
};

export const stiffRouter: Machine = {
  ...lightRouter,
  name: "stiff screw-driven router",
  feed: { x: 100, y: 100, z: 50 },
  acceleration: { x: 900, y: 900, z: 600 },
  repeat: 0.02,
  stiffness: { x: 900, y: 900, z: 1500 },
  spindle: { min: 6000, max: 24000, power: 1500 },
  controller: { dialect: "full", arcs: true, decimals: 4 },
};

const base = {
  cornerRadius: 0,
  tipDiameter: 0,
  tipAngle: 0,
  flutes: 2,
  holder: [{ diameter: 40, length: 50 }],
  maxRpm: 30000,
  modulus: 600000,
};

export const flat8: Cutter = {
  ...base,
  number: 1,
  name: "8 mm flat",
  shape: "flat",
  diameter: 8,
  fluteLength: 32,
  reach: 40,
  shankDiameter: 8,
  chip: { min: 0.03, max: 0.09 },
  maxDepth: 8,
};
export const flat6: Cutter = {
  ...flat8,
  number: 2,
  name: "6 mm flat",
  diameter: 6,
  fluteLength: 25,
  reach: 32,
  shankDiameter: 6,
  chip: { min: 0.025, max: 0.08 },
  maxDepth: 6,
};
export const ball8: Cutter = { ...flat8, number: 3, name: "8 mm ball", shape: "ball" };
export const slot06: Cutter = {
  ...base,
  number: 4,
  name: "0.6 mm flat",
  shape: "flat",
  diameter: 0.6,
  fluteLength: 3,
  reach: 12,
  shankDiameter: 3.175,
  chip: { min: 0.004, max: 0.015 },
  maxDepth: 0.6,
};
export const drill3: Cutter = {
  ...base,
  number: 5,
  name: "3 mm drill",
  shape: "drill",
  diameter: 3,
  tipAngle: degToRad(118),
  fluteLength: 30,
  reach: 40,
  shankDiameter: 3,
  chip: { min: 0.02, max: 0.1 },
  maxDepth: 3,
};
export const bull6: Cutter = { ...flat6, number: 6, name: "6 mm bull", shape: "bull", cornerRadius: 1 };
export const taper: Cutter = {
  ...base,
  number: 7,
  name: "tapered ball",
  shape: "taper",
  diameter: 6,
  cornerRadius: 1,
  tipDiameter: 2,
  tipAngle: degToRad(10),
  fluteLength: 25,
  reach: 32,
  shankDiameter: 6,
  chip: { min: 0.01, max: 0.04 },
  maxDepth: 3,
};
export const vee60: Cutter = { ...flat6, number: 8, name: "60 degree vee", shape: "vee", tipDiameter: 0.2, tipAngle: degToRad(60) };
