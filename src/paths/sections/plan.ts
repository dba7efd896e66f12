import { profileOf } from "../../cutting/shape.ts";
import { inverse } from "../../holding/transform.ts";
import type { Holding, SideName } from "../../holding/types.ts";
import { inBlankOf } from "../../holding/where.ts";
import { makeBlock } from "../../kernel/make-stock.ts";
import type { Stock } from "../../kernel/stock.ts";
import type { Neck } from "../../neck/types.ts";
import type { ShopSpec } from "../../spec/types.ts";
import type { Finding, Mm } from "../../units/index.ts";
import type { Cut, WorkStep } from "../types.ts";
import { windowMoves } from "./window.ts";

/** Cell of the stock that the entries are planned by. */
const CELL: Mm = 0.5;
/** Wood that a finishing cutter may plunge into: a layer of a few tenths under a ball of 8 mm. */
const THIN_LAYER = 3;
const NEXT_TO_NONE = 0.02;
/** Roughing in layers one below the other: each ends before the one above it by this share of their distance, the lowest by no more than is left of the overlap. */
const LAYERED = /-outline-rough$/;
const LEAN = 0.05;
const MOST_LEAN: Mm = 1.5;
/** Whole in one section, whatever the windows: slots, bores, recesses, the nut's seat. */
const WHOLE = /-(fret-slots|markers|tuner-bores|nut-seat|screw-bores)(-\d+)?$/;

export interface SideWork {
  readonly cuts: readonly Cut[];
  readonly steps: readonly WorkStep[];
  readonly findings: readonly Finding[];
}

/** Cuts that a section bores for the next one, by the section that bores them. */
export type IndexCuts = ReadonlyMap<number, Cut>;

/**
 * One side's work, planned for the whole neck, divided among the sections. The order of work: section by section, each with all its
 * cuts; where a hand step fills what crosses a seam, all sections come up to there first, and then go back the other way, which spares
 * a shift. Moves stay in the side's program frame; `section` says from which setting they are cut.
 */
export function inSections(neck: Neck, holding: Holding, shop: ShopSpec, side: SideName, work: SideWork, index: IndexCuts): SideWork {
  const plan = holding.sections;
  const here = holding.sides[side];
  const settings = here.sections;
  if (plan === undefined || settings === undefined) return work;
  const turned = Math.abs(here.neckToProgram[0]) < 0.5;
  const axis: 0 | 1 = turned ? 1 : 0;
  const along = (turned ? here.stock.max[1] : here.stock.max[0]) > 0 ? 1 : -1;
  const { min, max } = here.stock;
  const stock = makeBlock(min[0], min[1], max[0], max[1], CELL, max[2]);
  const cuts: Cut[] = [];
  const steps: WorkStep[] = [];
  const crossing = (id: string): boolean =>
    neck.features.rod.some((c) => c.id === id && plan.seams.some((s) => s.neckX > c.xMin && s.neckX < c.xMax));
  const sectionAt = (u: Mm): number => 1 + plan.seams.filter((s) => s.at < u).length;
  const inBlank = inBlankOf(neck, holding.placement);

  let at = 0;
  let forward = true;
  for (const phase of phasesOf(work.steps, crossing)) {
    const order = settings.map((s) => s.number);
    if (!forward) order.reverse();
    forward = !forward;
    for (const number of order) {
      const mine: WorkStep[] = [];
      let any = false;
      const stage = phase.find((s) => s.stage !== undefined)?.stage;
      const add = (cut: Cut, like: WorkStep | undefined): void => {
        cuts.push(cut);
        mine.push({ kind: "cut", cut: cut.id, ...(like?.stage === undefined ? {} : { stage: like.stage }) });
        any = true;
      };
      let bores = side === "board" ? index.get(number) : undefined;
      if (cuts.some((c) => c.id === bores?.id)) bores = undefined;
      for (const step of phase) {
        if (step.kind === "hand") {
          const own = step.fills.filter((id) => crossing(id) || sectionAt(inBlank.along(...featureAt(neck, id))) === number);
          const whole = step.fills.some(crossing);
          if (whole || (step.fills.length === 0 ? !any && number !== order[0] : own.length === 0)) continue;
          mine.push({ ...step, fills: own });
          raiseFills(neck, stock, here.neckToProgram, own, max[2]);
          continue;
        }
        const cut = work.cuts.find((c) => c.id === step.cut);
        if (cut === undefined) continue;
        // the scribe shows where all will lie; what is bored after it holds for the sections that follow
        if (bores !== undefined && !cut.id.endsWith("-scribe")) {
          add(windowed(bores, number) ?? bores, step);
          bores = undefined;
        }
        const piece = windowed(cut, number);
        if (piece !== null) add({ ...piece, id: `${cut.id}-s${number}`, title: `${cut.title}, section ${number}` }, step);
      }
      if (mine.length === 0) continue;
      if (number !== at) {
        steps.push({ kind: "hand", side, hand: setting(number), fills: [], ...(stage === undefined ? {} : { stage }) });
        at = number;
      }
      steps.push(...mine);
    }
    for (const step of phase)
      if (step.kind === "hand" && step.fills.some(crossing)) {
        steps.push(step);
        raiseFills(neck, stock, here.neckToProgram, step.fills, max[2]);
      }
  }
  return { cuts, steps, findings: work.findings };

  /** What of a cut lies in a section. */
  function windowed(cut: Cut, number: number): Cut | null {
    if (plan === undefined || settings === undefined) return null;
    const s = settings[number - 1];
    const cutter = shop.cutters.find((c) => c.number === cut.cutter);
    if (cutter === undefined) return null;
    const over = cut.cusp === null ? plan.roughOverlap : plan.overlap;
    const from = number === 1 ? Number.NEGATIVE_INFINITY : s.from - over;
    const to = number === plan.count ? Number.POSITIVE_INFINITY : s.to + over;
    const whole = WHOLE.test(cut.id) || cut.id.includes("-index-");
    const moves = windowMoves(cut.moves, {
      axis,
      lo: along > 0 ? from : -to,
      hi: along > 0 ? to : -from,
      takes: (island) => (whole ? cut.id.includes("-index-") || sectionAt((along * (island.min + island.max)) / 2) === number : null),
      safeZ: here.safeZ,
      plunge: cut.conditions.plunge,
      ramp: cut.conditions.ramp,
      feed: cut.conditions.feed,
      profile: profileOf(cutter),
      radius: cutter.diameter / 2,
      thin: cut.cusp === null ? NEXT_TO_NONE : THIN_LAYER,
      lean: LAYERED.test(cut.id) ? Math.min(LEAN, MOST_LEAN / (max[2] - min[2])) : 0,
      top: max[2],
      stock,
    });
    return moves === null ? null : { ...cut, moves, section: number };
  }

  function setting(number: number): string {
    const p = plan as NonNullable<typeof plan>;
    const mm = (v: Mm): string => v.toFixed(1);
    const pins = (settings?.[number - 1].holding ?? []).flatMap((s) => (s.role === "index pin" && s.kind === "cylinder" ? [s] : []));
    const grid = shop.machine.grid !== undefined;
    const stands = "Set the blocks as the sheet shows";
    if (number === 1 && pins.length === 0)
      return `Section 1 of ${p.count}: take the index pins out of ${grid ? "the bed's holes" : "the sub-plate"}, lay the blank with its datum edge on the fence pins and its headstock end on the stop. ${stands}. The zero stays where it is in all sections of this side. The end that stands out over the bed lies on a stand of the bed's height.`;
    const where = pins.map((s) => `X ${mm(s.x)}, Y ${mm(s.y)}`).join(" and ");
    const onto = `go down over the index pins (${p.pins[0].diameter} mm, g6), whose middles stand at ${where} from the zero${grid ? ", over the holes of the bed that the sheet names" : ""}`;
    if (number === 1)
      return `Section 1 of ${p.count}: break out the skin under the index holes for section 2 and lay the blank so that they ${onto}. ${stands}. The zero stays where it is in all sections of this side. The end that stands out over the bed lies on a stand of the bed's height.`;
    const aside = p.aside?.[number - 1] ?? 0;
    const across =
      Math.abs(aside) < 0.05
        ? ""
        : ` and by ${mm(Math.abs(aside))} mm across, ${aside > 0 ? "toward its datum edge's side" : "away from its datum edge's side"},`;
    return `Section ${number} of ${p.count}: take away the pins and the stop of the section before, break out the skin under the index holes, shift the blank by ${mm(p.shifts[number - 1])} mm from where section 1 lay, toward the headstock,${across} until its holes for section ${number} ${onto}. ${stands}; leave the zero as it is. Both ends that stand out over the bed lie on stands of the bed's height.`;
  }
}

