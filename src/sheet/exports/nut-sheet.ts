import { radToDeg } from "../../units/index.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView } from "../draw/view.ts";
import { dim, SIZE, scaleToFit } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import type { Paper } from "../page/flow.ts";
import { COMMON, type ExportInput, handCautions, hundredths, type Sheet, sheetFlow, stoppedNote } from "./input.ts";
import { FITTING, type NutBlank, nutBlank, SLOT_EASE, START_ABOVE, UNDER_ZERO, WINDING_HEIGHT } from "./nut-blank.ts";

const degrees = (a: number): string => `${hundredths(radToDeg(a))}°`;

/** The nut as a part to make: what to cut, where its slots stand, their widths and angles. */
export function nutSheet(input: ExportInput, paper: Paper): Sheet {
  const { neck } = input;
  const o = neck.order;
  const b = nutBlank(neck, input.hardware);
  const flow = sheetFlow(input, "Nut", paper);
  flow.newPage("Nut");
  flow.heading("Nut blank and slots", 1);
  stoppedNote(flow, input);
  handCautions(flow, ["Dust of bone, shell and some woods harms lungs: wet the work or use extraction and a mask."]);
  const shelf = input.hardware?.nuts.filter((n) => n.length >= b.cut.length && n.width >= b.cut.width && n.height >= b.cut.height) ?? [];
  const rows: [string, string][] = [
    [
      "Cut the blank",
      `${hundredths(b.cut.length)} long x ${hundredths(b.cut.width)} wide x ${hundredths(b.cut.height)} high: finished sizes and ${dim(FITTING)} mm at each end and on top`,
    ],
    [
      "Length, finished",
      Math.abs(b.lengthFront - b.lengthBack) < 0.005
        ? `${hundredths(b.lengthFront)} between the board's edges`
        : `${hundredths(b.lengthFront)} at the face toward the bridge, ${hundredths(b.lengthBack)} at the face toward the headstock`,
    ],
    [
      "Width",
      `${dim(b.width)}, fitted to its ${o.nut.kind === "seat" ? "seat: sides parallel, a push fit" : "shelf: square to the board's end"}`,
    ],
    [
      "Height on the middle",
      `${hundredths(b.topHeight)} from the floor to the top: ${hundredths(b.seatDepth)} to the board's crown, ${hundredths(b.crown.height)} fret crown (${b.crown.from}), ${o.nut.zeroFret !== undefined ? `slots ${dim(UNDER_ZERO)} under the zero fret's crown` : `slots ${dim(START_ABOVE)} above it to begin with`} (${COMMON}), and half the thickest string`,
    ],
    [
      "Top along the nut",
      Number.isFinite(b.topRadius)
        ? `radius ${hundredths(b.topRadius)} (the board's, raised); rounded down toward the headstock`
        : "straight; rounded down toward the headstock",
    ],
    [
      "Stands",
      `${Math.abs(b.skew) < 1e-9 ? "square to the centreline" : `askew by ${degrees(Math.abs(b.skew))}, its ${b.skew * (o.hand === "left" ? -1 : 1) > 0 ? "treble" : "bass"} end nearer the bridge; all places below are along it`}; front face ${
        o.nut.zeroFret !== undefined ? `${dim(o.nut.zeroFret)} behind the zero fret` : "where the scale begins (straight: no set-back)"
      }`,
    ],
    [
      "Blank on the shelf",
      input.hardware === null
        ? "give --shop to compare with the shelf"
        : shelf.length > 0
          ? shelf.map((n) => n.name).join(", ")
          : "none is large enough",
    ],
  ];
  flow.table(
    [
      { head: "what", share: 1.6 },
      { head: "measure", share: 6 },
    ],
    rows,
  );
  flow.figure(elevation(input, b, flow.width), { caption: "Seen from the bridge" });
  flow.figure(strip(input, b, flow.width), { caption: "Paper strip to glue on the blank" });
  flow.newPage("Slots");
  flow.heading("Slots");
  flow.paragraph(slotsSay(input), {});
  flow.table(
    [
      { head: "string", share: 0.8, align: "right" },
      { head: "from bass end", share: 1.1, align: "right" },
      { head: "from centre", share: 1.1, align: "right" },
      { head: "to next, middles", share: 1.1, align: "right" },
      { head: "air to next", share: 1, align: "right" },
      { head: "string ⌀", share: 1, align: "right" },
      { head: "slot width", share: 0.9, align: "right" },
      { head: "slot depth", share: 0.9, align: "right" },
      { head: "askew in front", share: 1.1, align: "right" },
      { head: "turns aside behind", share: 1.1, align: "right" },
      { head: "falls behind", share: 1, align: "right" },
      { head: "end nearer bridge, if made so", share: 1.2, align: "right" },
    ],
    b.slots.map((s) => [
      `${s.string}`,
      hundredths(s.fromBass),
      hundredths(s.fromCentre),
      s.toNext === null ? "–" : hundredths(s.toNext),
      s.gap === null ? "–" : hundredths(s.gap),
      s.diameter === null ? "–" : s.diameter.toFixed(3),
      s.width === null ? "–" : s.width.toFixed(3),
      s.depth === null ? "–" : s.depth.toFixed(2),
      degrees(s.front),
      degrees(s.aside),
      s.fall === null ? "–" : degrees(s.fall),
      s.towardBridge === null ? "–" : hundredths(s.towardBridge),
    ]),
    { size: 2.5 },
  );
  flow.list(
    [
      `String 1 is the treble-most. Angles toward the treble are positive. The slot's front edge, at the face toward the bridge, is where the string ends: file so that it is the highest place, the floor sloping back by about half of "falls behind" (${COMMON}).`,
      neck.features.rollers.length > 0
        ? "Falls behind: to the top of the roller in its opening."
        : `Falls behind: to a winding ${dim(WINDING_HEIGHT)} mm above the headstock's face (${COMMON}; measure yours).`,
      ...(b.slots.some((s) => s.towardBridge !== null)
        ? [
            `End nearer the bridge: what the intonation model asks of the nut when nut and saddle are both set back (J. Acoust. Soc. Am. 156(1), 683, 2024; \`check --figures\` has its bands). This order has a straight nut at the scale's beginning; a nut cut so needs its saddle as far back as ${b.slots.map((s) => hundredths(s.saddleBack ?? Number.NaN)).join(", ")} mm, string ${b.slots[0].string} to ${b.slots.at(-1)?.string}.${b.slots.some((s) => s.assumed) ? " Usual gauges are assumed: the order gives none." : ""}`,
          ]
        : []),
      `Slot widths are the string's diameter and ${dim(SLOT_EASE)} mm (${COMMON}). File to the last tenths with the strings on, the height over fret 1 measured, not by this sheet.`,
    ],
    { size: 2.7 },
  );
  return { name: "nut", title: `Nut: ${input.orderTitle}`, pages: flow.done() };
}

