import { clockLimits } from "../cutting/clock-limits.ts";
import { posted, postedHeight } from "../holding/correct/posting.ts";
import { settingOf } from "../holding/sections/setting.ts";
import type { Holding } from "../holding/types.ts";
import { secondsOf } from "../kernel/clock.ts";
import type { MoveList } from "../kernel/moves.ts";
import { checkProgram, dialectFor, type ProgramInput } from "../program/index.ts";
import type { ProofProgram } from "../proof/types.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import type { ProgramGroup } from "./programs.ts";

/** What the controller may round corners off by, mm: half of the deepest gouge that the proof allows. */
const PATH_TOLERANCE = 0.005;

/** Moves of a side's frame as a section's program says them. */
function inSetting(m: MoveList, [dx, dy]: readonly [number, number]): MoveList {
  if (dx === 0 && dy === 0) return m;
  const less = (a: Float64Array, d: number): Float64Array => a.map((v) => v - d);
  const [x, y, z] = m.start;
  return { ...m, start: [x - dx, y - dy, z], x: less(m.x, dx), y: less(m.y, dy), cx: less(m.cx, dx), cy: less(m.cy, dy) };
}

/** Every program in the dialect of the shop's controller, with what the check of the text found. */
export function writePrograms(
  groups: readonly ProgramGroup[],
  order: OrderSpec,
  orderHash: string,
  shop: ShopSpec,
  holding: Holding,
): { readonly programs: readonly ProofProgram[]; readonly findings: readonly Finding[] } {
  const { controller } = shop.machine;
  const limits = clockLimits(shop.machine);
  const dialect = dialectFor(controller.dialect);
  const programs: ProofProgram[] = [];
  const findings: Finding[] = [];
  const ascii = new TextDecoder("latin1");
  for (const g of groups) {
    const side = holding.sides[g.side];
    const cutter = shop.cutters.find((c) => c.number === g.cutter);
    if (cutter === undefined) throw new Error(`a cut asks for cutter ${g.cutter}, which the shop does not have`);
    const setting = settingOf(side, g.section);
    const input: ProgramInput = {
      file: g.file.split("/").at(-1)!,
      orderName: order.name,
      orderHash,
      side: g.side,
      cutter,
      cuts: g.cuts.map((c) => ({
        id: c.id,
        title: c.title,
        rpm: c.conditions.rpm,
        moves: posted(inSetting(c.moves, setting.shift), side.real),
      })),
      safeZ: postedHeight(side.safeZ, side.real),
      zeroSays: g.section === undefined ? side.zeroSays : `${side.zeroSays}; section ${g.section} of ${side.sections?.length}`,
      decimals: controller.decimals,
      arcs: controller.arcs,
      pathTolerance: PATH_TOLERANCE,
      seconds: g.cuts.reduce((sum, c) => sum + secondsOf(c.moves, limits), 0),
    };
    const text = dialect.writeBytes(input);
    findings.push(...checkProgram(ascii.decode(text), input, controller.dialect));
    programs.push({
      file: g.file,
      side: g.side,
      cutter: g.cutter,
      cuts: g.cuts.map((c) => c.id),
      text,
      ...(g.section === undefined ? {} : { section: g.section }),
    });
  }
  return { programs, findings };
}
