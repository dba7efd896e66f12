/* Why a number that was typed is not taken, and why the server refuses, in German: the sentences of the units and of the server. */

type Said = (...parts: readonly (string | undefined)[]) => string;
const KINDS: { readonly [english: string]: string } = { length: "Länge", angle: "Winkelangabe", feed: "Vorschubangabe" };
const kind = (english: string | undefined): string => KINDS[english as string] ?? (english as string);
const EXAMPLES: { readonly [unit: string]: string } = {
  mm: 'eine bloße Zahl in mm oder ein Text wie "648 mm", "64.8 cm" oder "25 1/2 in"',
  degrees: 'eine bloße Zahl in Grad oder ein Text wie "12 deg"',
  "mm/min": 'eine bloße Zahl in mm/min oder ein Text wie "3000 mm/min" oder "50 mm/s"',
};

/** In a sum the sentence follows the text that was typed. */
const OF_A_SUM: readonly (readonly [english: string, german: string])[] = [
  ["a number without a unit stands beside a length.", "eine Zahl ohne Einheit steht neben einer Länge."],
  ["a length times a length is not a length.", "eine Länge mal eine Länge ist keine Länge."],
  ["a number divided by a length is not a length.", "eine Zahl geteilt durch eine Länge ist keine Länge."],
  ["it divides by zero.", "es wird durch null geteilt."],
  ["too many brackets.", "zu viele Klammern."],
  ["a bracket is not closed.", "eine Klammer ist nicht geschlossen."],
  ["something is missing at its end.", "am Ende fehlt etwas."],
];

const LENGTHS: readonly (readonly [english: RegExp, german: Said])[] = [
  [/^("[\s\S]*"|\S+) is not a finite number\.$/, (t) => `${t} ist keine endliche Zahl.`],
  [/^("[\s\S]*") is not a whole number\.$/, (t) => `${t} ist keine ganze Zahl.`],
  [/^("[\s\S]*") is not a number\.$/, (t) => `${t} ist keine Zahl.`],
  [/^("[\s\S]*") can be read in two ways\.$/, (t) => `${t} lässt sich auf zwei Arten lesen.`],
  [/^(.*) is outside\.$/s, (t) => `${t} liegt außerhalb.`],
  [/^An empty text is not a (\w+)\.$/, (k) => `Nichts ist keine ${kind(k)}.`],
  [/^("[\s\S]*") is too long for a (\w+)\.$/, (t, k) => `${t} ist zu lang für eine ${kind(k)}.`],
  [/^("[\s\S]*") is not a (\w+)\.$/, (t, k) => `${t} ist keine ${kind(k)}.`],
  [
    /^("[\s\S]*") has a unit that is not understood for this (\w+)\.$/,
    (t, k) => `${t} hat eine Einheit, die für eine ${kind(k)} nicht verstanden wird.`,
  ],
  [/^("[\s\S]*") mixes a decimal mark with a fraction\.$/, (t) => `${t} mischt ein Dezimalzeichen mit einem Bruch.`],
  [/^("[\s\S]*") divides by zero\.$/, (t) => `${t} teilt durch null.`],
  [/^("[\s\S]*") has a fraction of one or more\.$/, (t) => `${t} hat einen Bruch von eins oder mehr.`],
  [/^("[\s\S]*") is a fraction without a unit\.$/, (t) => `${t} ist ein Bruch ohne Einheit.`],
  [/^("[\s\S]*") can be read as (\S+) and as (\S+)\.$/, (t, a, b) => `${t} lässt sich als ${a} und als ${b} lesen.`],
  [/^("[\s\S]*") can be read as a sum and as a difference\.$/, (t) => `${t} lässt sich als Summe und als Differenz lesen.`],
  [/^("[\s\S]*") has more than one mark between its digits\.$/, (t) => `${t} hat mehr als ein Zeichen zwischen den Ziffern.`],
  [/^("[\s\S]*") has a gap between its digits\.$/, (t) => `${t} hat eine Lücke zwischen den Ziffern.`],
  [/^("[\s\S]*") is written with an exponent\.$/, (t) => `${t} ist mit einem Exponenten geschrieben.`],
  [/^("[\s\S]*") has no finite value\.$/, (t) => `${t} hat keinen endlichen Wert.`],
  [/^A sum of (\d+) signs is too long\.$/, (n) => `Eine Summe von ${n} Zeichen ist zu lang.`],
];

