/* What drawings and figures of the screen say with a number or a name in it, in German. Names of woods as the trade has them (common practice, no source). */

type Said = (...parts: readonly (string | undefined)[]) => string;

const WOODS: { readonly [english: string]: string } = {
  "hard maple": "Zuckerahorn",
  "hard maple (sugar maple)": "Zuckerahorn",
  maple: "Ahorn",
  "red maple": "Rotahorn",
  "red maple (soft maple)": "Rotahorn",
  "white ash": "Weißesche",
  ash: "Esche",
  basswood: "Linde",
  "american beech": "Amerikanische Buche",
  beech: "Buche",
  "yellow birch": "Gelbbirke",
  birch: "Birke",
  "black cherry": "Amerikanische Kirsche",
  cherry: "Kirsche",
  "black walnut": "Schwarznuss",
  walnut: "Nussbaum",
  "northern red oak": "Roteiche",
  "white oak": "Weißeiche",
  "shagbark hickory": "Hickory",
  hickory: "Hickory",
  "yellow-poplar": "Tulpenbaum",
  "sitka spruce": "Sitkafichte",
  spruce: "Fichte",
  "mahogany (american)": "Mahagoni (amerikanisch)",
  mahogany: "Mahagoni",
  "khaya (african mahogany)": "Khaya",
  sapele: "Sapeli",
  "spanish cedar": "Cedro",
  okoume: "Okoumé",
  "indian rosewood": "Ostindischer Palisander",
  rosewood: "Palisander",
  "ebony (african)": "Ebenholz (afrikanisch)",
  ebony: "Ebenholz",
};
const REGIONS: { readonly [english: string]: string } = {
  knot: "Ast",
  pith: "Mark",
  sapwood: "Splint",
  check: "Riss",
  figure: "Maserung",
};
const wood = (name: string): string => (Object.hasOwn(WOODS, name) ? (WOODS[name] as string) : name);
const side = (name: string): string => (name === "treble" ? "Diskantseite" : "Bassseite");
const tall = (times: string | undefined): string => (times === undefined ? "" : `, Höhen ${times}-fach`);
const board = (radius: string | undefined): string => (radius === undefined ? "ebenes Griffbrett" : `Brettradius ${radius}`);

const strings = (any: string | undefined, n: string | undefined): string => (any === undefined ? `der Saite ${n}` : "irgendeiner Saite");
const at = (where: string): string =>
  where === "the nut" ? "am Sattel" : where === "the heel" ? "am Halsfuß" : where.replace(/^fret (\d+)$/, "am Bund $1");