/** The steps, divided behind every hand step that fills what crosses a seam and where a stage begins. */
function phasesOf(steps: readonly WorkStep[], crossing: (id: string) => boolean): WorkStep[][] {
  const out: WorkStep[][] = [[]];
  for (const [k, step] of steps.entries()) {
    if (k > 0 && (step.stage ?? 1) !== (steps[k - 1].stage ?? 1)) out.push([]);
    out[out.length - 1].push(step);
    if (step.kind === "hand" && step.fills.some(crossing)) out.push([]);
  }
  return out.filter((p) => p.length > 0);
}

/** Where a feature that is filled lies on the neck. */
function featureAt(neck: Neck, id: string): readonly [Mm, Mm] {
  const m = neck.features.markers.find((f) => f.id === id);
  if (m !== undefined) return [m.x, m.y];
  const c = neck.features.rod.find((f) => f.id === id);
  return c === undefined ? [0, 0] : [(c.xMin + c.xMax) / 2, c.y ?? 0];
}

/** Glued wood stands as high as the blank was: recesses and channels with a little round them, in the stock that entries are planned by. */
function raiseFills(neck: Neck, stock: Stock, t: Parameters<typeof inverse>[0], ids: readonly string[], top: Mm): void {
  if (ids.length === 0) return;
  const back = inverse(t);
  const boxes = ids.flatMap((id) => {
    const m = neck.features.markers.find((f) => f.id === id);
    if (m !== undefined) return [[m.x - m.diameter / 2, m.x + m.diameter / 2, m.y, m.diameter / 2]];
    const c = neck.features.rod.find((f) => f.id === id);
    return c === undefined ? [] : [[c.xMin, c.xMax, c.y ?? 0, c.width / 2]];
  });
  const { nx, ny, cell, x0, y0, z } = stock.map;
  for (let j = 0; j < ny; j++)
    for (let i = 0; i < nx; i++) {
      const px = x0 + i * cell;
      const py = y0 + j * cell;
      const x = back[0] * px + back[1] * py + back[3];
      const y = back[4] * px + back[5] * py + back[7];
      if (boxes.some(([a, b, m, r]) => x >= a - cell && x <= b + cell && Math.abs(y - m) <= r + cell)) z[j * nx + i] = top;
    }
  stock.refresh();
}
