import type { DrawingOptions } from "../../src/spec/drawing/index.ts";
import { bytes, circle, dxfFile, heavy, light, line, type Pairs, spline, svgFile } from "./write.ts";

/*
 * Drawings that are broken, odd or hostile, all of our own making, and what must be said of each. One file because it is one table.
 */

export interface Bad {
  readonly name: string;
  readonly kind: "dxf" | "svg";
  readonly make: () => Uint8Array;
  /** The rule that says it. */
  readonly rule: string;
  /** Its place names this. */
  readonly where: RegExp;
  readonly options?: DrawingOptions;
  /** A repair or a note: the outline is read all the same, and is the plain one of 120 x 60 mm. */
  readonly repaired?: true;
}

const CORNERS = [
  [20, 20],
  [140, 20],
  [140, 80],
  [20, 80],
] as const;
const at = (k: number): { x: number; y: number } => ({ x: CORNERS[k % 4][0], y: CORNERS[k % 4][1] });
const sides = (which = [0, 1, 2, 3]): Pairs => which.flatMap((k) => line(at(k), at(k + 1)));
const BOX = light(CORNERS, true);
const PATH = '<path id="head" d="M20 20H140V80H20Z"/>';
const dxf =
  (entities: Pairs, more: Parameters<typeof dxfFile>[1] = {}) =>
  (): Uint8Array =>
    bytes(dxfFile(entities, more));
const svg = (inside: string, root?: string, before?: string) => (): Uint8Array => bytes(svgFile(inside, root, before));
const insert = (name: string): Pairs => [
  [0, "INSERT"],
  [8, "0"],
  [2, name],
  [10, 0],
  [20, 0],
];
const block = (name: string, inside: Pairs): Pairs => [
  [0, "BLOCK"],
  [8, "0"],
  [2, name],
  [70, "0"],
  [10, 0],
  [20, 0],
  ...inside,
  [0, "ENDBLK"],
];
const round = (n: number): [number, number][] =>
  Array.from({ length: n }, (_, k) => [80 + 60 * Math.cos((2 * Math.PI * k) / n), 60 + 40 * Math.sin((2 * Math.PI * k) / n)]);

