import { type ForceModel, forceModel } from "../materials/cutting-force.ts";
import { degToRad, perSecond, radToDeg } from "../units/index.ts";
import { inForce, type ShopCorrection } from "./corrections.ts";
import type { GivenCutter, ShopFile } from "./shop-schema.ts";
import type { CutterShape, CutterSpec, MachineSpec, ShopSpec } from "./types.ts";

/* What stands where a shop file is silent: common practice, without a source. */

type PerAxis = ShopFile["machine"]["stiffness"];
interface Axes {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}
const each = (v: PerAxis): Axes => (typeof v === "number" ? { x: v, y: v, z: v } : v);
const eachPerSecond = (v: PerAxis): MachineSpec["feed"] => {
  const a = each(v);
  return { x: perSecond(a.x), y: perSecond(a.y), z: perSecond(a.z) };
};

/** Collet nut and spindle nose of a small router. */
const HOLDER = [
  { diameter: 20, length: 18 },
  { diameter: 43, length: 40 },
];

/** Included angle where a file gives none: a usual drill's point; vee and tapered cutters must state theirs. */
const TIP_ANGLE: Readonly<Record<CutterShape, number>> = { flat: 0, ball: 0, bull: 0, taper: 0, vee: 0, drill: degToRad(118) };

const NOUN: Readonly<Record<CutterShape, string>> = {
  flat: "flat cutter",
  ball: "ball cutter",
  bull: "bull-nosed cutter",
  taper: "tapered cutter",
  vee: "vee cutter",
  drill: "drill",
};

/** Fills in a shop. Everything that was written stays as it was written. */
export function fillShop(file: ShopFile): ShopSpec {
  const m = file.machine;
  const machine: MachineSpec = {
    name: m.name,
    bed: m.bed,
    along: m.along,
    travel: m.travel,
    clearance: m.clearance ?? 8,
    approach: m.approach ?? Math.min(2, m.clearance ?? 2),
    feed: eachPerSecond(m.feed),
    rapid: eachPerSecond(m.rapid ?? m.feed),
    acceleration: each(m.acceleration),
    junctionDeviation: m.junctionDeviation ?? 0.01,
    repeat: m.repeat,
    stiffness: each(m.stiffness),
    spindle: fillSpindle(m.spindle),
    controller: { dialect: m.controller.dialect, arcs: m.controller.arcs ?? true, decimals: m.controller.decimals ?? 4 },
    ...(m.measured ? { measured: given(m.measured) } : {}),
    ...(m.sections === undefined ? {} : { sections: m.sections }),
    ...(m.grid === undefined ? {} : { grid: m.grid }),
    ...realAxes(file.corrections),
  };
  return {
    name: file.name,
    title: file.title ?? file.name,
    machine,
    cutters: file.cutters.map((c) => fillCutter(corrected(c, file.corrections), machine)),
    ...(file.corrections ? { corrections: file.corrections } : {}),
    ...(file.hardware ? { hardware: file.hardware } : {}),
    ...(file.coefficients ? { coefficients: fillCoefficients(file.coefficients) } : {}),
    ...(file.boardRadius ? { boardRadius: file.boardRadius } : {}),
    ...(file.costs ? { costs: given(file.costs) } : {}),
  };
}

/** The same without keys that hold nothing. */
const given = <T extends object>(v: T): { [K in keyof T]: Exclude<T[K], undefined> } =>
  Object.fromEntries(Object.entries(v).filter(([, x]) => x !== undefined)) as never;

function fillSpindle({ curve, ...rest }: ShopFile["machine"]["spindle"]): MachineSpec["spindle"] {
  if (curve === undefined) return rest;
  return { ...rest, curve: curve.map((p) => ({ rpm: p.rpm, power: "power" in p ? p.power : (p.torque * 2 * Math.PI * p.rpm) / 60 })) };
}

function fillCoefficients({ source, ...own }: NonNullable<ShopFile["coefficients"]>): ForceModel {
  return forceModel(given(own), source);
}

/** All test patterns together: each was cut with the ones before it put right. */
function realAxes(corrections: ShopFile["corrections"]): Pick<MachineSpec, "real"> {
  const axes = inForce<ShopCorrection>(corrections).filter((e) => e.kind === "axes");
  if (axes.length === 0) return {};
  let [x, y, z, lean] = [1, 1, 1, 0];
  for (const e of axes) {
    // (x, lean; 0, y): the later one times the earlier
    lean = e.x * lean + Math.tan(e.square) * e.y * y;
    x *= e.x;
    y *= e.y;
    z *= e.z;
  }
  return { real: { x, y, z, square: Math.atan2(lean, y) } };
}

/** The cutter with the width that its last test slot showed. */
function corrected(c: GivenCutter, corrections: ShopFile["corrections"]): GivenCutter {
  const last = inForce<ShopCorrection>(corrections).findLast((e) => e.kind === "cutter" && e.number === c.number);
  return last?.kind === "cutter" ? { ...c, shankDiameter: c.shankDiameter ?? c.diameter, diameter: last.diameter } : c;
}

function fillCutter(c: GivenCutter, machine: MachineSpec): CutterSpec {
  const tipAngle = c.tipAngle ?? TIP_ANGLE[c.shape];
  const angle = c.shape === "vee" && tipAngle > 0 ? ` ${Math.round(radToDeg(tipAngle))} deg` : "";
  return {
    number: c.number,
    name: c.name ?? `${c.diameter} mm${angle} ${NOUN[c.shape]}`,
    shape: c.shape,
    diameter: c.diameter,
    cornerRadius: c.shape === "ball" ? c.diameter / 2 : (c.cornerRadius ?? 0),
    tipDiameter: c.tipDiameter ?? 0,
    tipAngle,
    flutes: c.flutes,
    fluteLength: c.fluteLength,
    reach: c.reach,
    shankDiameter: c.shankDiameter ?? c.diameter,
    holder: c.holder ?? HOLDER,
    chip: c.chip ?? { min: round4(0.005 * c.diameter), max: round4(0.016 * c.diameter) },
    maxDepth: c.maxDepth ?? Math.min(c.diameter, c.fluteLength),
    maxRpm: c.maxRpm ?? machine.spindle.max,
    modulus: c.modulus ?? (c.shape === "drill" ? 200000 : 580000),
    // metres in the file
    ...(c.life === undefined ? {} : { life: c.life * 1000 }),
    ...(c.price === undefined ? {} : { price: c.price }),
    ...(c.recess === undefined ? {} : { recess: c.recess }),
  };
}

const round4 = (v: number): number => Math.max(0.0005, Math.round(v * 1e4) / 1e4);
