/*
 * Every word of the screen that is not in an order, a finding or the schema, in one catalogue. German proves that nothing is written
 * past it. Titles and words of the order's values come from the schema and stand in names-de.ts; their reasons, the findings and the text
 * in drawings are English only, for now.
 */

import { namesDe } from "./names-de.ts";
import { de } from "./words-de.ts";
import { en, type Word } from "./words-en.ts";

export type { Word };

export const LANGUAGES = { en: "English", de: "Deutsch" } as const;
export type Language = keyof typeof LANGUAGES;
const CATALOGUE: Record<Language, Record<Word, string>> = { en, de };

/** The word in a language, its {0}, {1}, ... filled in. */
export const say = (language: Language, word: Word, ...parts: readonly (string | number)[]): string =>
  CATALOGUE[language][word].replace(/\{(\d)\}/g, (_, k: string) => String(parts[Number(k)] ?? ""));

/** Phrases of the drawings with a number in them. */
const PHRASES: readonly (readonly [english: RegExp, german: string])[] = [
  [/^Side, heights (\S+) times as tall$/, "Seite, Höhen $1-fach"],
  [/^Cut along the centreline, heights (\S+) times as tall$/, "Längs der Mitte geschnitten, Höhen $1-fach"],
  [/^Section at x = (\S+) mm$/, "Schnitt bei x = $1 mm"],
];

/** What the schemas and stages say in English, in a language; as it is where nobody has put it into that language. */
export function nameIn(language: Language, text: string): string {
  if (language !== "de") return text;
  if (Object.hasOwn(namesDe, text)) return namesDe[text] as string;
  const phrase = PHRASES.find(([english]) => english.test(text));
  return phrase === undefined ? text : text.replace(phrase[0], phrase[1]);
}
