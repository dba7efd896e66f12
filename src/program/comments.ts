/**
 * Comments as NISTIR 6556 section 3.3.4 has them: one pair of parentheses, nothing nested, the line at most 256 characters.
 * What comes from an order is reduced to a short list of harmless characters first: besides parentheses and line ends,
 * a few characters (`!`, `~`, `?`, `$`, `%`) are obeyed by some controllers wherever they stand, even inside a comment.
 */
const HARMLESS = /[^A-Za-z0-9 .,:+\-/=_]+/g;
const MARKS = /[\u0300-\u036f]/g;

/** Width that comments are wrapped to, well under the 256 allowed, so that a controller's small screen shows them. */
export const COMMENT_WIDTH = 76;

/** Plain ASCII of a text from outside: accents are taken off, everything else that is not harmless becomes one blank. */
export function plainAscii(text: string): string {
  return text.normalize("NFKD").replace(MARKS, "").replace(HARMLESS, " ").replace(/ +/g, " ").trim();
}

/**
 * Comment lines that say `label: text`, wrapped at blanks. Each line begins with a fixed label or a dash, so that a text
 * beginning with `MSG,` stays a plain comment (the message form counts only at the head of a comment). A text of which
 * nothing is left is called "unnamed".
 */
export function comment(label: string, text: string): string[] {
  const lines: string[] = [];
  let line = `${label}:`;
  for (const word of (plainAscii(text) || "unnamed").split(" ")) {
    for (const part of pieces(word)) {
      if (line.length + 1 + part.length > COMMENT_WIDTH) {
        lines.push(line);
        line = "-";
      }
      line += ` ${part}`;
    }
  }
  lines.push(line);
  return lines.map((l) => `(${l})`);
}

/** Cuts a word that alone is too long for a line. */
function pieces(word: string): string[] {
  const most = COMMENT_WIDTH - 12;
  const out: string[] = [];
  for (let k = 0; k < word.length; k += most) out.push(word.slice(k, k + most));
  return out;
}

/** Seconds in words: "2 h 05 min 09 s". */
export function timeInWords(seconds: number): string {
  const s = Math.round(seconds);
  const h = Math.floor(s / 3600);
  const m = Math.floor((s % 3600) / 60);
  const rest = String(s % 60).padStart(2, "0");
  return h > 0 ? `${h} h ${String(m).padStart(2, "0")} min ${rest} s` : `${m} min ${rest} s`;
}
