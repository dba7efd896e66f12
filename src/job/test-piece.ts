import { woodByName } from "../materials/woods.ts";
import { planTestPiece, type TestPiece } from "../paths/test-piece.ts";
import { CAUTIONS, DEFERS } from "../sheet/cautions.ts";
import { type Finding, isStop, type Mm } from "../units/index.ts";
import { shopOf } from "./correct.ts";
import { InputError } from "./errors.ts";
import { sha256 } from "./hash.ts";
import { writePiece } from "./piece.ts";
import { cutterNamed, type Source } from "./source.ts";
import type { OutFile } from "./write.ts";

export interface TestPieceOptions {
  readonly kind: "pattern" | "slot";
  readonly cutter: number;
  readonly size: readonly [Mm, Mm];
  readonly wood: string;
}

export interface TestPieceMade {
  readonly piece: TestPiece;
  readonly findings: readonly Finding[];
  /** Program and form; empty when a check stops it: what is not proved is not written. */
  readonly files: readonly OutFile[];
  readonly seconds: number;
}

/** Cell of the proof's map and thickness of the sheet, mm. */
const CELL = 0.5;
const THICK: Mm = 12;

/** Plans, posts (with the shop's corrections in force) and proves a piece to be measured, and the form to write its readings on. */
export function makeTestPiece(source: Source, o: TestPieceOptions): TestPieceMade {
  const shop = shopOf(source);
  const { machine } = shop;
  const cutter = cutterNamed(shop, o.cutter);
  const wood = woodByName(o.wood);
  if (wood === undefined)
    throw new InputError(`--wood ${o.wood}`, "this wood is not in the table", 'name one as orders do, like "hard maple"');
  let piece: TestPiece;
  try {
    const coefficients = shop.coefficients ? { coefficients: shop.coefficients } : {};
    piece = planTestPiece({ kind: o.kind, cutter, machine, density: wood.density, size: o.size, thick: THICK, ...coefficients });
  } catch (e) {
    if (e instanceof RangeError) throw new InputError(o.kind, e.message, "take another cutter");
    throw e;
  }
  const file = o.kind === "pattern" ? "pattern.ngc" : `slot-t${cutter.number}.ngc`;
  const { text, proof, seconds, ...made } = writePiece({
    file,
    orderName: o.kind === "pattern" ? "test-pattern" : "test-slot",
    orderHash: sha256(new TextEncoder().encode(JSON.stringify({ ...o, shop: sha256(source.bytes) }))),
    machine,
    cutter,
    cut: {
      id: o.kind,
      title: o.kind === "pattern" ? "Test pattern" : "Test slot",
      rpm: piece.conditions.rpm,
      moves: piece.moves,
    },
    stock: piece.stock,
    holding: piece.holding,
    safeZ: piece.safeZ,
    zeroSays: "the corner of the sheet nearest to the machine's own zero, its edges along X and Y, Z on the bed",
    zeroOnBed: [30, 30],
    recesses: [],
    cell: CELL,
  });
  const findings: Finding[] = [...piece.findings, ...made.findings];
  if (findings.some(isStop) || proof.figure === null || !(proof.figure.removed > 0)) return { piece, findings, files: [], seconds };
  const form = new TextEncoder().encode(`${formOf(o, piece, file, made.sha256, cutter.name).join("\n")}\n`);
  return {
    piece,
    findings,
    seconds,
    files: [
      { path: file, bytes: text },
      { path: file.replace(/\.ngc$/, "-form.txt"), bytes: form },
    ],
  };
}

/** What to do, what to measure, and the command that takes the readings. Plain text, to be printed. */
function formOf(o: TestPieceOptions, p: TestPiece, file: string, hash: string, cutter: string): string[] {
  const [l, w, t] = p.sheet;
  const line = (what: string): string => `  ${what.padEnd(52)} ............... mm`;
  const head = [
    o.kind === "pattern" ? "TEST PATTERN: scale and squareness of the axes" : `TEST SLOT: the width that cutter ${o.cutter} really cuts`,
    `Program ${file}, SHA-256 ${hash}`,
    `Cutter ${o.cutter}, ${cutter}. Day: ....................  Name: ....................`,
    "",
    DEFERS,
    ...CAUTIONS.map((c) => `[ ] ${c}`),
    "",
    `[ ] Sheet of ${l} x ${w} x ${t} mm or larger, flat; edges along X and Y; a block at each X end, not more than 15 mm on the sheet.`,
    "[ ] Zero: X and Y at the corner nearest the machine's own zero, Z on the bed.",
    "[ ] Run it in air first, with the zero raised above the sheet.",
    "",
  ];
  if (o.kind === "slot")
    return [
      ...head,
      "Blow the slot clean. Measure across its middle, not at its ends. Then the cutter itself, over its widest edges, spindle off and unplugged.",
      "",
      line("Slot, across"),
      line("Cutter, by calliper"),
      "",
      `neckwright correct SHOP cutter --cutter ${o.cutter} --slot ....... --calliper ....... --store`,
    ];
  const [along, across] = o.size;
  return [
    ...head,
    "Measure from line to line, always on the same edge of the lines, where they cross. To a tenth of a millimetre if you can.",
    "",
    line(`Side along X near the zero          (told: ${along})`),
    line(`Side along X far from the zero      (told: ${along})`),
    line(`Side along Y near the zero          (told: ${across})`),
    line(`Side along Y far from the zero      (told: ${across})`),
    line("Diagonal from the corner nearest the zero"),
    line("The other diagonal"),
    "",
    `neckwright correct SHOP axes --size "${along} x ${across}" --x ....... --x ....... --y ....... --y ....... --diagonal ....... --diagonal ....... --store`,
  ];
}