export const phrasesDe: readonly (readonly [english: RegExp, german: Said])[] = [
  [/^Side(?:, heights (\S+) times as tall)?$/, (times) => `Seite${tall(times)}`],
  [/^Cut along the centreline(?:, heights (\S+) times as tall)?$/, (times) => `Längs der Mitte geschnitten${tall(times)}`],
  [/^Section at x = (\S+) mm$/, (x) => `Schnitt bei x = ${x} mm`],
  [/^Section, x = (\S+)$/, (x) => `Schnitt, x = ${x}`],
  [/^At fret (\d+), x = (\S+)$/, (n, x) => `Am Bund ${n}, x = ${x}`],
  [/^fret (\d+)$/, (n) => `Bund ${n}`],
  [/^headstock, tilted (\S+)°$/, (angle) => `Kopf, geneigt um ${angle}°`],
  [/^around it (\S+)$/, (around) => `ringsum ${around}`],
  [/^(?:board radius (\S+)|flat board); flat back$/, (r) => `${board(r)}; Rücken eben`],
  [
    /^(?:board radius (\S+)|flat board); carve exponent (\S+) bass, (\S+) treble$/,
    (r, bass, treble) => `${board(r)}; Exponent ${bass} Bass, ${treble} Diskant`,
  ],
  [/^tenon (\S+) x (\S+)$/, (w, d) => `Zapfen ${w} x ${d}`],
  [/^board, goes on later: not in this job$/, () => "Griffbrett, kommt später: nicht in diesem Auftrag"],
  [/^board (\S+), (.+)$/, (t, name) => `Griffbrett ${t}, ${wood(name as string)}`],
  [/^shaft, (.+)$/, (name) => `Schaft, ${wood(name as string)}`],
  [/^rod channel (\S+) wide, (\S+) to (\S+) from the nut$/, (w, from, to) => `Stabnut ${w} breit, ${from} bis ${to} vom Sattel`],
  [/^least wood under the rod (\S+), at x = (\S+)$/, (t, x) => `wenigstes Holz unter dem Stab ${t}, bei x = ${x}`],
  [/^Past the shaft's end there is only the board\.$/, () => "Hinter dem Ende des Schafts ist nur das Griffbrett."],
  [
    /^The face from above: nut left, bridge right, (\w+) side up\.$/,
    (up) => `Die Oberseite von oben: Sattel links, Steg rechts, ${side(up as string)} oben.`,
  ],
  [
    /^Seen from the (\w+) side(?:, heights (\S+) times as tall)?\.$/,
    (from, times) => `Von der ${side(from as string)} gesehen${tall(times)}.`,
  ],
  [
    /^The back after the turn about the neck's length: (\w+) side up; lines of equal height\.$/,
    (up) => `Der Rücken nach dem Wenden um die Länge: ${side(up as string)} oben; Linien gleicher Höhe.`,
  ],
  [
    /^Square to the centreline, seen from the bridge toward the headstock: (\w+) side right\.$/,
    (right) => `Rechtwinklig zur Mitte, vom Steg zum Kopf gesehen: ${side(right as string)} rechts.`,
  ],
  // figures of a neck
  [/^pull of all strings$/, () => "Zug aller Saiten"],
  [/^tension of string (.+)$/, (n) => `Spannung der Saite ${n}`],
  [/^stress in string (.+)$/, (n) => `Zugspannung in Saite ${n}`],
  [/^strongest string over the mean$/, () => "stärkste Saite über dem Mittel"],
  [/^saddle back, nut as it is, for string (.+)$/, (n) => `Steg zurück, Sattel wie er ist, für Saite ${n}`],
  [/^saddle back, nut moved too, for string (.+)$/, (n) => `Steg zurück, auch der Sattel versetzt, für Saite ${n}`],
  [/^nut toward the saddle for string (.+)$/, (n) => `Sattel zum Steg hin für Saite ${n}`],
  [/^largest error of (any )?string ?(.*), nothing compensated$/, (any, n) => `größter Fehler ${strings(any, n)}, nichts ausgeglichen`],
  [/^largest error of (any )?string ?(.*), saddle moved$/, (any, n) => `größter Fehler ${strings(any, n)}, Steg versetzt`],
  [
    /^largest error of (any )?string ?(.*), saddle and nut moved$/,
    (any, n) => `größter Fehler ${strings(any, n)}, Steg und Sattel versetzt`,
  ],
  [/^cost of fret (\d+) lying (\S+) mm too near the bridge$/, (n, by) => `was Bund ${n} kostet, ${by} mm zu nah am Steg`],
  [
    /^cost at fret (\d+) of an axis that moves (\S+) % too far$/,
    (n, by) => `was am Bund ${n} eine Achse kostet, die ${by} % zu weit fährt`,
  ],
  [/^bending stiffness at fret (\d+)$/, (n) => `Biegesteifigkeit am Bund ${n}`],
  [/^relief under the strings, the rod slack$/, () => "Durchbiegung unter den Saiten, Stab lose"],
  [/^force in the rod for (\S+) mm of relief$/, (v) => `Kraft im Stab für ${v} mm Durchbiegung`],
  [/^relief with the rod at its strongest$/, () => "Durchbiegung mit dem Stab am stärksten"],
  [/^relief with the rod slack or turned the other way$/, () => "Durchbiegung mit dem Stab lose oder andersherum gedreht"],
  [/^bending stress behind the nut, (\S+) mm from it$/, (x) => `Biegespannung hinter dem Sattel, ${x} mm von ihm`],
  [/^bending stress toward the body, (\S+) mm from the nut$/, (x) => `Biegespannung zum Körper hin, ${x} mm vom Sattel`],
  [/^strength used toward the body$/, () => "genutzte Festigkeit zum Körper hin"],
  [
    /^strength used behind the nut, (one piece|scarfed|laminated)( \(as ordered\))?$/,
    (way, ordered) =>
      `genutzte Festigkeit hinter dem Sattel, ${way === "one piece" ? "ein Stück" : way === "scarfed" ? "geschäftet" : "verleimt"}${ordered === undefined ? "" : " (wie bestellt)"}`,
  ],
  [/^grain to the face behind the nut$/, () => "Faser zur Oberseite hinter dem Sattel"],
  [/^least wood between rod and back$/, () => "wenigstes Holz zwischen Stab und Rücken"],
  [/^moisture content at home \((.+)\)$/, (at) => `Holzfeuchte daheim (${at})`],
  [/^moisture content in the shop \((.+)\)$/, (at) => `Holzfeuchte in der Werkstatt (${at})`],
  [/^moisture content to cut at \(ordered: (.+)\)$/, (at) => `Holzfeuchte zum Schneiden (bestellt: ${at})`],
  [/^fret ends proud on each side at the driest \((.+)\)$/, (at) => `Bundenden stehen je Seite vor, wenn es am trockensten ist (${at})`],
  [
    /^change of the (shaft|board)'s (width|thickness)(?: at fret (\d+))? at the (driest|dampest)$/,
    (of, what, n, when) =>
      `Änderung der ${what === "width" ? "Breite" : "Dicke"} des ${of === "shaft" ? "Schafts" : "Griffbretts"}${n === undefined ? "" : ` am Bund ${n}`}, wenn es am ${when === "driest" ? "trockensten" : "feuchtesten"} ist`,
  ],
  [/^mass of the bare neck \(wood, board included\)$/, () => "Masse des bloßen Halses (Holz, mit Griffbrett)"],
  [/^balance point from the nut, toward the body$/, () => "Schwerpunkt vom Sattel zum Körper hin"],
  [/^around the neck at (.+)$/, (where) => `um den Hals herum ${at(where as string)}`],
  [/^section at (.+)$/, (where) => `Querschnitt ${at(where as string)}`],
  // of what lies in a blank
  [/^(knot|pith|sapwood|check|figure) (\d+)$/, (what, n) => `${REGIONS[what as string]} ${n}`],
  // of a job
  [/^Made and proved: (\d+) programs\.$/, (n) => `Gemacht und nachgewiesen: ${n} Programme.`],
  [/^Stopped by findings: no programs were written\.$/, () => "Von Befunden angehalten: es wurden keine Programme geschrieben."],
  [/^Cancelled; what was made before is untouched\.$/, () => "Abgebrochen; was vorher gemacht war, ist unberührt."],
  [/^writing the programs$/, () => "schreibt die Programme"],
  [/^drawing the sheets$/, () => "zeichnet die Blätter"],
  [
    /^planning, (?:(board|carve) side|(.+))$/,
    (of, what) => `plant${of === undefined ? `: ${what}` : ` die ${of === "board" ? "Griffbrettseite" : "Rückseite"}`}`,
  ],
  [/^proving, (board|carve) side.*$/, (of) => `weist die ${of === "board" ? "Griffbrettseite" : "Rückseite"} nach`],
  [/^reading the order$/, () => "liest den Auftrag"],
  [/^done$/, () => "fertig"],
];