export const refusalsDe: readonly (readonly [english: RegExp, german: Said])[] = [
  ...LENGTHS,
  [
    /^("[\s\S]*"): ([\s\S]+)$/,
    (t, why) => {
      const rest = /^("[\s\S]*") cannot be read here\.$/.exec(why as string)?.[1];
      const plain = OF_A_SUM.find(([english]) => english === why)?.[1] ?? firstOf(LENGTHS, why as string) ?? why;
      return `${t}: ${rest === undefined ? plain : `${rest} lässt sich hier nicht lesen.`}`;
    },
  ],
  // what to write instead
  [/^Write a plain number in (mm|degrees|mm\/min), or a text like .*\.$/, (unit) => `Möglich ist ${EXAMPLES[unit as string]}.`],
  [/^Write a number in (\S+)\.$/, (unit) => `Eine Zahl in ${unit} schreiben.`],
  [/^Write a number\.$/, () => "Eine Zahl schreiben."],
  [/^Write another number\.$/, () => "Eine andere Zahl schreiben."],
  [/^Write a whole number\.$/, () => "Eine ganze Zahl schreiben."],
  [/^Write the decimal mark as a point\.$/, () => "Das Dezimalzeichen als Punkt schreiben."],
  [
    /^Write the decimal mark as a point \((\S+)\), and thousands without a mark \((\S+)\)\.$/,
    (a, b) => `Das Dezimalzeichen als Punkt schreiben (${a}), Tausender ohne Zeichen (${b}).`,
  ],
  [
    /^Write one decimal point and no marks between thousands, like (\S+)\.$/,
    (v) => `Einen Dezimalpunkt und kein Zeichen zwischen Tausendern schreiben, wie ${v}.`,
  ],
  [/^Write thousands without a gap, like (\S+)\.$/, (v) => `Tausender ohne Lücke schreiben, wie ${v}.`],
  [/^Write the number out, like (\S+) or (\S+)\.$/, (a, b) => `Die Zahl ausschreiben, wie ${a} oder ${b}.`],
  [/^Write the whole part first, like (".*")\.$/, (v) => `Zuerst das Ganze schreiben, wie ${v}.`],
  [/^Write it in at most (\d+)\.$/, (n) => `Höchstens ${n} schreiben.`],
  [/^Write it more simply\.$/, () => "Es einfacher schreiben."],
  [
    /^Write lengths with \+ - \* \/ and brackets, like (".*") or (".*")\.$/,
    (a, b) => `Längen mit + - * / und Klammern schreiben, wie ${a} oder ${b}.`,
  ],
  [/^Name the unit, like (".*")\.$/, (v) => `Die Einheit nennen, wie ${v}.`],
  [/^Put a space before the fraction, like (".*")\.$/, (v) => `Einen Abstand vor den Bruch setzen, wie ${v}.`],
  [/^Use ([^.]+)\.$/, (units) => `Möglich sind ${units}.`],
  [/^Do not divide by zero\.$/, () => "Nicht durch null teilen."],
  [/^Divide by another number\.$/, () => "Durch eine andere Zahl teilen."],
  [/^Divide by a plain number\.$/, () => "Durch eine bloße Zahl teilen."],
  [/^Multiply by a plain number\.$/, () => "Mit einer bloßen Zahl malnehmen."],
  [/^Give every part of the sum its unit\.$/, () => "Jedem Teil der Summe seine Einheit geben."],
  [/^Add "\)"\.$/, () => '")" dazusetzen.'],
  // of the server
  [/^The server failed; see its terminal\.$/, () => "Der Server ist gescheitert; sein Terminal sagt mehr."],
  [
    /^(\d+) jobs are at work; wait until one is done, or cancel it\.$/,
    (n) => `${n} Arbeiten laufen; warten, bis eine fertig ist, oder eine abbrechen.`,
  ],
  [/^There is no such \w+\.$/, () => "Das gibt es nicht."],
  [
    /^Others are exporting; try again in a few seconds\.$/,
    () => "Andere lassen gerade etwas ausgeben; in ein paar Sekunden wieder versuchen.",
  ],
  [/^Others change this all the time; try again\.$/, () => "Andere ändern das laufend; wieder versuchen."],
  [/^No programs are made of this order: make them first\.$/, () => "Von diesem Auftrag sind keine Programme gemacht: erst machen."],
  [
    /^Only the machine on which the bench runs may take everything\.$/,
    () => "Nur die Maschine, auf der die Werkbank läuft, darf alles mitnehmen.",
  ],
  [
    /^Only the machine on which the bench runs may bring an archive in\.$/,
    () => "Nur die Maschine, auf der die Werkbank läuft, darf ein Archiv hereinholen.",
  ],
  [/^A backup is being made; wait until it is there\.$/, () => "Eine Sicherung wird gemacht; warten, bis sie da ist."],
  [/^This archive cannot be brought in: ([\s\S]+)$/, (why) => `Dieses Archiv lässt sich nicht hereinholen: ${why}`],
];

function firstOf(list: typeof refusalsDe, text: string): string | null {
  for (const [english, german] of list) {
    const found = english.exec(text);
    if (found !== null) return german(...found.slice(1));
  }
  return null;
}
