import { createContext, useCallback, useContext } from "react";
import { type Language, nameIn, say, type Word } from "./words.ts";

/** What this person at this screen prefers; kept by the browser, never part of an order. */
export interface Settings {
  readonly language: Language;
  readonly inches: boolean;
  readonly slate: boolean;
}

const KEY = "neckwright-settings";

export function readSettings(): Settings {
  const fallback: Settings = { language: "en", inches: false, slate: window.matchMedia?.("(prefers-color-scheme: dark)").matches === true };
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "{}") as Partial<Settings>;
    return {
      language: kept.language === "de" ? "de" : "en",
      inches: kept.inches === true,
      slate: typeof kept.slate === "boolean" ? kept.slate : fallback.slate,
    };
  } catch {
    return fallback;
  }
}

export function keepSettings(s: Settings): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(s));
  } catch {
    // a browser that keeps nothing still works
  }
}

export const SettingsContext: React.Context<Settings> = createContext<Settings>({ language: "en", inches: false, slate: false });

export type Say = (word: Word, ...parts: readonly (string | number)[]) => string;

export function useSay(): Say {
  const { language } = useContext(SettingsContext);
  return (word, ...parts) => say(language, word, ...parts);
}

/** A title, name or phrase of the schemas and stages in the person's language. */
export function useNames(): (text: string) => string {
  const { language } = useContext(SettingsContext);
  return useCallback((text: string) => nameIn(language, text), [language]);
}
