import pkg from "../../package.json" with { type: "json" };
import { woodByName } from "../materials/woods.ts";
import { type Coupon, couponAllowances, planCoupon } from "../paths/coupon.ts";
import type { PieceProof } from "../proof/piece.ts";
import { checkDrawings } from "../sheet/check.ts";
import { type CouponSheet, couponPages } from "../sheet/coupon-sheet.ts";
import { forcesSay } from "../sheet/cut-rows.ts";
import { pdf } from "../sheet/index.ts";
import { parseShop } from "../spec/index.ts";
import { setInList } from "../spec/set-json.ts";
import type { ShopSpec } from "../spec/types.ts";
import { type Finding, isStop, type Mm } from "../units/index.ts";
import type { Disk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { jsonBytes } from "./files.ts";
import { readFonts } from "./fonts.ts";
import { sha256 } from "./hash.ts";
import type { Paper } from "./papers.ts";
import { pieceSeconds, writePiece } from "./piece.ts";
import { type Rewrite, rewriteBy } from "./rewrite.ts";
import { cutterNamed, type Source } from "./source.ts";
import type { OutFile } from "./write.ts";

export interface CouponOptions {
  /** Number of the cutter in the shop. */
  readonly cutter: number;
  /** As an order has it: marker and fit. */
  readonly recess: Mm;
  readonly depth: Mm;
  readonly from: Mm;
  readonly to: Mm;
  readonly wood: string;
  readonly scrap?: readonly [Mm, Mm, Mm];
  readonly paper: Paper;
}

export interface CouponMade {
  readonly coupon: Coupon;
  readonly proof: PieceProof | null;
  readonly findings: readonly Finding[];
  /** Empty when a check stops it: a program that is not proved is not written. */
  readonly files: readonly OutFile[];
  readonly seconds: number;
}

/** Cell of the proof's map, mm: a coupon is small. */
const CELL = 0.1;

function shopOf(source: Source): ShopSpec {
  const { value, findings } = parseShop(source.bytes);
  if (value === undefined || findings.some(isStop))
    throw new InputError(source.path, "the shop cannot be used as it is", "run check with this shop and mend what it finds");
  return value;
}

/** Plans, writes and proves a coupon; gives the files of its folder, or none. The same bytes for the same shop and options. */
export async function makeCoupon(source: Source, o: CouponOptions, command: string): Promise<CouponMade> {
  const shop = shopOf(source);
  const cutter = cutterNamed(shop, o.cutter);
  const wood = woodByName(o.wood);
  if (wood === undefined)
    throw new InputError(`--wood ${o.wood}`, "this wood is not in the table", 'name one as orders do, like "hard maple"');
  const { machine } = shop;
  let coupon: Coupon;
  try {
    coupon = planCoupon({
      cutter,
      machine,
      density: wood.density,
      ...(shop.coefficients ? { coefficients: shop.coefficients } : {}),
      recess: o.recess,
      depth: o.depth,
      from: o.from,
      to: o.to,
      ...(o.scrap ? { scrap: o.scrap } : {}),
    });
  } catch (e) {
    if (e instanceof RangeError) throw new InputError("coupon", e.message, "change --cutter, --recess, --from, --to or --scrap");
    throw e;
  }
  const seconds = pieceSeconds(machine, coupon.moves);
  const findings: Finding[] = [...coupon.findings];
  const stopped = (proof: PieceProof | null): CouponMade => ({ coupon, proof, findings, files: [], seconds });
  if (findings.some(isStop)) return stopped(null);

  const file = `coupon-t${cutter.number}.ngc`;
  const zeroSays = "the corner of the scrap where fence and stop meet, Z on the bed";
  const { text, proof, ...made } = writePiece({
    file,
    orderName: "fit-coupon",
    orderHash: sha256(new TextEncoder().encode(JSON.stringify({ ...o, shop: sha256(source.bytes) }))),
    machine,
    cutter,
    cut: { id: "coupon", title: "Fit coupon", rpm: coupon.conditions.rpm, moves: coupon.moves },
    stock: coupon.stock,
    holding: coupon.holding,
    safeZ: coupon.safeZ,
    zeroSays,
    zeroOnBed: [30, 30],
    recesses: coupon.recesses.map((r) => ({ id: `recess-${r.position}`, x: r.x, y: r.y, diameter: r.diameter, zFloor: r.zFloor })),
    cell: CELL,
  });
  findings.push(...made.findings);
  if (findings.some(isStop) || proof.figure === null || proof.measures.length < 3 * coupon.recesses.length) return stopped(proof);

  const sheet: CouponSheet = {
    shopTitle: shop.title,
    machine: machine.name,
    cutter: { number: cutter.number, name: cutter.name, reach: cutter.reach },
    recess: o.recess,
    depth: o.depth,
    scrap: coupon.scrap,
    stock: coupon.stock,
    holding: coupon.holding,
    recesses: coupon.recesses,
    measures: proof.measures,
    file,
    sha256: sha256(text),
    seconds,
    rpm: coupon.conditions.rpm,
    safeZ: coupon.safeZ,
    choose: command,
    forces: forcesSay(shop),
    version: pkg.version,
  };
  const pages = couponPages(sheet, o.paper);
  findings.push(...checkDrawings(pages));
  if (findings.some(isStop)) return stopped(proof);
  const title = `Fit coupon: T${cutter.number} ${cutter.name}`;
  const sheetBytes = await pdf(pages, await readFonts(), { title, subject: `Program ${file}, SHA-256 ${sheet.sha256}` });
  const record = {
    format: "neckwright-coupon/1",
    units: "mm",
    cutter: cutter.number,
    recess: o.recess,
    depth: o.depth,
    wood: o.wood,
    program: { file, sha256: sheet.sha256, seconds },
    scrap: coupon.scrap,
    holding: coupon.holding,
    positions: coupon.recesses,
    measures: proof.measures,
    findings,
  };
  return {
    coupon,
    proof,
    findings,
    seconds,
    files: [
      { path: file, bytes: text },
      { path: `coupon-t${cutter.number}.pdf`, bytes: sheetBytes },
      { path: `coupon-t${cutter.number}.json`, bytes: jsonBytes(record) },
    ],
  };
}

/** Stores what position `chose` of a coupon stands for as the cutter's allowance in the shop file; nothing else in it changes. */
export async function storeAllowance(
  source: Source,
  o: Pick<CouponOptions, "cutter" | "recess" | "from" | "to">,
  chose: number,
  date: string,
  disk: Disk | Rewrite,
): Promise<{ readonly allowance: Mm; readonly was: Mm }> {
  const shop = shopOf(source);
  const cutter = cutterNamed(shop, o.cutter);
  const allowances = couponAllowances(o.from, o.to);
  const allowance = allowances[chose - 1];
  if (allowance === undefined)
    throw new InputError(
      `--chose ${chose}`,
      `the coupon has positions 1 to ${allowances.length}`,
      "give the number of the recess that fitted, with the same --from and --to",
    );
  const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(source.bytes);
  const index = shop.cutters.indexOf(cutter);
  const note = `position ${chose} of a coupon of ${o.recess} mm recesses`;
  const bytes = new TextEncoder().encode(setInList(text, ["cutters"], index, ["recess"], { allowance, date, note }));
  if (parseShop(bytes).value?.cutters[index]?.recess?.allowance !== allowance)
    throw new Error("the shop file with the allowance does not read as it should");
  await rewriteBy(disk)(source, bytes);
  return { allowance, was: cutter.recess?.allowance ?? 0 };
}
