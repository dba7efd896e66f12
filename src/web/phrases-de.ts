/* What the drawings of the screen say with a number or a name in it, in German. Names of woods as the trade has them (common practice, no source). */

type Said = (...parts: readonly string[]) => string;

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
const wood = (name: string): string => (Object.hasOwn(WOODS, name) ? (WOODS[name] as string) : name);
const side = (name: string): string => (name === "treble" ? "Diskantseite" : "Bassseite");
const tall = (times: string | undefined): string => (times === undefined ? "" : `, Höhen ${times}-fach`);
const board = (radius: string | undefined): string => (radius === undefined ? "ebenes Griffbrett" : `Brettradius ${radius}`);

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
  // of a job
  [/^Made and proved: (\d+) programs\.$/, (n) => `Gemacht und nachgewiesen: ${n} Programme.`],
  [/^Stopped by findings: no programs were written\.$/, () => "Von Befunden angehalten: es wurden keine Programme geschrieben."],
  [/^Cancelled; what was made before is untouched\.$/, () => "Abgebrochen; was vorher gemacht war, ist unberührt."],
  [/^reading the order$/, () => "liest den Auftrag"],
  [/^done$/, () => "fertig"],
];
