import pkg from "../../package.json" with { type: "json" };
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { type Jig, planJig } from "../paths/jig.ts";
import type { PieceProof } from "../proof/piece.ts";
import { checkDrawings } from "../sheet/check.ts";
import { forcesSay } from "../sheet/cut-rows.ts";
import { pdf } from "../sheet/index.ts";
import { type JigSheet, jigDrawing, jigPages } from "../sheet/jig-sheet.ts";
import { type Finding, isStop, type Mm } from "../units/index.ts";
import { svgFiles } from "./draw.ts";
import { InputError } from "./errors.ts";
import { jsonBytes } from "./files.ts";
import { readFonts } from "./fonts.ts";
import { sha256 } from "./hash.ts";
import type { Paper } from "./papers.ts";
import { writePiece } from "./piece.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import type { OutFile } from "./write.ts";

export interface JigOptions {
  readonly hole: string;
  readonly pin: string;
  readonly sheet: { readonly length?: Mm; readonly width?: Mm; readonly thickness: Mm };
  readonly cutter?: number;
  readonly paper: Paper;
}

export interface JigMade {
  readonly jig: Jig | null;
  readonly proofs: readonly PieceProof[];
  readonly findings: readonly Finding[];
  /** Empty when a check stops it: a program that is not proved is not written. */
  readonly files: readonly OutFile[];
  readonly seconds: number;
}

/** Cell of the proof's map, mm: holes are few, their walls are measured between cells. */
const CELL = 0.1;

/** Plans, writes and proves the location plate of an order in a shop; gives the files of its folder, or none. The same bytes for the same input. */
export async function makeJig(orderSource: Source, shopSource: Source, o: JigOptions): Promise<JigMade> {
  const order = readOrder(orderSource);
  const shop = readShop(shopSource);
  const findings: Finding[] = [...order.findings, ...shop.findings];
  const proofs: PieceProof[] = [];
  const stopped = (jig: Jig | null): JigMade => ({ jig, proofs, findings, files: [], seconds: 0 });
  if (order.value === null || shop.value === null) return stopped(null);
  const { machine, cutters, coefficients } = shop.value;
  const neck = makeNeck(order.value);
  const holding = planHolding(neck, machine, cutters);
  let jig: Jig;
  try {
    jig = planJig({ holding, machine, cutters, ...(coefficients ? { coefficients } : {}), ...o });
  } catch (e) {
    if (e instanceof RangeError) throw new InputError("jig", e.message, "change --fit, --pin, --sheet or --cutter, or the order's pins");
    throw e;
  }
  findings.push(...jig.findings);
  if (findings.some(isStop)) return stopped(jig);

  const orderHash = sha256(new TextEncoder().encode(JSON.stringify({ ...o, order: order.sha256, shop: sha256(shopSource.bytes) })));
  const programs: JigSheet["programs"][number][] = [];
  const files: OutFile[] = [];
  for (const cut of jig.cuts) {
    const file = `plate-${cut.id}-t${cut.cutter.number}.ngc`;
    const { text, proof, seconds, ...made } = writePiece({
      file,
      orderName: "location-plate",
      orderHash,
      machine,
      cutter: cut.cutter,
      cut: { id: cut.id, title: cut.title, rpm: cut.conditions.rpm, moves: cut.moves },
      stock: jig.stock,
      holding: jig.holding,
      safeZ: jig.safeZ,
      zeroSays: "the plate's lower left corner, Z on the bed under it",
      zeroOnBed: machine.along === "x" ? [25, 0] : [0, 25],
      recesses: cut.id === "holes" ? jig.holes.map((h) => ({ id: h.id, x: h.x, y: h.y, diameter: h.diameter, zFloor: h.zFloor })) : [],
      cell: CELL,
    });
    proofs.push(proof);
    findings.push(...made.findings);
    const whole = proof.figure !== null && proof.measures.length === (cut.id === "holes" ? 3 * jig.holes.length : 0);
    if (findings.some(isStop) || !whole) return stopped(jig);
    programs.push({
      file,
      sha256: made.sha256,
      cutter: cut.cutter.number,
      name: cut.cutter.name,
      reach: cut.cutter.reach,
      rpm: cut.conditions.rpm,
      seconds,
    });
    files.push({ path: file, bytes: text });
  }
  const sheet: JigSheet = {
    orderTitle: order.value.name,
    machine: machine.name,
    jig,
    hole: o.hole,
    pin: o.pin,
    measures: proofs.flatMap((p) => p.measures),
    programs,
    forces: forcesSay(shop.value),
    version: pkg.version,
  };
  const pages = jigPages(sheet, o.paper);
  const drawing = jigDrawing(jig, 0.5);
  findings.push(...checkDrawings([...pages, drawing]));
  if (findings.some(isStop)) return stopped(jig);
  const bytes = await pdf(pages, await readFonts(), {
    title: `Location plate: ${order.value.name}`,
    subject: `SHA-256 ${programs[0]!.sha256}`,
  });
  const record = {
    format: "neckwright-plate/1",
    units: "mm",
    order: { name: order.value.name, sha256: order.sha256 },
    fit: { hole: o.hole, pin: o.pin, ...jig.fit },
    plate: jig.plate,
    zeros: jig.zeros,
    holes: jig.holes,
    holding: jig.holding,
    programs,
    measures: sheet.measures,
    findings,
  };
  files.push({ path: "location-plate.pdf", bytes }, ...svgFiles([drawing], ""), { path: "location-plate.json", bytes: jsonBytes(record) });
  return { jig, proofs, findings, files, seconds: programs.reduce((t, p) => t + p.seconds, 0) };
}
