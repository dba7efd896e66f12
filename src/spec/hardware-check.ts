import type { Finding } from "../units/index.ts";
import * as R from "./rules.ts";
import { collectInto, mm } from "./tell.ts";
import type { HardwareSpec, OrderSpec } from "./types.ts";

/** Sizes within this are the same piece, mm. */
const SAME = 0.11;

const near = (a: number, b: number): boolean => Math.abs(a - b) <= SAME;

/** Whether what the order is drawn around lies on the shop's shelf. Kinds of which the shelf has none are not asked for. */
export function checkHardware(order: OrderSpec, shelf: HardwareSpec): Finding[] {
  const found: Finding[] = [];
  const tell = collectInto(found);
  const t = order.headstock.tuners;
  if (shelf.tuners.length > 0 && !order.headstock.slotted) {
    const fits = shelf.tuners.filter((s) => near(s.post, t.post) && (t.bushDepth === 0 || near(s.bush, t.bush)));
    if (fits.length === 0)
      tell(
        R.SHELF_TUNER,
        "headstock.tuners",
        `${mm(t.post)} / ${mm(t.bush)}`,
        shelf.tuners.map((s) => `${s.post} / ${s.bush}`).join(", "),
        "No tuner on the shelf has these bores.",
        "Change the bores to a tuner that is there, or add the tuner to the shop.",
      );
    const wide = Math.max(0, ...fits.map((s) => s.body.length));
    if (fits.length > 0 && wide > t.pitch)
      tell(
        R.SHELF_TUNER,
        "headstock.tuners.pitch",
        t.pitch,
        wide,
        "The tuners' bodies are longer than their pitch.",
        "Enlarge headstock.tuners.pitch.",
      );
  }
  const { frets } = order;
  if (
    shelf.wires.length > 0 &&
    (frets.kind ?? "frets") === "frets" &&
    !shelf.wires.some((w) => Math.abs(w.tangWidth - frets.tangWidth) <= 0.021 && near(w.tangDepth, frets.tangDepth))
  )
    tell(
      R.SHELF_WIRE,
      "frets.tangWidth",
      frets.tangWidth,
      shelf.wires.map((w) => w.tangWidth).join(", "),
      "No fret wire on the shelf has this tang.",
      "Measure the wire that will be used, and set frets.tangWidth and frets.tangDepth to it.",
    );
  const { rod } = order;
  if (shelf.rods.length > 0 && rod.kind === "channel") {
    const room = rod.to_x - rod.from_x;
    if (
      !shelf.rods.some(
        (s) =>
          s.width <= rod.width + 1e-9 &&
          rod.width - s.width <= 0.5 &&
          s.height <= rod.height + SAME &&
          s.length <= room + (rod.access?.length ?? 0) &&
          s.action === (rod.action ?? "double"),
      )
    )
      tell(
        R.SHELF_ROD,
        "rod",
        `${mm(rod.width)} x ${mm(rod.height)} x ${mm(room)}`,
        shelf.rods.map((s) => `${s.width} x ${s.height} x ${s.length}`).join(", "),
        "No rod on the shelf fits this channel.",
        "Fit the channel to a rod that is there, or add the rod to the shop.",
      );
  }
  const { bars } = order;
  if (
    shelf.bars.length > 0 &&
    bars &&
    !shelf.bars.some(
      (s) =>
        s.width <= bars.width + 1e-9 &&
        bars.width - s.width <= 0.4 &&
        near(s.height, bars.height) &&
        s.length >= bars.to_x - bars.from_x - 1,
    )
  )
    tell(
      R.SHELF_BAR,
      "bars",
      `${mm(bars.width)} x ${mm(bars.height)}`,
      shelf.bars.map((s) => `${s.width} x ${s.height} x ${s.length}`).join(", "),
      "No bar on the shelf fits these channels.",
      "Fit the channels to a bar that is there, or add the bar to the shop.",
    );
  const { nut, board } = order;
  if (shelf.nuts.length > 0 && board.width.kind === "widths") {
    const wide = board.width.nut;
    if (!shelf.nuts.some((s) => near(s.width, nut.width) && s.length >= wide))
      tell(
        R.SHELF_NUT,
        "nut.width",
        nut.width,
        shelf.nuts.map((s) => `${s.width} x ${s.length}`).join(", "),
        "No nut blank on the shelf is this wide and long enough.",
        "Set nut.width to a blank that is there, or add one to the shop.",
      );
  }
  return found;
}
