import type { MachineSpec } from "../spec/types.ts";

/** A machine with room for every neck. */
export const machine: MachineSpec = {
  name: "test machine",
  bed: { x: 1000, y: 700 },
  along: "x",
  travel: { x: 1000, y: 700, z: 150 },
  clearance: 10,
  approach: 2,
  feed: { x: 100, y: 100, z: 50 },
  rapid: { x: 150, y: 150, z: 80 },
  acceleration: { x: 500, y: 500, z: 300 },
  junctionDeviation: 0.01,
  repeat: 0.02,
  stiffness: { x: 500, y: 500, z: 800 },
  spindle: { min: 8000, max: 24000, power: 1000 },
  controller: { dialect: "full", arcs: true, decimals: 4 },
};