function slotsSay(input: ExportInput): string {
  const o = input.neck.order;
  const how = o.strings.courses
    ? `Courses ${o.strings.courses.join(" + ")}, bass to treble: courses equally far apart, strings of one course ${dim(o.strings.courseGap ?? 2.5)} mm apart.`
    : o.strings.spacing === "gaps" && o.strings.diameters.length === o.strings.count
      ? "Equal air between neighbouring strings, as ordered."
      : "Equal distances between the middles of neighbouring strings.";
  const gauges =
    o.strings.diameters.length === 0 && o.strings.gauges === undefined
      ? " The order gives no string diameters: widths and depths are left out; measure the strings."
      : "";
  return `Outer strings ${dim(o.strings.spreadAtNut)} mm apart across the neck. ${how}${gauges}`;
}

/** The nut from the front, larger than life: the top's curve, the slots, and running measures from its bass end. */
function elevation(input: ExportInput, b: NutBlank, room: number): Drawing {
  const k = Math.min(3, scaleToFit(b.lengthFront, room - 24));
  const left = 12;
  const top = 8;
  const bassLeft = input.neck.order.hand !== "left";
  const view = uprightView([left, top + b.topHeight * k], k);
  const pen = new Pen();
  const L = b.lengthFront;
  const crown = L / 2;
  // z of the top along the nut; u from the left end
  const topAt = (u: number): number =>
    Number.isFinite(b.topRadius) ? b.topHeight - (b.topRadius - Math.sqrt(b.topRadius ** 2 - (u - crown) ** 2)) : b.topHeight;
  const curve = Array.from({ length: 61 }, (_, i): XY => at(view, (L * i) / 60, topAt((L * i) / 60)));
  pen.polyline("wide", [at(view, 0, 0), ...curve, at(view, L, 0)], { closed: true });
  pen.line("hidden", at(view, 0, b.seatDepth), at(view, L, b.seatDepth), { ink: "soft" });
  pen.line("centre", at(view, crown, -2 / k), at(view, crown, b.topHeight + 5 / k), { ink: "soft" });
  const low = at(view, 0, 0)[1];
  const bass = bassLeft ? 0 : L;
  pen.line("narrow", [at(view, bass, 0)[0], low + 0.8], [at(view, bass, 0)[0], low + 5]);
  pen.text([at(view, bass, 0)[0] + 0.9, low + 6], "0", SIZE.figure, { anchor: "end", turn: -90 });
  for (const s of b.slots) {
    const u = bassLeft ? s.fromBass : L - s.fromBass;
    const w = (s.width ?? 0.4) / 2;
    const depth = s.depth ?? 0.6;
    const z = topAt(u);
    pen.rect("narrow", at(view, u - w, z + 0.2), at(view, u + w, z - depth), { fill: "paper" });
    const [x] = at(view, u, 0);
    pen.line("narrow", [x, at(view, u, z - depth)[1] + 0.6], [x, low + 5], { ink: "soft" });
    pen.text([x + 0.9, low + 6], hundredths(s.fromBass), SIZE.figure, { anchor: "end", turn: -90 });
    pen.text([x, at(view, u, z)[1] - 1.4], `${s.string}`, SIZE.small, { anchor: "middle", ink: "soft" });
  }
  pen.dimension({ a: at(view, L, 0), b: at(view, L, topAt(L)), along: "y", line: at(view, L, 0)[0] + 6, text: hundredths(topAt(L)) });
  pen.text([left, low + 22], `dashed: the board's crown beside it; ${bassLeft ? "bass" : "treble"} end left`, SIZE.small, { ink: "soft" });
  return {
    id: "nut",
    title: "Nut",
    says: "The nut from the front with its slots.",
    width: left + L * k + 14,
    height: low + 23,
    group: 0.35,
    items: pen.items,
    scale: k,
  };
}

/** Ticks at true size to cut out and glue on the blank. */
function strip(input: ExportInput, b: NutBlank, room: number): Drawing {
  const left = Math.max(4, (room - b.lengthFront) / 2 - 20);
  const bassLeft = input.neck.order.hand !== "left";
  const pen = new Pen();
  pen.rect("narrow", [left, 2], [left + b.lengthFront, 10]);
  for (const s of b.slots) {
    const x = left + (bassLeft ? s.fromBass : b.lengthFront - s.fromBass);
    pen.line("narrow", [x, 0], [x, 10], { layer: "nut-slots" });
  }
  pen.line("centre", [left + b.lengthFront / 2, 0], [left + b.lengthFront / 2, 12], { ink: "soft" });
  pen.text([left - 2, 7], bassLeft ? "bass" : "treble", SIZE.small, { anchor: "end" });
  pen.text([left + b.lengthFront + 2, 7], bassLeft ? "treble" : "bass", SIZE.small);
  return {
    id: "nut-strip",
    title: "Strip",
    says: "The slots' places at true size.",
    width: left + b.lengthFront + 20,
    height: 12,
    group: 0.35,
    items: pen.items,
    scale: 1,
  };
}