export const BAD: readonly Bad[] = [
  { name: "open by one side", kind: "dxf", make: dxf(sides([0, 1, 2])), rule: "SP-330", where: /LINE at line \d+: x 20, y (20|80) mm/ },
  {
    name: "open by 0.3 mm",
    kind: "dxf",
    make: dxf([...sides([0, 1, 2]), ...line(at(3), { x: 20, y: 20.3 })]),
    rule: "SP-330",
    where: /x 20, y 20(\.3)? mm/,
  },
  {
    name: "a gap of 0.04 mm",
    kind: "dxf",
    make: dxf([...sides([0, 1, 2]), ...line(at(3), { x: 20, y: 20.04 })]),
    rule: "SP-331",
    where: /x 20, y 20\.02 mm/,
    repaired: true,
  },
  {
    name: "crossed like an eight",
    kind: "dxf",
    make: dxf(
      light(
        [
          [20, 20],
          [140, 80],
          [140, 20],
          [20, 80],
        ],
        true,
      ),
    ),
    rule: "SP-334",
    where: /x 80, y 50 mm/,
  },
  {
    name: "touching itself",
    kind: "dxf",
    make: dxf(
      light(
        [
          [20, 20],
          [140, 20],
          [140, 80],
          [80, 20],
          [20, 80],
        ],
        true,
      ),
    ),
    rule: "SP-334",
    where: /x 80, y 20 mm/,
  },
  {
    name: "inches, without saying so",
    kind: "dxf",
    make: dxf(
      light(
        [
          [1, 1],
          [6, 1],
          [6, 3],
          [1, 3],
        ],
        true,
      ),
      { insUnits: null },
    ),
    rule: "SP-320",
    where: /unit/,
  },
  {
    name: "inches that say they are millimetres",
    kind: "dxf",
    make: dxf(
      light(
        [
          [1, 1],
          [6, 1],
          [6, 3],
          [1, 3],
        ],
        true,
      ),
    ),
    rule: "SP-322",
    where: /unit/,
  },
  {
    name: "pixels, without saying so",
    kind: "svg",
    make: svg(PATH, 'width="200" height="200" viewBox="0 0 200 200"'),
    rule: "SP-320",
    where: /unit/,
  },
  {
    name: "20 000 tiny segments that do not close",
    kind: "dxf",
    make: dxf(light(round(2e4).slice(0, -10), false)),
    rule: "SP-330",
    where: /x 1\d\d\.?\d*, y \d+/,
  },
  { name: "500 000 tiny segments", kind: "svg", make: svg(`<path d="M20 20${"h.001".repeat(5e5)}z"/>`), rule: "SP-304", where: /path/ },
  {
    name: "an entity from outside",
    kind: "svg",
    make: svg("<path d='&far;'/>", undefined, '<!DOCTYPE svg [<!ENTITY far SYSTEM "file:///etc/hostname">]>\n'),
    rule: "SP-306",
    where: /line 2/,
  },
  {
    name: "an entity from the network, by a parameter",
    kind: "svg",
    make: svg(PATH, undefined, '<!DOCTYPE svg [<!ENTITY % far PUBLIC "x" "http://localhost:9/x">]>\n'),
    rule: "SP-306",
    where: /line 2/,
  },
  {
    name: "entities that multiply",
    kind: "svg",
    make: svg(
      '<path d="&d;"/>',
      undefined,
      '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;"><!ENTITY d "&c;&c;&c;">]>\n',
    ),
    rule: "SP-306",
    where: /path/,
  },
  {
    name: "a shape from another file",
    kind: "svg",
    make: svg('<use href="https://localhost:9/a.svg#head"/>'),
    rule: "SP-306",
    where: /use/,
  },
  {
    name: "a style sheet from outside",
    kind: "svg",
    make: svg(PATH, undefined, '<?xml-stylesheet href="http://localhost:9/a.css"?>\n'),
    rule: "SP-306",
    where: /line 2/,
  },
  {
    name: "scripts and handlers",
    kind: "svg",
    make: svg(`<script>fetch("http://localhost:9")</script><g onload="alert(1)">${PATH}</g>`),
    rule: "SP-309",
    where: /the drawing/,
    repaired: true,
  },
  {
    name: "a block of another file",
    kind: "dxf",
    make: dxf(insert("far"), {
      blocks: [
        [0, "BLOCK"],
        [8, "0"],
        [2, "far"],
        [70, "4"],
        [10, 0],
        [20, 0],
        [1, "/etc/hostname"],
        [0, "ENDBLK"],
      ],
    }),
    rule: "SP-306",
    where: /INSERT at line \d+/,
  },
  { name: "100 MB", kind: "dxf", make: () => new Uint8Array(100e6).fill(48), rule: "SP-301", where: /the drawing/ },
  { name: "cut off in the middle", kind: "dxf", make: () => bytes(dxfFile(BOX)).slice(0, 150), rule: "SP-303", where: /line \d+/ },
  { name: "cut off within a tag", kind: "svg", make: () => bytes(svgFile(PATH)).slice(0, -30), rule: "SP-303", where: /line \d+/ },
  { name: "without its end mark", kind: "dxf", make: dxf(BOX, { eof: false }), rule: "SP-308", where: /line \d+/, repaired: true },
  {
    name: "every side drawn twice",
    kind: "dxf",
    make: dxf([...sides(), ...sides([2, 0]), ...line(at(2), at(1)), ...sides([3])]),
    rule: "SP-332",
    where: /LINE at line \d+: x \d+, y \d+ mm/,
    repaired: true,
  },
  {
    name: "sides of no length",
    kind: "dxf",
    make: dxf([...sides(), ...line(at(1), at(1)), ...circle(30, 30, 0)]),
    rule: "SP-316",
    where: /the drawing/,
    repaired: true,
  },
  {
    name: "a number that is none",
    kind: "dxf",
    make: () => bytes(dxfFile(sides()).replace("\n140\n", "\nNaN\n")),
    rule: "SP-305",
    where: /line \d+/,
  },
  {
    name: "a decimal comma",
    kind: "dxf",
    make: () => bytes(dxfFile(sides()).replace("\n140\n", "\n140,0\n")),
    rule: "SP-305",
    where: /line \d+/,
  },
  {
    name: "a number of a million digits",
    kind: "svg",
    make: svg(PATH, `width="${"1".repeat(1e6)}!" height="200mm" viewBox="0 0 200 200"`),
    rule: "SP-305",
    where: /svg/,
  },
  { name: "path data that stop making sense", kind: "svg", make: svg('<path d="M20 20H140V8o0H20Z"/>'), rule: "SP-305", where: /path/ },
  {
    name: "coordinates of a survey",
    kind: "dxf",
    make: dxf(
      light(
        CORNERS.map(([x, y]) => [x + 4.5e6, y + 5.6e6] as const),
        true,
      ),
    ),
    rule: "SP-305",
    where: /LWPOLYLINE at line \d+/,
  },
  {
    name: "numbers that grow beyond all measure",
    kind: "svg",
    make: svg(`<g transform="scale(1e200)"><g transform="scale(1e200)">${PATH}</g></g>`),
    rule: "SP-305",
    where: /path head/,
  },
  { name: "binary DXF", kind: "dxf", make: () => bytes("Binary DXF\r\n\x1a\0\0\0SECTION\0"), rule: "SP-302", where: /byte \d+/ },
  { name: "packed SVG", kind: "svg", make: () => new Uint8Array([0x1f, 0x8b, 8, 0, 0, 0]), rule: "SP-302", where: /the drawing/ },
  { name: "in UTF-16", kind: "svg", make: () => new Uint8Array([0xff, 0xfe, 0x3c, 0]), rule: "SP-302", where: /the drawing/ },
  { name: "no drawing at all", kind: "dxf", make: () => bytes(" \n\n"), rule: "SP-302", where: /the drawing/ },
  { name: "groups 60 deep", kind: "svg", make: svg(`${"<g>".repeat(60)}${PATH}${"</g>".repeat(60)}`), rule: "SP-304", where: /g/ },
  {
    name: "groups 90 000 deep",
    kind: "svg",
    make: svg(`${"<g>".repeat(90_000)}${PATH}${"</g>".repeat(90_000)}`),
    rule: "SP-304",
    where: /the drawing/,
  },
  {
    name: "a use of itself",
    kind: "svg",
    make: svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'),
    rule: "SP-303",
    where: /use/,
  },
  {
    name: "uses that double 25 times",
    kind: "svg",
    make: svg(
      Array.from({ length: 26 }, (_, k) => `<g id="g${k}">${k === 0 ? PATH : `<use href="#g${k - 1}"/><use href="#g${k - 1}"/>`}</g>`).join(
        "",
      ),
    ),
    rule: "SP-304",
    where: /./,
  },
  {
    name: "a block that holds itself",
    kind: "dxf",
    make: dxf(insert("a"), { blocks: [...block("a", insert("b")), ...block("b", insert("a"))] }),
    rule: "SP-303",
    where: /INSERT at line \d+/,
  },
  { name: "a block that is not there", kind: "dxf", make: dxf(insert("gone")), rule: "SP-303", where: /INSERT at line \d+/ },
  {
    name: "two outlines beside each other",
    kind: "dxf",
    make: dxf([
      ...BOX,
      ...light(
        CORNERS.map(([x, y]) => [x, y + 100] as const),
        true,
      ),
    ]),
    rule: "SP-335",
    where: /x 80, y \d+ mm/,
  },
  {
    name: "an outline in a frame",
    kind: "dxf",
    make: dxf([
      ...BOX,
      ...light(
        [
          [0, 0],
          [297, 0],
          [297, 210],
          [0, 210],
        ],
        true,
      ),
    ]),
    rule: "SP-335",
    where: /x 80, y 50 mm/,
  },
  {
    name: "an outline of which only a bore is closed",
    kind: "dxf",
    make: dxf([...sides([0, 1, 2]), ...circle(60, 50, 5)]),
    rule: "SP-330",
    where: /x 20/,
  },
  {
    name: "three lines at one corner",
    kind: "dxf",
    make: dxf([...sides(), ...line(at(1), { x: 100, y: 50 })]),
    rule: "SP-333",
    where: /x 140, y 20 mm/,
  },
  {
    name: "bores inside",
    kind: "dxf",
    make: dxf([...BOX, ...circle(60, 50, 5), ...circle(100, 50, 5)]),
    rule: "SP-336",
    where: /x \d+, y 50 mm/,
    repaired: true,
  },
  { name: "a layer that is not there", kind: "dxf", make: dxf(BOX), rule: "SP-311", where: /layer/ },
  {
    name: "all on a layer that is off",
    kind: "dxf",
    make: dxf(light(CORNERS, true, "old"), {
      tables: [
        [0, "TABLE"],
        [2, "LAYER"],
        [0, "LAYER"],
        [2, "OLD"],
        [70, "0"],
        [62, "-7"],
        [0, "ENDTAB"],
      ],
    }),
    rule: "SP-310",
    where: /the drawing/,
  },
  {
    name: "a polyline that climbs",
    kind: "dxf",
    make: dxf([
      [0, "POLYLINE"],
      [8, "0"],
      [66, "1"],
      [70, "9"],
      ...CORNERS.flatMap(
        ([x, y], k): Pairs => [
          [0, "VERTEX"],
          [8, "0"],
          [10, x],
          [20, y],
          [30, k],
          [70, "32"],
        ],
      ),
      [0, "SEQEND"],
    ]),
    rule: "SP-312",
    where: /POLYLINE at line \d+/,
  },
  {
    name: "drawn on a tilted plane",
    kind: "dxf",
    make: dxf([...BOX, [210, 0], [220, 0.6], [230, 0.8]]),
    rule: "SP-312",
    where: /LWPOLYLINE at line \d+/,
  },
  {
    name: "a polyline without its end",
    kind: "dxf",
    make: () => bytes(dxfFile(heavy(CORNERS, true)).replace("0\nSEQEND\n8\n0\n", "")),
    rule: "SP-303",
    where: /line \d+/,
  },
  {
    name: "a spline whose knots fall",
    kind: "dxf",
    make: dxf(spline([at(0), at(1), at(2), at(3)], [0, 0, 0, 0, 1, 1, 0.5, 1], 3, null)),
    rule: "SP-313",
    where: /SPLINE at line \d+/,
  },
  {
    name: "a spline of fit points alone",
    kind: "dxf",
    make: dxf([
      [0, "SPLINE"],
      [8, "0"],
      [70, "8"],
      [71, "3"],
      [74, "4"],
      ...CORNERS.flatMap(
        ([x, y]): Pairs => [
          [11, x],
          [21, y],
          [31, 0],
        ],
      ),
    ]),
    rule: "SP-313",
    where: /SPLINE at line \d+/,
  },
  {
    name: "a spline that would need millions of curves",
    kind: "dxf",
    make: dxf(
      spline(
        Array.from({ length: 4000 }, (_, k) => ({ x: (k * 7919) % 99991, y: (k * 10477) % 99991 })),
        Array.from({ length: 4005 }, (_, k) => k),
        4,
        null,
      ),
    ),
    rule: "SP-304",
    where: /SPLINE at line \d+/,
  },
  {
    name: "shapes hidden by a style sheet",
    kind: "svg",
    make: svg(`<style>.a{display:none}</style>${PATH}`),
    rule: "SP-314",
    where: /the style sheet/,
  },
  { name: "hidden as a whole", kind: "svg", make: svg(`<g style="display:none">${PATH}</g>`), rule: "SP-310", where: /the drawing/ },
  { name: "a line that encloses nothing", kind: "svg", make: svg('<path d="M20 20H140Z"/>'), rule: "SP-330", where: /x/ },
  {
    name: "a view pulled out of shape",
    kind: "svg",
    make: svg(PATH, 'width="200mm" height="190mm" viewBox="0 0 200 200"'),
    rule: "SP-323",
    where: /svg/,
  },
  { name: "asked to close gaps of 3 mm", kind: "dxf", make: dxf(BOX), options: { closeWithin: 3 }, rule: "SP-307", where: /closeWithin/ },
  {
    name: "texts and points beside the outline",
    kind: "dxf",
    make: dxf([...BOX, [0, "TEXT"], [8, "0"], [1, "head"], [0, "POINT"], [8, "0"], [10, 1], [20, 1]]),
    rule: "SP-315",
    where: /the drawing/,
    repaired: true,
  },
  {
    name: "read in another unit than it states",
    kind: "dxf",
    make: dxf(BOX, { insUnits: 5 }),
    options: { unit: "mm" },
    rule: "SP-321",
    where: /unit/,
    repaired: true,
  },
  {
    name: "an open line inside the outline",
    kind: "dxf",
    make: dxf([...BOX, ...line({ x: 40, y: 50 }, { x: 60, y: 51 })]),
    rule: "SP-337",
    where: /LINE at line \d+: x 50, y 50\.5 mm/,
    repaired: true,
  },
  {
    name: "3000 lines from one place",
    kind: "dxf",
    make: dxf(Array.from({ length: 3000 }, (_, k) => line(at(0), { x: 50 * Math.cos(k), y: 50 * Math.sin(k) })).flat()),
    rule: "SP-338",
    where: /the drawing/,
  },
  {
    name: "an outline of half a square millimetre",
    kind: "dxf",
    make: dxf(
      light(
        [
          [0, 0],
          [1, 0],
          [1, 0.5],
          [0, 0.5],
        ],
        true,
      ),
    ),
    rule: "SP-339",
    where: /the drawing/,
  },
];
