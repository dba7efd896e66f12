/*
 * Every word of the screen that is not in an order, a finding or the schema, in one catalogue. German proves that nothing is written
 * past it. Titles and words of the order's values come from the schema and stand in names-de.ts, what drawings and figures of the screen say in
 * phrases-de.ts, why something is not taken in refusals-de.ts; reasons of values, findings, and the sheets are English only, for now.
 */

import { namesDe } from "./names-de.ts";
import { phrasesDe } from "./phrases-de.ts";
import { refusalsDe } from "./refusals-de.ts";
import { de } from "./words-de.ts";
import { en, type Word } from "./words-en.ts";

export type { Word };

export const LANGUAGES = { en: "English", de: "Deutsch" } as const;
export type Language = keyof typeof LANGUAGES;
const CATALOGUE: Record<Language, Record<Word, string>> = { en, de };

/** The word in a language, its {0}, {1}, ... filled in. */
export const say = (language: Language, word: Word, ...parts: readonly (string | number)[]): string =>
  CATALOGUE[language][word].replace(/\{(\d)\}/g, (_, k: string) => String(parts[Number(k)] ?? ""));

/** What the schemas and stages say in English, in a language; as it is where nobody has put it into that language. */
export function nameIn(language: Language, text: string): string {
  if (language !== "de") return text;
  if (Object.hasOwn(namesDe, text)) return namesDe[text] as string;
  for (const list of [phrasesDe, refusalsDe]) {
    for (const [english, german] of list) {
      const found = english.exec(text);
      if (found !== null) return german(...found.slice(1));
    }
  }
  return text;
}
